using System.Text.Json;
using Hotlight.Poses;
using Hotlight.Positioning;
using Hotlight.Simulation;
using Hotlight.Simulation.Scene;
using Hotlight.Measure.Landmarks;
using Hotlight.Testing;
using Hotlight.Workflows.Positions;
using Xunit;

namespace Hotlight.Cli.Tests;

/// <summary>A pose on the command line.</summary>
[Collection("command line")]
public sealed class PoseCommandTests : IDisposable
{
    private readonly ScratchFolder folder = new();

    public void Dispose() => folder.Dispose();

    [Fact]
    public void Pose_WithoutLandmarks_ListsThePointsToMark()
    {
        CommandLineCall result = CommandLineCall.Run("pose", "-p", "knee-lateral");
        Assert.Equal(0, result.ExitStatus);
        Assert.Contains("5 or more", result.Output, StringComparison.Ordinal);
        Assert.All(PoseModels.For("knee-lateral")!.Points, point => Assert.Contains(point.Id, result.Output, StringComparison.Ordinal));
    }

    [Fact]
    public void Pose_OfAnExposureOfTheLab_IsTheOneItWasMadeWith()
    {
        (string image, string marks) = Exposure();
        CommandLineCall text = CommandLineCall.Run("pose", image, "-p", "knee-lateral", "-l", marks, "--side", "R");
        Assert.Equal(0, text.ExitStatus);
        Assert.Matches(@"turn\s+[78]\.\d° ± [12]\.\d°", text.Output);
        Assert.Contains("generic anatomy", text.Output, StringComparison.Ordinal);
        Assert.Contains("not a diagnostic device", Unwrapped(text.Output), StringComparison.Ordinal);

        using JsonDocument json = JsonDocument.Parse(CommandLineCall.Run("pose", image, "-p", "knee-lateral", "-l", marks, "--side", "R", "--json").Output);
        JsonElement root = json.RootElement;
        Assert.Equal("hotlight.pose/1", root.GetProperty("schema").GetString());
        Assert.Equal("measured", root.GetProperty("turn").GetProperty("status").GetString());
        Assert.Equal(8, root.GetProperty("turn").GetProperty("degrees").GetDouble(), root.GetProperty("turn").GetProperty("uncertaintyDegrees").GetDouble());
        Assert.Equal(-5, root.GetProperty("tilt").GetProperty("degrees").GetDouble(), root.GetProperty("tilt").GetProperty("uncertaintyDegrees").GetDouble());
        Assert.Equal(root.GetProperty("parameters").GetArrayLength(), root.GetProperty("covariance").GetArrayLength());
        Assert.Equal(PoseModels.For("knee-lateral")!.Points.Count, root.GetProperty("residuals").GetArrayLength());
        Assert.Contains("not a diagnostic device", root.GetProperty("caution").GetString(), StringComparison.Ordinal);

        // What to move, and the phantom beside the radiograph.
        Assert.Matches(@"move Increase the angle of the beam toward the head: 5 to 7 degrees is usual\. By about [4-9] ± [12] degrees", Unwrapped(text.Output));
        Assert.Contains("a repeat is dose to the patient", Unwrapped(text.Output), StringComparison.Ordinal);
        Assert.Contains(root.GetProperty("moves").EnumerateArray(), move => move.GetProperty("axis").GetString() is "turn" or "tilt" && move.GetProperty("toDegrees").GetDouble() == 0);
        Assert.Contains(root.GetProperty("relations").EnumerateArray(), relation => relation.GetProperty("asItLies").GetString() == "missed" && relation.GetProperty("asItShould").GetString() == "holds");
        Assert.Equal(0, CommandLineCall.Run("pose", image, "-p", "knee-lateral", "-l", marks, "--side", "R", "--picture", folder["pose.png"]).ExitStatus);
        using (SkiaSharp.SKBitmap drawn = SkiaSharp.SKBitmap.Decode(folder["pose.png"]))
        {
            Assert.InRange(drawn.Height, PoseStrip.LongestSide + 40, PoseStrip.LongestSide + 200);
            Assert.True(drawn.Width > 2.5 * 0.7 * PoseStrip.LongestSide, $"{drawn.Width}");
        }

        // The same file of marks tells the relations of the checklist.
        CommandLineCall position = CommandLineCall.Run("position", image, "-p", "knee-lateral", "-l", marks);
        Assert.Equal(0, position.ExitStatus);
    }

