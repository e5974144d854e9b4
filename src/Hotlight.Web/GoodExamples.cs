using Hotlight.Audit;
using Hotlight.Simulation;
using Hotlight.Simulation.Scene;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.People;

namespace Hotlight.Web;

/// <summary>The good example of a projection: the phantom lab's part, positioned and exposed as the projection demands, kept once as an invented case.</summary>
internal sealed class GoodExamples(CaseWorkflow cases, IRecordStore records)
{
    private readonly SemaphoreSlim oneAtATime = new(1);

    /// <summary>Whether the lab has a part for the projection.</summary>
    /// <param name="projectionId">The projection.</param>
    public static bool Has(string projectionId) => Find(projectionId) is not null;

    /// <summary>The example's case, exposed now where it is not kept yet.</summary>
    /// <param name="projectionId">The projection; <see cref="Has"/> says whether there is one.</param>
    /// <param name="side">Side of a paired part, "R" or "L".</param>
    /// <param name="progress">Told the share that is done, 0 to 1; null: nobody is.</param>
    /// <param name="cancellation">Stops; nothing is kept then.</param>
    /// <exception cref="ArgumentException">The lab has no part for the projection.</exception>
    /// <exception cref="FileNotKeptException">The file cannot be written.</exception>
    public async Task<Guid> TakeAsync(string projectionId, string side, IProgress<double>? progress = null, CancellationToken cancellation = default)
    {
        (LabPart part, LabView view) = Find(projectionId) ?? throw new ArgumentException($"The phantom lab has no part for '{projectionId}'.", nameof(projectionId));
        string fact = $"good-example:{projectionId}:{(part.IsPaired ? side : "")}:{CaseWorkflow.ThisVersion}";
        fact = fact[..Math.Min(fact.Length, 100)];

        // The bench's own example, whoever looks first.
        Acting.As(Actor.Program.NamedAs(AuditActor.Current));
        await oneAtATime.WaitAsync(cancellation);
        try
        {
            if (Guid.TryParse(await records.FindFactAsync(fact, cancellation), out Guid kept) && await records.FindAsync(kept, cancellation) is not null)
            {
                return kept;
            }

            SceneDocument scene = LabScenes.StartOf(part, view.Name, side, "adult");
            byte[] file = await Task.Run(() => Lab.Expose(scene, null, progress, cancellation).ForPresentation(), cancellation);
            string name = cases.NameOf(projectionId) ?? projectionId;
            CaseBroughtIn brought = await cases.BringInInventedAsync(
                $"{Components.Pages.LabPage.FilePrefix}good-{projectionId}.dcm", new MemoryStream(file, writable: false), $"Good example, phantom: {name}", projectionId, CaseOrigin.Lab, cancellation);
            await records.KeepFactAsync(fact, brought.Record.Id.ToString(), cancellation);
            return brought.Record.Id;
        }
        finally
        {
            oneAtATime.Release();
        }
    }

    private static (LabPart Part, LabView View)? Find(string projectionId)
    {
        foreach (LabPart part in Lab.Parts)
        {
            if (part.Views.FirstOrDefault(view => view.ProjectionId == projectionId) is { } view)
            {
                return (part, view);
            }
        }

        return null;
    }
}
