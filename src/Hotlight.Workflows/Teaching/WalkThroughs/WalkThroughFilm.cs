using System.Diagnostics;
using System.Globalization;
using System.Text;
using Hotlight.Drawing;
using Hotlight.Imaging;
using Hotlight.Teaching.WalkThroughs;

namespace Hotlight.Workflows.Teaching.WalkThroughs;

/// <summary>What a film is written as.</summary>
public enum FilmKind
{
    /// <summary>MP4: H.264 and AAC.</summary>
    Mp4,

    /// <summary>WebM: VP9 and Opus.</summary>
    WebM,
}

/// <summary>How a film is made.</summary>
/// <param name="Kind">What it is written as.</param>
/// <param name="HeightPixels">Height of its pictures, 720 or 1080; they are 16 to 9.</param>
/// <param name="HasDrawnCaptions">Whether captions are also drawn into the pictures, for players that show none.</param>
public sealed record FilmOptions(FilmKind Kind, int HeightPixels = 720, bool HasDrawnCaptions = false);

/// <summary>Something is in the way of a film. The message is one sentence for the reader; nothing was written.</summary>
public sealed class FilmRefusedException : Exception
{
    /// <summary>Creates the error.</summary>
    /// <param name="reason">One sentence for the reader.</param>
    public FilmRefusedException(string reason)
        : base(reason)
    {
    }
}

/// <summary>Makes a film of a walk-through by ffmpeg, where that is installed: it is given uncompressed pictures with their times, the captions and the voices.</summary>
public static class WalkThroughFilm
{
    /// <summary>What to say where ffmpeg is not installed.</summary>
    public const string NotInstalled = "A film needs the program ffmpeg, which is not installed on this machine; on Debian or Ubuntu: apt install ffmpeg. The HTML file needs nothing.";

    // Pictures of a drawing with text, most of them still: far below this.
    private const long MostBytes = 2L * 1024 * 1024 * 1024;
    private static readonly TimeSpan LeastPatience = TimeSpan.FromMinutes(10);

    /// <summary>Path of ffmpeg; null where it is not on the search path.</summary>
    public static string? ProgramPath => (Environment.GetEnvironmentVariable("PATH") ?? string.Empty)
        .Split(Path.PathSeparator, StringSplitOptions.RemoveEmptyEntries)
        .Select(folder => Path.Combine(folder, OperatingSystem.IsWindows() ? "ffmpeg.exe" : "ffmpeg"))
        .FirstOrDefault(File.Exists);

    /// <summary>Makes the film.</summary>
    /// <param name="walk">The walk-through.</param>
    /// <param name="radiograph">Its radiograph, its pixels as they may be published.</param>
    /// <param name="voices">The bytes of each voice, by their hash.</param>
    /// <param name="options">How it is made.</param>
    /// <param name="path">Where it is written; replaced when it is whole.</param>
    /// <param name="progress">Is told how much is done, 0 to 1.</param>
    /// <param name="cancellation">Stops it; nothing is left then.</param>
    /// <exception cref="FilmRefusedException">ffmpeg is not installed, or failed.</exception>
    public static async Task MakeAsync(WalkThrough walk, Radiograph radiograph, IReadOnlyDictionary<string, byte[]> voices, FilmOptions options, string path, IProgress<double>? progress = null, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(walk);
        ArgumentNullException.ThrowIfNull(voices);
        ArgumentNullException.ThrowIfNull(options);
        string program = ProgramPath ?? throw new FilmRefusedException(NotInstalled);
        if (options.HeightPixels is not (720 or 1080))
        {
            throw new FilmRefusedException("A film is 720 or 1080 pixels high.");
        }

        FilmWords words = FilmWords.Current;
        string work = Directory.CreateTempSubdirectory("hotlight-film-").FullName;
        try
        {
            string captions = Path.Combine(work, "captions.vtt");
            await File.WriteAllTextAsync(captions, CaptionCues.WebVtt(walk), cancellation);
            List<(string Path, double From, double Seconds)> sounds = await SoundsAsync(walk, voices, work, cancellation);
            string film = Path.Combine(work, options.Kind == FilmKind.Mp4 ? "film.mp4" : "film.webm");
            await EncodeAsync(program, Arguments(walk, options, captions, sounds, film), stream => WritePictures(stream, walk, radiograph, options, words, progress, cancellation), Patience(walk), cancellation);
            var written = new FileInfo(film);
            if (!written.Exists || written.Length == 0 || written.Length >= MostBytes)
            {
                throw new FilmRefusedException("ffmpeg wrote no whole film; nothing was kept of it.");
            }

            string unfinished = path + ".part";
            File.Copy(film, unfinished, overwrite: true);
            File.Move(unfinished, path, overwrite: true);
            progress?.Report(1);
        }
        finally
        {
            Directory.Delete(work, recursive: true);
        }
    }

