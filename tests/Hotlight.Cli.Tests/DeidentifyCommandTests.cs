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

    [Fact]
    public void Deidentify_Projects_AreEachConsistentAndNotToBeJoined()
    {
        Original("in/a.dcm");
        DicomDataset Cleaned(string project, string target)
        {
            Assert.Equal(HotlightCommandLine.Done, CommandLineCall.Run("deidentify", folder["in/a.dcm"], folder[target], "--key", folder["our.key"], "--project", project).ExitStatus);
            return DicomContent.Read(File.ReadAllBytes(folder[target]), "x").Dataset;
        }

        DicomDataset wrists = Cleaned("wrists", "1.dcm");
        DicomDataset again = Cleaned("Wrists", "2.dcm");
        DicomDataset knees = Cleaned("knees", "3.dcm");

        foreach (uint tag in new uint[] { 0x00080018, 0x0020000D, 0x00100020 })
        {
            Assert.Equal(wrists.Text(tag), again.Text(tag));
            Assert.NotEqual(wrists.Text(tag), knees.Text(tag));
        }
    }

    [Fact]
    public void Deidentify_DryRun_SaysEverythingAndWritesNothing()
    {
        Original("in/a.dcm");

        CommandLineCall call = CommandLineCall.Run("deidentify", folder["in"], folder["out"], "--dry-run", "--table", "--key", folder["our.key"], "--project", "wrists");

        Assert.Equal(HotlightCommandLine.Done, call.ExitStatus);
        Assert.Contains("1 would be written. Nothing was written: this was a dry run.", call.Errors, StringComparison.Ordinal);
        Assert.Contains("(0010,0020)  replaced         1  PatientID", call.Output, StringComparison.Ordinal);
        Assert.False(Directory.Exists(folder["out"]));
        Assert.False(File.Exists(folder["our.key"]));
    }

    [Theory]
    [InlineData("--key", "out/our.key")]
    [InlineData("--show", "out/looked-at")]
    public void Deidentify_WhatMustStayAmongWhatLeaves_IsRefused(string option, string path)
    {
        Original("in/a.dcm");

        Assert.Contains("elsewhere", CommandLineCall.Run("deidentify", folder["in"], folder["out"], option, folder[path]).OneSentence(), StringComparison.Ordinal);
        Assert.False(Directory.Exists(folder["out"]));
    }

    [Fact]
    public void Deidentify_FolderCalledByThePatient_GetsThePseudonym()
    {
        Original("in/Invented Limb/a.dcm");

        CommandLineCall.Run("deidentify", folder["in"], folder["out"]);

        Assert.StartsWith("P-", Path.GetFileName(Assert.Single(Directory.GetDirectories(folder["out"]))), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("paint")]
    [InlineData("Look")]
    public void Deidentify_UnknownWayWithPixels_IsRefusedWithThoseKnown(string how)
        => Assert.Contains("black-out", CommandLineCall.Run("deidentify", "a", "b", "--pixels", how).OneSentence(), StringComparison.Ordinal);

    [Fact]
    public void CheckIdentity_CleanedFolder_IsCleanAndTheOriginalsAreNot()
    {
        Original("in/a.dcm");
        CommandLineCall.Run("deidentify", folder["in"], folder["out"]);

        CommandLineCall clean = CommandLineCall.Run("check-identity", folder["out"], "--originals", folder["in"]);
        CommandLineCall found = CommandLineCall.Run("check-identity", folder["in"], "--originals", folder["in"], "--json");
        File.WriteAllText(folder["out/letter.txt"], "Dear Limb, Invented");

        Assert.Equal(HotlightCommandLine.Done, clean.ExitStatus);
        Assert.Contains("1 file holds none of them, 0 hold some", clean.Errors, StringComparison.Ordinal);
        Assert.Equal(HotlightCommandLine.Refused, found.ExitStatus);
        Assert.Contains("patient-name", found.Output, StringComparison.Ordinal);
        Assert.DoesNotContain("Invented^Limb", found.Output + found.Errors, StringComparison.Ordinal);
        Assert.Contains("letter.txt: A name of the patient stands in it.", CommandLineCall.Run("check-identity", folder["out"], "--originals", folder["in"]).Output, StringComparison.Ordinal);
    }

    [Fact]
    public void CheckIdentity_WithoutOriginals_SaysWhatItNeeds()
        => Assert.Contains("--originals", CommandLineCall.Run("check-identity", folder["x"]).OneSentence(), StringComparison.Ordinal);

    private void Original(string name)
    {
        Directory.CreateDirectory(Path.GetDirectoryName(folder[name])!);
        InventedExposure.Write(InventedExposure.Limb(rows: 90, columns: 70), folder[name]);
    }
}
