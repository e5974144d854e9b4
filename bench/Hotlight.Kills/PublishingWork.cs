using System.Globalization;
using System.IO.Compression;
using System.Text;
using Hotlight.Cli;
using Hotlight.Web;
using Hotlight.Web.Lessons;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Teaching;
using Hotlight.Workflows.Teaching.Collections;
using Microsoft.AspNetCore.Builder;
using Microsoft.Extensions.DependencyInjection;

namespace Hotlight.Kills;

/// <summary>A teacher's words to a collection are kept, the collection is shared as a zip, and handouts and walk-throughs are written into a folder.</summary>
internal sealed class PublishingWork : Work
{
    private readonly Dictionary<string, string> files = new(StringComparer.Ordinal);

    /// <inheritdoc/>
    public override double LongestMs => 4000;

    /// <inheritdoc/>
    public override async Task WorkAsync(WorkPlace place, Random random, Acknowledgement acknowledged)
    {
        string limb = Path.Combine(place.Folder, "limb.dcm");
        await File.WriteAllBytesAsync(limb, ImportWork.Exposure(1));
        await using WebApplication bench = await place.StartAsync();
        CollectionWorkflow collections = bench.Services.GetRequiredService<CollectionWorkflow>();
        CaseCollection collection = await OpenAsync(bench, collections);
        SharedFileDesk desk = bench.Services.GetRequiredService<SharedFileDesk>();
        string outFolder = Path.Combine(place.Folder, "out");
        acknowledged.Begin();
        for (int act = 0; ; act++)
        {
            int kind = random.Next(6);
            if (kind < 4)
            {
                collection = await collections.KeepAsync(collection with { Words = string.Create(CultureInfo.InvariantCulture, $"Act {act} of {Environment.ProcessId}") });
                acknowledged.Say(State(collection.Lesson));
                if (kind == 0)
                {
                    // What is shared waits in a folder that ends with the bench: nobody is promised it later.
                    string path = desk.NewPath();
                    await using (FileStream shared = File.Create(path))
                    {
                        await collections.ShareAsync(collection, shared);
                    }

                    using ZipArchive zip = ZipFile.OpenRead(path);
                    acknowledged.Say(string.Create(CultureInfo.InvariantCulture, $"shared {zip.Entries.Count}"));
                    SharedFileDesk.Drop(path);
                }

                continue;
            }

            // Over the file of an earlier act: it is the former or the new one, never a half.
            string to = Path.Combine(outFolder, random.Next(3).ToString(CultureInfo.InvariantCulture));
            string[] words = kind == 4 ? ["handout", limb, "-p", "wrist-pa", "--to", to, "--looked-over"] : ["walk-through", limb, "-p", "wrist-pa", "--to", to, "--html", "--json", "--looked-over"];
            using var output = new StringWriter();
            using var errors = new StringWriter();
            if (HotlightCommandLine.Run(words, output, errors) != HotlightCommandLine.Done)
            {
                throw new InvalidOperationException(errors.ToString());
            }

            foreach (string file in Directory.GetFiles(to).Where(file => Path.GetFileName(file).StartsWith(words[0], StringComparison.Ordinal)))
            {
                acknowledged.Say($"file {WorkPlace.Hash(await File.ReadAllBytesAsync(file))} {file}");
            }
        }
    }

    /// <inheritdoc/>
    public override async Task CheckAsync(WorkPlace place, IReadOnlyList<string> said, List<string> faults)
    {
        await using KeptRecords kept = await place.OpenAsync();
        await place.LookOverAsync(kept, faults);
        IReadOnlyList<Lesson> all = await kept.Lessons.ListAsync(new LessonQuery { Kind = LessonKind.Collection });
        if (said.LastOrDefault(line => line.StartsWith("words ", StringComparison.Ordinal)) is { } last)
        {
            int version = int.Parse(last.Split(' ')[1], CultureInfo.InvariantCulture);
            if (all.Count != 1 || all[0].Version < version || all[0].Version > version + 1 || (all[0].Version == version && State(all[0]) != last))
            {
                faults.Add($"'{last}' was acknowledged, '{(all.Count == 1 ? State(all[0]) : "no collection")}' is there.");
            }
        }

        foreach (string[] words in said.Where(line => line.StartsWith("file ", StringComparison.Ordinal)).Select(line => line.Split(' ', 3)))
        {
            files[words[2]] = words[1];
        }

        faults.AddRange(files.Keys.Where(path => !File.Exists(path)).Select(path => $"A published file is gone: {Path.GetFileName(path)}."));
        foreach (string file in Directory.Exists(Path.Combine(place.Folder, "out")) ? Directory.GetFiles(Path.Combine(place.Folder, "out"), "*", SearchOption.AllDirectories) : [])
        {
            string end = Path.GetExtension(file) switch { ".html" => "</html>", ".pdf" => "%%EOF", ".json" => "}", _ => string.Empty };
            if (end.Length > 0 && !Encoding.Latin1.GetString(await File.ReadAllBytesAsync(file)).TrimEnd().EndsWith(end, StringComparison.Ordinal))
            {
                faults.Add($"A published file is half: {Path.GetFileName(file)}.");
            }
        }

        WorkPlace.LetGo();
    }

    private static string State(Lesson lesson) => string.Create(CultureInfo.InvariantCulture, $"words {lesson.Version} {WorkPlace.Hash(Encoding.UTF8.GetBytes(lesson.BodyJson))}");

    private static async Task<CaseCollection> OpenAsync(WebApplication bench, CollectionWorkflow collections)
    {
        if (await collections.ListAsync() is [{ } known, ..])
        {
            return known;
        }

        CaseWorkflow cases = bench.Services.GetRequiredService<CaseWorkflow>();
        using var content = new MemoryStream(ImportWork.Exposure(1));
        CaseRecord record = (await cases.BringInAsync("limb.dcm", content, 1 << 24)).Record;
        await cases.ChooseProjectionAsync(await cases.OpenAsync(record.Id), "wrist-pa");
        return await collections.CreateAsync("Wrists", [record.Id]);
    }
}
