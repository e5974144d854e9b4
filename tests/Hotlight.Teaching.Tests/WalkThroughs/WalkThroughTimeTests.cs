using System.IO.Compression;
using System.Text;
using System.Text.RegularExpressions;
using Hotlight.Core;
using Hotlight.Teaching.WalkThroughs;
using Hotlight.Testing;

namespace Hotlight.Teaching.Tests.WalkThroughs;

/// <summary>What is seen when; changes and their taking back; thinned tracks; the page that needs nothing else.</summary>
public sealed partial class WalkThroughTimeTests
{
    [Fact]
    public void At_OnTheWayBetweenTwoViews_GoesFromOneToTheOtherWithoutAJump()
    {
        WalkThrough walk = WalkThroughMakerTests.Made().Walk;
        int to = walk.Steps.ToList().FindIndex(step => step.View != walk.Image.Whole);
        Assert.True(to > 0);
        WalkView from = walk.Steps[to - 1].View;
        WalkStep step = walk.Steps[to];
        Assert.Equal(from, WalkTimeline.At(walk, to, 0).View);
        Assert.Equal(step.View, WalkTimeline.At(walk, to, WalkTimeline.WayOf(step)).View);

        // Halfway the width is the geometric mean and the middle the mean of both, whatever the easing before and after.
        WalkView half = WalkTimeline.At(walk, to, WalkTimeline.WayOf(step) / 2).View;
        Assert.Equal(Math.Sqrt(from.Width * step.View.Width), half.Width, 6);
        Assert.Equal((from.X + (from.Width / 2) + step.View.X + (step.View.Width / 2)) / 2, half.X + (half.Width / 2), 6);
    }

    [Fact]
    public void At_AMark_IsDrawnByItsLengthFromItsTime()
    {
        WalkThrough walk = WalkThroughMakerTests.Made().Walk;
        int index = walk.Steps.ToList().FindIndex(step => step.Marks.Count > 0);
        double from = walk.Steps[index].Marks[0].FromSeconds;
        Assert.Empty(WalkTimeline.At(walk, index, from).Marks);
        Assert.Equal(0.5, WalkTimeline.At(walk, index, from + (WalkTimeline.DrawSeconds / 2)).Marks[0].Share, 6);
        Assert.Equal(1, WalkTimeline.At(walk, index, walk.Steps[index].Seconds).Marks[0].Share);

        // A square of 4 × 10: three eighths of its outline end in the middle of the second side.
        PixelPoint[] square = [new(X: 0, Y: 0), new(X: 10, Y: 0), new(X: 10, Y: 10), new(X: 0, Y: 10)];
        IReadOnlyList<PixelPoint> part = WalkTimeline.Part(square, isClosed: true, 0.375);
        Assert.Equal([new PixelPoint(X: 0, Y: 0), new PixelPoint(X: 10, Y: 0), new PixelPoint(X: 10, Y: 5)], part);
    }

    [Fact]
    public void At_ARecordedStep_ShowsViewWindowPointerAndStrokesOfThatMoment()
    {
        WalkThrough walk = WalkThroughMakerTests.Made().Walk;
        walk = walk with { Steps = [walk.Steps[0] with { Seconds = 6.5, Recording = WalkThroughMakerTests.Recorded() }, .. walk.Steps.Skip(1)] };
        WalkMoment moment = WalkTimeline.At(walk, 0, 1.0625);
        Assert.Equal(new WalkView(49.875, 20, 350, 420), moment.View);
        Assert.Equal(20 * (1.0625 - 0.5) + 10.0 + ((30.25 - 10 - 20) * (1.0625 - 0.5)), moment.Pointer!.Value.X, 6);
        Assert.Equal([new PixelPoint(X: 10, Y: 10), new PixelPoint(X: 10.625, Y: 10.625)], Assert.Single(moment.Strokes));
        Assert.Equal(950.25, WalkTimeline.At(walk, 0, 1.5).Window!.Center, 6);
        Assert.Null(WalkTimeline.At(walk, 0, 2.5).Pointer);
        Assert.Equal(2, WalkTimeline.At(walk, 0, 6).Strokes[0].Count - 1);
    }

