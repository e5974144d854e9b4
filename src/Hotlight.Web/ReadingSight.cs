using Hotlight.Workflows.Readings;

namespace Hotlight.Web;

/// <summary>Says whether whoever reads in this window may look at a case's answers.</summary>
public sealed class ReadingSight(ReadingWorkflow readings, CurrentReader reader)
{
    /// <summary>Passes when the case's answers may be shown here.</summary>
    /// <param name="caseId">The case.</param>
    /// <param name="cancellation">Stops the reading.</param>
    /// <exception cref="ReadingRefusedException">The case is blind to the reader, or it is a reading and no case; the message says what to do.</exception>
    public async Task CheckAsync(Guid caseId, CancellationToken cancellation = default)
    {
        if (await readings.FindAsync(caseId, cancellation) is not null)
        {
            throw new ReadingRefusedException("A reading of one's own is held against the others on the page of the case's readings, once it is finished.");
        }

        if (!await readings.MayBeBlindAsync(caseId, cancellation))
        {
            return;
        }

        await reader.LoadAsync();
        if ((await readings.OfCaseAsync(caseId, reader.Id, cancellation)).IsBlind)
        {
            throw new ReadingRefusedException("This case is read blind: finish your own reading of it first, then its answers are shown.");
        }
    }
}
