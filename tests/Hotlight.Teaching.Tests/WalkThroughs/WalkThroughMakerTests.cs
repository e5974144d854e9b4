using System.Globalization;
using Hotlight.Catalogue;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Judgement;
using Hotlight.Measure;
using Hotlight.Measure.Document;
using Hotlight.Teaching.WalkThroughs;
using Hotlight.Testing;

namespace Hotlight.Teaching.Tests.WalkThroughs;

/// <summary>A critique becomes steps: everything that is pointed at is in sight, everything that is said has time, and nothing is lost on the way through JSON.</summary>
public sealed class WalkThroughMakerTests
{
    private static readonly Radiograph Limb = InventedExposure.Limb();
    private static readonly MeasurementDocument Measured = RadiographMeasure.Measure(Limb);

    internal static (Critique Critique, WalkThrough Walk) Made(string projection = "wrist-pa", Answers? answers = null)
    {
        Critique critique = CritiqueBuilder.Build(Limb.Exposure, Measured, ProjectionCatalogue.BuiltIn.Get(projection), answers ?? Answers.None(projection));
        return (critique, WalkThroughMaker.Make(critique, Limb, isInvented: true));
    }

    [Theory]
    [InlineData("wrist-pa")]
    [InlineData("knee-ap")]
    [InlineData("elbow-lateral")]
    [InlineData("chest-pa")]
    public void Make_EveryPieceOfEvidence_LiesInsideTheViewOfItsStep(string projection)
    {
        (Critique critique, WalkThrough walk) = Made(projection);
        int pieces = 0;
        foreach (ChecklistLine line in critique.Lines.Where(line => line.Evidence.Count > 0 && line.State != ChecklistState.NotApplicable))
        {
            WalkStep step = Assert.Single(walk.Steps, step => step.Kind == WalkStepKind.Line && step.LineId == line.Id);
            foreach (PixelPoint point in line.Evidence.SelectMany(evidence => evidence.Outlines).SelectMany(outline => outline))
            {
                // What a measure places beyond the stored image cannot be shown.
                var held = new PixelPoint(X: Math.Clamp(point.X, -0.5, Limb.Columns - 0.5), Y: Math.Clamp(point.Y, -0.5, Limb.Rows - 0.5));
                Assert.True(step.View.Holds(held), $"{line.Id}: {point} is not in {step.View}");
                pieces++;
            }

            Assert.Equal(line.Evidence.Sum(evidence => evidence.Outlines.Count(outline => outline.Count > 0)), step.Marks.Count);
        }

        Assert.True(pieces > 20, $"{projection} has {pieces} points of evidence");
    }

    [Fact]
    public void Make_WithAPhantom_ShowsItAfterThePositioningAndSaysThatItIsASimulation()
    {
        Critique critique = Made().Critique;
        PixelPoint[] outline = [.. Enumerable.Range(0, 400).Select(place => new PixelPoint(X: 40 + (0.25 * place), Y: 60 + (0.1 * place)))];
        var phantom = new WalkPhantom("Simulated, nobody's bones", [outline], [[.. outline.Select(point => new PixelPoint(X: point.X + 9, Y: point.Y))]], ["It lay turned by 8 degrees."], ["Turn it back.", "By about 8 degrees."], "A repeat is dose.");
        WalkThrough walk = WalkThroughMaker.Make(critique, Limb, isInvented: true, null, phantom);
        WalkStep[] shown = [.. walk.Steps.Where(step => step.Kind == WalkStepKind.Phantom)];
        Assert.Equal(2, shown.Length);
        Assert.All(shown, step =>
        {
            Assert.Contains(phantom.Label, step.Heading, StringComparison.Ordinal);
            Assert.StartsWith(phantom.Label, step.Caption, StringComparison.Ordinal);
            WalkMark mark = Assert.Single(step.Marks);
            Assert.Equal((WalkThroughMaker.PhantomStyle, false), (mark.Kind, mark.IsClosed));
            Assert.True(WalkThroughFrames.Styles.ContainsKey(mark.Kind));

            // Thinned, and its ends kept.
            Assert.InRange(mark.Points.Count, 20, 120);
        });
        Assert.Equal(outline[0].X, shown[0].Marks[0].Points[0].X, 0.06);
        Assert.Equal(outline[^1].X + 9, shown[1].Marks[0].Points[^1].X, 0.06);
        Assert.Contains("Turn it back. By about 8 degrees. A repeat is dose.", shown[1].Caption, StringComparison.Ordinal);

        // Behind what is said of the positioning, and whole on the way through JSON.
        ChecklistLine[] lines = [.. critique.Lines];
        int last = walk.Steps.ToList().FindLastIndex(step => step.Kind is WalkStepKind.Line or WalkStepKind.Lines && lines.FirstOrDefault(line => line.Id == step.LineId)?.Section == ChecklistSection.Positioning);
        Assert.True(last < 0 || walk.Steps.ToList().IndexOf(shown[0]) > last);
        Assert.Equal(WalkThroughJson.Write(walk), WalkThroughJson.Write(WalkThroughJson.Read(WalkThroughJson.Write(walk))));
        Assert.DoesNotContain(Made().Walk.Steps, step => step.Kind == WalkStepKind.Phantom);

        // What leaves the image is not drawn: an outline that goes out and comes back is two pieces.
        PixelPoint[] across = [new(X: 20, Y: 20), new(X: 60, Y: 20), new(X: 60, Y: -90), new(X: 90, Y: 20), new(X: 140, Y: 20)];
        WalkStep cut = WalkThroughMaker.Make(critique, Limb, isInvented: true, null, phantom with { AsItLies = [across], AsItShould = [] }).Steps.Single(step => step.Kind == WalkStepKind.Phantom);
        Assert.Equal([2, 2], cut.Marks.Select(mark => mark.Points.Count));

        // Nothing to move: no second step.
        Assert.Single(WalkThroughMaker.Make(critique, Limb, isInvented: true, null, phantom with { AsItShould = [] }).Steps, step => step.Kind == WalkStepKind.Phantom);
    }