    [Fact]
    public void Times_OfAFilm_AreDenseOnlyWhileSomethingMovesAndEndWithTheWalkThrough()
    {
        WalkThrough walk = WalkThroughMakerTests.Made().Walk;
        IReadOnlyList<FilmFrame> times = WalkThroughFrames.Times(walk, hasCaptions: false);
        Assert.All(times.Zip(times.Skip(1)), pair => Assert.InRange(pair.Second.AtSeconds - pair.First.AtSeconds, 0.0099, 1.1));
        Assert.Equal(walk.Seconds - 0.04, times[^1].AtSeconds, 6);
        Assert.True(times.Count < walk.Seconds * WalkThroughFrames.PerSecond / 4, $"{times.Count} pictures for {walk.Seconds} s");
        int moving = walk.Steps.ToList().FindIndex(step => step.View != walk.Image.Whole);
        double way = WalkTimeline.WayOf(walk.Steps[moving]);
        Assert.InRange(times.Count(frame => frame.StepIndex == moving && frame.StepSeconds < way), (int)(way * 25), (int)(way * 25) + 2);
    }

    [Fact]
    public void Draft_EveryChange_IsTakenBackAndGivenAgainAndKept()
    {
        WalkThroughDraft draft = WalkThroughDraft.Of(WalkThroughMakerTests.Made().Walk);
        string first = WalkThroughJson.Write(draft.Now);
        (string one, string two) = (draft.Now.Steps[1].Id, draft.Now.Steps[2].Id);
        WalkThroughDraft changed = draft
            .Retype(one, "Look at the skin on both sides.")
            .Move(two, 1)
            .Cut(draft.Now.Steps[4].Id)
            .Time(two, 17.25)
            .Add(one, "Of my own", out string added)
            .Record(added, WalkThroughMakerTests.Recorded())
            .Retitle("Our wrist")
            .Show(one, new WalkView(10, 20, 300, 200), new WalkWindow(1, 2));
        Assert.Equal(CaptionCues.SecondsFor("Look at the skin on both sides."), changed.Now.Steps[1].Seconds);
        Assert.Equal(added, changed.Now.Steps[2].Id);
        Assert.Equal(6.5, changed.Now.Steps[2].Seconds);
        Assert.Equal(17.25, changed.Now.Steps.Single(step => step.Id == two).Seconds);
        Assert.Equal([new string('a', 64)], changed.Voices);
        string last = WalkThroughJson.Write(changed.Now);

        // Through what is kept, back to the first state and forth to the last.
        WalkThroughDraft back = WalkThroughDraft.Read(changed.Write());
        Assert.Equal(last, WalkThroughJson.Write(back.Now));
        int steps = 0;
        while (back.UndoLabel is not null)
        {
            back = back.Undo();
            steps++;
        }

        Assert.Equal(8, steps);
        Assert.Equal(first, WalkThroughJson.Write(back.Now));
        Assert.Equal([new string('a', 64)], back.Voices);
        while (back.RedoLabel is not null)
        {
            back = WalkThroughDraft.Read(back.Write()).Redo();
        }

        Assert.Equal(last, WalkThroughJson.Write(back.Now));
        Assert.Same(draft, draft.Undo());
    }

    [Fact]
    public void Draft_TimeOfARecordedStep_IsNeverShorterThanItsRecording()
    {
        WalkThroughDraft draft = WalkThroughDraft.Of(WalkThroughMakerTests.Made().Walk);
        string id = draft.Now.Steps[0].Id;
        draft = draft.Record(id, WalkThroughMakerTests.Recorded()).Time(id, 2);
        Assert.Equal(6.5, draft.Now.Steps[0].Seconds);
        Assert.Equal(9, draft.Time(id, 9).Now.Steps[0].Seconds);
    }

