using System.Collections.Concurrent;
using System.Security.Cryptography;
using System.Text;
using System.Text.Json;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Judgement;
using Hotlight.Measure.Document;
using Hotlight.Privacy;
using Hotlight.Privacy.Publishing;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Clinic;

namespace Hotlight.Workflows.Teaching;

/// <summary>Makes cases ready to be given away: whatever leaves the bench begins here and ends at <see cref="PublicationGate"/>.</summary>
/// <param name="records">Where cases are kept.</param>
/// <param name="files">Where files are kept.</param>
/// <param name="shelf">Decoded radiographs.</param>
/// <param name="clinic">The clinic's settings; null: nothing is set.</param>
public sealed class CasePublisher(IRecordStore records, IFileStore files, RadiographShelf shelf, ClinicWorkflow? clinic = null)
{
    // What was found in the pixels of a file does not change while the bench runs, and the people of the clinic seldom do.
    private const int MostHeld = 64;
    private readonly ConcurrentDictionary<(string ContentHash, string Known), DrawnText> found = new();

    /// <summary>A case made ready: what is known of its patient, what is drawn into its pixels, and its pixels without what must go.</summary>
    /// <param name="open">The case as it lies on the bench.</param>
    /// <param name="cancellation">Stops it.</param>
    /// <exception cref="UnreadableImageException">The kept file cannot be read.</exception>
    /// <exception cref="FileNotKeptException">The kept file is missing.</exception>
    public async Task<PublishableCase> PrepareAsync(OpenCase open, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(open);
        CaseRecord record = open.Record;
        Radiograph radiograph = await shelf.TakeAsync(record.ContentHash, record.FileName);
        if (record.IsInvented)
        {
            return new PublishableCase(open, KnownIdentity.None, radiograph with { Overlays = [] }, DrawnText.NoneInInvented, PixelReview.None);
        }

        byte[] content = await files.ReadAsync(record.ContentHash, cancellation);
        KnownIdentity known = await KnownAsync(record, content, cancellation);
        PixelReview review = await ReviewAsync(record, cancellation);
        var key = (record.ContentHash, $"{known.Count}/{record.MeasuredBy}");
        if (!found.TryGetValue(key, out DrawnText? drawn))
        {
            drawn = await DrawnTextFinder.FindAsync(radiograph, known, Hints(open.Exposure, open.Measurements), null, cancellation);
            if (found.Count >= MostHeld)
            {
                found.Clear();
            }

            found[key] = drawn;
        }

        return new PublishableCase(open, known, await Task.Run(() => PixelCover.Cover(radiograph, review.Covered), cancellation), drawn, review);
    }

    /// <summary>The pixels of a case as whoever is not of the clinic may be sent them: covered places black, no overlays.</summary>
    /// <param name="record">The case.</param>
    /// <param name="cancellation">Stops it.</param>
    /// <returns>What tells these pixels from those of another decision, and the radiograph.</returns>
    /// <exception cref="UnreadableImageException">The kept file cannot be read.</exception>
    /// <exception cref="FileNotKeptException">The kept file is missing.</exception>
    public async Task<(string Key, Func<Task<Radiograph>> Take)> CoveredAsync(CaseRecord record, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(record);
        PixelReview review = record.IsInvented ? PixelReview.None : await ReviewAsync(record, cancellation);
        string key = review.Covered.Count == 0 ? "bare" : Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(string.Join(';', review.Covered.Order(Comparer<PixelBox>.Create((one, other) => (one.Top, one.Left, one.Width, one.Height).CompareTo((other.Top, other.Left, other.Width, other.Height))))))))[..16];
        return (key, async () =>
        {
            Radiograph radiograph = await shelf.TakeAsync(record.ContentHash, record.FileName);
            return await Task.Run(() => PixelCover.Cover(radiograph, review.Covered), cancellation);
        });
    }

    /// <summary>What a person decided of text in the pixels of a case's file; kept for every publication of the file.</summary>
    /// <param name="record">The case.</param>
    /// <param name="cancellation">Stops the reading.</param>
    public async Task<PixelReview> ReviewAsync(CaseRecord record, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(record);
        return await records.FindFactAsync(FactOf(record), cancellation) is { Length: > 0 } json ? JsonSerializer.Deserialize<PixelReview>(json)! : PixelReview.None;
    }

    /// <summary>Keeps what a person decided of text in the pixels.</summary>
    /// <param name="record">The case.</param>
    /// <param name="review">What was decided.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    public Task KeepReviewAsync(CaseRecord record, PixelReview review, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(record);
        ArgumentNullException.ThrowIfNull(review);
        return records.KeepFactAsync(FactOf(record), JsonSerializer.Serialize(review), cancellation);
    }

    /// <summary>A case's file as it may leave: DICOM cleaned with the key of one publication and blacked out where a person said; of a picture nothing but its pixels, as PNG made by the caller.</summary>
    /// <param name="prepared">The case.</param>
    /// <param name="key">The key of the publication, kept nowhere.</param>
    /// <param name="fileName">Name for messages.</param>
    /// <param name="cancellation">Stops it.</param>
    /// <returns>The file with the report of what was changed; null where the kept file is no DICOM file.</returns>
    public async Task<DeidentifiedFile?> DicomAsync(PublishableCase prepared, PrivacyKey key, string fileName, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(prepared);
        if (prepared.Radiograph.Source != ImageSource.Dicom)
        {
            return null;
        }

        byte[] content = await files.ReadAsync(prepared.Record.ContentHash, cancellation);
        return await Task.Run(() => PixelCover.DicomWithReport(content, fileName, prepared.Review.Covered, key, cancellation), cancellation);
    }

    private static string FactOf(CaseRecord record) => $"pixels-{record.ContentHash}";

    /// <summary>What header and measurements say of text in the pixels.</summary>
    /// <param name="exposure">The header.</param>
    /// <param name="measurements">The measurements.</param>
    public static DrawnTextHints Hints(ExposureRecord exposure, MeasurementDocument measurements)
    {
        ArgumentNullException.ThrowIfNull(exposure);
        ArgumentNullException.ThrowIfNull(measurements);
        IReadOnlyList<FoundMarker> markers = measurements.Markers.Value?.Found ?? [];
        bool says = exposure.BurnedInAnnotation == "YES" || measurements.Processing.Value?.Details?.Any(sign => sign.Kind == ProcessingKind.DrawnText) == true;
        return new DrawnTextHints(says, [.. markers.Where(marker => marker.Corners is { Count: > 0 }).Select(marker => BoxOf(marker.Corners!))]);
    }

    private static PixelBox BoxOf(IReadOnlyList<PixelPoint> corners)
    {
        int left = (int)Math.Floor(corners.Min(corner => corner.X)), top = (int)Math.Floor(corners.Min(corner => corner.Y));
        return new PixelBox(left, top, Math.Max(1, (int)Math.Ceiling(corners.Max(corner => corner.X)) - left), Math.Max(1, (int)Math.Ceiling(corners.Max(corner => corner.Y)) - top));
    }

    private async Task<KnownIdentity> KnownAsync(CaseRecord record, byte[] content, CancellationToken cancellation)
    {
        KnownIdentity known = KnownIdentity.OfFile(content)
            .With(IdentityKind.CaseLabel, record.PatientLabel)
            .With(IdentityKind.Uid, record.ExaminationKey, record.SeriesUid, record.SopInstanceUid)
            .WithDate(IdentityKind.ExaminationDate, record.AcquiredAt is { } at ? DateOnly.FromDateTime(at.UtcDateTime) : null);
        if (clinic is null)
        {
            return known;
        }

        ClinicState state = await clinic.LoadAsync(cancellation);
        return known.With(IdentityKind.ClinicPerson, state.Settings.People.Select(person => person.Pseudonym));
    }
}

