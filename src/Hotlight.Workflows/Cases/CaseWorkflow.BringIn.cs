using System.Text.Json;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Document;
using Hotlight.Workflows.Intake;

namespace Hotlight.Workflows.Cases;

/// <content>How a file becomes a case.</content>
public sealed partial class CaseWorkflow
{
    // Files on their way in are held in memory, one decoded beside: two at once.
    private readonly SemaphoreSlim preparing = new(2);

    // Of two files with the same exposure at once one must see the other's case.
    private readonly SemaphoreSlim adding = new(1);

    /// <summary>What happens to a file on its way in.</summary>
    public IntakeSetting IntakeSetting => intake.Setting;

    /// <summary>Keeps a file, reads and measures it, and makes a case of it; a file whose exposure is already kept makes none.</summary>
    /// <param name="fileName">Name as it was given; only its last part is kept, for the reader.</param>
    /// <param name="content">The file's bytes.</param>
    /// <param name="limitBytes">Most bytes to take.</param>
    /// <param name="origin">How it came in.</param>
    /// <param name="cancellation">Stops; nothing is kept then.</param>
    /// <exception cref="UnreadableImageException">The file is not a radiograph Hotlight can judge; nothing is kept.</exception>
    /// <exception cref="FileNotKeptException">The file is too large or cannot be written; nothing is kept.</exception>
    public Task<CaseBroughtIn> BringInAsync(string fileName, Stream content, long limitBytes, CaseOrigin origin = CaseOrigin.Upload, CancellationToken cancellation = default)
        => BringInAsync(fileName, content, limitBytes, title: null, projectionId: null, origin, cancellation);

    /// <summary>Brings in a made case of the demo set or of the phantom lab.</summary>
    /// <param name="fileName">Name of its file.</param>
    /// <param name="content">The file's bytes.</param>
    /// <param name="title">What the case is called.</param>
    /// <param name="projectionId">Its projection.</param>
    /// <param name="origin"><see cref="CaseOrigin.Demo"/> or <see cref="CaseOrigin.Lab"/>.</param>
    /// <param name="cancellation">Stops; nothing is kept then.</param>
    /// <exception cref="UnreadableImageException">The file cannot be read.</exception>
    /// <exception cref="FileNotKeptException">The file cannot be written.</exception>
    public Task<CaseBroughtIn> BringInInventedAsync(string fileName, Stream content, string title, string? projectionId, CaseOrigin origin = CaseOrigin.Demo, CancellationToken cancellation = default)
        => BringInAsync(fileName, content, long.MaxValue, title, projectionId, origin, cancellation);

    /// <summary>Whether a file of an origin waits in the queue to be measured: nobody looks at it yet, and many may come at once.</summary>
    /// <param name="origin">How it came in.</param>
    private bool IsMeasuredLater(CaseOrigin origin) => queue is not null && origin is CaseOrigin.Inbox or CaseOrigin.Network or CaseOrigin.Web;

    private static async Task<byte[]> ReadAsync(Stream content, long limitBytes, CancellationToken cancellation)
    {
        using var whole = new MemoryStream();
        byte[] block = new byte[1 << 16];
        int read;
        while ((read = await content.ReadAsync(block, cancellation)) > 0)
        {
            if (whole.Length + read > Math.Min(limitBytes, RadiographReader.MaximumFileBytes))
            {
                throw new FileNotKeptException($"The file is larger than {Math.Min(limitBytes, RadiographReader.MaximumFileBytes) / (1024 * 1024)} MiB, the most the bench takes.");
            }

            whole.Write(block, 0, read);
        }

        return whole.TryGetBuffer(out ArraySegment<byte> buffer) && buffer.Array!.Length == whole.Length ? buffer.Array : whole.ToArray();
    }

    private async Task<CaseBroughtIn> BringInAsync(
        string fileName, Stream content, long limitBytes, string? title, string? projectionId, CaseOrigin origin, CancellationToken cancellation)
    {
        ArgumentNullException.ThrowIfNull(fileName);
        string name = Clean(fileName, CaseRecord.FileNameMaxLength);
        name = name.Length == 0 ? "radiograph" : name;
        bool isInvented = origin is CaseOrigin.Demo or CaseOrigin.Lab;
        await preparing.WaitAsync(cancellation);
        try
        {
            // The same pixels are read before the identity is taken out, to see that they are unchanged, and to be measured.
            using IDisposable once = NativeDecoding.Once();
            byte[] given = await ReadAsync(content, limitBytes, cancellation);
            IntakePolicy policy = isInvented ? IntakePolicy.AsItIs : intake;
            IntakeFile file = await Task.Run(() => policy.Prepare(given, name, cancellation), cancellation);
            if (!isInvented && await FindSameAsync(file.Identity.InstanceUid, null, cancellation) is { } known)
            {
                return new CaseBroughtIn(known, WasKept: true, []);
            }

            using Stream source = new MemoryStream(file.Content.ToArray(), writable: false);
            KeptFile kept = await files.KeepAsync(source, long.MaxValue, cancellation);
            return await MakeCaseAsync(file, kept, title, projectionId, origin, cancellation);
        }
        finally
        {
            preparing.Release();
        }
    }

