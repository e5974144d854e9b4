using System.Diagnostics;
using System.Globalization;

namespace Hotlight.Cli.Rendering;

/// <summary>Progress over several files: one line on standard error that is written over, only where that is a terminal.</summary>
internal sealed class ProgressLine(TextWriter errors, int total, bool shown) : IDisposable
{
    private const int BarWidth = 24;
    private readonly long start = Stopwatch.GetTimestamp();
    private int lastLength;
    private int first = -1;

    /// <summary>Progress for a call; silent for one file or where standard error is not a terminal.</summary>
    public static ProgressLine For(TextWriter errors, int total)
        => new(errors, total, total > 1 && ReferenceEquals(errors, Console.Error) && !Console.IsErrorRedirected);

    /// <summary>Progress of work whose every piece takes long; shown for one piece too.</summary>
    public static ProgressLine ForSteps(TextWriter errors, int total)
        => new(errors, total, ReferenceEquals(errors, Console.Error) && !Console.IsErrorRedirected);

    /// <summary>Says how far the work has come.</summary>
    /// <param name="done">Pieces that are done.</param>
    /// <param name="what">The piece that is under way.</param>
    /// <param name="share">How much of it is done, 0 to 1.</param>
    public void Report(int done, string what, double share = 0)
    {
        if (!shown)
        {
            return;
        }

        first = first < 0 ? done : first;
        double seconds = Stopwatch.GetElapsedTime(start).TotalSeconds;
        string left = done - first >= 3 && done < total
            ? string.Create(CultureInfo.InvariantCulture, $", {TimeSpan.FromSeconds(Math.Round(seconds * (total - done) / (done - first))):h\\:mm\\:ss} left")
            : string.Empty;
        int filled = Math.Clamp((int)(BarWidth * (done + share) / total), 0, BarWidth);
        string line = string.Create(CultureInfo.InvariantCulture, $"{new string('=', filled)}{new string('.', BarWidth - filled)} {done} of {total}{left}  {what}");
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
            lastLength = 0;
        }
    }
}
