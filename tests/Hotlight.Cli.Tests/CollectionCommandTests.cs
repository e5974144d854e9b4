using Hotlight.Teaching.Collections;
using Hotlight.Testing;

namespace Hotlight.Cli.Tests;

[Collection("command line")]
public sealed class CollectionCommandTests : IDisposable
{
    private readonly ScratchFolder folder = new();

    public void Dispose() => folder.Dispose();

    [Fact]
    public void Look_AtACollection_SaysWhatItHolds()
    {
        byte[] picture = [1, 2, 3];
        using (FileStream file = File.Create(folder["wrists.zip"]))
        {
            CollectionZip.Write(file, new SharedCollection
            {
                Title = "Wrists",
                Words = "For week 3.",
                MadeBy = "Hotlight test",
                Cases = [new SharedCase { Folder = "01", Title = "Wrist PA", Projection = "wrist-pa", IsInvented = true, Files = [CollectionZip.Describe(SharedFileNames.Picture, picture)] }],
            }, (_, _) => picture);
        }

        CommandLineCall call = CommandLineCall.Run("collection", "look", folder["wrists.zip"]);

        Assert.Equal(0, call.ExitStatus);
        Assert.Contains("For week 3.", call.Output, StringComparison.Ordinal);
        Assert.Contains("01  Wrist PA (invented): wrist-pa; radiograph.png", call.Output, StringComparison.Ordinal);
        Assert.Contains("1 case, 0.0 MB, every file as the contents say.", call.Output, StringComparison.Ordinal);
        Assert.Contains("not a diagnostic device", call.Output, StringComparison.Ordinal);
    }

    [Fact]
    public void Look_AtSomethingElse_SaysWhyInOneSentence()
    {
        File.WriteAllText(folder["letter.zip"], "a letter");

        CommandLineCall none = CommandLineCall.Run("collection", "look", folder["letter.zip"]);
        CommandLineCall missing = CommandLineCall.Run("collection", "look", folder["nothing.zip"]);

        Assert.Equal((2, 2), (none.ExitStatus, missing.ExitStatus));
        Assert.Contains("is no zip file, so it is no collection.", none.Errors, StringComparison.Ordinal);
        Assert.Single(missing.Errors.Trim().Split('\n'));
    }
}
