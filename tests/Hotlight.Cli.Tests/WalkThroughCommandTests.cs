using System.Diagnostics;
using System.Globalization;
using System.Text;
using System.Text.Json;
using Hotlight.Imaging.Dicom;
using Hotlight.Teaching.WalkThroughs;
using Hotlight.Testing;
using Xunit;

namespace Hotlight.Cli.Tests;

/// <summary>A file becomes a walk-through as page, data and film; nothing in them tells whose file it was.</summary>
[Collection("command line")]
public sealed class WalkThroughCommandTests : IDisposable
{
    private static readonly string[] Planted = ["Dotterel", "Wilhelmina", "MRN-4471902", "4471902"];
    private readonly ScratchFolder folder = new();

    public void Dispose() => folder.Dispose();

    [Fact]
    public void WalkThrough_OfAFileWithANameInIt_LeavesTheNameBehind()
    {
        CommandLineCall call = CommandLineCall.Run("walk-through", Named(), "-p", "wrist-pa", "--to", folder["out"], "--html", "--json", "--looked-over");
        Assert.Equal(0, call.ExitStatus);
        string[] files = Directory.GetFiles(folder["out"]);
        Assert.Equal(2, files.Length);
        Assert.All(files, AssertNothingPlanted);
        WalkThrough walk = WalkThroughJson.Read(File.ReadAllText(folder["out/walk-through-wrist-pa.json"]));
        Assert.False(walk.IsInvented);
        Assert.Equal("Wrist PA, step by step", walk.Title);
    }

    [Fact]
    public void WalkThrough_WithANameInARemark_IsRefusedAndSaysWhereAndNotWhom()
    {
        File.WriteAllText(folder["answers.json"], JsonSerializer.Serialize(new
        {
            schema = "hotlight.answers/1",
            projection = "wrist-pa",
            answers = new Dictionary<string, object> { ["position.palm-flat"] = new { state = "met", remark = "As for Mrs Dotterel last week." } },
        }));
        CommandLineCall call = CommandLineCall.Run("walk-through", Named(), "-p", "wrist-pa", "-a", folder["answers.json"], "--to", folder["out"], "--looked-over");
        Assert.Equal(2, call.ExitStatus);
        Assert.Contains("the remark on the line", call.Errors, StringComparison.Ordinal);
        Assert.DoesNotContain("Dotterel", call.Errors, StringComparison.Ordinal);
        Assert.False(Directory.Exists(folder["out"]) && Directory.EnumerateFiles(folder["out"]).Any());
    }

    [SystemFileFact("/usr/bin/ffmpeg")]
    public void WalkThrough_AsAFilm_LastsAsLongAsItPlaysAndCarriesItsCaptions()
    {
        CommandLineCall call = CommandLineCall.Run("walk-through", Named(), "-p", "wrist-pa", "--to", folder["out"], "--json", "--mp4", "--looked-over");
        Assert.Equal(0, call.ExitStatus);
        string film = folder["out/walk-through-wrist-pa.mp4"];
        AssertNothingPlanted(film);
        WalkThrough walk = WalkThroughJson.Read(File.ReadAllText(folder["out/walk-through-wrist-pa.json"]));
        using JsonDocument probed = Probe(film);
        JsonElement[] streams = [.. probed.RootElement.GetProperty("streams").EnumerateArray()];
        JsonElement picture = streams.Single(stream => stream.GetProperty("codec_type").GetString() == "video");
        Assert.Equal("h264", picture.GetProperty("codec_name").GetString());
        Assert.Equal((1280, 720), (picture.GetProperty("width").GetInt32(), picture.GetProperty("height").GetInt32()));
        JsonElement captions = streams.Single(stream => stream.GetProperty("codec_type").GetString() == "subtitle");
        Assert.Equal("mov_text", captions.GetProperty("codec_name").GetString());
        Assert.Equal("eng", captions.GetProperty("tags").GetProperty("language").GetString());
        double seconds = double.Parse(probed.RootElement.GetProperty("format").GetProperty("duration").GetString()!, CultureInfo.InvariantCulture);

        // The container counts in milliseconds, and the last picture stands for one of 25 in a second.
        Assert.InRange(seconds, walk.Seconds - 0.05, walk.Seconds + 0.05);
    }

    [Fact]
    public void WalkThrough_CalledWrongly_SaysWhatIsMissing()
    {
        Assert.Contains("needs a file with --projection, or --case", CommandLineCall.Run("walk-through", "--to", folder["out"]).Errors, StringComparison.Ordinal);
        Assert.Contains("needs --to", CommandLineCall.Run("walk-through", Named(), "-p", "wrist-pa").Errors, StringComparison.Ordinal);
        Assert.Contains("--height is 720 or 1080", CommandLineCall.Run("walk-through", Named(), "-p", "wrist-pa", "--to", folder["out"], "--height", "480").Errors, StringComparison.Ordinal);
    }

    private static void AssertNothingPlanted(string path)
    {
        string bytes = Encoding.Latin1.GetString(File.ReadAllBytes(path));
        Assert.All(Planted, planted => Assert.DoesNotContain(planted, bytes, StringComparison.OrdinalIgnoreCase));
    }

    private static JsonDocument Probe(string path)
    {
        var start = new ProcessStartInfo("/usr/bin/ffprobe") { RedirectStandardOutput = true };
        foreach (string word in new[] { "-v", "error", "-show_streams", "-show_format", "-of", "json", path })
        {
            start.ArgumentList.Add(word);
        }

        using Process probe = Process.Start(start)!;
        string said = probe.StandardOutput.ReadToEnd();
        probe.WaitForExit();
        return JsonDocument.Parse(said);
    }

    private string Named()
    {
        string path = folder["radiograph.dcm"];
        using FileStream stream = File.Create(path);
        DicomWriter.Write(stream, DxObject.Create(InventedExposure.Limb(rows: 300, columns: 250), new DxDescription { PatientName = "Dotterel^Wilhelmina", PatientId = "MRN-4471902", Seed = "walk" }));
        return path;
    }
}
