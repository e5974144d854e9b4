using System.Globalization;
using System.Text.Json;
using Hotlight.Catalogue;
using Hotlight.Core;
using Hotlight.Imaging.Dicom;
using Hotlight.Privacy;
using Hotlight.Records;
using Hotlight.Records.Invented;
using Hotlight.Records.Sources;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.Intake;

namespace Hotlight.Workflows.Records;

/// <summary>Keeps the bench's own cases in the records: a case with a verdict is an exposure of the department.</summary>
/// <remarks>
/// <para>The verdict itself changes nothing: it is a judgement made afterwards, and does not say what became of the exposure. A case counts as kept for reading, unless a source of the same exposure (a dose report, a key object selection) told otherwise or somebody says so on the case.</para>
/// <para>Demo cases are kept on the invented department's site; exposures of the phantom lab are not kept, for nobody was exposed and no room made them. docs/bringing-in-exposures.md#the-benchs-own-cases.</para>
/// </remarks>
public sealed class CaseExposures
{
    private const int HeadBytes = 1 << 19;
    private const int Page = 500;
    private readonly IRecordStore records;
    private readonly IFileStore files;
    private readonly IExposureLog log;
    private readonly PrivacyKey key;
    private readonly ClinicWorkflow? clinic;
    private readonly ProjectionWords projections;

    /// <summary>Creates the keeping.</summary>
    /// <param name="records">Where cases are kept.</param>
    /// <param name="files">Where their files are kept.</param>
    /// <param name="log">Where entries are kept.</param>
    /// <param name="catalogue">The projections.</param>
    /// <param name="key">The store's key, for pseudonyms.</param>
    /// <param name="clinic">The clinic's settings; null: nothing is set.</param>
    public CaseExposures(IRecordStore records, IFileStore files, IExposureLog log, ProjectionCatalogue catalogue, PrivacyKey key, ClinicWorkflow? clinic = null)
    {
        ArgumentNullException.ThrowIfNull(records);
        ArgumentNullException.ThrowIfNull(files);
        ArgumentNullException.ThrowIfNull(log);
        ArgumentNullException.ThrowIfNull(key);
        this.records = records;
        this.files = files;
        this.log = log;
        this.key = key;
        this.clinic = clinic;
        projections = new ProjectionWords(catalogue);
    }

    /// <summary>Keeps or renews the entries of cases; those that are gone, have no verdict, or are of the phantom lab are passed over.</summary>
    /// <param name="caseIds">The cases.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    /// <returns>How many entries were kept or renewed.</returns>
    public async Task<int> KeepAsync(IReadOnlyCollection<Guid> caseIds, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(caseIds);
        List<ExposureEntry> entries = [];
        foreach (Guid id in caseIds)
        {
            if (await records.FindAsync(id, cancellation) is not { } record || await MakeAsync(record, cancellation) is not { } made)
            {
                continue;
            }

            ExposureEntry? kept = await FindAsync(made, cancellation);
            ExposureEntry entry = kept is null
                ? made
                : made with { Id = kept.Id, Use = kept.Use, Reason = kept.Reason, IsRepeat = made.IsRepeat || kept.IsRepeat };
            if (kept is null || kept.CaseId != id || kept.ProjectionId != entry.ProjectionId || kept.IsRepeat != entry.IsRepeat)
            {
                entries.Add(entry);
            }
        }

        await log.KeepCasesAsync(entries, cancellation);
        return entries.Count;
    }

    /// <summary>The entry of a case; null where it has none yet.</summary>
    /// <param name="record">The case.</param>
    /// <param name="cancellation">Stops the reading.</param>
    public async Task<ExposureEntry?> FindAsync(CaseRecord record, CancellationToken cancellation = default)
        => await MakeAsync(record, cancellation) is { } made ? await FindAsync(made, cancellation) : null;

