using System.Globalization;
using Hotlight.Catalogue;
using Hotlight.Core;
using Hotlight.Judgement;
using Hotlight.Positioning;
using Hotlight.Privacy.Publishing;
using Hotlight.Teaching.Handouts;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.Positions;

namespace Hotlight.Workflows.Teaching.Handouts;

/// <summary>A handout of a case as it lies on the bench.</summary>
/// <param name="Prepared">The case, made ready to be given away.</param>
/// <param name="Handout">The page, with the teacher's words.</param>
/// <param name="Edits">The teacher's words and their steps.</param>
/// <param name="Lesson">As it is kept; null: nothing was edited yet.</param>
public sealed record HandoutDraft(PublishableCase Prepared, Handout Handout, HandoutEdits Edits, Lesson? Lesson)
{
    /// <summary>The page as the bench wrote it.</summary>
    public required Handout Written { get; init; }
}

/// <summary>A file of a handout.</summary>
/// <param name="Name">Its name; it holds nothing of the case but the projection.</param>
/// <param name="Content">Its bytes.</param>
public sealed record HandoutFile(string Name, byte[] Content);

/// <summary>What is made of a handout.</summary>
[Flags]
public enum HandoutForms
{
    /// <summary>Nothing.</summary>
    None = 0,

    /// <summary>One HTML file.</summary>
    Html = 1,

    /// <summary>A tagged PDF.</summary>
    Pdf = 2,
}

/// <summary>Makes handouts of cases, keeps what a teacher words otherwise, and lets nothing out but by the gate.</summary>
/// <param name="cases">The cases.</param>
/// <param name="publisher">Makes cases ready to be given away.</param>
/// <param name="lessons">Where edits are kept.</param>
/// <param name="clock">Tells the time.</param>
/// <param name="catalogue">The projections in the bench's language.</param>
/// <param name="clinic">The clinic's settings; null: nothing is set.</param>
public sealed class HandoutWorkflow(CaseWorkflow cases, CasePublisher publisher, ILessonStore lessons, TimeProvider clock, ProjectionCatalogue? catalogue = null, ClinicWorkflow? clinic = null)
{
    /// <summary>The handout of a case.</summary>
    /// <param name="caseId">The case.</param>
    /// <param name="language">Code of its language, such as "en".</param>
    /// <param name="cancellation">Stops the making.</param>
    /// <exception cref="CaseGoneException">The case is not kept.</exception>
    /// <exception cref="LessonRefusedException">No projection is chosen yet, so there is no critique.</exception>
    /// <exception cref="UnreadableImageException">The kept file cannot be read.</exception>
    /// <exception cref="FileNotKeptException">The kept file is missing.</exception>
    public async Task<HandoutDraft> OpenAsync(Guid caseId, string language, CancellationToken cancellation = default)
    {
        OpenCase open = await cases.OpenAsync(caseId, cancellation);
        if (open is not { Projection: not null, Answers: not null, Critique: not null })
        {
            throw new LessonRefusedException("Choose the projection of the case first: a handout is written from its critique.");
        }

        PublishableCase prepared = await publisher.PrepareAsync(open, cancellation);
        Lesson? lesson = await lessons.FindAsync(LessonKind.Handout, KeyOf(caseId, language), cancellation);
        return Lay(prepared, language, lesson);
    }

    /// <summary>Words a paragraph otherwise, or as the bench wrote it.</summary>
    /// <param name="draft">The handout as the teacher sees it.</param>
    /// <param name="paragraphId">The paragraph.</param>
    /// <param name="text">The words; null or empty: as the bench wrote it.</param>
    /// <param name="teacher">Who words it; null: not known.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    /// <exception cref="LessonChangedException">Somebody else changed it meanwhile.</exception>
    public Task<HandoutDraft> EditAsync(HandoutDraft draft, string paragraphId, string? text, Person? teacher = null, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(draft);
        if (draft.Written.Paragraphs.All(paragraph => paragraph.Id != paragraphId))
        {
            throw new ArgumentException($"'{paragraphId}' is no paragraph of this handout.", nameof(paragraphId));
        }

        bool isAsWritten = text is not null && string.Join(' ', text.Split((char[]?)null, StringSplitOptions.RemoveEmptyEntries)) == draft.Written.Paragraphs.First(paragraph => paragraph.Id == paragraphId).Text;
        return KeepAsync(draft, draft.Edits.With(paragraphId, isAsWritten ? null : text), teacher, cancellation);
    }

    /// <summary>Takes the last edit back.</summary>
    /// <param name="draft">The handout as the teacher sees it.</param>
    /// <param name="teacher">Who does it; null: not known.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    /// <exception cref="LessonChangedException">Somebody else changed it meanwhile.</exception>
    public Task<HandoutDraft> UndoAsync(HandoutDraft draft, Person? teacher = null, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(draft);
        return KeepAsync(draft, draft.Edits.Undo(), teacher, cancellation);
    }

