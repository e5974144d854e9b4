using System.Collections.Concurrent;
using System.Globalization;
using System.Text.Json;
using Hotlight.Workflows.Cases;

namespace Hotlight.Web.Intake;

/// <summary>Uploads that come in pieces: each lies in a folder of the data folder until its last byte is there, becomes a case, and is removed. What is unfinished for a day is removed too.</summary>
/// <remarks>How much has come is the length of the file itself, so a killed bench goes on where it was.</remarks>
internal sealed class UploadDesk : BackgroundService
{
    /// <summary>How long an unfinished upload waits for its rest.</summary>
    public static readonly TimeSpan Patience = TimeSpan.FromDays(1);

    /// <summary>Most bytes of one piece.</summary>
    public const int PieceBytes = 4 * 1024 * 1024;

    // A page sends two at once; many pages of one person are fewer than this.
    private const int MostUnfinished = 500;
    private readonly string folder;
    private readonly TimeProvider clock;
    private readonly ConcurrentDictionary<Guid, SemaphoreSlim> guards = [];

    /// <summary>Creates the desk.</summary>
    /// <param name="options">How the bench is started.</param>
    /// <param name="clock">Tells the time.</param>
    public UploadDesk(BenchOptions options, TimeProvider clock)
    {
        this.clock = clock;
        folder = Path.Combine(options.DataFolder, "arriving");
    }

    /// <summary>Begins an upload.</summary>
    /// <param name="name">The file's name, for the reader.</param>
    /// <param name="bytes">Its size.</param>
    /// <exception cref="FileNotKeptException">The folder cannot be written, or too much is unfinished.</exception>
    public Guid Begin(string name, long bytes)
    {
        var id = Guid.NewGuid();
        try
        {
            Directory.CreateDirectory(folder);
            if (Directory.EnumerateFiles(folder, "*.json").Take(MostUnfinished).Count() == MostUnfinished)
            {
                throw new FileNotKeptException("Too many uploads are unfinished; wait until some are done.");
            }

            File.WriteAllBytes(PartOf(id), []);
            File.WriteAllText(NoteOf(id), JsonSerializer.Serialize(new Note(name, bytes)));
            return id;
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            Remove(id);
            throw new FileNotKeptException("The file could not be kept: the data folder is full or cannot be written.", error);
        }
    }

    /// <summary>How much of an upload has come; null where there is none of that identifier.</summary>
    /// <param name="id">The upload.</param>
    public UploadState? Find(Guid id)
    {
        try
        {
            Note note = JsonSerializer.Deserialize<Note>(File.ReadAllText(NoteOf(id)))!;
            return new UploadState(note.Name, note.Bytes, new FileInfo(PartOf(id)).Length);
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException or JsonException)
        {
            return null;
        }
    }

    /// <summary>Takes a piece.</summary>
    /// <param name="id">The upload.</param>
    /// <param name="offset">Where the piece begins: as much as has come, or nothing is taken.</param>
    /// <param name="piece">The bytes.</param>
    /// <param name="cancellation">Stops; what has come of the piece stays.</param>
    /// <returns>Whether it was taken, and how much has come now; null where there is no such upload.</returns>
    /// <exception cref="FileNotKeptException">It cannot be written, or is longer than was said.</exception>
    public async Task<UploadPiece?> TakeAsync(Guid id, long offset, Stream piece, CancellationToken cancellation)
    {
        SemaphoreSlim guard = guards.GetOrAdd(id, _ => new SemaphoreSlim(1));
        await guard.WaitAsync(cancellation);
        try
        {
            if (Find(id) is not { } state)
            {
                return null;
            }

            if (state.Arrived != offset)
            {
                return new UploadPiece(IsTaken: false, state.Arrived);
            }

            await using (var part = new FileStream(PartOf(id), FileMode.Append, FileAccess.Write, FileShare.Read, bufferSize: 0, FileOptions.Asynchronous))
            {
                byte[] block = new byte[1 << 16];
                long arrived = offset;
                int read;
                while ((read = await piece.ReadAsync(block, cancellation)) > 0)
                {
                    arrived += read;
                    if (arrived > state.Bytes)
                    {
                        throw new FileNotKeptException("More came than the file's size; nothing was kept.");
                    }

                    await part.WriteAsync(block.AsMemory(0, read), cancellation);
                }

                part.Flush(flushToDisk: true);
            }

            return Find(id) is { } after ? new UploadPiece(IsTaken: true, after.Arrived) : null;
        }
        catch (Exception error) when (error is IOException and not BadHttpRequestException or UnauthorizedAccessException)
        {
            throw new FileNotKeptException("The file could not be kept: the data folder is full or cannot be written.", error);
        }
        finally
        {
            guard.Release();
        }
    }

