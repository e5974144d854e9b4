using System.Globalization;
using System.Text.Json;
using Hotlight.Teaching.WalkThroughs;

namespace Hotlight.Workflows.Teaching.WalkThroughs;

/// <summary>A recording that was begun and neither kept nor thrown away.</summary>
/// <param name="Id">Identifies it.</param>
/// <param name="StepId">The step it is of.</param>
/// <param name="Seconds">How much of it came in, in seconds.</param>
/// <param name="HasVoice">Whether a voice came with it.</param>
public sealed record BrokenTake(Guid Id, string StepId, double Seconds, bool HasVoice);

/// <summary>A recording as it came in.</summary>
/// <param name="StepId">The step it is of.</param>
/// <param name="MediaType">Kind of the voice; empty without one.</param>
/// <param name="Voice">The voice's pieces, one after the other; empty without one.</param>
/// <param name="Tracks">What was shown and pointed at.</param>
public sealed record FinishedTake(string StepId, string MediaType, byte[] Voice, TakeTracks Tracks);

/// <summary>What was shown and pointed at while a voice was recorded; times in seconds from the beginning, places in pixels of the stored image.</summary>
public sealed record TakeTracks
{
    /// <summary>How long it lasted so far.</summary>
    public double Seconds { get; init; }

    /// <summary>[time, x, y, width, height].</summary>
    public IReadOnlyList<double[]> Views { get; init; } = [];

    /// <summary>[time, centre, width].</summary>
    public IReadOnlyList<double[]> Windows { get; init; } = [];

    /// <summary>[time, x, y]; [time] where the pointer went away.</summary>
    public IReadOnlyList<double[]> Pointer { get; init; } = [];

    /// <summary>[line, time, x, y]: which line, from 0, and its next place.</summary>
    public IReadOnlyList<double[]> Strokes { get; init; } = [];

    /// <summary>Off by no more than this, in pixels of the stored image, at any time.</summary>
    public const double PlaceTolerancePixels = 0.25;

    // A five-hundredth of a window is less than the step between two greys of a screen.
    private const double WindowToleranceShare = 0.002;

    /// <summary>This and what came after it.</summary>
    /// <param name="next">What came after.</param>
    public TakeTracks And(TakeTracks next)
    {
        ArgumentNullException.ThrowIfNull(next);
        return new TakeTracks
        {
            Seconds = Math.Max(Seconds, next.Seconds),
            Views = [.. Views, .. next.Views],
            Windows = [.. Windows, .. next.Windows],
            Pointer = [.. Pointer, .. next.Pointer],
            Strokes = [.. Strokes, .. next.Strokes],
        };
    }

    /// <summary>As a step keeps it: thinned, in runs.</summary>
    /// <param name="voice">The voice; null: without.</param>
    public WalkRecording ToRecording(WalkVoice? voice)
    {
        var pointer = new List<List<double[]>>();
        bool isAway = true;
        foreach (double[] entry in Ordered(Pointer))
        {
            if (entry.Length == 1)
            {
                isAway = true;
                continue;
            }

            if (isAway)
            {
                pointer.Add([]);
                isAway = false;
            }

            pointer[^1].Add(entry);
        }

        double narrowest = Windows.Count == 0 ? 1 : Windows.Min(window => window[2]);
        return new WalkRecording
        {
            Seconds = Math.Round(Math.Clamp(Seconds, 0.1, WalkStep.MostSeconds), 3),
            Voice = voice,
            Views = TrackThinning.Thin(Ordered(Views), PlaceTolerancePixels),
            Windows = TrackThinning.Thin(Ordered(Windows), Math.Max(1e-4, WindowToleranceShare * narrowest), 4),
            Pointer = [.. pointer.Select(run => TrackThinning.Thin(run, PlaceTolerancePixels))],
            Strokes = [.. Strokes.GroupBy(entry => entry[0]).OrderBy(line => line.Key).Select(line => TrackThinning.Thin(Ordered([.. line.Select(entry => entry[1..])]), PlaceTolerancePixels))],
        };
    }

    private static IReadOnlyList<double[]> Ordered(IReadOnlyList<double[]> track) => [.. track.OrderBy(entry => entry[0])];
}

/// <summary>Keeps recordings while they are made, piece by piece on disk, so that a dropped connection or a closed window loses no more than the piece under way.</summary>
public sealed class TakeShelf
{
    /// <summary>Most bytes of one recording.</summary>
    public const long MostBytes = 64L * 1024 * 1024;

    /// <summary>Most bytes of one piece.</summary>
    public const int MostPieceBytes = 2 * 1024 * 1024;

    /// <summary>How long a broken recording is offered.</summary>
    public static readonly TimeSpan KeptFor = TimeSpan.FromDays(7);