    /// <summary>Does the edit again that was taken back.</summary>
    /// <param name="draft">The handout as the teacher sees it.</param>
    /// <param name="teacher">Who does it; null: not known.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    /// <exception cref="LessonChangedException">Somebody else changed it meanwhile.</exception>
    public Task<HandoutDraft> RedoAsync(HandoutDraft draft, Person? teacher = null, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(draft);
        return KeepAsync(draft, draft.Edits.Redo(), teacher, cancellation);
    }

    /// <summary>Keeps what a person decided of text in the pixels, for this and every later publication of the file.</summary>
    /// <param name="draft">The handout as the teacher sees it.</param>
    /// <param name="review">What was decided.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    public async Task<HandoutDraft> ReviewAsync(HandoutDraft draft, PixelReview review, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(draft);
        await publisher.KeepReviewAsync(draft.Prepared.Record, review, cancellation);
        return Lay(await publisher.PrepareAsync(draft.Prepared.Open, cancellation), draft.Handout.Language, draft.Lesson);
    }

    /// <summary>Looks over a handout before it is given away.</summary>
    /// <param name="draft">The handout.</param>
    public static PublicationCheck Check(HandoutDraft draft)
    {
        ArgumentNullException.ThrowIfNull(draft);
        return Check(draft.Handout, draft.Prepared.Known, draft.Prepared.Picture("the radiograph"));
    }

    /// <summary>Looks over a handout before it is given away.</summary>
    /// <param name="handout">The handout.</param>
    /// <param name="known">What is known of the patient.</param>
    /// <param name="picture">The radiograph, looked over.</param>
    public static PublicationCheck Check(Handout handout, KnownIdentity known, PublishedPicture picture)
    {
        ArgumentNullException.ThrowIfNull(handout);
        return PublicationGate.Check(known, [.. Pieces(handout), picture]);
    }

    /// <summary>The files of a handout: looked over, made, and looked over again as bytes.</summary>
    /// <param name="draft">The handout.</param>
    /// <param name="forms">Which.</param>
    /// <exception cref="PublicationStoppedException">Something in it may tell who the patient is; nothing was made.</exception>
    public static IReadOnlyList<HandoutFile> Make(HandoutDraft draft, HandoutForms forms)
    {
        ArgumentNullException.ThrowIfNull(draft);
        return Make(draft.Handout, draft.Prepared.Open.Critique!, draft.Prepared.Radiograph, draft.Prepared.Known, draft.Prepared.Picture("the radiograph"), forms);
    }

    /// <summary>The files of a handout: looked over, made, and looked over again as bytes.</summary>
    /// <param name="handout">The handout.</param>
    /// <param name="critique">Its critique.</param>
    /// <param name="radiograph">The radiograph, places blacked out; borrowed.</param>
    /// <param name="known">What is known of the patient.</param>
    /// <param name="picture">The radiograph for the gate.</param>
    /// <param name="forms">Which.</param>
    /// <exception cref="PublicationStoppedException">Something in it may tell who the patient is; nothing was made.</exception>
    public static IReadOnlyList<HandoutFile> Make(Handout handout, Critique critique, Imaging.Radiograph radiograph, KnownIdentity known, PublishedPicture picture, HandoutForms forms)
    {
        ArgumentNullException.ThrowIfNull(handout);
        ArgumentNullException.ThrowIfNull(critique);
        Check(handout, known, picture).Demand();
        string name = $"handout-{critique.ProjectionId}-{handout.Language}";
        List<HandoutFile> files = [];
        if (forms.HasFlag(HandoutForms.Html))
        {
            string html = HandoutHtml.Write(handout, HandoutPicture.Of(radiograph, critique.Measurements, handout.View, HandoutPicture.ForScreenPixels));
            files.Add(new HandoutFile(name + ".html", System.Text.Encoding.UTF8.GetBytes(html)));
        }

        if (forms.HasFlag(HandoutForms.Pdf))
        {
            files.Add(new HandoutFile(name + ".pdf", HandoutPdf.Print(handout, HandoutPicture.Of(radiograph, critique.Measurements, handout.View, HandoutPicture.ForPrintPixels))));
        }

        PublicationGate.CheckOutputs(known, files.Select(file => (file.Name, (ReadOnlyMemory<byte>)file.Content)), Pieces(handout).OfType<PublishedText>().Where(text => !text.IsTyped).Select(text => text.Text)).Demand();
        return files;
    }

    /// <summary>Writes a handout in a language, from a critique judged in it.</summary>
    /// <param name="language">Code of the language.</param>
    /// <param name="facts">Makes what it is written from; called in that language.</param>
    public static Handout WriteIn(string language, Func<HandoutFacts> facts)
    {
        ArgumentNullException.ThrowIfNull(facts);
        CultureInfo before = CultureInfo.CurrentUICulture;
        try
        {
            CultureInfo.CurrentUICulture = CultureInfo.GetCultureInfo(language);
            return HandoutWriter.Write(facts());
        }
        finally
        {
            CultureInfo.CurrentUICulture = before;
        }
    }

    private static string KeyOf(Guid caseId, string language) => $"{caseId:N}.{language}";

    private static IEnumerable<PublicationPiece> Pieces(Handout handout)
    {
        yield return new PublishedText("the title", handout.Title.Text, handout.Title.IsTyped);
        yield return new PublishedText("the description of the picture", handout.PictureDescription, IsTyped: false);
        if (handout.SimulationDescription.Length > 0)
        {
            yield return new PublishedText("the description of the simulation", handout.SimulationDescription, IsTyped: false);
        }

        foreach (HandoutSection section in handout.Sections)
        {
            for (int place = 0; place < section.Paragraphs.Count; place++)
            {
                HandoutParagraph paragraph = section.Paragraphs[place];
                yield return new PublishedText(
                    section.Heading is { } heading ? string.Create(CultureInfo.InvariantCulture, $"“{heading}”, paragraph {place + 1}") : "the summary", paragraph.Text, paragraph.IsTyped);
            }
        }

        foreach (HandoutRow row in handout.Rows)
        {
            yield return new PublishedText($"the line “{row.Question}”", $"{row.Question} {row.Figure}", IsTyped: false);
            if (row.Note is { } note)
            {
                yield return new PublishedText($"the remark on the line “{row.Question}”", note, IsTyped: true);
            }
        }
    }

    private HandoutDraft Lay(PublishableCase prepared, string language, Lesson? lesson)
    {
        Handout written = WriteIn(language, () => new HandoutFacts
        {
            Critique = Judge(prepared.Open),
            Version = CaseWorkflow.ThisVersion.Split('+')[0],
            IsInvented = prepared.Record.IsInvented,
            HasCoveredPlaces = prepared.Review.Covered.Count > 0,
            Simulation = HandoutPoses.Of(prepared, InLanguage(prepared.Open.Projection!)),
            Columns = prepared.Radiograph.Columns,
            Rows = prepared.Radiograph.Rows,
        });
        HandoutEdits edits = lesson is null ? HandoutEdits.None : HandoutEdits.Read(lesson.BodyJson);
        return new HandoutDraft(prepared, written.With(edits.Texts), edits, lesson) { Written = written };
    }

    /// <summary>The critique of a case, its texts in the language of <see cref="CultureInfo.CurrentUICulture"/>.</summary>
    private Critique Judge(OpenCase open)
    {
        Projection projection = InLanguage(open.Projection!);
        Answers answers = open.Answers!;
        return CritiqueBuilder.Build(
            open.Exposure,
            open.Measurements,
            projection,
            answers,
            (clinic?.Current ?? ClinicState.Initial).Rules,
            positions: answers.Landmarks.Count == 0 ? null : RelationMeasurer.Measure(projection, new MarkedLandmarks(projection.Id, answers.Landmarks), PositionWorkflow.GeometryOf(open.Exposure, open.Measurements, answers.Examination)));
    }

    private Projection InLanguage(Projection projection)
    {
        CultureInfo language = CultureInfo.CurrentUICulture;
        return ProjectionCatalogue.BuiltIn.In(language).Find(projection.Id) ?? catalogue?.In(language).Find(projection.Id) ?? projection;
    }

    private async Task<HandoutDraft> KeepAsync(HandoutDraft draft, HandoutEdits edits, Person? teacher, CancellationToken cancellation)
    {
        if (ReferenceEquals(edits, draft.Edits))
        {
            return draft;
        }

        DateTimeOffset now = clock.GetUtcNow();
        Lesson kept = draft.Lesson is { } lesson
            ? await lessons.KeepAsync(lesson with { BodyJson = edits.Write() }, cancellation)
            : await lessons.AddAsync(new Lesson
            {
                Id = Guid.CreateVersion7(),
                Kind = LessonKind.Handout,
                CaseId = draft.Prepared.Record.Id,
                OwnerId = teacher?.Id,
                OwnerPseudonym = teacher?.Pseudonym ?? string.Empty,
                IsInvented = draft.Prepared.Record.IsInvented,
                Title = draft.Written.Title.Text[..Math.Min(draft.Written.Title.Text.Length, Lesson.TitleMaxLength)],
                Key = KeyOf(draft.Prepared.Record.Id, draft.Handout.Language),
                BodyJson = edits.Write(),
                Begun = now,
                Changed = now,
            }, cancellation);
        return draft with { Handout = draft.Written.With(edits.Texts), Edits = edits, Lesson = kept };
    }
}
