using System.Diagnostics;
using System.Globalization;
using System.IO.MemoryMappedFiles;
using System.Text.Json;

namespace Hotlight.Hostile;

/// <summary>The search in one process: damages inputs, keeps those that reach code in a new way by the counters that SharpFuzz put in, saves those that break the target. For a machine that is shared: nothing is handed from process to process for each run.</summary>
/// <param name="target">The target.</param>
/// <param name="seeds">Folder of sound inputs.</param>
/// <param name="found">Folder for what is found; a later search goes on from it.</param>
internal sealed class Search(HostileTarget target, string seeds, string found)
{
    private const int MapBytes = 1 << 16;
    private const int MostCorpus = 20_000;
    private const int LongestInput = 256 * 1024;
    private static readonly TimeSpan StandsStill = TimeSpan.FromSeconds(60);

    // Counts of one way through the code count as the same within these steps, as afl-fuzz has them.
    private static readonly byte[] Steps = StepsOfCounts();
    private readonly byte[] seen = new byte[MapBytes];
    private readonly HashSet<string> faults = [];
    private long started;
    private long watched;
    private TimeSpan usedBefore;
    private byte[] current = [];
    private MemoryMappedViewAccessor? lastInput;

    /// <summary>Searches for a time.</summary>
    /// <param name="time">How long.</param>
    /// <returns>Figures as one line of JSON, also kept in the folder.</returns>
    public string Run(TimeSpan time)
    {
        string queue = Directory.CreateDirectory(Path.Combine(found, "queue")).FullName;
        string broken = Directory.CreateDirectory(Path.Combine(found, "broken")).FullName;

        // What is run now, kept by the system when this process dies of it.
        using MemoryMappedFile file = MemoryMappedFile.CreateFromFile(Path.Combine(found, "current"), FileMode.Create, null, LongestInput + sizeof(int));
        using MemoryMappedViewAccessor view = file.CreateViewAccessor();
        lastInput = view;
        using Timer watch = new(_ => Look(broken), null, StandsStill, TimeSpan.FromSeconds(5));
        List<byte[]> corpus = [];
        long runs = 0, brokenRuns = 0;
        foreach (string known in Directory.EnumerateFiles(seeds).Concat(Directory.EnumerateFiles(queue)).Order(StringComparer.Ordinal))
        {
            byte[] input = File.ReadAllBytes(known);
            if (input.Length <= LongestInput)
            {
                brokenRuns += One(input, broken) ? 0 : 1;
                runs++;
                _ = IsNew();
                corpus.Add(input);
            }
        }

        int begun = corpus.Count;
        Random random = new();
        Stopwatch clock = Stopwatch.StartNew();
        while (clock.Elapsed < time)
        {
            // Newer ones more often: they reached what the others did not.
            byte[] parent = corpus[random.Next(3) == 0 ? corpus.Count - 1 - random.Next(Math.Min(corpus.Count, 50)) : random.Next(corpus.Count)];
            byte[] input = Mutation.Of(parent, corpus[random.Next(corpus.Count)], random);
            for (int more = random.Next(4); more > 0; more--)
            {
                input = Mutation.Of(input, corpus[random.Next(corpus.Count)], random);
            }

            if (input.Length > LongestInput)
            {
                continue;
            }

            runs++;
            if (!One(input, broken))
            {
                brokenRuns++;
            }
            else if (IsNew() && corpus.Count < MostCorpus)
            {
                corpus.Add(input);
                File.WriteAllBytes(Path.Combine(queue, string.Create(CultureInfo.InvariantCulture, $"{DateTime.UtcNow.Ticks:x}")), input);
            }
        }

        string line = JsonSerializer.Serialize(new
        {
            target = target.Name,
            runs,
            seconds = Math.Round(clock.Elapsed.TotalSeconds),
            processorSeconds = Math.Round(Environment.CpuUsage.TotalTime.TotalSeconds),
            inputs = corpus.Count,
            newInputs = corpus.Count - begun,
            reached = seen.Count(count => count != 0),
            brokenRuns,
            faults = faults.Count,
        });
        File.AppendAllText(Path.Combine(found, "searches.jsonl"), line + "\n");
        return line;
    }

    private unsafe bool One(byte[] input, string broken)
    {
        current = input;
        lastInput!.Write(0, input.Length);
        lastInput.WriteArray(sizeof(int), input, 0, input.Length);
        new Span<byte>(SharpFuzz.Common.Trace.SharedMem, MapBytes).Clear();
        SharpFuzz.Common.Trace.PrevLocation = 0;
        Volatile.Write(ref started, Stopwatch.GetTimestamp());
        try
        {
            target.Check(input);
            return true;
        }
        catch (Exception error)
        {
            // One of each kind and place.
            string fault = $"{error.GetType().Name} {string.Join(' ', new StackTrace(error).GetFrames().Take(3).Select(frame => $"{frame.GetMethod()?.DeclaringType?.Name}.{frame.GetMethod()?.Name}"))}";
            if (faults.Add(fault))
            {
                File.WriteAllBytes(Path.Combine(broken, string.Create(CultureInfo.InvariantCulture, $"{faults.Count:000}")), input);
                File.WriteAllText(Path.Combine(broken, string.Create(CultureInfo.InvariantCulture, $"{faults.Count:000}.txt")), error.ToString());
            }

            return false;
        }
        finally
        {
            Volatile.Write(ref started, 0);
        }
    }

    private unsafe bool IsNew()
    {
        Span<byte> counts = new(SharpFuzz.Common.Trace.SharedMem, MapBytes);
        bool isNew = false;
        for (int place = counts.IndexOfAnyExcept((byte)0); place < MapBytes;)
        {
            if (place < 0)
            {
                break;
            }

            byte step = Steps[counts[place]];
            if ((seen[place] & step) == 0)
            {
                seen[place] |= step;
                isNew = true;
            }

            int next = counts[(place + 1)..].IndexOfAnyExcept((byte)0);
            if (next < 0)
            {
                break;
            }

            place += next + 1;
        }

        return isNew;
    }

    // A run that stands still is a fault too; the process cannot go on after it.
    private void Look(string broken)
    {
        // At the lowest priority a run may wait for a processor: what it used of one counts, and a long wait that uses none.
        long begun = Volatile.Read(ref started);
        if (begun != watched)
        {
            (watched, usedBefore) = (begun, Environment.CpuUsage.TotalTime);
            return;
        }

        if (begun != 0 && (Environment.CpuUsage.TotalTime - usedBefore > StandsStill || Stopwatch.GetElapsedTime(begun) > 10 * StandsStill))
        {
            File.WriteAllBytes(Path.Combine(broken, "stands-still"), current);
            Environment.Exit(3);
        }
    }

    private static byte[] StepsOfCounts()
    {
        byte[] steps = new byte[256];
        for (int count = 1; count < 256; count++)
        {
            steps[count] = (byte)(count switch { 1 => 1, 2 => 2, 3 => 4, < 8 => 8, < 16 => 16, < 32 => 32, < 128 => 64, _ => 128 });
        }

        return steps;
    }
}