    private const int MostPieces = 2000;
    private static readonly JsonSerializerOptions Options = new() { PropertyNamingPolicy = JsonNamingPolicy.CamelCase };
    private readonly string folder;
    private readonly TimeProvider clock;
    private readonly Lock oneAtATime = new();

    /// <summary>Creates the shelf.</summary>
    /// <param name="folder">Where pieces are kept; made when first needed.</param>
    /// <param name="clock">Tells the time.</param>
    public TakeShelf(string folder, TimeProvider clock)
    {
        ArgumentException.ThrowIfNullOrEmpty(folder);
        this.folder = folder;
        this.clock = clock;
    }

    /// <summary>Begins a recording.</summary>
    /// <param name="caseId">The case.</param>
    /// <param name="stepId">The step it is of.</param>
    /// <param name="mediaType">Kind of the voice; empty without one.</param>
    /// <exception cref="LessonRefusedException">The disk does not take it, or the kind is none that is kept.</exception>
    public Guid Begin(Guid caseId, string stepId, string mediaType)
    {
        ArgumentNullException.ThrowIfNull(stepId);
        ArgumentNullException.ThrowIfNull(mediaType);
        if (mediaType.Length > 0 && !IsKept(mediaType))
        {
            throw new LessonRefusedException("This browser records its sound in a form that the bench does not keep; record without the voice.");
        }

        RemoveOld();
        Guid take = Guid.CreateVersion7(clock.GetUtcNow());
        Write(() =>
        {
            string place = PlaceOf(caseId, take);
            Directory.CreateDirectory(place);
            File.WriteAllText(Path.Combine(place, "take.json"), JsonSerializer.Serialize(new Head(stepId, mediaType), Options));
        });
        return take;
    }

    /// <summary>Takes a piece; one that came before is not taken twice.</summary>
    /// <param name="caseId">The case.</param>
    /// <param name="take">The recording.</param>
    /// <param name="number">Which piece, from 0.</param>
    /// <param name="voice">Its part of the voice; may be empty.</param>
    /// <param name="tracks">Its part of what was shown, as JSON of <see cref="TakeTracks"/>.</param>
    /// <exception cref="LessonRefusedException">There is no such recording, it is too long, or the piece makes no sense.</exception>
    public void Append(Guid caseId, Guid take, int number, ReadOnlySpan<byte> voice, string tracks)
    {
        string place = PlaceOf(caseId, take);
        if (!Directory.Exists(place))
        {
            throw new LessonRefusedException("This recording is not kept any more.");
        }

        if (number is < 0 or >= MostPieces || voice.Length > MostPieceBytes || tracks.Length > MostPieceBytes)
        {
            throw new LessonRefusedException("The recording is too long: 10 minutes a step are kept.");
        }

        _ = ReadTracks(tracks);
        byte[] sound = voice.ToArray();
        lock (oneAtATime)
        {
            if (new DirectoryInfo(place).EnumerateFiles().Sum(file => file.Length) + sound.Length > MostBytes)
            {
                throw new LessonRefusedException("The recording is too large; stop it and go on in another step.");
            }

            // The tracks come last: a piece is whole when they are there.
            Write(() =>
            {
                Put(Path.Combine(place, Name(number, "voice")), sound);
                Put(Path.Combine(place, Name(number, "json")), System.Text.Encoding.UTF8.GetBytes(tracks));
            });
        }
    }

    /// <summary>Recordings of a case that are on the shelf, the oldest first.</summary>
    /// <param name="caseId">The case.</param>
    public IReadOnlyList<BrokenTake> Of(Guid caseId)
    {
        string place = Path.Combine(folder, caseId.ToString("N"));
        if (!Directory.Exists(place))
        {
            return [];
        }

        var found = new List<BrokenTake>();
        foreach (string each in Directory.EnumerateDirectories(place).Order(StringComparer.Ordinal))
        {
            if (Guid.TryParseExact(Path.GetFileName(each), "N", out Guid take) && HeadOf(each) is { } head)
            {
                TakeTracks tracks = TracksOf(each);
                if (tracks.Seconds > 0)
                {
                    found.Add(new BrokenTake(take, head.StepId, tracks.Seconds, Pieces(each, "voice").Any(piece => new FileInfo(piece).Length > 0)));
                }
            }
        }

        return found;
    }

