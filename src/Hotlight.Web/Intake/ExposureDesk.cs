using System.Collections.Concurrent;
using Hotlight.Workflows.Records;

namespace Hotlight.Web.Intake;

/// <summary>Files of exposures that pages are sending: each page has a batch of its own, held in memory until it is kept or the page is left.</summary>
/// <param name="intake">Reads them.</param>
internal sealed class ExposureDesk(ExposureIntake intake)
{
    /// <summary>Most bytes of a file's beginning that a page sends; its attributes lie in them.</summary>
    public const int HeadBytes = 1 << 18;

    /// <summary>Most bytes of a whole file that is needed because its attributes are longer: reports and odd headers.</summary>
    public const int WholeBytes = 1 << 26;

    private readonly ConcurrentDictionary<Guid, FileBatch> batches = [];

    /// <summary>Opens a batch.</summary>
    public Guid Begin()
    {
        var id = Guid.NewGuid();
        batches[id] = intake.NewBatch();
        return id;
    }

    /// <summary>A batch; null where it was kept or its page was left.</summary>
    /// <param name="id">The batch.</param>
    public FileBatch? Find(Guid id) => batches.GetValueOrDefault(id);

    /// <summary>Forgets a batch.</summary>
    /// <param name="id">The batch.</param>
    public void Remove(Guid id) => batches.TryRemove(id, out _);
}
