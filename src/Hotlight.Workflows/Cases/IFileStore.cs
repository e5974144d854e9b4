namespace Hotlight.Workflows.Cases;

/// <summary>Where the files themselves are kept, named by the SHA-256 of their bytes.</summary>
public interface IFileStore
{
    /// <summary>Keeps a file; a file already kept is not written again.</summary>
    /// <param name="content">The bytes, read to their end.</param>
    /// <param name="limitBytes">Most bytes to take.</param>
    /// <param name="cancellation">Stops the keeping; nothing is left then.</param>
    /// <exception cref="FileNotKeptException">The file is larger than the limit, or cannot be written.</exception>
    Task<KeptFile> KeepAsync(Stream content, long limitBytes, CancellationToken cancellation = default);

    /// <summary>The bytes of a kept file.</summary>
    /// <param name="contentHash">SHA-256, 64 lower-case hexadecimal digits.</param>
    /// <param name="cancellation">Stops the reading.</param>
    /// <exception cref="FileNotKeptException">The file is not there or cannot be read.</exception>
    Task<byte[]> ReadAsync(string contentHash, CancellationToken cancellation = default);

    /// <summary>The first bytes of a kept file; all where it is shorter.</summary>
    /// <param name="contentHash">SHA-256, 64 lower-case hexadecimal digits.</param>
    /// <param name="mostBytes">How many at most, 1 or more.</param>
    /// <param name="cancellation">Stops the reading.</param>
    /// <exception cref="FileNotKeptException">The file is not there or cannot be read.</exception>
    async Task<byte[]> ReadHeadAsync(string contentHash, int mostBytes, CancellationToken cancellation = default)
    {
        byte[] all = await ReadAsync(contentHash, cancellation);
        return all.Length <= mostBytes ? all : all[..mostBytes];
    }

    /// <summary>Removes a kept file; one that is not there is no error.</summary>
    /// <param name="contentHash">SHA-256, 64 lower-case hexadecimal digits.</param>
    void Remove(string contentHash);
}

/// <summary>A file that was kept.</summary>
/// <param name="ContentHash">SHA-256, 64 lower-case hexadecimal digits.</param>
/// <param name="Bytes">Size, in bytes.</param>
/// <param name="WasKept">Whether the same bytes were kept before.</param>
public sealed record KeptFile(string ContentHash, long Bytes, bool WasKept);
