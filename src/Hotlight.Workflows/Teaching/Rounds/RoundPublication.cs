using Hotlight.Imaging;
using Hotlight.Privacy.Publishing;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.Measuring;

namespace Hotlight.Workflows.Teaching.Rounds;

/// <summary>Holds what a round would show to its readers against the gate that whatever leaves the bench goes through.</summary>
internal sealed class RoundPublication
{
    private readonly CaseWorkflow cases;
    private readonly CasePublisher publisher;
    private readonly ClinicWorkflow? clinic;

    public RoundPublication(CaseWorkflow cases, CasePublisher publisher, ClinicWorkflow? clinic) => (this.cases, this.publisher, this.clinic) = (cases, publisher, clinic);

    /// <summary>Each place where something identifying stands; none: it may be published.</summary>
    public async Task<IReadOnlyList<RoundFinding>> LookOverAsync(RoundDraft draft, CancellationToken cancellation)
    {
        var findings = new List<RoundFinding>();
        KnownIdentity people = KnownIdentity.None.With(IdentityKind.ClinicPerson, (clinic?.Current.Settings.People ?? []).Select(person => person.Pseudonym));
        KnownIdentity all = people;
        foreach (Guid id in draft.CaseIds.Distinct())
        {
            PublishableCase prepared = await publisher.PrepareAsync(await cases.OpenAsync(id, cancellation), cancellation);
            KnownIdentity known = prepared.Known.And(people);
            all = all.And(known);

            // What a person covered is black in what guests are sent; a value that is known cannot be waved through.
            PixelBox[] kept = [.. (draft.Kept.GetValueOrDefault(id) ?? []).Concat(prepared.Review.Kept).Where(box => prepared.Found.Places.Any(place => place.Box == box && place.Kind == IdentityKind.DrawnText))];
            var picture = new PublishedPicture("the picture", prepared.Found, prepared.Review.Covered, kept, draft.LookedOver.Contains(id) || prepared.Review.LookedOver);
            Radiograph radiograph = await cases.RadiographAsync(prepared.Record);
            findings.AddRange(PublicationGate.Check(known, PiecesOf(prepared.Open, radiograph).Append(picture)).Findings.Select(finding => new RoundFinding(id, prepared.Record.Title, finding)));
        }

        // The round's own words may name a patient of any of its cases.
        PublicationPiece[] words = [new PublishedText("the title of the round", draft.Title, IsTyped: true), new PublishedText("the words to the readers", draft.Words, IsTyped: true)];
        return [.. PublicationGate.Check(all, words).Findings.Select(finding => new RoundFinding(null, "", finding)), .. findings];
    }

    /// <summary>A case made ready, with what was found in its pixels and what was decided of it.</summary>
    public async Task<PublishableCase> PrepareAsync(Guid id, CancellationToken cancellation) => await publisher.PrepareAsync(await cases.OpenAsync(id, cancellation), cancellation);

    /// <summary>Keeps what a person decided of text in the pixels.</summary>
    public async Task ReviewAsync(Guid id, PixelReview review, CancellationToken cancellation) => await publisher.KeepReviewAsync(await cases.GetAsync(id, cancellation), review, cancellation);

    // What the case page shows to somebody who reads it on their own.
    private static IEnumerable<PublicationPiece> PiecesOf(OpenCase open, Radiograph radiograph)
    {
        yield return new PublishedText("the title of the case", open.Record.Title, IsTyped: true);
        yield return new PublishedFileName("the name of the file", open.Record.FileName);
        foreach (MeasurementLine line in MeasurementText.Lines(open.Measurements))
        {
            yield return new PublishedText($"the measurement of {line.Section}", line.Sentence, IsTyped: false);
        }

        foreach (Judgement.ChecklistLine line in open.Critique?.Lines ?? [])
        {
            yield return new PublishedText($"the line “{line.Question}”", string.Join(' ', new[] { line.Explanation, line.Figure }.OfType<string>()), IsTyped: false);
        }

        foreach (string remark in radiograph.Remarks.Append(radiograph.SpacingBasis ?? string.Empty))
        {
            yield return new PublishedText("what is said of the file", remark, IsTyped: false);
        }
    }
}