    private static TimeSpan Patience(WalkThrough walk) => LeastPatience + TimeSpan.FromSeconds(10 * walk.Seconds);

    private static async Task<List<(string Path, double From, double Seconds)>> SoundsAsync(WalkThrough walk, IReadOnlyDictionary<string, byte[]> voices, string work, CancellationToken cancellation)
    {
        var sounds = new List<(string, double, double)>();
        double start = 0;
        foreach (WalkStep step in walk.Steps)
        {
            if (step.Recording?.Voice is { } voice)
            {
                string sound = Path.Combine(work, string.Create(CultureInfo.InvariantCulture, $"voice{sounds.Count}"));
                await File.WriteAllBytesAsync(sound, voices[voice.Sha256], cancellation);
                sounds.Add((sound, start, step.Seconds));
            }

            start += step.Seconds;
        }

        return sounds;
    }

    private static List<string> Arguments(WalkThrough walk, FilmOptions options, string captions, List<(string Path, double From, double Seconds)> sounds, string film)
    {
        bool isMp4 = options.Kind == FilmKind.Mp4;
        var arguments = new List<string> { "-hide_banner", "-nostdin", "-loglevel", "error", "-y", "-protocol_whitelist", "file,pipe", "-f", "matroska", "-i", "pipe:0", "-f", "webvtt", "-i", captions };
        foreach ((string path, _, _) in sounds)
        {
            arguments.AddRange(["-protocol_whitelist", "file", "-i", path]);
        }

        if (sounds.Count > 0)
        {
            var filter = new StringBuilder();
            for (int sound = 0; sound < sounds.Count; sound++)
            {
                filter.Append(CultureInfo.InvariantCulture, $"[{sound + 2}:a:0]aresample=48000,aformat=channel_layouts=mono,atrim=0:{sounds[sound].Seconds:0.###},adelay={Math.Round(sounds[sound].From * 1000)}:all=1[a{sound}];");
            }

            for (int sound = 0; sound < sounds.Count; sound++)
            {
                filter.Append(CultureInfo.InvariantCulture, $"[a{sound}]");
            }

            filter.Append(CultureInfo.InvariantCulture, $"amix=inputs={sounds.Count}:normalize=0:dropout_transition=0,apad,atrim=0:{walk.Seconds:0.###}[voice]");
            arguments.AddRange(["-filter_complex", filter.ToString()]);
        }

        arguments.AddRange(["-map", "0:v:0", "-map", "1:s:0"]);
        if (sounds.Count > 0)
        {
            arguments.AddRange(["-map", "[voice]", "-c:a", isMp4 ? "aac" : "libopus", "-b:a", isMp4 ? "96k" : "48k"]);
        }

        arguments.AddRange(["-fps_mode", "vfr", "-enc_time_base:v", "1:1000", "-pix_fmt", "yuv420p", "-colorspace", "bt709", "-color_primaries", "bt709", "-color_trc", "bt709", "-color_range", "tv"]);
        arguments.AddRange(isMp4
            ? ["-c:v", "libx264", "-preset", "veryfast", "-crf", "20", "-g", "250", "-movflags", "+faststart", "-c:s", "mov_text"]
            : ["-c:v", "libvpx-vp9", "-deadline", "realtime", "-cpu-used", "8", "-row-mt", "1", "-b:v", "0", "-crf", "30", "-g", "250", "-c:s", "webvtt"]);
        arguments.AddRange(["-disposition:s:0", "default", "-metadata:s:s:0", $"language={Iso639(walk.Language)}", "-metadata", $"title={walk.Title}", "-metadata", $"comment={walk.Caution}", "-map_metadata", "-1", "-fflags", "+bitexact", "-flags:v", "+bitexact", "-fs", MostBytes.ToString(CultureInfo.InvariantCulture), film]);
        return arguments;
    }

