using Hotlight.Records;
using Hotlight.Records.Sources;

namespace Hotlight.Workflows.Records;

/// <summary>What the files of one bringing-in told so far. Calls may come from several threads; they wait for each other.</summary>
public sealed class FileBatch
{
    private readonly DicomSource source;
    private readonly SourceBatch batch = new();
    private readonly List<SourceFault> faults = [];
    private readonly Lock one = new();

    /// <summary>Creates the batch.</summary>
    /// <param name="source">Reads the files.</param>
    internal FileBatch(DicomSource source) => this.source = source;

    /// <summary>Files that were read.</summary>
    public long Files { get; private set; }

    /// <summary>Files of another kind, which say nothing of an exposure.</summary>
    public long OtherKind { get; private set; }

    /// <summary>Files that could not be taken.</summary>
    public long FaultCount { get; private set; }

    /// <summary>The first <see cref="ExposureIntake.MostFaults"/> of them.</summary>
    public IReadOnlyList<SourceFault> Faults
    {
        get
        {
            lock (one)
            {
                return [.. faults];
            }
        }
    }

    /// <summary>Exposures so far; several files of one count once.</summary>
    public int Exposures
    {
        get
        {
            lock (one)
            {
                return batch.Count;
            }
        }
    }

    /// <summary>Images that were said to be rejected and did not come themselves.</summary>
    public int MissingImages
    {
        get
        {
            lock (one)
            {
                return batch.MissingImages;
            }
        }
    }

    /// <summary>Reads a file.</summary>
    /// <param name="content">The file, at its beginning.</param>
    /// <param name="name">Its name, for messages.</param>
    /// <param name="cancellation">Stops the reading.</param>
    public SourceReading Add(Stream content, string name, CancellationToken cancellation = default)
    {
        SourceReading reading = source.Read(content, name, cancellation);
        Add(reading, name);
        return reading;
    }

    /// <summary>Reads the beginning of a file and takes it only where that is enough.</summary>
    /// <param name="head">The file's first bytes.</param>
    /// <param name="isWhole">Whether they are all of it.</param>
    /// <param name="name">Its name, for messages.</param>
    /// <returns>Null: more of the file is needed; nothing was taken.</returns>
    public SourceReading? AddHead(ReadOnlyMemory<byte> head, bool isWhole, string name)
    {
        using MemoryStream content = new(head.ToArray(), writable: false);
        SourceReading reading = source.Read(content, name);
        if (!isWhole && reading is { NothingBecause: not null, IsOtherKind: false })
        {
            return null;
        }

        // The head of a document can look whole where it ends between two items.
        if (!isWhole && reading.Exposures.Any(found => found.Entry.Source == EntrySource.DoseReport) || (!isWhole && reading.Remarks.Count > 0))
        {
            return null;
        }

        Add(reading, name);
        return reading;
    }

    /// <summary>Notes a file that could not be opened.</summary>
    /// <param name="name">Its name.</param>
    /// <param name="reason">Why.</param>
    public void AddUnreadable(string name, string reason) => Add(new SourceReading { NothingBecause = $"It cannot be read: {reason}" }, name);

    /// <summary>The entries, the oldest first.</summary>
    public IReadOnlyList<ExposureEntry> Entries()
    {
        lock (one)
        {
            return batch.Entries();
        }
    }

    private void Add(SourceReading reading, string name)
    {
        lock (one)
        {
            Files++;
            if (reading.NothingBecause is null)
            {
                batch.Add(reading);
            }
            else if (reading.IsOtherKind)
            {
                OtherKind++;
            }
            else
            {
                FaultCount++;
                if (faults.Count < ExposureIntake.MostFaults)
                {
                    faults.Add(new SourceFault(name, reading.NothingBecause));
                }
            }
        }
    }
}
