using Hotlight.Imaging;
using Hotlight.Judgement;
using Hotlight.Privacy.Publishing;
using Hotlight.Teaching.WalkThroughs;

namespace Hotlight.Workflows.Teaching.WalkThroughs;

/// <summary>A walk-through that may leave the bench: its texts were looked over, and text drawn into the pixels is blacked out.</summary>
/// <param name="Walk">The walk-through.</param>
/// <param name="Radiograph">Its radiograph as it is published.</param>
/// <param name="Known">Values that are searched for in what is written.</param>
/// <param name="Covered">Places that were blacked out.</param>
public sealed record PublishableWalkThrough(WalkThrough Walk, Radiograph Radiograph, KnownIdentity Known, IReadOnlyList<PixelBox> Covered);

/// <summary>The one way out for walk-throughs: through the gate.</summary>
public static class WalkThroughExport
{
    /// <summary>Looks a file's walk-through over before anything is made of it; text that is found drawn into the pixels is blacked out.</summary>
    /// <param name="walk">The walk-through, as it was made of the critique.</param>
    /// <param name="critique">The critique: its remarks were typed.</param>
    /// <param name="radiograph">The radiograph; borrowed.</param>
    /// <param name="known">Values that tell who the file belongs to.</param>
    /// <param name="lookedOver">Whether a person looked the whole picture over for text.</param>
    /// <param name="cancellation">Stops it.</param>
    /// <exception cref="PublicationStoppedException">Something that tells who it is stands in it.</exception>
    public static async Task<PublishableWalkThrough> OfFileAsync(WalkThrough walk, Critique critique, Radiograph radiograph, KnownIdentity known, bool lookedOver, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(walk);
        ArgumentNullException.ThrowIfNull(critique);
        ArgumentNullException.ThrowIfNull(radiograph);
        DrawnText drawn = walk.IsInvented ? DrawnText.NoneInInvented : await DrawnTextFinder.FindAsync(radiograph, known, CasePublisher.Hints(radiograph.Exposure, critique.Measurements), cancellation: cancellation);
        IReadOnlyList<PixelBox> covered = [.. drawn.Places.Select(place => place.Box)];
        Check(walk, walk, critique, new PublishedPicture("the radiograph", drawn, covered, [], lookedOver), known);
        return new PublishableWalkThrough(walk, PixelCover.Cover(radiograph, covered), known, covered);
    }

    /// <summary>Looks a case's walk-through over before anything is made of it.</summary>
    /// <param name="walk">The walk-through.</param>
    /// <param name="made">As the bench makes it of the critique: texts that are the same were not typed.</param>
    /// <param name="prepared">The case, made ready to be given away.</param>
    /// <exception cref="PublicationStoppedException">Something that tells who it is stands in it.</exception>
    public static PublishableWalkThrough OfCase(WalkThrough walk, WalkThrough made, PublishableCase prepared)
    {
        ArgumentNullException.ThrowIfNull(walk);
        ArgumentNullException.ThrowIfNull(made);
        ArgumentNullException.ThrowIfNull(prepared);
        Check(walk, made, prepared.Open.Critique!, prepared.Picture("the radiograph"), prepared.Known);
        return new PublishableWalkThrough(walk, prepared.Radiograph, prepared.Known, prepared.Review.Covered);
    }

    private static void Check(WalkThrough walk, WalkThrough made, Critique critique, PublishedPicture picture, KnownIdentity known)
    {
        HashSet<string> written = [made.Title, .. made.Steps.Select(step => step.Heading), .. made.Steps.Select(step => step.Caption)];
        var pieces = new List<PublicationPiece> { new PublishedText("the title", walk.Title, !written.Contains(walk.Title)), picture };
        for (int place = 0; place < walk.Steps.Count; place++)
        {
            WalkStep step = walk.Steps[place];
            pieces.Add(new PublishedText($"the heading of step {place + 1}", step.Heading, !written.Contains(step.Heading)));
            pieces.Add(new PublishedText($"the caption of step {place + 1}", step.Caption, !written.Contains(step.Caption)));
        }

        pieces.AddRange(critique.Lines.Where(line => line.Remark is { Length: > 0 } remark && walk.Steps.Any(step => step.Caption.Contains(remark, StringComparison.Ordinal)))
            .Select(line => new PublishedText($"the remark on the line '{line.Question}'", line.Remark!, IsTyped: true)));
        if (critique.ReaderVerdict is { } own && walk.Steps.Any(step => step.Caption.Contains(own.Reason, StringComparison.Ordinal)))
        {
            pieces.Add(new PublishedText("the reason of the reader's own verdict", own.Reason, IsTyped: true));
        }

        PublicationGate.Check(known, pieces).Demand();
    }

    /// <summary>Looks the bytes of a file over that is to leave.</summary>
    /// <param name="publishable">What it was made of.</param>
    /// <param name="name">Name of the file.</param>
    /// <param name="content">Its bytes.</param>
    /// <exception cref="PublicationStoppedException">Something that tells who it is stands in it.</exception>
    public static void Demand(PublishableWalkThrough publishable, string name, ReadOnlyMemory<byte> content)
    {
        ArgumentNullException.ThrowIfNull(publishable);
        PublicationGate.CheckOutputs(publishable.Known, [(name, content)], publishable.Walk.Steps.Select(step => step.Caption).Append(publishable.Walk.Caution)).Demand();
    }
}
