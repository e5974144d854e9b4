using System.Diagnostics;
using System.Globalization;
using System.Security.Cryptography;
using System.Text.Json;
using Hotlight.Store;
using Hotlight.Store.Sqlite;
using Hotlight.Teaching.WalkThroughs;
using Hotlight.Testing;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Readings;
using Hotlight.Workflows.Teaching;
using Hotlight.Workflows.Teaching.WalkThroughs;

namespace Hotlight.Workflows.Tests.Teaching.WalkThroughs;

/// <summary>Voices of walk-throughs: heard in the film where they were spoken, and gone with their case.</summary>
public sealed class WalkThroughVoiceTests : IDisposable
{
    private const string Ffmpeg = "/usr/bin/ffmpeg";
    private const int SamplesPerSecond = 8000;
    private readonly ScratchFolder folder = new();

    public void Dispose()
    {
        Microsoft.Data.Sqlite.SqliteConnection.ClearAllPools();
        folder.Dispose();
    }

    [SystemFileFact(Ffmpeg)]
    public Task Mp4_WithAVoice_SoundsWhileItsStepPlaysAndIsSilentElsewhere() => HearAsync(FilmKind.Mp4, "aac");

    [SystemFileFact(Ffmpeg)]
    public Task WebM_WithAVoice_SoundsWhileItsStepPlaysAndIsSilentElsewhere() => HearAsync(FilmKind.WebM, "opus");

    private async Task HearAsync(FilmKind kind, string codec)
    {
        // A tone of 440 Hz of 1.5 s stands for the voice of the second of three steps of 2 s.
        Run(Ffmpeg, "-loglevel", "error", "-f", "lavfi", "-i", "sine=frequency=440:duration=1.5", "-c:a", "libopus", folder["voice.webm"]);
        byte[] voice = await File.ReadAllBytesAsync(folder["voice.webm"]);
        string hash = Convert.ToHexStringLower(SHA256.HashData(voice));
        WalkThrough walk = Walk(new WalkVoice(hash, "audio/webm", voice.Length));
        string film = folder[kind == FilmKind.Mp4 ? "film.mp4" : "film.webm"];
        await WalkThroughFilm.MakeAsync(walk, InventedExposure.Limb(300, 250), new Dictionary<string, byte[]> { [hash] = voice }, new FilmOptions(kind), film);

        using JsonDocument probed = JsonDocument.Parse(Run("/usr/bin/ffprobe", "-v", "error", "-show_streams", "-show_format", "-of", "json", film));
        JsonElement[] streams = [.. probed.RootElement.GetProperty("streams").EnumerateArray()];
        Assert.Equal(codec, streams.Single(stream => stream.GetProperty("codec_type").GetString() == "audio").GetProperty("codec_name").GetString());
        Assert.Single(streams, stream => stream.GetProperty("codec_type").GetString() == "subtitle");
        Assert.Equal(6, double.Parse(probed.RootElement.GetProperty("format").GetProperty("duration").GetString()!, CultureInfo.InvariantCulture), 0.1);

        // Decoded again: a sine of ffmpeg has an amplitude of 1/8, a root mean square of 0.088; before and after it is silence. A codec may smear 0.1 s.
        Run(Ffmpeg, "-loglevel", "error", "-i", film, "-map", "0:a:0", "-ac", "1", "-ar", SamplesPerSecond.ToString(CultureInfo.InvariantCulture), "-f", "s16le", folder["sound.raw"]);
        byte[] sound = await File.ReadAllBytesAsync(folder["sound.raw"]);
        Assert.InRange(Loudness(sound, 2.1, 3.4), 0.07, 0.11);
        Assert.InRange(Loudness(sound, 0, 1.9), 0, 0.002);
        Assert.InRange(Loudness(sound, 3.6, 5.9), 0, 0.002);
        Assert.InRange(Pitch(sound, 2.1, 3.4), 435, 445);
    }

