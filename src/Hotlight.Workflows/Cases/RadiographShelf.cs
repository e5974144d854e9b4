using Hotlight.Imaging;

namespace Hotlight.Workflows.Cases;

/// <summary>Decoded radiographs of kept files, the last few of them held in memory.</summary>
public sealed class RadiographShelf : IDisposable
{
    /// <summary>How many decoded radiographs are held: at 9 megapixels of 16 bits each takes 18 MB.</summary>
    private const int Held = 4;

    private readonly IFileStore files;
    private readonly SemaphoreSlim decoding = new(2);
    private readonly Lock guard = new();
    private readonly LinkedList<(string Hash, Task<Radiograph> Radiograph)> held = new();

    /// <summary>Creates the shelf.</summary>
    /// <param name="files">Where the files are kept.</param>
    public RadiographShelf(IFileStore files) => this.files = files;

    /// <summary>The radiograph in a kept file.</summary>
    /// <param name="contentHash">The file.</param>
    /// <param name="fileName">Its name, for messages.</param>
    /// <exception cref="Core.UnreadableImageException">The file is not a radiograph Hotlight can judge.</exception>
    /// <exception cref="FileNotKeptException">The file is not there.</exception>
    public async Task<Radiograph> TakeAsync(string contentHash, string fileName)
    {
        Task<Radiograph> task;
        lock (guard)
        {
            LinkedListNode<(string Hash, Task<Radiograph> Radiograph)>? node = held.First;
            while (node is not null && node.Value.Hash != contentHash)
            {
                node = node.Next;
            }

            if (node is not null)
            {
                held.Remove(node);
                held.AddFirst(node);
                task = node.Value.Radiograph;
            }
            else
            {
                task = Task.Run(() => DecodeAsync(contentHash, fileName));
                held.AddFirst((contentHash, task));
                while (held.Count > Held)
                {
                    held.RemoveLast();
                }
            }
        }

        try
        {
            // Two cases may share a file under two names.
            Radiograph radiograph = await task;
            return radiograph.FileName == fileName ? radiograph : radiograph with { FileName = fileName };
        }
        catch
        {
            lock (guard)
            {
                held.Remove((contentHash, task));
            }

            throw;
        }
    }

    /// <inheritdoc/>
    public void Dispose() => decoding.Dispose();

    private async Task<Radiograph> DecodeAsync(string contentHash, string fileName)
    {
        await decoding.WaitAsync();
        try
        {
            return RadiographReader.Read(await files.ReadAsync(contentHash), fileName);
        }
        finally
        {
            decoding.Release();
        }
    }
}