    /// <summary>Says what became of the exposure of a case, and makes its entry where there is none yet.</summary>
    /// <param name="record">The case.</param>
    /// <param name="use">What became of it.</param>
    /// <param name="reason">Why it was rejected; null: not said, or it was not.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    /// <returns>The entry as it is kept; null for a case that is not in the records.</returns>
    public async Task<ExposureEntry?> SayAsync(CaseRecord record, ExposureUse use, RejectReason? reason, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(record);
        if (await MakeAsync(record, cancellation) is not { } made)
        {
            return null;
        }

        if (await FindAsync(made, cancellation) is null)
        {
            await log.KeepCasesAsync([made], cancellation);
        }

        if (await FindAsync(made, cancellation) is not { } kept)
        {
            return null;
        }

        ExposureEntry said = kept with { Use = use, Reason = use == ExposureUse.Rejected ? reason : null, IsRepeat = kept.IsRepeat && use != ExposureUse.Test };
        await log.ChangeAsync(said, cancellation);
        return said;
    }

    /// <summary>The entry as the case tells it; null for a case that is not in the records.</summary>
    private async Task<ExposureEntry?> MakeAsync(CaseRecord record, CancellationToken cancellation)
    {
        if (record.Verdict is null || record.ReceivedBy == CaseOrigin.Lab)
        {
            return null;
        }

        ExposureEntry entry = await HeaderAsync(record, cancellation) ?? Bare(record);
        return entry with
        {
            Site = record.IsInvented ? DepartmentRecipe.SaltmarshLane.Site : string.Empty,
            ProjectionId = record.ProjectionId ?? entry.ProjectionId,
            IsRepeat = entry.IsRepeat || RepeatsOf(record.AnswersJson) > 0,
            CaseId = record.Id,
            Source = EntrySource.Bench,
        };
    }

    /// <summary>What the kept file's header tells; null for a picture, or a header that tells no exposure.</summary>
    private async Task<ExposureEntry?> HeaderAsync(CaseRecord record, CancellationToken cancellation)
    {
        byte[] head;
        try
        {
            head = await files.ReadHeadAsync(record.ContentHash, HeadBytes, cancellation);
        }
        catch (FileNotKeptException)
        {
            return null;
        }

        if (!DicomContent.LooksLikeDicom(head))
        {
            return null;
        }

        // What was to be made new in the file was made new when it came in.
        ClinicSettings settings = clinic?.Current.Settings ?? ClinicSettings.None;
        var source = new DicomSource(projections, new ClinicNaming(key, settings, projections, IntakeSetting.Clinical), settings.Shifts);
        try
        {
            using MemoryStream content = new(head, writable: false);
            DicomDataset header = DicomHeader.Read(content, record.FileName, cancellation);
            if (source.Read(header).Exposures is [{ } found])
            {
                return found.Entry;
            }

            // A header without any date: the day it came onto the bench stands for it, Study Date (0008,0020).
            header.SetText(0x00080020, "DA", Bare(record).ExposedAt.ToString("yyyyMMdd", CultureInfo.InvariantCulture));
            return source.Read(header).Exposures is [{ } dated] ? dated.Entry : null;
        }
        catch (UnreadableImageException)
        {
            return null;
        }
    }

    /// <summary>An entry of a case whose file tells nothing: the day it came onto the bench, by the machine's clock.</summary>
    private static ExposureEntry Bare(CaseRecord record) => new()
    {
        Id = Guid.CreateVersion7(),
        Key = record.SopInstanceUid ?? record.ContentHash,
        ExposedAt = record.AcquiredAt?.DateTime ?? record.Created.LocalDateTime,
        PatientKey = record.PatientKey,
        ExaminationKey = record.ExaminationKey,
    };

    private async Task<ExposureEntry?> FindAsync(ExposureEntry made, CancellationToken cancellation)
    {
        DateOnly day = DateOnly.FromDateTime(made.ExposedAt);
        var query = new LogQuery { Site = made.Site, From = day, Before = day.AddDays(1) };
        for (int skip = 0; ; skip += Page)
        {
            IReadOnlyList<ExposureEntry> some = await log.ListAsync(query, skip, Page, cancellation);
            if (some.FirstOrDefault(entry => entry.CaseId == made.CaseId || entry.Key == made.Key) is { } found)
            {
                return found;
            }

            if (some.Count < Page)
            {
                return null;
            }
        }
    }

    private static int RepeatsOf(string answersJson)
    {
        try
        {
            using JsonDocument answers = JsonDocument.Parse(answersJson);
            return answers.RootElement.TryGetProperty("examination", out JsonElement examination) && examination.TryGetProperty("repeats", out JsonElement repeats) && repeats.TryGetInt32(out int count) ? count : 0;
        }
        catch (JsonException)
        {
            return 0;
        }
    }
}
