using System.Globalization;
using System.Text;
using Hotlight.Judgement;
using Hotlight.Testing;
using Hotlight.Web;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Readings;
using Microsoft.AspNetCore.Builder;
using Microsoft.Extensions.DependencyInjection;

namespace Hotlight.Kills;

/// <summary>A reader answers, types remarks, takes back and gives again, and says a word in the discussion; every act is one line.</summary>
internal sealed class CritiqueWork : Work
{
    private static readonly CaseReader Reader = new(new Guid("5d3f0c2a-6f0e-4f3e-9c52-1d8a90c1b7e4"), "Dunlin", Workflows.Clinic.PersonRole.Reader);
    private readonly HashSet<Guid> remarks = [];

    /// <inheritdoc/>
    public override async Task WorkAsync(WorkPlace place, Random random, Acknowledgement acknowledged)
    {
        await using WebApplication bench = await place.StartAsync();
        CaseWorkflow cases = bench.Services.GetRequiredService<CaseWorkflow>();
        ReadingWorkflow readings = bench.Services.GetRequiredService<ReadingWorkflow>();
        OpenCase open = await OpenAsync(bench, cases);
        acknowledged.Begin();
        for (int act = 0; ; act++)
        {
            string line = open.Critique!.Lines[random.Next(open.Critique.Lines.Count)].Id;
            string word = string.Create(CultureInfo.InvariantCulture, $"act {act} of {Environment.ProcessId}");
            switch (random.Next(6))
            {
                case 0:
                    CaseRemark said = await readings.RemarkAsync(open.Record.Id, line, Reader, word);
                    acknowledged.Say($"remark {said.Id} {said.Text}");
                    continue;
                case 1:
                    open = await cases.StepAsync(open, AnswerStepDirection.Undo);
                    break;
                case 2:
                    open = await cases.StepAsync(open, AnswerStepDirection.Redo);
                    break;
                case 3:
                    open = await cases.AnswerAsync(open, line, new Answer(ChecklistState.CannotTell, Remark: word), isTyping: true);
                    break;
                default:
                    open = await cases.AnswerAsync(open, line, new Answer(random.Next(2) == 0 ? ChecklistState.Met : ChecklistState.NotMet, Remark: word));
                    break;
            }

            acknowledged.Say(State(open.Record));
        }
    }

    /// <inheritdoc/>
    public override async Task CheckAsync(WorkPlace place, IReadOnlyList<string> said, List<string> faults)
    {
        await using KeptRecords kept = await place.OpenAsync();
        await place.LookOverAsync(kept, faults);
        IReadOnlyList<CaseSummary> all = await kept.Records.ListAsync(0, 10);
        if (all.Count != 1)
        {
            // Killed before the first was kept there is none yet.
            if (all.Count > 1 || said.Count > 0)
            {
                faults.Add($"There are {all.Count} cases.");
            }

            return;
        }

        CaseRecord record = (await kept.Records.FindAsync(all[0].Id))!;
        if (said.LastOrDefault(line => line.StartsWith("answers ", StringComparison.Ordinal)) is { } last)
        {
            // One act may have been under way, of at most three changes: it is there or not.
            int version = int.Parse(last.Split(' ')[1], CultureInfo.InvariantCulture);
            if (record.Version < version || record.Version > version + 3 || (record.Version == version && State(record) != last))
            {
                faults.Add($"'{last}' was acknowledged, '{State(record)}' is there.");
            }
        }

        if ((await kept.Records.StepsAsync(record.Id)).Count != record.LastAnswerStep)
        {
            faults.Add("The history of answers has gaps.");
        }

        var there = (await kept.Readings.RemarksAsync(record.Id)).ToDictionary(each => each.Id, each => each.Text);
        foreach (string[] words in said.Where(line => line.StartsWith("remark ", StringComparison.Ordinal)).Select(line => line.Split(' ', 3)))
        {
            remarks.Add(Guid.Parse(words[1]));
            if (!there.TryGetValue(Guid.Parse(words[1]), out string? text) || text != words[2])
            {
                faults.Add($"A remark is lost or changed: {words[2]}.");
            }
        }

        faults.AddRange(remarks.Where(each => !there.ContainsKey(each)).Select(each => $"A remark of before is lost: {each}."));
        WorkPlace.LetGo();
    }

    private static string State(CaseRecord record) => string.Create(CultureInfo.InvariantCulture, $"answers {record.Version} {record.AnswerStep} {WorkPlace.Hash(Encoding.UTF8.GetBytes(record.AnswersJson))}");

    private static async Task<OpenCase> OpenAsync(WebApplication bench, CaseWorkflow cases)
    {
        IReadOnlyList<CaseSummary> all = await bench.Services.GetRequiredService<IRecordStore>().ListAsync(0, 1);
        if (all.Count == 0)
        {
            using var content = new MemoryStream(ImportWork.Exposure(0));
            return await cases.ChooseProjectionAsync(await cases.OpenAsync((await cases.BringInAsync("limb.dcm", content, 1 << 24)).Record.Id), "wrist-pa");
        }

        OpenCase open = await cases.OpenAsync(all[0].Id);
        return open.Projection is null ? await cases.ChooseProjectionAsync(open, "wrist-pa") : open;
    }
}