    [Fact]
    public void Thin_AWanderingTrack_IsOffByNoMoreThanToleratedAtAnyRecordedTime()
    {
        const double tolerance = 0.25;
        var random = new Random(7);
        var track = new List<double[]>();
        double x = 0, y = 0, speed = 0;
        for (int entry = 0; entry < 3000; entry++)
        {
            speed = entry % 300 < 100 ? 0 : Math.Clamp(speed + (random.NextDouble() - 0.5), -3, 3);
            track.Add([entry / 60.0, x += speed, y += speed * Math.Sin(entry / 40.0)]);
        }

        IReadOnlyList<double[]> thin = TrackThinning.Thin(track, tolerance);
        Assert.True(thin.Count < track.Count / 3, $"{thin.Count} of {track.Count} stay");
        foreach (double[] entry in track)
        {
            double[] shown = WalkTimeline.OnTrack(thin, entry[0]);

            // Times are rounded to a millisecond: at most 3 pixels a sixtieth of a second, 0.09 in half a millisecond.
            Assert.InRange(Math.Abs(shown[1] - entry[1]), 0, tolerance + 0.09);
            Assert.InRange(Math.Abs(shown[2] - entry[2]), 0, tolerance + 0.09);
        }
    }

    [Fact]
    public void WebVtt_OfAWalkThrough_HasEveryWordInOrderAndSafeSigns()
    {
        WalkThrough walk = WalkThroughMakerTests.Made().Walk;
        walk = walk with { Steps = [walk.Steps[0] with { Caption = "A <b> & an --> arrow." }, .. walk.Steps.Skip(1)] };
        string text = CaptionCues.WebVtt(walk);
        Assert.StartsWith("WEBVTT\n\n00:00:00.000 --> ", text, StringComparison.Ordinal);
        Assert.Contains("A &lt;b&gt; &amp; an --&gt; arrow.", text, StringComparison.Ordinal);
        TimeSpan[] starts = [.. Cue().Matches(text).Select(match => TimeSpan.Parse(match.Groups[1].Value, System.Globalization.CultureInfo.InvariantCulture))];
        Assert.Equal(starts.Order(), starts);
        Assert.Equal(walk.Steps.Sum(step => CaptionCues.Of(step).Count), starts.Length);
    }

    [Fact]
    public void Page_HoldsEveryPixelAndNothingFromElsewhere()
    {
        WalkThrough walk = WalkThroughMakerTests.Made().Walk;
        Imaging.Radiograph limb = InventedExposure.Limb();
        string page = Encoding.UTF8.GetString(WalkThroughPage.Make(walk, limb, new Dictionary<string, byte[]>()));
        Assert.Contains("default-src 'none'", page, StringComparison.Ordinal);
        Assert.DoesNotContain("http://", page.Replace("http://www.w3.org", string.Empty, StringComparison.Ordinal), StringComparison.Ordinal);
        Assert.DoesNotContain("https://", page, StringComparison.Ordinal);
        Assert.Contains(walk.Caution, page, StringComparison.Ordinal);

        Match packed = Pixels().Match(page);
        using var stream = new ZLibStream(new MemoryStream(Convert.FromBase64String(packed.Groups[1].Value)), CompressionMode.Decompress);
        using var planes = new MemoryStream();
        stream.CopyTo(planes);
        byte[] bytes = planes.ToArray();
        int count = limb.Rows * limb.Columns;
        Assert.Equal(2 * count, bytes.Length);
        int value = 0;
        for (int row = 0; row < limb.Rows; row++)
        {
            value = row == 0 ? 0 : limb.Pixels[row - 1, 0];
            for (int column = 0; column < limb.Columns; column++)
            {
                int folded = (bytes[(row * limb.Columns) + column] << 8) | bytes[count + (row * limb.Columns) + column];
                value = (value + ((folded >> 1) ^ -(folded & 1))) & 0xFFFF;
                Assert.Equal(limb.Pixels[row, column], value);
            }
        }
    }

    [GeneratedRegex(@"^(\d\d:\d\d:\d\d\.\d{3}) --> ", RegexOptions.Multiline)]
    private static partial Regex Cue();

    [GeneratedRegex("id=\"walk-pixels\">([^<]+)<")]
    private static partial Regex Pixels();
}
