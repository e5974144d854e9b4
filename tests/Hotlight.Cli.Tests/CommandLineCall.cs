using Xunit;

namespace Hotlight.Cli.Tests;

/// <summary>One call of the command line and what it printed.</summary>
internal sealed record CommandLineCall(int ExitStatus, string Output, string Errors)
{
    public static CommandLineCall Run(params string[] args)
    {
        using var output = new StringWriter();
        using var errors = new StringWriter();
        int status = HotlightCommandLine.Run(args, output, errors);
        return new CommandLineCall(status, output.ToString(), errors.ToString());
    }

    /// <summary>The call was refused with one sentence a file and no trace of a stack.</summary>
    public string OneSentence()
    {
        Assert.Equal(HotlightCommandLine.Refused, ExitStatus);
        string line = Assert.Single(Errors.Split('\n', StringSplitOptions.RemoveEmptyEntries));
        Assert.StartsWith("hotlight: ", line, StringComparison.Ordinal);
        Assert.EndsWith(".", line, StringComparison.Ordinal);
        Assert.DoesNotContain("   at ", line, StringComparison.Ordinal);
        return line;
    }
}
