using System.Globalization;
using System.IO.Compression;
using System.Text;
using Hotlight.Core;
using Hotlight.Drawing;
using Hotlight.Imaging;
using Hotlight.Imaging.Png;
using Hotlight.Judgement;
using Hotlight.Measure;
using Hotlight.Measure.Document;
using Hotlight.Privacy;
using Hotlight.Privacy.Publishing;
using Hotlight.Teaching.Collections;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Readings;

namespace Hotlight.Workflows.Teaching.Collections;

/// <summary>What a teacher does with collections: gather cases, put them in order, share them as one file, open another's.</summary>
/// <param name="lessons">Where collections are kept.</param>
/// <param name="cases">The cases.</param>
/// <param name="publisher">Makes cases ready to leave.</param>
/// <param name="clock">Tells the time.</param>
public sealed class CollectionWorkflow(ILessonStore lessons, CaseWorkflow cases, CasePublisher publisher, TimeProvider clock)
{
    /// <summary>The collections, the last changed first.</summary>
    /// <param name="cancellation">Stops the reading.</param>
    public async Task<IReadOnlyList<CaseCollection>> ListAsync(CancellationToken cancellation = default)
        => [.. (await lessons.ListAsync(new LessonQuery { Kind = LessonKind.Collection }, cancellation)).Select(CaseCollection.Of)];

    /// <summary>A collection, or null when it is not kept.</summary>
    /// <param name="id">The collection.</param>
    /// <param name="cancellation">Stops the reading.</param>
    public async Task<CaseCollection?> FindAsync(Guid id, CancellationToken cancellation = default)
        => await lessons.FindAsync(id, cancellation) is { Kind: LessonKind.Collection } lesson ? CaseCollection.Of(lesson) : null;

    /// <summary>Makes a collection.</summary>
    /// <param name="title">Its title, 1 to 200 characters.</param>
    /// <param name="caseIds">Its cases in their order; none twice.</param>
    /// <param name="owner">Who makes it; null: nobody in particular.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    /// <exception cref="LessonRefusedException">The title is missing or too long, or there are too many cases.</exception>
    public async Task<CaseCollection> CreateAsync(string title, IEnumerable<Guid> caseIds, CaseReader? owner = null, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(caseIds);
        DateTimeOffset now = clock.GetUtcNow();
        var collection = new CaseCollection
        {
            Lesson = new Lesson
            {
                Id = Guid.CreateVersion7(now),
                Kind = LessonKind.Collection,
                OwnerId = owner?.Id,
                OwnerPseudonym = owner?.Pseudonym ?? string.Empty,
                Title = Line(title, "The title"),
                BodyJson = "{}",
                Begun = now,
                Changed = now,
            },
            Cases = [.. caseIds.Distinct().Select(id => new CollectedCase(id))],
        };
        Check(collection);
        return CaseCollection.Of(await lessons.AddAsync(collection.ToLesson(), cancellation));
    }

    /// <summary>Keeps a changed collection.</summary>
    /// <param name="collection">The collection as it shall be.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <exception cref="LessonChangedException">Somebody else changed it meanwhile.</exception>
    /// <exception cref="LessonRefusedException">It is gone, or something in it is missing or too long.</exception>
    public async Task<CaseCollection> KeepAsync(CaseCollection collection, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(collection);
        CaseCollection clean = collection with { Lesson = collection.Lesson with { Title = Line(collection.Lesson.Title, "The title") } };
        Check(clean);
        return CaseCollection.Of(await lessons.KeepAsync(clean.ToLesson(), cancellation));
    }

    /// <summary>Removes a collection; its cases stay.</summary>
    /// <param name="id">The collection.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    public Task<bool> RemoveAsync(Guid id, CancellationToken cancellation = default) => lessons.RemoveAsync(id, cancellation);

