using System.Diagnostics;
using System.Globalization;

namespace Hotlight.Kills;

/// <summary>What a run of kills found.</summary>
/// <param name="Kills">How many times the program was killed.</param>
/// <param name="WhileStarting">How many of them before it had begun to work.</param>
/// <param name="Acknowledged">How many acts had been acknowledged, all together.</param>
/// <param name="Unfinished">Files left half written under names that nothing takes for whole.</param>
/// <param name="Faults">What was lost or broken, a sentence each.</param>
public sealed record KillReport(int Kills, int WhileStarting, long Acknowledged, int Unfinished, IReadOnlyList<string> Faults);

/// <summary>Starts a program that does one kind of work and says each act once it was acknowledged to it, kills it by SIGKILL at a random moment, and looks whether all that was said is there.</summary>
public static class KillRun
{
    /// <summary>Runs it.</summary>
    /// <param name="kind">One of <see cref="Work.Kinds"/>.</param>
    /// <param name="place">Where it works; what an earlier kill left is gone on with.</param>
    /// <param name="kills">How many times.</param>
    /// <param name="seed">Of the moments and the acts.</param>
    /// <param name="progress">Told of each kill in a line.</param>
    public static async Task<KillReport> RunAsync(string kind, WorkPlace place, int kills, int seed, TextWriter progress)
    {
        var work = Work.Of(kind);
        Directory.CreateDirectory(place.Folder);
        await work.PrepareAsync(place);
        var random = new Random(seed + kind.Sum(letter => letter));
        var faults = new List<string>();
        double startMs = 3000;
        (int whileStarting, long acknowledged) = (0, 0);
        for (int kill = 1; kill <= kills; kill++)
        {
            await work.BeforeAsync(place, random);

            // A quarter of the kills fall into the start, the others into the work.
            bool isEarly = random.Next(4) == 0;
            double share = random.NextDouble();
            (IReadOnlyList<string> said, double? began) = await KillOneAsync(kind, place, random.Next(), isEarly ? share * startMs : null, share * work.LongestMs);
            startMs = began is { } ms ? (0.7 * startMs) + (0.3 * ms) : startMs;
            whileStarting += began is null ? 1 : 0;
            acknowledged += said.Count(line => !line.StartsWith("begins ", StringComparison.Ordinal));
            int before = faults.Count;
            try
            {
                await place.SettledAsync();
                await work.CheckAsync(place, said, faults);
            }
            catch (Exception error)
            {
                faults.Add($"Looking it over failed: {error.GetType().Name}: {error.Message}");
            }

            for (int fault = before; fault < faults.Count; fault++)
            {
                faults[fault] = string.Create(CultureInfo.InvariantCulture, $"kill {kill} of {kind}: {faults[fault]}");
                await progress.WriteLineAsync(faults[fault]);
            }

            await progress.WriteLineAsync(string.Create(CultureInfo.InvariantCulture, $"{kind} {kill}/{kills}: {said.Count} lines, {(began is null ? "killed while it started" : "killed at work")}, {faults.Count - before} faults"));
        }

        return new KillReport(kills, whileStarting, acknowledged, work.Unfinished(place), faults);
    }

    // What was said before the end, in whole lines; and how long it took to begin, where it did.
    private static async Task<(IReadOnlyList<string> Said, double? Began)> KillOneAsync(string kind, WorkPlace place, int seed, double? earlyMs, double workMs)
    {
        var start = new ProcessStartInfo("dotnet") { RedirectStandardOutput = true, RedirectStandardError = true };
        foreach (string word in new[] { typeof(KillRun).Assembly.Location, "work", kind, place.Folder, seed.ToString(CultureInfo.InvariantCulture) }.Concat(place.Store is { } store ? [store] : []))
        {
            start.ArgumentList.Add(word);
        }

        using Process process = Process.Start(start)!;
        long begun = Stopwatch.GetTimestamp();
        var ready = new TaskCompletionSource<double>(TaskCreationOptions.RunContinuationsAsynchronously);
        var said = new List<string>();
        Task<string> complaints = process.StandardError.ReadToEndAsync();
        Task reading = Task.Run(async () =>
        {
            while (await process.StandardOutput.ReadLineAsync() is { } line)
            {
                if (line == Acknowledgement.Ready)
                {
                    ready.TrySetResult(Stopwatch.GetElapsedTime(begun).TotalMilliseconds);
                }
                else if (line.EndsWith(Acknowledgement.Whole, StringComparison.Ordinal))
                {
                    said.Add(line[..^Acknowledgement.Whole.Length]);
                }
            }

            ready.TrySetCanceled();
        });
        if (earlyMs is { } early)
        {
            await Task.WhenAny(Task.Delay(TimeSpan.FromMilliseconds(early)), reading);
        }
        else
        {
            await Task.WhenAny(ready.Task, reading);
            await Task.WhenAny(Task.Delay(TimeSpan.FromMilliseconds(workMs)), reading);
        }

        bool endedByItself = process.HasExited;
        process.Kill();
        await process.WaitForExitAsync();
        await reading;
        if (endedByItself)
        {
            throw new InvalidOperationException($"The program ended before it was killed: {(await complaints).Trim()}");
        }

        return (said, ready.Task.IsCompletedSuccessfully ? await ready.Task : null);
    }
}

/// <summary>Where a killed program says what was acknowledged to it.</summary>
/// <param name="output">Its standard output.</param>
public sealed class Acknowledgement(TextWriter output)
{
    /// <summary>Said when the work begins.</summary>
    public const string Ready = "ready";

    /// <summary>Ends every line, so that one that was cut off is not taken for whole.</summary>
    public const string Whole = " .";

    /// <summary>Says that the work begins.</summary>
    public void Begin() => Write(Ready);

    /// <summary>Says what was done and acknowledged.</summary>
    /// <param name="what">The act, words with spaces between.</param>
    public void Say(string what) => Write(what + Whole);

    private void Write(string line)
    {
        lock (output)
        {
            output.WriteLine(line);
            output.Flush();
        }
    }
}