    private async Task<CaseBroughtIn> MakeCaseAsync(IntakeFile file, KeptFile kept, string? title, string? projectionId, CaseOrigin origin, CancellationToken cancellation)
    {
        bool isInvented = origin is CaseOrigin.Demo or CaseOrigin.Lab;
        bool isCase = false;
        try
        {
            if (!isInvented && kept.WasKept && await FindSameAsync(null, kept.ContentHash, cancellation) is { } known)
            {
                return new CaseBroughtIn(known, WasKept: true, []);
            }

            DateTimeOffset now = clock.GetUtcNow();
            var record = new CaseRecord
            {
                Id = Guid.CreateVersion7(now),
                Title = title ?? Title(file.FileName),
                FileName = file.FileName,
                ContentHash = kept.ContentHash,
                ContentBytes = kept.Bytes,
                ProjectionId = projectionId,
                ExposureRecordJson = NoAnswers,
                MeasurementsJson = NoAnswers,
                MeasuredBy = string.Empty,
                IsInvented = isInvented,
                ReceivedBy = origin,
                PatientKey = Short(file.Identity.PatientKey, CaseRecord.KeyMaxLength),
                PatientLabel = Short(file.Identity.PatientLabel, CaseRecord.KeyMaxLength),
                ExaminationKey = Short(file.Identity.StudyUid, CaseRecord.KeyMaxLength),
                SeriesUid = Short(file.Identity.SeriesUid, CaseRecord.KeyMaxLength),
                SopInstanceUid = Short(file.Identity.InstanceUid, CaseRecord.KeyMaxLength),
                AccessionKey = file.Identity.AccessionKey,
                AcquiredAt = file.Identity.AcquiredAt is { } acquired ? new DateTimeOffset(acquired, TimeSpan.Zero) : null,
                IsDeidentified = file.Report is not null,
                DeidentificationReportJson = file.ReportJson,
                Created = now,
                Changed = now,
            };
            bool isLater = IsMeasuredLater(origin);
            record = isLater ? await ReadHeaderAsync(record, cancellation) : await MeasureAgainAsync(record, cancellation);
            ExposureRecord exposure = ReadExposure(record);
            record = record with
            {
                FileCarriesPatientIdentity = exposure.CarriesPatientIdentity,
                Modality = Short(exposure.Modality, 16),
                Laterality = Short(exposure.Laterality, 16),
                Verdict = isLater ? null : Term(Lay(record).Critique),
            };
            await adding.WaitAsync(cancellation);
            try
            {
                if (!isInvented && await FindSameAsync(record.SopInstanceUid, record.ContentHash, cancellation) is { } earlier)
                {
                    return new CaseBroughtIn(earlier, WasKept: true, []);
                }

                record = await records.AddAsync(record, cancellation);
            }
            finally
            {
                adding.Release();
            }

            isCase = true;
            if (isLater)
            {
                // Not asked for in the same step: a bench that is killed here asks when it starts.
                await queue!.AskAsync(Target, [record.Id], CancellationToken.None);
            }

            return new CaseBroughtIn(record, WasKept: false, IntakeFile.ReadReport(record.DeidentificationReportJson)?.Warnings ?? []);
        }
        finally
        {
            if (!isCase && !kept.WasKept && (await records.FindByContentAsync(kept.ContentHash, CancellationToken.None)).Count == 0)
            {
                files.Remove(kept.ContentHash);
            }
        }
    }

    // That the file is a radiograph is known before it counts as taken; it is decoded for that, and measured later.
    private async Task<CaseRecord> ReadHeaderAsync(CaseRecord record, CancellationToken cancellation)
    {
        byte[] content = await files.ReadAsync(record.ContentHash, cancellation);
        Radiograph radiograph = await Task.Run(() => RadiographReader.Read(content, record.FileName, cancellation), cancellation);
        return record with { ExposureRecordJson = JsonSerializer.Serialize(ExposureIn(record, radiograph), MeasurementJson.Compact) };
    }

    /// <summary>The case that holds the same exposure or the same bytes; null where none does. A made case is no reader's own and does not count.</summary>
    private async Task<CaseRecord?> FindSameAsync(string? instanceUid, string? contentHash, CancellationToken cancellation)
    {
        IReadOnlyList<CaseSummary> same = string.IsNullOrWhiteSpace(instanceUid) ? [] : await records.FindBySopInstanceAsync(instanceUid, cancellation);
        if (same.All(each => each.IsInvented) && contentHash is not null)
        {
            same = await records.FindByContentAsync(contentHash, cancellation);
        }

        return same.FirstOrDefault(each => !each.IsInvented) is { } found ? await records.FindAsync(found.Id, cancellation) : null;
    }

    private static string? Short(string? text, int longest) => text is null || text.Length <= longest ? text : text[..longest];
}
