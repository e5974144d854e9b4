using System.Diagnostics;
using System.Text.Json;
using Hotlight.Testing;
using Xunit;

namespace Hotlight.Cli.Tests;

/// <summary>What people and scripts type by accident: names with dashes, pipes, missing values, pictures over radiographs.</summary>
[Collection("command line")]
public sealed class OddCallsTests : IDisposable
{
    private readonly ScratchFolder folder = new();

    public void Dispose() => folder.Dispose();

    [Theory]
    [InlineData("measure", "{}")]
    [InlineData("measure", "{limb}", "--calibration", "{}")]
    [InlineData("critique", "{}", "--projection", "knee-ap")]
    [InlineData("critique", "{limb}", "--projection", "knee-ap", "--answers", "{}")]
    public void Pipe_WithoutAWriter_IsRefusedAndNotWaitedFor(params string[] words)
    {
        using (Process made = Process.Start("mkfifo", folder["pipe.dcm"]))
        {
            made.WaitForExit();
        }

        string limb = Limb("limb.dcm");
        CommandLineCall call = CommandLineCall.Run([.. words.Select(word => word.Replace("{}", folder["pipe.dcm"], StringComparison.Ordinal).Replace("{limb}", limb, StringComparison.Ordinal))]);
        Assert.Contains("pipe.dcm: it is a pipe", call.OneSentence(), StringComparison.Ordinal);
        Assert.Empty(call.Output);
    }

    [Fact]
    public void Measure_NamesAfterTwoDashes_AreFilesWhateverTheyBeginWith()
    {
        string before = Directory.GetCurrentDirectory();
        try
        {
            Directory.SetCurrentDirectory(folder.Path);
            Limb("-p.dcm");
            Limb("plain.dcm");
            CommandLineCall call = CommandLineCall.Run("measure", "--json", "--", "-p.dcm", "plain.dcm");
            Assert.Equal(0, call.ExitStatus);
            Assert.Equal(["-p.dcm", "plain.dcm"], call.Output.Split('\n', StringSplitOptions.RemoveEmptyEntries).Select(line => JsonDocument.Parse(line).RootElement.GetProperty("file").GetString()));
            Assert.Contains("put -- before it", CommandLineCall.Run("measure", "-p.dcm").OneSentence(), StringComparison.Ordinal);
        }
        finally
        {
            Directory.SetCurrentDirectory(before);
        }
    }

    [Theory]
    [InlineData("--ei needs a value", "measure", "x.dcm", "--ei")]
    [InlineData("--target-ei needs a value", "measure", "--target-ei", "--json", "x.dcm")]
    [InlineData("--projection needs a value", "critique", "x.dcm", "-p")]
    [InlineData("--out needs a value", "show", "x.dcm", "--out")]
    [InlineData("--out needs a value", "demo", "--out")]
    [InlineData("an empty word", "measure", "")]
    [InlineData("an empty word", "show", "x.dcm", "--out", "")]
    [InlineData("such as --spacing 0.15", "measure", "x.dcm", "--spacing", "0,15")]
    [InlineData("there is no demo case", "demo", "elbow")]
    public void WrongCall_SaysWhatIsMissing(string expected, params string[] args)
        => Assert.Contains(expected, CommandLineCall.Run(args).OneSentence(), StringComparison.Ordinal);

    [Fact]
    public void Measure_WithAnIndexFromTheConsole_TakesItInPlaceOfTheHeaders()
    {
        // Header: EI 312, target 250. DI = 10 lg(200/250) = -0.97 (IEC 62494-1).
        string file = Limb("limb.dcm");
        using JsonDocument document = JsonDocument.Parse(CommandLineCall.Run("measure", file, "--ei", "200", "--json").Output);
        JsonElement exposure = document.RootElement.GetProperty("exposure");
        Assert.Equal("reader", exposure.GetProperty("basis").GetString());
        Assert.Equal(200, exposure.GetProperty("exposureIndex").GetDouble());
        Assert.Equal(-0.97, exposure.GetProperty("deviationIndex").GetDouble(), 0.005);
        Assert.Contains("from the reader", Unwrapped(CommandLineCall.Run("measure", file, "--ei", "200").Output), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("--out", "limb.dcm", "ends in .png")]
    [InlineData("--sheet", "sheet.jpg", "ends in .png")]
    [InlineData("--out", "limb.png", "write over the radiograph")]
    [InlineData("--sheet", "link.png", "write over the radiograph")]
    [InlineData("--out", "missing/limb.png", "no folder")]
    public void Show_ToAPlaceThatWouldLoseSomething_IsRefusedAndChangesNothing(string option, string target, string expected)
    {
        string radiograph = Limb("limb.png");
        File.CreateSymbolicLink(folder["link.png"], radiograph);
        byte[] before = File.ReadAllBytes(radiograph);
        Assert.Contains(expected, CommandLineCall.Run("show", radiograph, option, folder[target]).OneSentence(), StringComparison.Ordinal);
        Assert.Equal(before, File.ReadAllBytes(radiograph));
        Assert.Equal(2, Directory.GetFileSystemEntries(folder.Path).Length);
    }

    [Fact]
    public void Measure_StoppedBetweenFiles_SaysSoAndPrintsNoMore()
    {
        using var output = new StringWriter();
        using var errors = new StringWriter();
        using var stop = new CancellationTokenSource();
        stop.Cancel();
        Assert.Equal(HotlightCommandLine.Stopped, HotlightCommandLine.Run(["measure", Limb("limb.dcm")], output, errors, stop.Token));
        Assert.Empty(output.ToString());
        Assert.StartsWith("hotlight: stopped", errors.ToString(), StringComparison.Ordinal);
    }

    [Fact]
    public void Projections_OntoAFullDisk_AreOneSentence()
    {
        using var errors = new StringWriter();
        using var full = new FullDisk();
        Assert.Equal(HotlightCommandLine.Refused, HotlightCommandLine.Run(["projections"], full, errors));
        Assert.Equal("hotlight: the output cannot be written: the disk is full.\n", errors.ToString());
    }

    private static string Unwrapped(string text) => string.Join(' ', text.Split((char[]?)null, StringSplitOptions.RemoveEmptyEntries));

    private string Limb(string name)
    {
        InventedExposure.Write(InventedExposure.Limb(), folder[name]);
        return folder[name];
    }

    // ENOSPC, as the system gives it for a write to a full disk.
    private sealed class FullDisk : StringWriter
    {
        public override void WriteLine(string? value) => throw new IOException("No space left on device", 28);
    }
}
