using Hotlight.Imaging.Dicom;
using Hotlight.Testing;

namespace Hotlight.Cli.Tests;

[Collection("command line")]
public sealed class DeidentifyCommandTests : IDisposable
{
    private readonly ScratchFolder folder = new();

    public void Dispose() => folder.Dispose();

    [Fact]
    public void Deidentify_File_WritesOneWithoutIdentityAndLeavesTheOriginal()
    {
        InventedExposure.Write(InventedExposure.Limb(rows: 90, columns: 70), folder["limb.dcm"]);
        byte[] before = File.ReadAllBytes(folder["limb.dcm"]);

        CommandLineCall call = CommandLineCall.Run("deidentify", folder["limb.dcm"], folder["out.dcm"], "--json");

        Assert.Equal(HotlightCommandLine.Done, call.ExitStatus);
        Assert.Equal(before, File.ReadAllBytes(folder["limb.dcm"]));
        Assert.StartsWith("P-", DicomContent.Read(File.ReadAllBytes(folder["out.dcm"]), "x").Dataset.Text(0x00100020), StringComparison.Ordinal);
        Assert.Contains("\"action\":\"replace\"", call.Output, StringComparison.Ordinal);
        Assert.DoesNotContain("Invented^Limb", call.Output + call.Errors, StringComparison.Ordinal);
    }

    [Fact]
    public void Deidentify_TargetThatIsThere_IsNotWrittenOverWithoutForce()
    {
        InventedExposure.Write(InventedExposure.Limb(rows: 90, columns: 70), folder["limb.dcm"]);
        File.WriteAllText(folder["out.dcm"], "mine");

        Assert.Contains("--force", CommandLineCall.Run("deidentify", folder["limb.dcm"], folder["out.dcm"]).OneSentence(), StringComparison.Ordinal);
        Assert.Equal("mine", File.ReadAllText(folder["out.dcm"]));
        Assert.Contains("never written over", CommandLineCall.Run("deidentify", folder["limb.dcm"], folder["limb.dcm"], "--force").OneSentence(), StringComparison.Ordinal);
        Assert.Equal(HotlightCommandLine.Done, CommandLineCall.Run("deidentify", folder["limb.dcm"], folder["out.dcm"], "--force").ExitStatus);
    }

    [Fact]
    public void Deidentify_Folder_KeepsOneKeyForAllAndLeavesOtherFilesOut()
    {
        Directory.CreateDirectory(folder["in/second"]);
        InventedExposure.Write(InventedExposure.Limb(rows: 90, columns: 70, seed: 1), folder["in/a.dcm"]);
        InventedExposure.Write(InventedExposure.Limb(rows: 90, columns: 70, seed: 2), folder["in/second/b.dcm"]);
        File.WriteAllText(folder["in/letter.txt"], "Dear colleague");

        CommandLineCall call = CommandLineCall.Run("deidentify", folder["in"], folder["out"]);

        Assert.Equal(HotlightCommandLine.Done, call.ExitStatus);
        Assert.Contains("2 written, 1 of another kind left out.", call.Errors, StringComparison.Ordinal);
        string[] patients = [.. new[] { "out/a.dcm", "out/second/b.dcm" }.Select(path => DicomContent.Read(File.ReadAllBytes(folder[path]), "x").Dataset.Text(0x00100020)!)];
        Assert.Equal(patients[0], patients[1]);
    }

    [Fact]
    public void Deidentify_UnknownPart_IsRefusedWithThoseKnown()
        => Assert.Contains("full-dates", CommandLineCall.Run("deidentify", "a", "b", "--keep", "everything").OneSentence(), StringComparison.Ordinal);
}