    [Fact]
    public void ViewOf_EvidenceInACorner_StaysInsideTheImageAndIsNeverTooClose()
    {
        var image = new WalkImage(1000, 800, 1, new WalkWindow(0, 1));
        Evidence spot = new() { Kind = EvidenceKind.Artifact, Closed = true, Outlines = [[new PixelPoint(X: 990, Y: 5), new PixelPoint(X: 996, Y: 5), new PixelPoint(X: 996, Y: 12)]] };
        WalkView view = WalkThroughMaker.ViewOf([spot], image);
        Assert.Equal(280, view.Width, 6);
        Assert.Equal(280, view.Height, 6);
        Assert.Equal(999.5, view.X + view.Width, 6);
        Assert.Equal(-0.5, view.Y, 6);
    }

    [Fact]
    public void Make_TheWholeCritique_IsToldFromOpeningToWhatIsUnknown()
    {
        (Critique critique, WalkThrough walk) = Made();
        Assert.Equal(WalkStepKind.Opening, walk.Steps[0].Kind);
        Assert.Contains("nobody was exposed", walk.Steps[0].Caption, StringComparison.Ordinal);
        Assert.Contains(critique.ProjectionName, walk.Steps[0].Caption, StringComparison.Ordinal);
        string[] order = [.. critique.Lines.Select(line => line.Id)];
        int[] places = [.. walk.Steps.Where(step => step.Kind == WalkStepKind.Line).Select(step => Array.IndexOf(order, step.LineId))];
        Assert.Equal(places.Order(), places);
        Assert.Contains(critique.Verdict.Sentence, walk.Steps.Single(step => step.Kind == WalkStepKind.Verdict).Caption, StringComparison.Ordinal);
        Assert.Equal(critique.Changes.Count, walk.Steps.Count(step => step.Kind == WalkStepKind.Change));
        string unknown = string.Join(' ', walk.Steps.Where(step => step.Kind == WalkStepKind.Unknown).Select(step => step.Caption));
        Assert.All(critique.Lines.Where(line => line.State == ChecklistState.CannotTell), line => Assert.Contains(line.Question, unknown, StringComparison.Ordinal));
        Assert.Equal(Critique.SafetyCaution, walk.Caution);
        Assert.All(walk.Steps, step => Assert.DoesNotContain("  ", step.Caption, StringComparison.Ordinal));
        Assert.All(walk.Steps, step => Assert.DoesNotContain("..", step.Caption, StringComparison.Ordinal));
    }

