using System.Text;
using Spectre.Console;

namespace Hotlight.Cli.Rendering;

/// <summary>Standard output for help texts: plain text, 100 columns.</summary>
internal sealed class PlainConsoleOutput(TextWriter writer) : IAnsiConsoleOutput
{
    public TextWriter Writer => writer;

    public bool IsTerminal => false;

    public int Width => 100;

    public int Height => 60;

    public void SetEncoding(Encoding encoding)
    {
        // The writer's encoding is the caller's.
    }
}
