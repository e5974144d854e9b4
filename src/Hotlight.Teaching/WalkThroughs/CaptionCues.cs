using System.Globalization;
using System.Text;
using System.Text.RegularExpressions;

namespace Hotlight.Teaching.WalkThroughs;

/// <summary>A piece of a caption and when it stands there, in seconds of its step.</summary>
/// <param name="FromSeconds">From.</param>
/// <param name="ToSeconds">To.</param>
/// <param name="Text">The piece.</param>
public sealed record CaptionCue(double FromSeconds, double ToSeconds, string Text);

/// <summary>How long a caption takes to be read, and its pieces in time.</summary>
/// <remarks>150 words a minute, the pace of speech that is listened to while something is looked at: common practice, no source. Silent reading alone is faster.</remarks>
public static partial class CaptionCues
{
    /// <summary>Words read in a second.</summary>
    public const double WordsPerSecond = 2.5;

    /// <summary>How long a step stands still after its last word, in seconds.</summary>
    private const double RestSeconds = 1;

    /// <summary>Shortest time of a step that the bench makes, in seconds.</summary>
    private const double LeastSeconds = 4;

    /// <summary>Most characters of a piece: two lines of a picture of 1280 pixels.</summary>
    private const int MostCharacters = 150;

    /// <summary>How long a caption is read, with the way to what it shows, in seconds, to a tenth.</summary>
    /// <param name="caption">The caption.</param>
    public static double SecondsFor(string caption)
        => Math.Min(WalkStep.MostSeconds, Math.Round(Math.Max(LeastSeconds, WalkTimeline.WaySeconds + (Words(caption) / WordsPerSecond) + RestSeconds), 1));

    /// <summary>How many words a text has; a figure counts as one.</summary>
    /// <param name="text">The text.</param>
    public static int Words(string text)
    {
        ArgumentNullException.ThrowIfNull(text);
        return text.Split((char[]?)null, StringSplitOptions.RemoveEmptyEntries).Length;
    }

    /// <summary>The pieces of a step's caption: sentences, long ones divided at a comma or space; each stands as long as its share of the words.</summary>
    /// <param name="step">The step.</param>
    public static IReadOnlyList<CaptionCue> Of(WalkStep step)
    {
        ArgumentNullException.ThrowIfNull(step);
        IReadOnlyList<string> pieces = Pieces(step.Caption);
        double words = Math.Max(1, pieces.Sum(Words));
        double from = 0;
        var cues = new List<CaptionCue>(pieces.Count);
        for (int piece = 0; piece < pieces.Count; piece++)
        {
            double to = piece == pieces.Count - 1 ? step.Seconds : from + (step.Seconds * Words(pieces[piece]) / words);
            cues.Add(new CaptionCue(Math.Round(from, 3), Math.Round(to, 3), pieces[piece]));
            from = to;
        }

        return cues;
    }

    /// <summary>The captions of a walk-through as WebVTT (W3C), from its beginning.</summary>
    /// <param name="walk">The walk-through.</param>
    public static string WebVtt(WalkThrough walk)
    {
        ArgumentNullException.ThrowIfNull(walk);
        var text = new StringBuilder("WEBVTT\n");
        double start = 0;
        foreach (WalkStep step in walk.Steps)
        {
            foreach (CaptionCue cue in Of(step))
            {
                // An arrow would end the cue's text, and the other two begin a tag or an entity.
                string safe = cue.Text.Replace("&", "&amp;", StringComparison.Ordinal).Replace("<", "&lt;", StringComparison.Ordinal).Replace(">", "&gt;", StringComparison.Ordinal);
                text.Append(CultureInfo.InvariantCulture, $"\n{Stamp(start + cue.FromSeconds)} --> {Stamp(start + cue.ToSeconds)}\n{safe}\n");
            }

            start += step.Seconds;
        }

        return text.ToString();
    }

    private static string Stamp(double seconds) => TimeSpan.FromMilliseconds(Math.Round(seconds * 1000)).ToString(@"hh\:mm\:ss\.fff", CultureInfo.InvariantCulture);

    private static List<string> Pieces(string caption)
    {
        var pieces = new List<string>();
        foreach (string sentence in SentenceEnd().Split(caption.ReplaceLineEndings(" ").Trim()).Where(sentence => sentence.Length > 0))
        {
            string rest = sentence;
            while (rest.Length > MostCharacters)
            {
                // At the last comma of its first piece that leaves both sides some words, else at a space.
                int cut = rest.LastIndexOfAny([',', ';', ':'], MostCharacters - 1) + 1;
                cut = cut > MostCharacters / 3 ? cut : rest.LastIndexOf(' ', MostCharacters - 1);
                cut = cut > 0 ? cut : MostCharacters;
                pieces.Add(rest[..cut].Trim());
                rest = rest[cut..].Trim();
            }

            if (pieces.Count > 0 && pieces[^1].Length + rest.Length < MostCharacters / 2)
            {
                pieces[^1] += " " + rest;
            }
            else if (rest.Length > 0)
            {
                pieces.Add(rest);
            }
        }

        return pieces;
    }

    // After the mark that ends a sentence and before the space: a decimal point has no space behind it.
    [GeneratedRegex(@"(?<=[.!?…])\s+(?=[\p{Lu}\p{Nd}¿¡„“(−+])", RegexOptions.CultureInvariant)]
    private static partial Regex SentenceEnd();
}