    [Fact]
    public void Make_InGerman_SaysItsOwnSentencesInGerman()
    {
        CultureInfo before = CultureInfo.CurrentUICulture;
        try
        {
            CultureInfo.CurrentUICulture = CultureInfo.GetCultureInfo("de");
            (_, WalkThrough walk) = Made();
            Assert.Equal("de", walk.Language);
            Assert.Equal("Das ganze Bild", walk.Steps[0].Heading);
            Assert.Contains("Niemand wurde bestrahlt", walk.Steps[0].Caption, StringComparison.Ordinal);
        }
        finally
        {
            CultureInfo.CurrentUICulture = before;
        }
    }

    [Fact]
    public void Seconds_OfEveryStep_AreTheTimeItsWordsTake()
    {
        (_, WalkThrough walk) = Made();

        // 20 words at 150 a minute take 8 s; the way there 1.2 s, the rest 1 s.
        Assert.Equal(10.2, CaptionCues.SecondsFor(string.Join(' ', Enumerable.Repeat("word", 20))), 6);
        Assert.Equal(4, CaptionCues.SecondsFor("Short."), 6);
        foreach (WalkStep step in walk.Steps)
        {
            IReadOnlyList<CaptionCue> cues = CaptionCues.Of(step);
            Assert.Equal(0, cues[0].FromSeconds);
            Assert.Equal(step.Seconds, cues[^1].ToSeconds, 3);
            Assert.All(cues.Zip(cues.Skip(1)), pair => Assert.Equal(pair.First.ToSeconds, pair.Second.FromSeconds));
            Assert.Equal(CaptionCues.Words(step.Caption), cues.Sum(cue => CaptionCues.Words(cue.Text)));
            Assert.All(step.Marks, mark => Assert.InRange(mark.FromSeconds, WalkTimeline.WayOf(step), step.Seconds));
        }
    }

    [Fact]
    public void Json_WrittenAndRead_IsTheSameToTheLastFigure()
    {
        (_, WalkThrough walk) = Made();
        walk = walk with { Steps = [walk.Steps[0] with { Window = new WalkWindow(812.25, 1600.5), Recording = Recorded() }, .. walk.Steps.Skip(1)] };
        string once = WalkThroughJson.Write(walk);
        WalkThrough read = WalkThroughJson.Read(once);
        Assert.Equal(once, WalkThroughJson.Write(read));
        Assert.Equal(walk.Steps[0].Window, read.Steps[0].Window);
        Assert.Equal(walk.Steps[0].Recording!.Views.SelectMany(entry => entry), read.Steps[0].Recording!.Views.SelectMany(entry => entry));
        Assert.Equal(walk.Steps.SelectMany(step => step.Marks).SelectMany(mark => mark.Points), read.Steps.SelectMany(step => step.Marks).SelectMany(mark => mark.Points));
    }

    [Theory]
    [InlineData("\"hotlight.walk-through/1\"", "\"hotlight.walk-through/9\"")]
    [InlineData("\"kind\":\"opening\"", "\"kind\":\"dance\"")]
    [InlineData("\"pixelAspect\":1", "\"pixelAspect\":-1")]
    [InlineData("\"id\":\"s2\"", "\"id\":\"s1\"")]
    [InlineData("\"isInvented\":true", "\"isInvented\":true,\"colour\":3")]
    public void Json_WithSomethingThatMakesNoSense_IsOneSentence(string right, string wrong)
    {
        string json = WalkThroughJson.Write(Made().Walk);
        Assert.Contains(right, json, StringComparison.Ordinal);
        int at = json.IndexOf(right, StringComparison.Ordinal);
        UnreadableWalkThroughException error = Assert.Throws<UnreadableWalkThroughException>(() => WalkThroughJson.Read(json[..at] + wrong + json[(at + right.Length)..]));
        Assert.StartsWith("The walk-through cannot be read: ", error.Message, StringComparison.Ordinal);
        Assert.EndsWith(".", error.Message, StringComparison.Ordinal);
    }

    internal static WalkRecording Recorded() => new()
    {
        Seconds = 6.5,
        Voice = new WalkVoice(new string('a', 64), "audio/webm;codecs=opus", 1234),
        Views = [[0, -0.5, -0.5, 500, 600], [2.125, 100.25, 40.5, 200, 240]],
        Windows = [[0, 1000, 2000], [3, 900.5, 1500]],
        Pointer = [[[0.5, 10, 20], [1.5, 30.25, 40]], [[3, 50, 60]]],
        Strokes = [[[1, 10, 10], [2, 20, 20]]],
    };
}
