using System.Text.Json;
using Hotlight.Testing;

namespace Hotlight.Cli.Tests;

/// <summary>Measuring a folder into a file of results that can be taken up again.</summary>
[Collection("command line")]
public sealed class MeasureFolderTests : IDisposable
{
    private readonly ScratchFolder folder = new();

    public void Dispose() => folder.Dispose();

    [Fact]
    public void Measure_Folder_MeasuresAllBelowByNameAndLeavesOutOtherKinds()
    {
        string inner = Filled();
        CommandLineCall call = CommandLineCall.Run("measure", inner, "--json");
        Assert.Equal(0, call.ExitStatus);
        Assert.Equal(["a.dcm", "c.dcm", "b.dcm"], Documents(call.Output).Select(document => document.GetProperty("file").GetString()));
        Assert.Equal("1 file of another kind was left out.", call.Errors.Trim());
    }

    [Fact]
    public void Measure_FolderTo_KeepsADocumentALineWithItsOrigin()
    {
        string inner = Filled();
        CommandLineCall call = CommandLineCall.Run("measure", inner, "--to", folder["results.jsonl"]);
        Assert.Equal(0, call.ExitStatus);
        Assert.Empty(call.Output);
        Assert.Equal("3 measured, 0 already there, 1 of another kind left out.", call.Errors.Trim());
        JsonElement[] documents = Documents(File.ReadAllText(folder["results.jsonl"]));
        Assert.Equal(3, documents.Length);
        Assert.All(documents, document => Assert.Equal(
            new FileInfo(document.GetProperty("origin").GetProperty("path").GetString()!).Length,
            document.GetProperty("origin").GetProperty("bytes").GetInt64()));
    }

    [Fact]
    public void Measure_Again_MeasuresOnlyWhatIsNewOrChanged()
    {
        string inner = Filled();
        CommandLineCall.Run("measure", inner, "--to", folder["results.jsonl"]);
        Assert.StartsWith("0 measured, 3 already there", CommandLineCall.Run("measure", inner, "--to", folder["results.jsonl"]).Errors, StringComparison.Ordinal);

        Limb(Path.Combine(inner, "d.dcm"));
        File.SetLastWriteTimeUtc(Path.Combine(inner, "a.dcm"), new DateTime(2026, 1, 2, 3, 4, 5, DateTimeKind.Utc));
        Assert.StartsWith("2 measured, 2 already there", CommandLineCall.Run("measure", inner, "--to", folder["results.jsonl"]).Errors, StringComparison.Ordinal);

        // Other options, other figures.
        Assert.StartsWith("4 measured, 0 already there", CommandLineCall.Run("measure", inner, "--margin", "10", "--to", folder["results.jsonl"]).Errors, StringComparison.Ordinal);
    }

    [Fact]
    public void Measure_AfterAStopInTheMiddleOfALine_TakesTheLineOffAndMeasuresIt()
    {
        string inner = Filled();
        CommandLineCall.Run("measure", inner, "--to", folder["results.jsonl"]);
        string whole = File.ReadAllText(folder["results.jsonl"]);
        File.WriteAllText(folder["results.jsonl"], whole[..^40]);

        Assert.StartsWith("1 measured, 2 already there", CommandLineCall.Run("measure", inner, "--to", folder["results.jsonl"]).Errors, StringComparison.Ordinal);
        Assert.Equal(3, Documents(File.ReadAllText(folder["results.jsonl"])).Length);
    }

    [Fact]
    public void Measure_ADamagedFileInTheFolder_IsSaidAndNeverStopsTheRest()
    {
        string inner = Filled();
        File.WriteAllBytes(Path.Combine(inner, "b0.dcm"), File.ReadAllBytes(Path.Combine(inner, "a.dcm"))[..2000]);
        CommandLineCall call = CommandLineCall.Run("measure", inner, "--to", folder["results.jsonl"]);
        Assert.Equal(2, call.ExitStatus);
        Assert.Contains("hotlight: b0.dcm: ", call.Errors, StringComparison.Ordinal);
        Assert.Contains("3 measured", call.Errors, StringComparison.Ordinal);
    }

    [Fact]
    public void Measure_ToSomethingElse_IsRefusedAndLosesNothing()
    {
        string inner = Filled();
        File.WriteAllText(folder["notes.jsonl"], "patient came at nine\n");
        Assert.Contains("new name", CommandLineCall.Run("measure", inner, "--to", folder["notes.jsonl"]).OneSentence(), StringComparison.Ordinal);
        Assert.Equal("patient came at nine\n", File.ReadAllText(folder["notes.jsonl"]));
        File.WriteAllText(folder["short.jsonl"], "no line's end");
        CommandLineCall.Run("measure", inner, "--to", folder["short.jsonl"]).OneSentence();
        Assert.Equal("no line's end", File.ReadAllText(folder["short.jsonl"]));
        Assert.Contains(".jsonl", CommandLineCall.Run("measure", inner, "--to", folder["results.txt"]).OneSentence(), StringComparison.Ordinal);
        CommandLineCall.Run("measure", inner, "--to", Path.Combine(folder["nowhere"], "results.jsonl")).OneSentence();
    }

    private static JsonElement[] Documents(string text)
        => [.. text.Split('\n', StringSplitOptions.RemoveEmptyEntries).Select(line => JsonDocument.Parse(line).RootElement)];

    private string Filled()
    {
        string inner = folder["in"];
        Directory.CreateDirectory(Path.Combine(inner, "more"));
        Directory.CreateDirectory(Path.Combine(inner, ".hidden"));
        Limb(Path.Combine(inner, "a.dcm"));
        Limb(Path.Combine(inner, "c.dcm"));
        Limb(Path.Combine(inner, "more", "b.dcm"));
        Limb(Path.Combine(inner, ".hidden", "h.dcm"));
        File.WriteAllText(Path.Combine(inner, "notes.txt"), "read me");
        return inner;
    }

    private static void Limb(string path) => InventedExposure.Write(InventedExposure.Limb(), path);
}
