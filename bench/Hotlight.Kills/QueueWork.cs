using Hotlight.Web;
using Hotlight.Workflows.Cases;
using Microsoft.AspNetCore.Builder;
using Microsoft.Extensions.DependencyInjection;

namespace Hotlight.Kills;

/// <summary>Files that came by the inbox wait to be measured in the background; the bench that measures is killed again and again, and each case is measured once all the same.</summary>
internal sealed class QueueWork : Work
{
    private const int AtOnce = 6;
    private readonly HashSet<Guid> measured = [];

    /// <inheritdoc/>
    public override double LongestMs => 4000;

    /// <inheritdoc/>
    public override async Task WorkAsync(WorkPlace place, Random random, Acknowledgement acknowledged)
    {
        await using WebApplication bench = await place.StartAsync();
        CaseWorkflow cases = bench.Services.GetRequiredService<CaseWorkflow>();
        IRecordStore records = bench.Services.GetRequiredService<IRecordStore>();
        acknowledged.Begin();
        for (int file = 0; file < AtOnce; file++)
        {
            using var content = new MemoryStream(ImportWork.Exposure(random.Next(1, int.MaxValue)));
            acknowledged.Say($"case {(await cases.BringInAsync("limb.dcm", content, 1 << 24, CaseOrigin.Inbox)).Record.Id}");
        }

        var told = new HashSet<Guid>();
        while (true)
        {
            foreach (CaseSummary each in (await records.ListAsync(0, int.MaxValue)).Where(each => each.MeasuredBy == CaseWorkflow.ThisVersion && told.Add(each.Id)))
            {
                acknowledged.Say($"measured {each.Id}");
            }

            await Task.Delay(20);
        }
    }

    /// <inheritdoc/>
    public override async Task CheckAsync(WorkPlace place, IReadOnlyList<string> said, List<string> faults)
    {
        await using KeptRecords kept = await place.OpenAsync();
        await place.LookOverAsync(kept, faults);
        var there = (await kept.Records.ListAsync(0, int.MaxValue)).ToDictionary(each => each.Id);
        foreach (string[] words in said.Select(line => line.Split(' ')))
        {
            var id = Guid.Parse(words[1]);
            if (words[0] == "measured")
            {
                measured.Add(id);
            }

            if (!there.ContainsKey(id))
            {
                faults.Add($"The case {id} is lost.");
            }
        }

        // Measured once: a new case is at version 1 and measuring takes it to 2, and what is measured does not wait again.
        HashSet<Guid> waiting = [.. (await kept.Queue.ListAsync(int.MaxValue)).Select(each => each.CaseId)];
        foreach (Guid id in measured)
        {
            if (!there.TryGetValue(id, out CaseSummary? found) || found.MeasuredBy != CaseWorkflow.ThisVersion || waiting.Contains(id) || (await kept.Records.FindAsync(id))!.Version != 2)
            {
                faults.Add($"The case {id} was measured, and is not, or was measured again.");
            }
        }

        // What is not measured waits, or is asked for when the bench starts.
        if ((await kept.Queue.ListAsync(int.MaxValue)).FirstOrDefault(each => each.Reason is not null) is { } failed)
        {
            faults.Add($"A case was given up or failed: {failed.Reason}");
        }

        WorkPlace.LetGo();
    }
}
