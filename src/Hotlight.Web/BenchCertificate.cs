using System.Security.Cryptography;
using System.Security.Cryptography.X509Certificates;

namespace Hotlight.Web;

/// <summary>Reads the certificate that the bench answers with.</summary>
internal static class BenchCertificate
{
    /// <summary>The certificate of the options; null: none is given.</summary>
    /// <param name="options">How the bench is started.</param>
    /// <exception cref="BenchRefusedException">It cannot be read, has no key, or is not valid now.</exception>
    public static X509Certificate2? Of(BenchOptions options)
    {
        ArgumentNullException.ThrowIfNull(options);
        if (options.CertificateFile is not { } path)
        {
            return null;
        }

        X509Certificate2 certificate;
        try
        {
            if (X509Certificate2.GetCertContentType(File.ReadAllBytes(path)) == X509ContentType.Pfx)
            {
                certificate = X509CertificateLoader.LoadPkcs12FromFile(path, options.CertificatePassword);
            }
            else
            {
                certificate = options.CertificatePassword is { } password
                    ? X509Certificate2.CreateFromEncryptedPemFile(path, password, options.CertificateKeyFile)
                    : X509Certificate2.CreateFromPemFile(path, options.CertificateKeyFile);
            }
        }
        catch (Exception error) when (error is CryptographicException or IOException or UnauthorizedAccessException or ArgumentException)
        {
            throw new BenchRefusedException($"The certificate {path} cannot be used: {error.Message}", error);
        }

        if (!certificate.HasPrivateKey)
        {
            throw new BenchRefusedException($"The certificate {path} has no key; give it with --certificate-key.");
        }

        return DateTime.Now < certificate.NotBefore || DateTime.Now > certificate.NotAfter
            ? throw new BenchRefusedException(string.Create(System.Globalization.CultureInfo.InvariantCulture, $"The certificate {path} is valid from {certificate.NotBefore:yyyy-MM-dd} to {certificate.NotAfter:yyyy-MM-dd} only."))
            : certificate;
    }
}
