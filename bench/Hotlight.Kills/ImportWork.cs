using System.Globalization;
using System.Net;
using System.Net.Http.Json;
using System.Text.Json;
using System.Text.RegularExpressions;
using Hotlight.Imaging.Dicom;
using Hotlight.Testing;
using Hotlight.Web;
using Hotlight.Workflows.Cases;
using Microsoft.AspNetCore.Builder;
using Microsoft.Extensions.DependencyInjection;

namespace Hotlight.Kills;

/// <summary>Files come in: whole by the workflow, and in pieces over HTTP, where an upload that a kill cut off is gone on with by the next start.</summary>
internal sealed partial class ImportWork : Work
{
    private const int PieceBytes = 9000;
    private readonly HashSet<string> kept = [];

    /// <summary>An invented exposure, another for every number.</summary>
    /// <param name="number">The number.</param>
    public static byte[] Exposure(int number)
    {
        using var content = new MemoryStream();
        DicomWriter.Write(content, DxObject.Create(InventedExposure.Limb(120, 100, number), new DxDescription { PatientName = "Invented^Limb", PatientId = "T-1", Seed = $"kill {number}" }));
        return content.ToArray();
    }

    /// <inheritdoc/>
    public override async Task WorkAsync(WorkPlace place, Random random, Acknowledgement acknowledged)
    {
        await using WebApplication bench = await place.StartAsync();
        CaseWorkflow cases = bench.Services.GetRequiredService<CaseWorkflow>();
        using var client = new HttpClient(new SocketsHttpHandler { CookieContainer = new CookieContainer() }) { BaseAddress = Bench.AddressOf(bench) };
        client.DefaultRequestHeaders.Add("X-Hotlight-Token", Token().Match(await client.GetStringAsync(new Uri("/", UriKind.Relative))).Groups[1].Value);
        acknowledged.Begin();

        // First what was cut off.
        foreach (string note in Directory.Exists(Path.Combine(place.Data, "arriving")) ? Directory.GetFiles(Path.Combine(place.Data, "arriving"), "*.json") : [])
        {
            var id = Guid.Parse(Path.GetFileNameWithoutExtension(note));
            using HttpResponseMessage state = await client.GetAsync(new Uri($"/uploads/{id}", UriKind.Relative));
            if (state.StatusCode == HttpStatusCode.OK)
            {
                int number = int.Parse(JsonDocument.Parse(await File.ReadAllTextAsync(note)).RootElement.GetProperty("Name").GetString()![..^4], CultureInfo.InvariantCulture);
                long arrived = (await state.Content.ReadFromJsonAsync<JsonElement>()).GetProperty("arrived").GetInt64();
                await SendAsync(client, id, number, (int)arrived, acknowledged);
            }
        }

        while (true)
        {
            int number = random.Next(1, int.MaxValue);
            byte[] content = Exposure(number);
            if (random.Next(2) == 0)
            {
                using var file = new MemoryStream(content);
                CaseBroughtIn brought = await cases.BringInAsync($"{number}.dcm", file, 1 << 24);
                acknowledged.Say($"case {brought.Record.Id} {WorkPlace.Hash(content)}");
            }
            else
            {
                using HttpResponseMessage begun = await client.PostAsync(new Uri($"/uploads/?name={number}.dcm&bytes={content.Length}", UriKind.Relative), null);
                begun.EnsureSuccessStatusCode();
                await SendAsync(client, (await begun.Content.ReadFromJsonAsync<JsonElement>()).GetProperty("id").GetGuid(), number, 0, acknowledged);
            }
        }
    }

    /// <inheritdoc/>
    public override async Task CheckAsync(WorkPlace place, IReadOnlyList<string> said, List<string> faults)
    {
        await using KeptRecords records = await place.OpenAsync();
        await place.LookOverAsync(records, faults);
        foreach (string[] words in said.Where(line => line.StartsWith("case ", StringComparison.Ordinal)).Select(line => line.Split(' ')))
        {
            kept.Add(words[2]);
            if (await records.Records.FindAsync(Guid.Parse(words[1])) is not { } record || record.ContentHash != words[2])
            {
                faults.Add($"The case {words[1]} is lost.");
            }
        }

        foreach (string hash in kept)
        {
            if (!place.HasFile(hash) || (await records.Records.FindByContentAsync(hash)).Count != 1)
            {
                faults.Add($"A file that became a case is lost or there twice: {hash}.");
            }
        }

        // Of pieces only the last upload can be unfinished: it is here with all that was acknowledged, or it has become a case.
        if (said.LastOrDefault() is { } last && last.StartsWith("piece ", StringComparison.Ordinal))
        {
            string[] words = last.Split(' ');
            byte[] content = Exposure(int.Parse(words[2], CultureInfo.InvariantCulture));
            string part = Path.Combine(place.Data, "arriving", Guid.Parse(words[1]).ToString("N") + ".part");
            byte[] arrived = File.Exists(part) ? await File.ReadAllBytesAsync(part) : [];
            bool isHere = arrived.Length >= int.Parse(words[3], CultureInfo.InvariantCulture) && content.AsSpan().StartsWith(arrived);
            if (!isHere && (await records.Records.FindByContentAsync(WorkPlace.Hash(content))).Count != 1)
            {
                faults.Add($"Pieces of an upload are lost: {words[3]} bytes were acknowledged, {arrived.Length} are here.");
            }
        }

        WorkPlace.LetGo();
    }

    private static async Task SendAsync(HttpClient client, Guid id, int number, int arrived, Acknowledgement acknowledged)
    {
        byte[] content = Exposure(number);
        while (arrived < content.Length)
        {
            using var piece = new ByteArrayContent(content, arrived, Math.Min(PieceBytes, content.Length - arrived));
            using var request = new HttpRequestMessage(HttpMethod.Patch, $"/uploads/{id}") { Content = piece };
            request.Headers.Add("Upload-Offset", arrived.ToString(CultureInfo.InvariantCulture));
            using HttpResponseMessage taken = await client.SendAsync(request);
            taken.EnsureSuccessStatusCode();
            arrived = (await taken.Content.ReadFromJsonAsync<JsonElement>()).GetProperty("arrived").GetInt32();
            acknowledged.Say(string.Create(CultureInfo.InvariantCulture, $"piece {id} {number} {arrived}"));
        }

        using HttpResponseMessage finished = await client.PostAsync(new Uri($"/uploads/{id}/finish", UriKind.Relative), null);
        finished.EnsureSuccessStatusCode();
        acknowledged.Say($"case {(await finished.Content.ReadFromJsonAsync<JsonElement>()).GetProperty("id").GetGuid()} {WorkPlace.Hash(content)}");
    }

    [GeneratedRegex("name=\"hotlight-token\" content=\"([^\"]+)\"")]
    private static partial Regex Token();
}