    /// <summary>A recording as it came in.</summary>
    /// <param name="caseId">The case.</param>
    /// <param name="take">The recording.</param>
    /// <param name="cancellation">Stops the reading.</param>
    /// <exception cref="LessonRefusedException">There is no such recording, or nothing came in.</exception>
    public async Task<FinishedTake> ReadAsync(Guid caseId, Guid take, CancellationToken cancellation = default)
    {
        string place = PlaceOf(caseId, take);
        if (!Directory.Exists(place) || HeadOf(place) is not { } head)
        {
            throw new LessonRefusedException("This recording is not kept any more.");
        }

        TakeTracks tracks = TracksOf(place);
        if (tracks.Seconds <= 0)
        {
            Remove(caseId, take);
            throw new LessonRefusedException("Nothing was recorded.");
        }

        using var voice = new MemoryStream();
        foreach (string piece in Pieces(place, "voice"))
        {
            voice.Write(await File.ReadAllBytesAsync(piece, cancellation));
        }

        return new FinishedTake(head.StepId, head.MediaType, voice.ToArray(), tracks);
    }

    /// <summary>Throws a recording away; one that is gone is no error.</summary>
    /// <param name="caseId">The case.</param>
    /// <param name="take">The recording.</param>
    public void Remove(Guid caseId, Guid take)
    {
        string place = PlaceOf(caseId, take);
        if (Directory.Exists(place))
        {
            Directory.Delete(place, recursive: true);
        }
    }

    private static bool IsKept(string mediaType)
        => mediaType.Length <= 60 && (mediaType.StartsWith("audio/webm", StringComparison.Ordinal) || mediaType.StartsWith("audio/ogg", StringComparison.Ordinal) || mediaType.StartsWith("audio/mp4", StringComparison.Ordinal))
            && mediaType.All(letter => char.IsAsciiLetterOrDigit(letter) || letter is '/' or ';' or '=' or '.' or '-' or ' ');

    private static string Name(int number, string kind) => string.Create(CultureInfo.InvariantCulture, $"{number:D4}.{kind}");

    private static IEnumerable<string> Pieces(string place, string kind) => Directory.EnumerateFiles(place, $"????.{kind}").Order(StringComparer.Ordinal);

    private static Head? HeadOf(string place)
    {
        try
        {
            return JsonSerializer.Deserialize<Head>(File.ReadAllText(Path.Combine(place, "take.json")), Options);
        }
        catch (Exception error) when (error is IOException or JsonException)
        {
            return null;
        }
    }

    private static TakeTracks TracksOf(string place)
    {
        var tracks = new TakeTracks();
        int number = 0;
        foreach (string piece in Pieces(place, "json"))
        {
            // A gap ends it: what came after belongs to a voice that is not whole.
            if (Path.GetFileName(piece) != Name(number++, "json"))
            {
                break;
            }

            tracks = tracks.And(ReadTracks(File.ReadAllText(piece)));
        }

        return tracks;
    }

    private static TakeTracks ReadTracks(string json)
    {
        TakeTracks? tracks;
        try
        {
            tracks = JsonSerializer.Deserialize<TakeTracks>(json, Options);
        }
        catch (JsonException)
        {
            tracks = null;
        }

        bool makesSense = tracks is { Seconds: >= 0 and <= WalkStep.MostSeconds, Views: not null, Windows: not null, Pointer: not null, Strokes: not null }
            && tracks.Views.All(entry => entry is { Length: 5 } && entry[3] > 0 && entry[4] > 0)
            && tracks.Windows.All(entry => entry is { Length: 3 } && entry[2] > 0)
            && tracks.Pointer.All(entry => entry is { Length: 1 or 3 })
            && tracks.Strokes.All(entry => entry is { Length: 4 })
            && tracks.Views.Concat(tracks.Windows).Concat(tracks.Pointer).Concat(tracks.Strokes).All(entry => entry.All(value => double.IsFinite(value) && Math.Abs(value) < 1e9));
        return makesSense ? tracks! : throw new LessonRefusedException("A piece of the recording did not come whole.");
    }

    private static void Put(string path, byte[] content)
    {
        string unfinished = path + ".part";
        File.WriteAllBytes(unfinished, content);
        File.Move(unfinished, path, overwrite: true);
    }

    private static void Write(Action write)
    {
        try
        {
            write();
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            throw new LessonRefusedException("The recording cannot be kept: the disk does not take it.");
        }
    }

    private void RemoveOld()
    {
        if (!Directory.Exists(folder))
        {
            return;
        }

        foreach (string take in Directory.EnumerateDirectories(folder).SelectMany(Directory.EnumerateDirectories))
        {
            if (clock.GetUtcNow() - Directory.GetLastWriteTimeUtc(take) > KeptFor)
            {
                Directory.Delete(take, recursive: true);
            }
        }
    }

    private string PlaceOf(Guid caseId, Guid take) => Path.Combine(folder, caseId.ToString("N"), take.ToString("N"));

    private sealed record Head(string StepId, string MediaType);
}