    /// <summary>Puts a removed collection back.</summary>
    /// <param name="collection">The collection as it was.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    public async Task<CaseCollection> PutBackAsync(CaseCollection collection, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(collection);
        return CaseCollection.Of(await lessons.AddAsync(collection.ToLesson() with { Version = 1 }, cancellation));
    }

    /// <summary>Writes a collection as one file, every case without its patient's identity; nothing is written where something identifying stands in it.</summary>
    /// <param name="collection">The collection.</param>
    /// <param name="target">Where to; left open. What was written to it is worthless when this throws.</param>
    /// <param name="progress">Told of each case; null: nobody is.</param>
    /// <param name="cancellation">Stops it.</param>
    /// <returns>What was taken out of each file and searched for.</returns>
    /// <exception cref="PublicationStoppedException">Something identifying stands in a text, a picture or a file; the places are named with their case.</exception>
    /// <exception cref="LessonRefusedException">It has no case, or a case is gone.</exception>
    /// <exception cref="UnreadableImageException">A kept file cannot be read.</exception>
    /// <exception cref="FileNotKeptException">A kept file is missing.</exception>
    public async Task<SharedPrivacy> ShareAsync(CaseCollection collection, Stream target, IProgress<CollectionProgress>? progress = null, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(collection);
        ArgumentNullException.ThrowIfNull(target);
        if (collection.Cases.Count == 0)
        {
            throw new LessonRefusedException("The collection has no case yet; add one before you share it.");
        }

        // One key for the whole publication, kept nowhere: its cases belong together, and to nothing outside.
        var key = PrivacyKey.Fresh();
        List<PublicationFinding> findings = [];
        KnownIdentity known = KnownIdentity.None;
        List<SharedCase> shared = [];
        Dictionary<string, byte[]> contents = [];
        List<SharedCasePrivacy> reports = [];
        for (int place = 0; place < collection.Cases.Count; place++)
        {
            CollectedCase each = collection.Cases[place];
            OpenCase open;
            try
            {
                open = await cases.OpenAsync(each.CaseId, cancellation);
            }
            catch (CaseGoneException)
            {
                throw new LessonRefusedException($"Case {place + 1} of the collection is gone; take it out, then share.");
            }

            progress?.Report(new CollectionProgress(place, collection.Cases.Count, open.Record.Title));
            PublishableCase prepared = await publisher.PrepareAsync(open, cancellation);
            known = known.And(prepared.Known);
            string folder = (place + 1).ToString("00", CultureInfo.InvariantCulture);
            (IReadOnlyList<(string Name, byte[] Content)> files, PrivacyReport? report) = await FilesAsync(prepared, collection, key, cancellation);
            reports.Add(new SharedCasePrivacy(folder, open.Record.Title, report));
            findings.AddRange(PublicationGate.Check(prepared.Known, PiecesOf(prepared, collection, each, files)).Findings.Select(finding => finding with
            {
                Where = $"case {place + 1}, {finding.Where}",
                Sentence = $"Case {place + 1}: {finding.Sentence}",
            }));
            foreach ((string name, byte[] content) in files)
            {
                contents[$"{folder}/{name}"] = content;
            }

            shared.Add(new SharedCase
            {
                Folder = folder,
                Title = open.Record.Title,
                Projection = open.Record.ProjectionId,
                Tags = [.. open.Record.Tags.Split(',', StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries)],
                Words = each.Words,
                IsInvented = open.Record.IsInvented,
                Files = [.. files.Select(file => CollectionZip.Describe(file.Name, file.Content))],
            });
        }

        // What is known of one patient must not stand beside another's case either.
        findings.AddRange(PublicationGate.Check(known, [new PublishedText("the title of the collection", collection.Lesson.Title, IsTyped: true), new PublishedText("the words to the collection", collection.Words, IsTyped: true)]).Findings);
        new PublicationCheck(findings).Demand();
        progress?.Report(new CollectionProgress(collection.Cases.Count, collection.Cases.Count, "writing the file"));
        var made = new SharedCollection { Title = collection.Lesson.Title, Words = collection.Words, MadeBy = $"Hotlight {CaseWorkflow.ThisVersion}", Cases = shared };
        using var zip = new MemoryStream();
        await Task.Run(() => CollectionZip.Write(zip, made, (of, name) => contents[$"{of.Folder}/{name}"]), cancellation);
        IEnumerable<string> written = contents.Where(file => file.Key.EndsWith(SharedFileNames.Measurements, StringComparison.Ordinal)).Select(file => Encoding.UTF8.GetString(file.Value)).Prepend(SharedCollection.CautionText);
        PublicationGate.CheckOutputs(known, [("collection.zip", zip.GetBuffer().AsMemory(0, (int)zip.Length))], written).Demand();
        zip.Position = 0;
        await zip.CopyToAsync(target, cancellation);
        return new SharedPrivacy(reports, known.Count, zip.Length);
    }

    /// <summary>Opens a collection's file: its cases are brought in by the same door as any file, its answers are kept as one step, and a collection of them is made. Opened twice, nothing doubles but the collection's own entry.</summary>
    /// <param name="source">The file; seekable, left open.</param>
    /// <param name="owner">Who opens it; null: nobody in particular.</param>
    /// <param name="progress">Told of each case; null: nobody is.</param>
    /// <param name="cancellation">Stops it between two cases; what was brought in stays, without a collection.</param>
    /// <exception cref="UnreadableCollectionException">It is no collection, or damaged; nothing was taken.</exception>
    /// <exception cref="UnreadableImageException">A radiograph in it cannot be read.</exception>
    /// <exception cref="FileNotKeptException">A file cannot be kept.</exception>
    public async Task<OpenedCollection> OpenAsync(Stream source, CaseReader? owner = null, IProgress<CollectionProgress>? progress = null, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(source);
        ZipArchive zip;
        try
        {
            zip = new ZipArchive(source, ZipArchiveMode.Read, leaveOpen: true, Encoding.UTF8);
        }
        catch (InvalidDataException error)
        {
            throw new UnreadableCollectionException("This is no zip file, so it is no collection.", error);
        }

        using (zip)
        {
            SharedCollection shared = CollectionZip.ReadContents(zip);
            progress?.Report(new CollectionProgress(0, shared.Cases.Count, "checking every file"));

            // Everything is whole before anything is taken.
            foreach (SharedCase each in shared.Cases)
            {
                foreach (SharedFile file in each.Files)
                {
                    await Task.Run(() => CollectionZip.ReadFile(zip, each, file), cancellation);
                }
            }

            List<CollectedCase> taken = [];
            List<string> notes = [];
            int added = 0;
            foreach (SharedCase each in shared.Cases)
            {
                progress?.Report(new CollectionProgress(taken.Count, shared.Cases.Count, each.Title));
                (CaseRecord record, bool wasKept) = await TakeAsync(zip, each, notes, cancellation);
                added += wasKept ? 0 : 1;
                if (taken.All(other => other.CaseId != record.Id))
                {
                    taken.Add(new CollectedCase(record.Id, each.Words));
                }
            }

            CaseCollection made = await CreateAsync(shared.Title, [], owner, cancellation);
            CaseCollection kept = await KeepAsync(made with { Words = shared.Words, Cases = taken, WithAnswers = shared.Cases.Any(each => each.Files.Any(file => file.Name == SharedFileNames.Answers)) }, cancellation);
            return new OpenedCollection(kept, added, shared.Cases.Count - added, notes);
        }
    }

    private async Task<(CaseRecord Record, bool WasKept)> TakeAsync(ZipArchive zip, SharedCase each, List<string> notes, CancellationToken cancellation)
    {
        SharedFile file = each.Files.Single(one => one.Name is SharedFileNames.Dicom or SharedFileNames.Picture);
        byte[] content = CollectionZip.ReadFile(zip, each, file);
        using var stream = new MemoryStream(content, writable: false);

        // A file's word that its exposure is invented is not enough to skip what is done to every file that comes in.
        CaseBroughtIn brought = await cases.BringInAsync(file.Name, stream, content.LongLength, CaseOrigin.Upload, cancellation);
        notes.AddRange(brought.Warnings.Select(warning => $"{each.Title}: {warning}"));
        if (brought.WasKept)
        {
            return (brought.Record, true);
        }

        OpenCase open = await cases.RenameAsync(await cases.OpenAsync(brought.Record.Id, cancellation), each.IsInvented && !each.Title.Contains("invented", StringComparison.OrdinalIgnoreCase) ? $"{each.Title} (invented)" : each.Title, cancellation);
        if (each.Projection is not { } projection)
        {
            return (open.Record, false);
        }

        if (cases.Projections.All(known => known.Id != projection))
        {
            notes.Add($"{each.Title}: its projection is not in this bench's catalogue; choose one on the case.");
            return (open.Record, false);
        }

        open = await cases.ChooseProjectionAsync(open, projection, cancellation);
        if (each.Files.FirstOrDefault(one => one.Name == SharedFileNames.Answers) is not { } answersFile)
        {
            return (open.Record, false);
        }

        try
        {
            Answers answers = AnswersJson.Read(Encoding.UTF8.GetString(CollectionZip.ReadFile(zip, each, answersFile)), $"{each.Folder}/{SharedFileNames.Answers}", open.Projection!);
            open = await cases.TakeAnswersAsync(open, answers, "answers that came with the collection", cancellation);
        }
        catch (UnreadableAnswersException error)
        {
            notes.Add($"{each.Title}: its answers were left out, because {error.Reason}");
        }

        return (open.Record, false);
    }

    private async Task<(IReadOnlyList<(string Name, byte[] Content)> Files, PrivacyReport? Report)> FilesAsync(PublishableCase prepared, CaseCollection collection, PrivacyKey key, CancellationToken cancellation)
    {
        List<(string, byte[])> files = [];
        DeidentifiedFile? dicom = await publisher.DicomAsync(prepared, key, SharedFileNames.Dicom, cancellation);
        files.Add(dicom is null ? (SharedFileNames.Picture, Png(prepared.Radiograph)) : (SharedFileNames.Dicom, dicom.Content));

        // What was measured under a covered place is not what the published pixels hold.
        MeasurementDocument document = prepared.Review.Covered.Count == 0
            ? prepared.Open.Measurements
            : await Task.Run(() => RadiographMeasure.Measure(prepared.Radiograph, new MeasureOptions { ReceptorSpacing = prepared.Record.GivenSpacing }, 0), cancellation);
        document = document with { File = files[0].Item1, Origin = null };
        files.Add((SharedFileNames.Measurements, Encoding.UTF8.GetBytes(MeasurementJson.Write(document, indented: true) + "\n")));
        if (collection.WithAnswers && prepared.Open.Answers is { } answers)
        {
            files.Add((SharedFileNames.Answers, Encoding.UTF8.GetBytes(AnswersJson.Write(answers with { Reader = null }) + "\n")));
        }

        if (collection.WithSlides)
        {
            files.Add((SharedFileNames.Slide, await Task.Run(() => SlideOf(prepared, document, collection.WithAnswers), cancellation)));
        }

        return (files, dicom?.Report);
    }

    /// <summary>A case as a slide.</summary>
    /// <param name="prepared">The case.</param>
    /// <param name="document">Its measurements.</param>
    /// <param name="withCritique">Whether verdict, reasons and changes stand on it; else only what is asked.</param>
    private static byte[] SlideOf(PublishableCase prepared, MeasurementDocument document, bool withCritique)
    {
        List<string> lines = [];
        if (prepared.Open.Critique is { } critique)
        {
            lines.Add(critique.ProjectionName);
            if (withCritique)
            {
                lines.Add(critique.Verdict.Sentence);
                lines.AddRange(critique.Verdict.Reasons.Select(reason => reason.Sentence));
                lines.AddRange(critique.Changes.Select(change => change.Instruction));
            }
        }

        return SlidePicture.Draw(prepared.Radiograph, document, new SlideText(prepared.Record.Title, [.. lines.Distinct()], prepared.Record.IsInvented), showsMarks: withCritique);
    }

    private static IEnumerable<PublicationPiece> PiecesOf(PublishableCase prepared, CaseCollection collection, CollectedCase each, IReadOnlyList<(string Name, byte[] Content)> files)
    {
        yield return prepared.Picture("the radiograph");
        foreach (PublishedText text in prepared.TypedTexts().Where(text => collection.WithAnswers || text.Where.EndsWith("of the case", StringComparison.Ordinal)))
        {
            yield return text;
        }

        if (each.Words.Length > 0)
        {
            yield return new PublishedText("the words to the case", each.Words, IsTyped: true);
        }

        foreach ((string name, byte[] content) in files)
        {
            if (name == SharedFileNames.Dicom)
            {
                yield return new PublishedDicom("the DICOM file", content);
            }
        }
    }

    private static byte[] Png(Radiograph radiograph)
    {
        using var stream = new MemoryStream();
        if (radiograph.BitsStored > 8)
        {
            PngWriter.Write(stream, radiograph.Pixels, CompressionLevel.Optimal);
        }
        else
        {
            var grey = new Raster<byte>(radiograph.Rows, radiograph.Columns, [.. radiograph.Pixels.Samples.ToArray().Select(sample => (byte)sample)]);
            PngWriter.Write(stream, grey, CompressionLevel.Optimal);
        }

        return stream.ToArray();
    }

    private static string Line(string? text, string what)
    {
        string clean = string.Join(' ', (text ?? string.Empty).Split((char[]?)null, StringSplitOptions.RemoveEmptyEntries));
        return clean.Length is > 0 and <= Lesson.TitleMaxLength ? clean : throw new LessonRefusedException($"{what} has 1 to {Lesson.TitleMaxLength} characters.");
    }

    private static void Check(CaseCollection collection)
    {
        if (collection.Cases.Count > SharedCollection.MostCases)
        {
            throw new LessonRefusedException($"A collection holds {SharedCollection.MostCases} cases at most; make a second one.");
        }

        if (collection.Words.Length > CaseCollection.WordsMaxLength || collection.Cases.Any(each => each.Words.Length > CaseCollection.WordsMaxLength))
        {
            throw new LessonRefusedException($"Words have {CaseCollection.WordsMaxLength} characters at most.");
        }
    }
}
