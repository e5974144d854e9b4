using System.Globalization;

namespace Hotlight.Load;

/// <summary>What a load is made of.</summary>
public sealed record LoadPlan
{
    /// <summary>Path of Hotlight.Web.dll.</summary>
    public required string Bench { get; init; }

    /// <summary>The bench's data folder.</summary>
    public required string Data { get; init; }

    /// <summary>Readers who ask by HTTP what a page asks: the page, the image, what lies beside it.</summary>
    public int Readers { get; init; } = 50;

    /// <summary>Those who send files in pieces.</summary>
    public int Uploaders { get; init; } = 5;

    /// <summary>Readers in a browser, who open cases and answer over the page's live connection; 0 where there is no Chromium.</summary>
    public int Pages { get; init; } = 5;

    /// <summary>How many cases there are to read; at least one.</summary>
    public int Cases { get; init; } = 12;

    /// <summary>How long.</summary>
    public TimeSpan Time { get; init; }

    /// <summary>The pause of everybody after each act, on average.</summary>
    public TimeSpan Pause { get; init; }

    /// <summary>How often the process that decodes JPEG 2000 for the bench is killed.</summary>
    public TimeSpan WorkerDiesEvery { get; init; }
}

/// <summary>What a load gave.</summary>
/// <param name="Plan">What it was made of.</param>
/// <param name="Took">Each act: what, how long it took in ms.</param>
/// <param name="Errors">Each error, a sentence.</param>
/// <param name="Memory">Memory of the bench: seconds since the start, resident MiB.</param>
/// <param name="WorkersKilled">How many decoding processes were killed.</param>
/// <param name="LeftInQueue">Cases that were still to be measured at the end, after a wait.</param>
/// <param name="BenchProcessors">Processors the bench used on average.</param>
public sealed record LoadReport(LoadPlan Plan, IReadOnlyList<(string What, double Ms)> Took, IReadOnlyList<string> Errors, IReadOnlyList<(double Seconds, double MiB)> Memory, int WorkersKilled, int LeftInQueue, double BenchProcessors)
{
    /// <summary>Slope of memory over the second half in MiB an hour, by least squares, with its 95 % interval (1.96 standard errors; points are taken as independent, which makes it too narrow where memory swings slowly).</summary>
    public (double PerHour, double Plus) Slope
    {
        get
        {
            (double X, double Y)[] points = [.. Memory.Skip(Memory.Count / 2).Select(each => (each.Seconds / 3600, each.MiB))];
            if (points.Length < 3)
            {
                return (double.NaN, double.NaN);
            }

            double meanX = points.Average(each => each.X), meanY = points.Average(each => each.Y);
            double sum = points.Sum(each => (each.X - meanX) * (each.X - meanX));
            double slope = points.Sum(each => (each.X - meanX) * (each.Y - meanY)) / sum;
            double rest = points.Sum(each => Math.Pow(each.Y - meanY - (slope * (each.X - meanX)), 2)) / (points.Length - 2);
            return (slope, 1.96 * Math.Sqrt(rest / sum));
        }
    }

    /// <summary>Prints it as tables.</summary>
    /// <param name="output">Where to.</param>
    public void Print(TextWriter output)
    {
        ArgumentNullException.ThrowIfNull(output);
        output.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{Plan.Readers} readers by HTTP, {Plan.Pages} in Chromium, {Plan.Uploaders} uploaders, {Plan.Time.TotalSeconds:0} s, a pause of {Plan.Pause.TotalSeconds:0.0} s after each act; {Took.Count} acts ({Took.Count / Plan.Time.TotalSeconds:0.0} a second), {Errors.Count} errors; the bench used {BenchProcessors:0.00} of {Environment.ProcessorCount} processors; {WorkersKilled} workers killed, {LeftInQueue} cases left in the queue"));
        output.WriteLine("| act | n | p50 ms | p95 ms | p99 ms | most ms |");
        output.WriteLine("| --- | --- | --- | --- | --- | --- |");
        foreach (IGrouping<string, double> group in Took.GroupBy(each => each.What, each => each.Ms).OrderBy(each => each.Key, StringComparer.Ordinal))
        {
            double[] sorted = [.. group.Order()];
            double At(double share) => sorted[(int)(share * (sorted.Length - 1))];
            output.WriteLine(string.Create(CultureInfo.InvariantCulture, $"| {group.Key} | {sorted.Length} | {At(0.5):0} | {At(0.95):0} | {At(0.99):0} | {sorted[^1]:0} |"));
        }

        output.WriteLine();
        output.WriteLine("| after s | resident MiB |");
        output.WriteLine("| --- | --- |");
        foreach ((double seconds, double mib) in Memory.Where((_, number) => number % Math.Max(1, Memory.Count / 12) == 0))
        {
            output.WriteLine(string.Create(CultureInfo.InvariantCulture, $"| {seconds:0} | {mib:0} |"));
        }

        output.WriteLine(string.Create(CultureInfo.InvariantCulture, $"Slope over the second half: {Slope.PerHour:0} ± {Slope.Plus:0} MiB an hour."));
        foreach (IGrouping<string, string> error in Errors.GroupBy(each => each).OrderByDescending(each => each.Count()).Take(10))
        {
            output.WriteLine($"error, {error.Count()} times: {error.Key}");
        }
    }
}