    [Fact]
    public void Pose_Matched_TellsThePoseWithTheImageOrWhyNot()
    {
        (string image, string marks) = Exposure();
        using JsonDocument json = JsonDocument.Parse(CommandLineCall.Run("pose", image, "-p", "knee-lateral", "-l", marks, "--side", "R", "--match", "--json").Output);
        JsonElement match = json.RootElement.GetProperty("match");
        JsonElement turn = match.GetProperty("angles").EnumerateArray().Single(angle => angle.GetProperty("name").GetString() == "turn");
        Assert.Equal(turn.GetProperty("after").GetProperty("degrees").GetDouble(), json.RootElement.GetProperty("turn").GetProperty("degrees").GetDouble(), 1e-9);
        Assert.InRange(match.GetProperty("edges").GetInt32(), PoseRefiner.LeastEdges, match.GetProperty("looked").GetInt32());
        string said = match.GetProperty("said").GetString()!;
        string text = Unwrapped(CommandLineCall.Run("pose", image, "-p", "knee-lateral", "-l", marks, "--side", "R", "--match").Output);
        Assert.Contains("match " + said, text, StringComparison.Ordinal);
    }

    [Fact]
    public void Pose_FromProposedPoints_SaysThatNobodyLookedAtThem()
    {
        SceneDocument start = SceneStarts.For("foot", "ankle-ap");
        File.WriteAllBytes(folder["ankle.dcm"], Lab.Expose(start with { Receptor = start.Receptor with { SpacingMm = 0.4 } }).ForPresentation());
        string text = Unwrapped(CommandLineCall.Run("pose", folder["ankle.dcm"], "-p", "ankle-ap", "--propose").Output);
        Assert.Matches(@"proposed \d+ of \d+ points were proposed by a small network and looked at by nobody: each may be wrong", text);
        Assert.Contains("turn ", text, StringComparison.Ordinal);
        using JsonDocument json = JsonDocument.Parse(CommandLineCall.Run("pose", folder["ankle.dcm"], "-p", "ankle-ap", "--propose", "--json").Output);
        Assert.InRange(json.RootElement.GetProperty("proposed").GetArrayLength(), PoseFitter.LeastPoints, PoseModels.For("ankle-ap")!.Points.Count);
        Assert.Contains("looked at by nobody", json.RootElement.GetProperty("caution").GetString(), StringComparison.Ordinal);
    }

    [Fact]
    public void Pose_TooFewMarks_CannotTellAndSaysWhatToMark()
    {
        (string image, _) = Exposure();
        File.WriteAllText(folder["few.json"], """{"schema": "hotlight.landmarks/1", "projection": "knee-lateral", "landmarks": {"shaft-far": {"x": 150, "y": 20}, "shaft-near": {"x": 150, "y": 90}}}""");
        string text = Unwrapped(CommandLineCall.Run("pose", image, "-p", "knee-lateral", "-l", folder["few.json"]).Output);
        Assert.Contains("cannot tell A pose needs at least 5 marked points, and 2 are marked; mark also:", text, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("no pose can be fitted to foot-ap", "pose", "-p", "foot-ap")]
    [InlineData("pose needs --projection ID", "pose", "knee.dcm")]
    [InlineData("pose needs the radiograph", "pose", "-p", "knee-ap", "-l", "marks.json")]
    [InlineData("--landmarks FILE or --propose, not both", "pose", "knee.dcm", "-p", "knee-ap", "-l", "marks.json", "--propose")]
    [InlineData("No points are proposed for 'knee-lateral'", "pose", "KNEE", "-p", "knee-lateral", "--propose")]
    [InlineData("give a name that ends in .png", "pose", "KNEE", "-p", "knee-lateral", "-l", "MARKS", "--picture", "pose.gif")]
    [InlineData("a side is R or L, not 'left'", "pose", "knee.dcm", "-p", "knee-ap", "-l", "marks.json", "--side", "left")]
    public void Pose_AWrongCall_IsRefusedInOneSentence(string words, params string[] call)
    {
        (string image, string marks) = call.Contains("KNEE") ? Exposure() : (string.Empty, string.Empty);
        CommandLineCall result = CommandLineCall.Run([.. call.Select(word => word switch { "KNEE" => image, "MARKS" => marks, _ => word })]);
        Assert.Equal(2, result.ExitStatus);
        Assert.Contains(words, result.Errors, StringComparison.Ordinal);
        Assert.Single(result.Errors.Trim().Split('\n'));
    }

    private static string Unwrapped(string text) => System.Text.RegularExpressions.Regex.Replace(text, @"\s+", " ");

    private (string Image, string Marks) Exposure()
    {
        SceneDocument start = SceneStarts.For("knee", "lateral");
        SceneDocument scene = start with
        {
            Part = start.Part! with { TurnDegrees = 8, TiltDegrees = -5, LeanDegrees = 4 },
            Receptor = start.Receptor with { SpacingMm = 0.5 },
        };
        File.WriteAllBytes(folder["knee.dcm"], Lab.Expose(scene).ForPresentation());
        PoseModel model = PoseModels.For("knee-lateral")!;
        var marks = new MarkedLandmarks(model.ProjectionId, model.Places(scene).ToDictionary(place => place.Key, place => LandmarkPoint.At(place.Value, 2), StringComparer.Ordinal));
        File.WriteAllText(folder["marks.json"], LandmarksJson.Write(marks));
        return (folder["knee.dcm"], folder["marks.json"]);
    }
}
