using System.Globalization;
using System.Text.Json;
using System.Text.RegularExpressions;
using Hotlight.Testing;

namespace Hotlight.Cli.Tests;

[Collection("command line")]
public sealed partial class MeasureCommandTests : IDisposable
{
    private readonly ScratchFolder folder = new();

    public void Dispose() => folder.Dispose();

    [Fact]
    public void Measure_OneFile_PrintsEverySectionInWords()
    {
        string file = Limb("limb.dcm");
        CommandLineCall call = CommandLineCall.Run("measure", file);
        Assert.Equal(0, call.ExitStatus);
        Assert.Empty(call.Errors);
        foreach (string section in new[] { "image", "field", "anatomy", "collimation", "exposure", "mottle", "clipping", "sharpness", "markers", "artifacts", "display", "processing" })
        {
            Assert.Matches($@"(?m)^  {section} ", call.Output);
        }

        Assert.Matches(@"exposure index 312 ± \d+, target 250, deviation index \+0\.96 ± 0\.\d\d", Unwrapped(call.Output));
    }

    [Fact]
    public void Measure_WithJson_PrintsTheDocumentAlone()
    {
        CommandLineCall call = CommandLineCall.Run("measure", Limb("limb.dcm"), "--json");
        using JsonDocument document = JsonDocument.Parse(call.Output);
        Assert.Equal("hotlight.measurements/1", document.RootElement.GetProperty("schema").GetString());
        Assert.Equal("limb.dcm", document.RootElement.GetProperty("file").GetString());
        Assert.Equal("measured", document.RootElement.GetProperty("exposure").GetProperty("status").GetString());
        Assert.Equal("measured", document.RootElement.GetProperty("field").GetProperty("status").GetString());
        Assert.Equal(64, document.RootElement.GetProperty("field").GetProperty("areaPercentOfImage").GetDouble(), 0.5);
    }

    [Fact]
    public void Measure_TheSameFileTwice_GivesTheSameBytesButForTheTime()
        => AssertSame(Limb("limb.dcm"));

    [SharedDataTheory("radiographs-dicom")]
    [InlineData("RG1_JLSN.dcm")]
    [InlineData("RG3_J2KR.dcm")]
    public void Measure_AnOpenRadiographTwice_GivesTheSameBytesButForTheTime(string file)
        => AssertSame(Path.Combine(SharedData.Folder("radiographs-dicom"), file));

    private static void AssertSame(string file)
    {
        string one = WithoutTiming(CommandLineCall.Run("measure", file, "--json").Output);
        string other = WithoutTiming(CommandLineCall.Run("measure", file, "--json").Output);
        Assert.Contains("\"schema\"", one, StringComparison.Ordinal);
        Assert.Equal(one, other);
    }

    [Fact]
    public void Measure_SeveralFilesWithJson_PrintsOneDocumentALineInTheOrderGiven()
    {
        CommandLineCall call = CommandLineCall.Run("measure", Limb("b.dcm"), Limb("a.dcm"), "--json");
        string[] lines = call.Output.Split('\n', StringSplitOptions.RemoveEmptyEntries);
        Assert.Equal(["b.dcm", "a.dcm"], lines.Select(line => JsonDocument.Parse(line).RootElement.GetProperty("file").GetString()));
    }

    [Fact]
    public void Measure_ABadFileAmongGoodOnes_MeasuresTheOthersAndEndsWithTwo()
    {
        File.WriteAllText(folder["notes.txt"], "patient came at nine");
        CommandLineCall call = CommandLineCall.Run("measure", Limb("one.dcm"), folder["notes.txt"], Limb("two.dcm"), "--json");
        Assert.Contains("notes.txt", call.OneSentence(), StringComparison.Ordinal);
        Assert.Equal(2, call.Output.Split('\n', StringSplitOptions.RemoveEmptyEntries).Length);
    }

    public static TheoryData<string> BadInputs => ["missing", "empty", "folder", "text", "colour", "zero-rows", "too-many-rows", "unreadable"];