    // Containers name languages by the three letters of ISO 639-2.
    private static string Iso639(string code)
    {
        try
        {
            return CultureInfo.GetCultureInfo(code).ThreeLetterISOLanguageName is { Length: 3 } letters ? letters : "und";
        }
        catch (CultureNotFoundException)
        {
            return "und";
        }
    }

    private static void WritePictures(Stream stream, WalkThrough walk, Radiograph radiograph, FilmOptions options, FilmWords words, IProgress<double>? progress, CancellationToken cancellation)
    {
        int height = options.HeightPixels;
        int width = height * 16 / 9;
        IReadOnlyList<FilmFrame> frames = WalkThroughFrames.Times(walk, options.HasDrawnCaptions);
        using var painter = new ViewPainter(radiograph, width, height, options.HasDrawnCaptions, walk.FieldOutline);
        var film = new UncompressedFilm(stream, width, height);
        byte[] planes = new byte[width * height * 3 / 2];
        long last = -1;
        for (int frame = 0; frame < frames.Count; frame++)
        {
            cancellation.ThrowIfCancellationRequested();
            WalkThroughFrames.Paint(painter, walk, frames[frame], options.HasDrawnCaptions, words);
            painter.ToPlanes(planes);
            last = Math.Max(last + 1, (long)Math.Round(frames[frame].AtSeconds * 1000));
            film.Add(last, planes);
            progress?.Report(0.99 * (frame + 1) / frames.Count);
        }
    }

    private static async Task EncodeAsync(string program, List<string> arguments, Action<Stream> write, TimeSpan patience, CancellationToken cancellation)
    {
        var start = new ProcessStartInfo(program) { RedirectStandardInput = true, RedirectStandardError = true, RedirectStandardOutput = true, UseShellExecute = false };
        foreach (string argument in arguments)
        {
            start.ArgumentList.Add(argument);
        }

        using Process encoder = Process.Start(start) ?? throw new FilmRefusedException("ffmpeg could not be started.");
        using var clock = CancellationTokenSource.CreateLinkedTokenSource(cancellation);
        clock.CancelAfter(patience);
        await using CancellationTokenRegistration kill = clock.Token.Register(() => Kill(encoder));
        Task<string> complaint = encoder.StandardError.ReadToEndAsync(CancellationToken.None);
        Task output = encoder.StandardOutput.ReadToEndAsync(CancellationToken.None);
        try
        {
            await Task.Run(
                () =>
                {
                    using Stream stream = encoder.StandardInput.BaseStream;
                    write(stream);
                },
                CancellationToken.None);
        }
        catch (IOException)
        {
            // The encoder went away; why stands in what it said.
        }
        catch
        {
            Kill(encoder);
            throw;
        }
        finally
        {
            await encoder.WaitForExitAsync(CancellationToken.None);
        }

        await output;
        string said = (await complaint).Trim();
        cancellation.ThrowIfCancellationRequested();
        if (clock.IsCancellationRequested)
        {
            throw new FilmRefusedException("ffmpeg took far longer than a film of this length needs, and was stopped.");
        }

        if (encoder.ExitCode != 0)
        {
            string last = said.Split('\n')[^1];
            throw new FilmRefusedException($"ffmpeg failed: {(last.Length == 0 ? "it gave no reason" : last.Length > 200 ? last[..200] : last)}.");
        }
    }

    private static void Kill(Process encoder)
    {
        try
        {
            encoder.Kill(entireProcessTree: true);
        }
        catch (InvalidOperationException)
        {
            // It has ended.
        }
    }
}
