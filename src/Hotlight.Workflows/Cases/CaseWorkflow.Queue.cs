using System.Diagnostics;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Workflows.Measuring;

namespace Hotlight.Workflows.Cases;

/// <content>How cases of the measuring queue are brought up to date.</content>
public sealed partial class CaseWorkflow
{
    private static readonly TimeSpan Yield = TimeSpan.FromMilliseconds(50);

    // One place is the reader's: what is opened is measured beside what the queue measures.
    private readonly MeasuringRoom queueRoom = new(Math.Max(1, MeasuringRoom.PlacesHere() - 1));
    private int waitedFor;

    /// <summary>How many cases of the queue can be measured at once here: a case for each core and each 400 MB of half the memory, less the one a reader may open; 1 at least.</summary>
    public int QueuePlaces => queueRoom.Places;

    /// <summary>What cases are to be measured with now.</summary>
    public MeasuringTarget Target
    {
        get
        {
            Clinic.ClinicState state = Settings;
            return new MeasuringTarget(ThisVersion, state.ResultKey, state.Number);
        }
    }

    /// <summary>Measures a case that was taken from the queue and keeps the result; a case that is up to date by now only leaves the queue. Answers that are given meanwhile stay, and the verdict is theirs.</summary>
    /// <param name="job">The taking.</param>
    /// <param name="from">The queue it was taken from.</param>
    /// <param name="cancellation">Stops waiting for it: nothing is kept then. A measuring under way runs out unheard.</param>
    /// <returns>Whether the result was kept or not needed; false when the lease was lost, and nothing was changed.</returns>
    /// <exception cref="UnreadableImageException">The kept file cannot be read by this version.</exception>
    /// <exception cref="FileNotKeptException">The kept file is missing.</exception>
    /// <exception cref="CaseGoneException">The case is not kept any more.</exception>
    public async Task<bool> MeasureAsync(MeasuringJob job, IMeasuringQueue from, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(job);
        ArgumentNullException.ThrowIfNull(from);
        (CaseRecord From, CaseRecord Result)? measured = null;
        while (true)
        {
            CaseRecord record = await GetAsync(job.CaseId, cancellation);
            if (IsCurrent(record.MeasuredBy, record.MeasuredWith))
            {
                return await from.DropAsync(job, cancellation);
            }

            if (measured is not { } known || known.From.ProjectionId != record.ProjectionId || known.From.GivenSpacing != record.GivenSpacing || known.Result.MeasuredWith != Settings.ResultKey)
            {
                known = (record, await MeasureInTurnAsync(record, cancellation));
                measured = known;
            }

            CaseRecord next = record with
            {
                ExposureRecordJson = known.Result.ExposureRecordJson,
                MeasurementsJson = known.Result.MeasurementsJson,
                DeidentificationReportJson = known.Result.DeidentificationReportJson,
                MeasuredBy = known.Result.MeasuredBy,
                MeasuredWith = known.Result.MeasuredWith,
            };
            try
            {
                return await from.KeepAsync(job, next with { Verdict = Term(Lay(next).Critique) }, cancellation) is not null;
            }
            catch (CaseChangedException)
            {
                // A reader answered meanwhile: the same figures are laid under the newer answers.
            }
        }
    }

    // Readers first: nothing is begun while somebody waits. Not by way of the shelf, so that what readers look at stays decoded.
    private async Task<CaseRecord> MeasureInTurnAsync(CaseRecord record, CancellationToken cancellation)
    {
        while (Volatile.Read(ref waitedFor) > 0)
        {
            await Task.Delay(Yield, cancellation);
        }

        long start = Stopwatch.GetTimestamp();
        byte[] content = await files.ReadAsync(record.ContentHash, cancellation).WaitAsync(cancellation);
        return await Task.Run(
            () =>
            {
                Radiograph radiograph = RadiographReader.Read(content, record.FileName, cancellation);
                double readMs = Stopwatch.GetElapsedTime(start).TotalMilliseconds;
                int places = queueRoom.Enter((long)radiograph.Rows * radiograph.Columns);
                try
                {
                    cancellation.ThrowIfCancellationRequested();
                    return Measured(record, radiograph, readMs);
                }
                finally
                {
                    queueRoom.Leave(places);
                }
            },
            cancellation).WaitAsync(cancellation);
    }
}