    [Theory]
    [MemberData(nameof(BadInputs))]
    public void Measure_BadInput_IsOneSentenceAndNoDocument(string kind)
    {
        string path = folder[kind + ".dcm"];
        switch (kind)
        {
            case "empty":
                File.WriteAllBytes(path, []);
                break;
            case "folder":
                Directory.CreateDirectory(path);
                break;
            case "text":
                File.WriteAllText(path, "not a radiograph");
                break;
            case "colour":
                File.WriteAllBytes(path, ColourPng());
                break;
            case "zero-rows":
                WriteWithRows(path, 0);
                break;
            case "too-many-rows":
                WriteWithRows(path, ushort.MaxValue);
                break;
            case "unreadable":
                File.WriteAllText(path, "x");
                if (!OperatingSystem.IsWindows())
                {
                    File.SetUnixFileMode(path, UnixFileMode.None);
                }

                break;
        }

        CommandLineCall call = CommandLineCall.Run("measure", path, "--json");
        Assert.Contains(kind + ".dcm", call.OneSentence(), StringComparison.Ordinal);
        Assert.Empty(call.Output);
    }

    [Theory]
    [InlineData("measure")]
    [InlineData("measure", "x.dcm", "--margin", "wide")]
    [InlineData("measure", "x.dcm", "--target-ei", "-3")]
    [InlineData("measure", "x.dcm", "--no-such-option")]
    [InlineData("measur", "x.dcm")]
    public void WrongCalls_AreOneSentence(params string[] args) => CommandLineCall.Run(args).OneSentence();

    [Theory]
    [InlineData("--help")]
    [InlineData("measure", "--help")]
    [InlineData("critique", "--help")]
    [InlineData("show", "--help")]
    public void Help_HasExamples(params string[] args)
    {
        CommandLineCall call = CommandLineCall.Run(args);
        Assert.Equal(0, call.ExitStatus);
        Assert.Contains("EXAMPLES", call.Output, StringComparison.Ordinal);
        Assert.Contains("hotlight ", call.Output, StringComparison.Ordinal);
    }

    [Fact]
    public void Measure_UnderACultureWithDecimalComma_PrintsTheSame()
    {
        string file = Limb("limb.dcm");
        CultureInfo before = CultureInfo.CurrentCulture;
        try
        {
            CultureInfo.CurrentCulture = CultureInfo.InvariantCulture;
            string invariant = CommandLineCall.Run("measure", file).Output + WithoutTiming(CommandLineCall.Run("measure", file, "--json").Output);
            CultureInfo.CurrentCulture = CultureInfo.GetCultureInfo("de-DE");
            string german = CommandLineCall.Run("measure", file).Output + WithoutTiming(CommandLineCall.Run("measure", file, "--json").Output);
            Assert.Equal(invariant, german);
        }
        finally
        {
            CultureInfo.CurrentCulture = before;
        }
    }

    private static string Unwrapped(string text) => string.Join(' ', text.Split((char[]?)null, StringSplitOptions.RemoveEmptyEntries));

    private static string WithoutTiming(string json) => Timing().Replace(json, string.Empty);

    [GeneratedRegex("""(?s)"timingMs":\s*\{[^}]*\}""")]
    private static partial Regex Timing();

    private string Limb(string name)
    {
        InventedExposure.Write(InventedExposure.Limb(), folder[name]);
        return folder[name];
    }

    // Rows (0028,0010) is rewritten in place: US, two bytes after the explicit header of the element.
    private void WriteWithRows(string path, int rows)
    {
        InventedExposure.Write(InventedExposure.Limb(rows: 40, columns: 40), path);
        byte[] bytes = File.ReadAllBytes(path);
        int at = bytes.AsSpan().IndexOf((ReadOnlySpan<byte>)[0x28, 0x00, 0x10, 0x00, (byte)'U', (byte)'S', 2, 0]);
        Assert.True(at > 0);
        
        bytes[at + 8] = (byte)rows;
        bytes[at + 9] = (byte)(rows >> 8);
        File.WriteAllBytes(path, bytes);
    }

    // A 64 x 64 colour image of red and blue squares (PNG, colour type 2).
    private static byte[] ColourPng() => Convert.FromBase64String("iVBORw0KGgoAAAANSUhEUgAAAEAAAABACAIAAAAlC+aJAAAAZElEQVR42u3XsQ0AMAgDsPz/NH2gTCxFtcQGi1miJKnrVLN47x4AAAAAYHK/59PNBgAAAABgBJDEAAAAAPqAJAYAAADQByQxAAAAgD4giQEAAAD0AUkMAAAAoA9IYgAAAIBvAAe47PDi7b0d2wAAAABJRU5ErkJggg==");
}