/// <summary>What a person decided of text in the pixels of a file.</summary>
/// <param name="Covered">Places that are blacked out in what is published.</param>
/// <param name="Kept">Places that were looked at and may stay.</param>
/// <param name="LookedOver">Whether the whole picture was looked over.</param>
public sealed record PixelReview(IReadOnlyList<PixelBox> Covered, IReadOnlyList<PixelBox> Kept, bool LookedOver)
{
    /// <summary>Nothing was decided.</summary>
    public static PixelReview None { get; } = new([], [], false);
}

/// <summary>A case made ready to be given away.</summary>
/// <param name="Open">The case as it lies on the bench.</param>
/// <param name="Known">What is known of its patient; never shown.</param>
/// <param name="Radiograph">Its radiograph as it may be published: covered places black, no overlays.</param>
/// <param name="Found">Text that was found drawn into the pixels.</param>
/// <param name="Review">What a person decided of it.</param>
public sealed record PublishableCase(OpenCase Open, KnownIdentity Known, Radiograph Radiograph, DrawnText Found, PixelReview Review)
{
    /// <summary>The kept record.</summary>
    public CaseRecord Record => Open.Record;

    /// <summary>The picture for the gate.</summary>
    /// <param name="where">Which picture, for the reader.</param>
    public PublishedPicture Picture(string where) => new(where, Found, Review.Covered, Review.Kept, Review.LookedOver);

    /// <summary>Everything that somebody typed of the case: its title, tags, remarks, the reason of the verdict, the plan's own words.</summary>
    public IEnumerable<PublishedText> TypedTexts()
    {
        yield return new PublishedText("the title of the case", Record.Title, IsTyped: true);
        if (Record.Tags.Length > 0)
        {
            yield return new PublishedText("the tags of the case", Record.Tags, IsTyped: true);
        }

        if (Open.Answers is not { } answers)
        {
            yield break;
        }

        foreach ((string lineId, Answer answer) in answers.Lines)
        {
            if (answer.Remark is { Length: > 0 } remark)
            {
                yield return new PublishedText($"the remark on the line “{QuestionOf(lineId)}”", remark, IsTyped: true);
            }
        }

        if (answers.Reader is { Length: > 0 } reader)
        {
            yield return new PublishedText("the name of the reader", reader, IsTyped: true);
        }

        if (answers.Verdict is { } verdict)
        {
            yield return new PublishedText("the reason of the verdict", verdict.Reason, IsTyped: true);
        }

        foreach (PlanEdit edit in answers.Plan)
        {
            if (edit.Instruction is { Length: > 0 } instruction)
            {
                yield return new PublishedText("a line of the plan", instruction, IsTyped: true);
            }
        }
    }

    private string QuestionOf(string lineId) => Open.Critique?.Lines.FirstOrDefault(line => line.Id == lineId)?.Question ?? lineId;
}
