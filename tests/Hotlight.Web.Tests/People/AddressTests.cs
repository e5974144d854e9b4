using System.Net;
using System.Security.Cryptography;
using System.Security.Cryptography.X509Certificates;
using Hotlight.Testing;
using Hotlight.Workflows.Clinic;
using Microsoft.AspNetCore.Builder;

namespace Hotlight.Web.Tests.People;

/// <summary>What the bench answers on, and under which names.</summary>
public sealed class AddressTests
{
    [Fact]
    public async Task Listen_BeyondThisMachine_NeedsDepartmentAccountAndTls()
    {
        using var folder = new ScratchFolder();
        (string pem, string key, _) = MakeCertificate(folder);
        foreach ((string[] arguments, string word) in new[]
        {
            (new[] { "--listen", "0.0.0.0" }, "--department"),
            (["--listen", "0.0.0.0", "--certificate", pem, "--host", "hotlight.example"], "--department"),
            (["--department", "--listen", "0.0.0.0", "--host", "hotlight.example"], "--certificate"),
            (["--department", "--listen", "0.0.0.0", "--certificate", pem, "--certificate-key", key], "--host"),
            (["--certificate", pem], "--department"),
            (["--hospital-sign-in", "https://hospital.example"], "--department"),
            (["--department", "--hospital-client", "x"], "--hospital-sign-in"),
            (["--department", "--hospital-sign-in", "http://hospital.example"], "https"),
            (["--department", "--listen", "everywhere"], "--listen"),
            (["--department", "--host", "no name"], "--host"),
            (["--department", "--idle-minutes", "0"], "--idle-minutes"),
        })
        {
            string sentence = Assert.Throws<BenchRefusedException>(() => BenchOptions.Parse(arguments)).Message;
            Assert.Contains(word, sentence, StringComparison.Ordinal);
            Assert.DoesNotContain('\n', sentence);
        }

        // All is given, but nobody has an account.
        BenchOptions options = BenchOptions.Parse(["--department", "--port", "0", "--listen", "0.0.0.0", "--host", "hotlight.example", "--certificate", pem, "--certificate-key", key, "--data", folder["data"], "--no-demo"]);
        BenchRefusedException refused = await Assert.ThrowsAsync<BenchRefusedException>(() => Bench.StartAsync(options, TextWriter.Null));
        Assert.Contains("add-administrator", refused.Message, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("missing")]
    [InlineData("without key")]
    [InlineData("wrong password")]
    [InlineData("ended")]
    public async Task Certificate_ThatWillNotDo_IsRefusedInASentence(string what)
    {
        using var folder = new ScratchFolder();
        (string pem, string key, string pfx) = MakeCertificate(folder, what == "ended" ? -2 : 30);
        BenchOptions options = new BenchOptions { Port = 0, DataFolder = folder["data"], WithDemoCases = false, IsDepartment = true } with
        {
            CertificateFile = what switch { "missing" => folder["none.pem"], "wrong password" => pfx, _ => pem },
            CertificateKeyFile = what is "ended" ? key : null,
            CertificatePassword = what is "wrong password" ? "not it" : null,
        };
        string sentence = (await Assert.ThrowsAsync<BenchRefusedException>(() => Bench.StartAsync(options, TextWriter.Null))).Message;
        Assert.Contains("certificate", sentence, StringComparison.OrdinalIgnoreCase);
        Assert.DoesNotContain('\n', sentence);
    }

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task Host_NotNamed_IsMisdirected_AndTlsSaysSoToBrowsers(bool isPfx)
    {
        using var folder = new ScratchFolder();
        (string pem, string key, string pfx) = MakeCertificate(folder);
        await using (DepartmentBench first = await DepartmentBench.StartAsync(folder: folder))
        {
            await first.AddAsync("rowan", PersonRole.Administrator);
        }

        BenchOptions options = new BenchOptions { Port = 0, DataFolder = folder["data"], WithDemoCases = false, IsDepartment = true, Listen = IPAddress.Any, Hosts = ["hotlight.example"] } with
        {
            CertificateFile = isPfx ? pfx : pem,
            CertificateKeyFile = isPfx ? null : key,
            CertificatePassword = isPfx ? "of the tests" : null,
        };
        WebApplication bench = await Bench.StartAsync(options, TextWriter.Null);
        try
        {
            int port = Bench.AddressOf(bench).Port;
            Assert.Equal($"https://hotlight.example:{port}", Bench.AddressFor(bench, options));
            using var client = new HttpClient(new SocketsHttpHandler
            {
                AllowAutoRedirect = false,
                ConnectCallback = async (context, cancellation) =>
                {
                    var socket = new System.Net.Sockets.Socket(System.Net.Sockets.SocketType.Stream, System.Net.Sockets.ProtocolType.Tcp);
                    await socket.ConnectAsync(IPAddress.Loopback, context.DnsEndPoint.Port, cancellation);
                    return new System.Net.Sockets.NetworkStream(socket, ownsSocket: true);
                },
                SslOptions = new System.Net.Security.SslClientAuthenticationOptions { RemoteCertificateValidationCallback = (_, _, _, _) => true },
            });
            foreach ((string host, HttpStatusCode expected, bool hsts) in new[] { ("hotlight.example", HttpStatusCode.OK, true), ("localhost", HttpStatusCode.OK, false), ("elsewhere.example", HttpStatusCode.MisdirectedRequest, false) })
            {
                using HttpResponseMessage answer = await client.GetAsync(new Uri($"https://{host}:{port}/sign-in"));
                Assert.Equal(expected, answer.StatusCode);
                Assert.Equal(hsts, answer.Headers.Contains("Strict-Transport-Security"));
                if (expected == HttpStatusCode.OK)
                {
                    Assert.All(answer.Headers.GetValues("Set-Cookie"), cookie => Assert.Contains("secure", cookie, StringComparison.OrdinalIgnoreCase));
                }
            }

            // In clear text nothing is answered.
            using var clear = new HttpClient();
            await Assert.ThrowsAnyAsync<HttpRequestException>(() => clear.GetAsync(new Uri($"http://127.0.0.1:{port}/sign-in")));
        }
        finally
        {
            await bench.StopAsync();
            await bench.DisposeAsync();
            Microsoft.Data.Sqlite.SqliteConnection.ClearAllPools();
        }
    }

    /// <summary>A certificate for the tests, made on the spot.</summary>
    internal static (string Pem, string Key, string Pfx) MakeCertificate(ScratchFolder folder, int days = 30)
    {
        using var key = ECDsa.Create(ECCurve.NamedCurves.nistP256);
        var request = new CertificateRequest("CN=hotlight.example", key, HashAlgorithmName.SHA256);
        var names = new SubjectAlternativeNameBuilder();
        names.AddDnsName("hotlight.example");
        names.AddDnsName("localhost");
        request.CertificateExtensions.Add(names.Build());
        using X509Certificate2 certificate = request.CreateSelfSigned(DateTimeOffset.UtcNow.AddDays(Math.Min(-1, days - 10)), DateTimeOffset.UtcNow.AddDays(days));
        string pem = folder["bench.pem"];
        string keyFile = folder["bench.key"];
        string pfx = folder["bench.pfx"];
        File.WriteAllText(pem, certificate.ExportCertificatePem());
        File.WriteAllText(keyFile, key.ExportPkcs8PrivateKeyPem());
        File.WriteAllBytes(pfx, certificate.Export(X509ContentType.Pfx, "of the tests"));
        return (pem, keyFile, pfx);
    }
}
