using Hotlight.Testing;

namespace Hotlight.Cli.Tests;

/// <summary>A file whose pixels are said to hold text that is not found leaves by no door before a person looked it over.</summary>
[Collection("command line")]
public sealed class DrawnTextTests : IDisposable
{
    private readonly ScratchFolder folder = new();

    public void Dispose() => folder.Dispose();

    [SharedDataTheory("radiographs-dicom")]
    [InlineData("handout", "--html")]
    [InlineData("walk-through", "--html")]
    public void FileWithTextNowhereFound_IsNotPublishedUntilItWasLookedOver(string command, string form)
    {
        string file = Path.Combine(SharedData.Folder("radiographs-dicom"), "CR-ModalitySequenceLUT.dcm");

        CommandLineCall refused = CommandLineCall.Run(command, file, "-p", "chest-pa", "--to", folder["out"], form);

        Assert.Equal(2, refused.ExitStatus);
        Assert.Contains("nothing was published", refused.Errors, StringComparison.OrdinalIgnoreCase);
        Assert.False(Directory.Exists(folder["out"]) && Directory.EnumerateFiles(folder["out"]).Any());
        Assert.Equal(0, CommandLineCall.Run(command, file, "-p", "chest-pa", "--to", folder["out"], form, "--looked-over").ExitStatus);
    }
}
