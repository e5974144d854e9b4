using System.Globalization;

namespace Hotlight.Cli.Rendering;

/// <summary>Progress over several files: one line on standard error that is written over, only where that is a terminal.</summary>
internal sealed class ProgressLine(TextWriter errors, int total, bool shown) : IDisposable
{
    private const int BarWidth = 24;
    private int lastLength;

    /// <summary>Progress for a call; silent for one file or where standard error is not a terminal.</summary>
    public static ProgressLine For(TextWriter errors, int total)
        => new(errors, total, total > 1 && ReferenceEquals(errors, Console.Error) && !Console.IsErrorRedirected);

    /// <summary>Says how far the work has come.</summary>
    public void Report(int done, string what)
    {
        if (!shown)
        {
            return;
        }

        int filled = BarWidth * done / total;
        string line = string.Create(CultureInfo.InvariantCulture, $"{new string('=', filled)}{new string('.', BarWidth - filled)} {done} of {total}  {what}");
        errors.Write("\r" + line.PadRight(lastLength));
        errors.Flush();
        lastLength = line.Length;
    }

    /// <summary>Clears the line.</summary>
    public void Dispose()
    {
        if (shown && lastLength > 0)
        {
            errors.Write("\r" + new string(' ', lastLength) + "\r");
        }
    }
}
