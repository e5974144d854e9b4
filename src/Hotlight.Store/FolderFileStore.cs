using System.Security.Cryptography;
using Hotlight.Workflows.Cases;

namespace Hotlight.Store;

/// <summary>Keeps files in a folder, each under the SHA-256 of its bytes. A file is written beside its place and moved there when complete, so a killed process leaves no half file under a hash.</summary>
public sealed class FolderFileStore : IFileStore
{
    private const int BlockBytes = 1 << 16;
    private readonly string folder;
    private readonly string arriving;

    /// <summary>Opens the folder, making it where it is missing, and clears what an earlier process left unfinished.</summary>
    /// <param name="folder">The folder.</param>
    /// <exception cref="FileNotKeptException">The folder cannot be made or written.</exception>
    public FolderFileStore(string folder)
    {
        ArgumentException.ThrowIfNullOrWhiteSpace(folder);
        this.folder = folder;
        arriving = Path.Combine(folder, "arriving");
        try
        {
            Directory.CreateDirectory(arriving);
            foreach (string left in Directory.EnumerateFiles(arriving))
            {
                // Another running bench may be writing there now: only what is an hour old is a leftover.
                if (File.GetLastWriteTimeUtc(left) < DateTime.UtcNow.AddHours(-1))
                {
                    File.Delete(left);
                }
            }
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            throw new FileNotKeptException($"The data folder {folder} cannot be written: {error.Message}", error);
        }
    }

    /// <inheritdoc/>
    public async Task<KeptFile> KeepAsync(Stream content, long limitBytes, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(content);
        string path = Path.Combine(arriving, Guid.NewGuid().ToString("N"));
        try
        {
            using var hash = IncrementalHash.CreateHash(HashAlgorithmName.SHA256);
            long bytes = 0;
            await using (var file = new FileStream(path, FileMode.CreateNew, FileAccess.Write, FileShare.None, bufferSize: 0, FileOptions.Asynchronous))
            {
                byte[] block = new byte[BlockBytes];
                int read;
                while ((read = await content.ReadAsync(block, cancellation)) > 0)
                {
                    bytes += read;
                    if (bytes > limitBytes)
                    {
                        throw new FileNotKeptException($"The file is larger than {limitBytes / (1024 * 1024)} MiB, the most the bench takes.");
                    }

                    hash.AppendData(block, 0, read);
                    await file.WriteAsync(block.AsMemory(0, read), cancellation);
                }

                file.Flush(flushToDisk: true);
            }

            string name = Convert.ToHexStringLower(hash.GetHashAndReset());
            string place = PathOf(name);
            bool wasKept = File.Exists(place);
            if (!wasKept)
            {
                Directory.CreateDirectory(Path.GetDirectoryName(place)!);
                File.Move(path, place, overwrite: true);
            }

            return new KeptFile(name, bytes, wasKept);
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            throw new FileNotKeptException("The file could not be kept: the data folder is full or cannot be written.", error);
        }
        finally
        {
            TryDelete(path);
        }
    }

    /// <inheritdoc/>
    public async Task<byte[]> ReadAsync(string contentHash, CancellationToken cancellation = default)
    {
        try
        {
            return await File.ReadAllBytesAsync(PathOf(contentHash), cancellation);
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            throw new FileNotKeptException("The file of this case is missing from the data folder or cannot be read.", error);
        }
    }

    /// <inheritdoc/>
    public async Task<byte[]> ReadHeadAsync(string contentHash, int mostBytes, CancellationToken cancellation = default)
    {
        try
        {
            await using FileStream file = new(PathOf(contentHash), FileMode.Open, FileAccess.Read, FileShare.Read, bufferSize: 0, FileOptions.Asynchronous);
            byte[] head = new byte[Math.Min(mostBytes, file.Length)];
            int read = await file.ReadAtLeastAsync(head, head.Length, throwOnEndOfStream: false, cancellation);
            return read == head.Length ? head : head[..read];
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            throw new FileNotKeptException("The file of this case is missing from the data folder or cannot be read.", error);
        }
    }

    /// <inheritdoc/>
    public void Remove(string contentHash) => TryDelete(PathOf(contentHash));

    private static void TryDelete(string path)
    {
        try
        {
            File.Delete(path);
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            // A file that cannot be removed now is cleared at a later start.
        }
    }

    private string PathOf(string contentHash)
    {
        ArgumentNullException.ThrowIfNull(contentHash);
        if (contentHash.Length != 64 || contentHash.AsSpan().ContainsAnyExcept("0123456789abcdef"))
        {
            throw new ArgumentException($"'{contentHash}' is not 64 lower-case hexadecimal digits.", nameof(contentHash));
        }

        return Path.Combine(folder, contentHash[..2], contentHash);
    }
}