    /// <summary>Makes a case of an upload that has come whole, and removes it here whether or not it became one.</summary>
    /// <param name="id">The upload.</param>
    /// <param name="bring">Brings the file in.</param>
    /// <param name="cancellation">Stops; the upload stays.</param>
    /// <returns>Null where there is no such upload or it is not whole.</returns>
    public async Task<CaseBroughtIn?> FinishAsync(Guid id, Func<string, Stream, Task<CaseBroughtIn>> bring, CancellationToken cancellation)
    {
        SemaphoreSlim guard = guards.GetOrAdd(id, _ => new SemaphoreSlim(1));
        await guard.WaitAsync(cancellation);
        try
        {
            if (Find(id) is not { } state || state.Arrived != state.Bytes)
            {
                return null;
            }

            CaseBroughtIn brought;
            await using (FileStream part = new(PartOf(id), FileMode.Open, FileAccess.Read, FileShare.Read))
            {
                try
                {
                    brought = await bring(state.Name, part);
                }
                catch (Core.UnreadableImageException)
                {
                    Remove(id);
                    throw;
                }
            }

            Remove(id);
            return brought;
        }
        finally
        {
            guard.Release();
            guards.TryRemove(id, out _);
        }
    }

    /// <summary>Opens an upload that has come whole, for reading; it stays here. Null where there is none, or it is not whole.</summary>
    /// <param name="id">The upload.</param>
    public FileStream? OpenWhole(Guid id)
    {
        try
        {
            return Find(id) is { } state && state.Arrived == state.Bytes ? new FileStream(PartOf(id), FileMode.Open, FileAccess.Read, FileShare.Read | FileShare.Delete) : null;
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            return null;
        }
    }

    /// <summary>Forgets an upload.</summary>
    /// <param name="id">The upload.</param>
    public void Remove(Guid id)
    {
        foreach (string path in new[] { NoteOf(id), PartOf(id) })
        {
            TryDelete(path);
        }
    }

    /// <summary>Removes what nobody went on with.</summary>
    internal void Clear()
    {
        if (!Directory.Exists(folder))
        {
            return;
        }

        foreach (string path in Directory.EnumerateFiles(folder))
        {
            if (File.GetLastWriteTimeUtc(path) < clock.GetUtcNow().UtcDateTime - Patience)
            {
                TryDelete(path);
            }
        }
    }

    /// <inheritdoc/>
    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        await Task.Yield();
        using var hourly = new PeriodicTimer(TimeSpan.FromHours(1), clock);
        do
        {
            try
            {
                Clear();
            }
            catch (Exception error) when (error is IOException or UnauthorizedAccessException)
            {
                // What cannot be removed now is tried again an hour later.
            }
        }
        while (await hourly.WaitForNextTickAsync(stoppingToken));
    }

    private static void TryDelete(string path)
    {
        try
        {
            File.Delete(path);
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            // The next clearing tries again.
        }
    }

    private string PartOf(Guid id) => Path.Combine(folder, id.ToString("N", CultureInfo.InvariantCulture) + ".part");

    private string NoteOf(Guid id) => Path.Combine(folder, id.ToString("N", CultureInfo.InvariantCulture) + ".json");

    private sealed record Note(string Name, long Bytes);
}

/// <summary>An upload as far as it has come.</summary>
/// <param name="Name">Name of the file, for the reader.</param>
/// <param name="Bytes">Size of the whole file.</param>
/// <param name="Arrived">How many bytes have come.</param>
internal sealed record UploadState(string Name, long Bytes, long Arrived);

/// <summary>What became of a piece.</summary>
/// <param name="IsTaken">Whether it was taken: it began where the last one ended.</param>
/// <param name="Arrived">How many bytes of the file have come.</param>
internal sealed record UploadPiece(bool IsTaken, long Arrived);