    [Fact]
    public async Task Voices_OfACaseThatIsRemovedForGood_AreRemovedAndSharedOnesStay()
    {
        IRecordStore kept = await SqliteRecords.OpenAsync(folder["records.db"], TimeProvider.System);
        IReadingStore store = SqliteRecords.Readings(folder["records.db"], TimeProvider.System);
        ILessonStore lessons = SqliteRecords.Lessons(folder["records.db"], TimeProvider.System);
        var files = new FolderFileStore(folder["files"]);
        using var shelf = new RadiographShelf(files);
        var cases = new CaseWorkflow(new ReadingRecords(kept, store), files, shelf, TimeProvider.System);
        var takes = new TakeShelf(folder["takes"], TimeProvider.System);
        var walks = new WalkThroughWorkflow(cases, lessons, files, takes, new CasePublisher(kept, files, shelf), TimeProvider.System);
        string own = (await files.KeepAsync(new MemoryStream("only here"u8.ToArray()), 100)).ContentHash, shared = (await files.KeepAsync(new MemoryStream("in both"u8.ToArray()), 100)).ContentHash;
        Guid[] ids = [await CaseAsync(cases, 1), await CaseAsync(cases, 2)];
        await KeepAsync(walks, ids[0], own, shared);
        await KeepAsync(walks, ids[1], shared);
        takes.Begin(ids[0], "s1", "");

        IReadOnlyList<Lesson> before = await walks.AllAsync();
        await walks.ForgetGoneAsync(before);
        Assert.Equal("only here"u8.ToArray(), await files.ReadAsync(own));
        Assert.True(await cases.DeleteAsync(ids[0]));
        await kept.RemoveDeletedAsync(DateTimeOffset.UtcNow.AddMinutes(1));
        await walks.ForgetGoneAsync(before);

        await Assert.ThrowsAsync<FileNotKeptException>(() => files.ReadAsync(own));
        Assert.Equal("in both"u8.ToArray(), await files.ReadAsync(shared));
        Assert.Empty(takes.Of(ids[0]));
        Assert.Single(await walks.AllAsync());
    }

    private static async Task KeepAsync(WalkThroughWorkflow walks, Guid caseId, params string[] voices)
    {
        OpenWalkThrough open = await walks.OpenAsync(caseId);
        WalkThrough walk = open.Draft.Now with { Steps = [.. open.Draft.Now.Steps.Select((step, place) => place >= voices.Length ? step : step with { Recording = new WalkRecording { Seconds = 1, Voice = new WalkVoice(voices[place], "audio/webm", 9) } })] };
        await walks.KeepAsync(open, WalkThroughDraft.Of(walk));
    }

    private async Task<Guid> CaseAsync(CaseWorkflow cases, int seed)
    {
        InventedExposure.Write(InventedExposure.Limb(300, 250, seed), folder["limb.dcm"]);
        await using FileStream file = File.OpenRead(folder["limb.dcm"]);
        return (await cases.BringInInventedAsync("limb.dcm", file, $"Limb {seed}", "wrist-pa")).Record.Id;
    }

    private static WalkThrough Walk(WalkVoice voice)
    {
        var image = new WalkImage(250, 300, 1, new WalkWindow(2000, 3000));
        WalkStep Step(string id, WalkRecording? recording) => new() { Id = id, Kind = WalkStepKind.Own, Heading = id, Caption = $"Step {id}.", Seconds = 2, View = image.Whole, Recording = recording };
        return new WalkThrough
        {
            Title = "A tone",
            Language = "en",
            ProjectionId = "wrist-pa",
            ProjectionName = "Wrist PA",
            IsInvented = true,
            Caution = "For education.",
            Image = image,
            Steps = [Step("one", null), Step("two", new WalkRecording { Seconds = 2, Voice = voice }), Step("three", null)],
        };
    }

    private static ReadOnlySpan<short> Part(byte[] sound, double from, double to)
        => System.Runtime.InteropServices.MemoryMarshal.Cast<byte, short>(sound)[(int)(from * SamplesPerSecond)..(int)(to * SamplesPerSecond)];

    private static double Loudness(byte[] sound, double from, double to)
    {
        double sum = 0;
        ReadOnlySpan<short> part = Part(sound, from, to);
        foreach (short sample in part)
        {
            sum += sample / 32768.0 * (sample / 32768.0);
        }

        return Math.Sqrt(sum / part.Length);
    }

    // Two crossings of zero a period.
    private static double Pitch(byte[] sound, double from, double to)
    {
        ReadOnlySpan<short> part = Part(sound, from, to);
        int crossings = 0;
        for (int sample = 1; sample < part.Length; sample++)
        {
            crossings += part[sample - 1] < 0 != part[sample] < 0 ? 1 : 0;
        }

        return crossings / 2.0 / (to - from);
    }

    private static string Run(string program, params string[] arguments)
    {
        using Process process = Process.Start(new ProcessStartInfo(program, arguments) { RedirectStandardOutput = true, RedirectStandardError = true })!;
        Task<string> errors = process.StandardError.ReadToEndAsync();
        string said = process.StandardOutput.ReadToEnd();
        process.WaitForExit();
        Assert.True(process.ExitCode == 0, errors.GetAwaiter().GetResult());
        return said;
    }
}
