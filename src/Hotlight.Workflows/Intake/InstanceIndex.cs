using System.Collections.Concurrent;
using Hotlight.Core;
using Hotlight.Imaging.Dicom;
using Hotlight.Workflows.Cases;

namespace Hotlight.Workflows.Intake;

/// <summary>The headers of the DICOM files that cases hold, for queries. Read from the files when first asked for, then held in memory.</summary>
public sealed class InstanceIndex
{
    private const int PageSize = 500;

    // A header is a few kilobytes; the rest of what is read is pixels. Longer headers are read whole.
    private const int HeadBytes = 64 * 1024;

    // Longer values, such as tables, are no keys of a query and are read from the file when it is retrieved.
    private const int LongestHeld = 4 * 1024;

    private readonly CaseWorkflow cases;
    private readonly IFileStore files;
    private readonly ConcurrentDictionary<Guid, Instance?> known = [];
    private readonly SemaphoreSlim reading = new(1);

    /// <summary>Creates the index; nothing is read yet.</summary>
    /// <param name="cases">The cases.</param>
    /// <param name="files">Their files.</param>
    public InstanceIndex(CaseWorkflow cases, IFileStore files)
    {
        this.cases = cases;
        this.files = files;
    }

    /// <summary>All instances, the oldest case first; of cases with the same SOP Instance UID the first.</summary>
    /// <param name="cancellation">Stops the reading.</param>
    public async Task<IReadOnlyList<Instance>> AllAsync(CancellationToken cancellation = default)
    {
        await reading.WaitAsync(cancellation);
        try
        {
            List<Guid> there = [];
            for (int skip = 0; ; skip += PageSize)
            {
                IReadOnlyList<CaseSummary> page = await cases.ListAsync(skip, PageSize, cancellation);
                foreach (CaseSummary each in page)
                {
                    there.Add(each.Id);
                    if (!known.ContainsKey(each.Id))
                    {
                        known[each.Id] = await ReadAsync(each.Id, cancellation);
                    }
                }

                if (page.Count < PageSize)
                {
                    break;
                }
            }

            HashSet<Guid> kept = [.. there];
            foreach (Guid gone in known.Keys.Where(id => !kept.Contains(id)).ToArray())
            {
                known.TryRemove(gone, out _);
            }

            return [.. there.Select(id => known.GetValueOrDefault(id)).OfType<Instance>().OrderBy(each => each.Created).DistinctBy(each => each.InstanceUid)];
        }
        finally
        {
            reading.Release();
        }
    }

    /// <summary>The whole file of an instance, taken apart.</summary>
    /// <param name="instance">The instance.</param>
    /// <param name="cancellation">Stops the reading.</param>
    /// <exception cref="FileNotKeptException">The file is missing.</exception>
    /// <exception cref="UnreadableImageException">The file is damaged.</exception>
    public async Task<(byte[] Bytes, DicomContent Content)> FileAsync(Instance instance, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(instance);
        byte[] bytes = await files.ReadAsync(instance.ContentHash, cancellation);
        return (bytes, DicomContent.Read(bytes, instance.FileName, cancellation));
    }

    private async Task<Instance?> ReadAsync(Guid id, CancellationToken cancellation)
    {
        try
        {
            CaseRecord record = await cases.GetAsync(id, cancellation);
            byte[] head = await files.ReadHeadAsync(record.ContentHash, HeadBytes, cancellation);
            if (!DicomContent.LooksLikeDicom(head))
            {
                return null;
            }

            DicomDataset header;
            try
            {
                header = DicomContent.Read(head, record.FileName, cancellation).Dataset;
            }
            catch (UnreadableImageException) when (head.Length == HeadBytes)
            {
                // A long header, or a data set deflated as a whole.
                header = DicomContent.Read(await files.ReadAsync(record.ContentHash, cancellation), record.FileName, cancellation).Dataset;
            }

            DicomDataset copy = Copy(header);
            return copy.Text(0x0020000D) is { } study && copy.Text(0x0020000E) is { } series && copy.Text(0x00080018) is { } instance
                ? new Instance(id, record.ContentHash, record.FileName, record.Created, study, series, instance, copy)
                : null;
        }
        catch (Exception error) when (error is UnreadableImageException or FileNotKeptException or CaseGoneException)
        {
            return null;
        }
    }

    // Without the pixels, and not holding on to the bytes of the file.
    private static DicomDataset Copy(DicomDataset source)
    {
        DicomDataset copy = new();
        foreach (DicomElement element in source.Elements)
        {
            if (element.Tag.Group < 0x5000 && element.Value.Length <= LongestHeld)
            {
                copy.Set(element.Items is { } items
                    ? DicomElement.OfItems(element.Tag, [.. items.Select(Copy)])
                    : DicomElement.OfValue(element.Tag, element.Vr, element.Value.ToArray(), element.IsBigEndian));
            }
        }

        return copy;
    }
}

/// <summary>A DICOM file of a case.</summary>
/// <param name="CaseId">The case.</param>
/// <param name="ContentHash">Its file.</param>
/// <param name="FileName">Name of the file, for messages.</param>
/// <param name="Created">When the case was made.</param>
/// <param name="StudyUid">Study Instance UID.</param>
/// <param name="SeriesUid">Series Instance UID.</param>
/// <param name="InstanceUid">SOP Instance UID.</param>
/// <param name="Header">Its attributes without pixels and drawings.</param>
public sealed record Instance(Guid CaseId, string ContentHash, string FileName, DateTimeOffset Created, string StudyUid, string SeriesUid, string InstanceUid, DicomDataset Header);
