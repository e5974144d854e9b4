using System.Globalization;
using System.Text.Json;
using Hotlight.Core;
using Hotlight.Drawing;
using Hotlight.Imaging;
using Hotlight.Imaging.Display;

namespace Hotlight.Teaching.WalkThroughs;

/// <summary>A picture of a film.</summary>
/// <param name="AtSeconds">When it is shown, in seconds from the beginning.</param>
/// <param name="StepIndex">Its step, from 0.</param>
/// <param name="StepSeconds">Its time in the step.</param>
public readonly record struct FilmFrame(double AtSeconds, int StepIndex, double StepSeconds);

/// <summary>The pictures of a walk-through: 25 a second while something moves, one a second while all stands still.</summary>
public static class WalkThroughFrames
{
    /// <summary>Pictures a second while something moves.</summary>
    public const int PerSecond = 25;

    /// <summary>Longest time between two pictures, so that a player finds a place to begin, in seconds.</summary>
    private const double MostStillSeconds = 1;

    /// <summary>How marks are drawn, by the name of their style.</summary>
    public static IReadOnlyDictionary<string, MarkStyle> Styles { get; } = MarkStyles.All
        .Select(style => KeyValuePair.Create(JsonNamingPolicy.KebabCaseLower.ConvertName(style.Kind.ToString()), style))
        .Append(KeyValuePair.Create(WalkThroughMaker.EvidenceStyle, MarkStyles.Evidence))
        .Append(KeyValuePair.Create(WalkThroughMaker.PhantomStyle, MarkStyles.Phantom))
        .ToDictionary(StringComparer.Ordinal);

    /// <summary>When pictures are needed.</summary>
    /// <param name="walk">The walk-through.</param>
    /// <param name="hasCaptions">Whether a change of caption is a change of the picture.</param>
    public static IReadOnlyList<FilmFrame> Times(WalkThrough walk, bool hasCaptions)
    {
        ArgumentNullException.ThrowIfNull(walk);
        var times = new List<FilmFrame>();
        double start = 0;
        for (int index = 0; index < walk.Steps.Count; index++)
        {
            WalkStep step = walk.Steps[index];
            double[] cues = hasCaptions ? [.. CaptionCues.Of(step).Select(cue => cue.FromSeconds)] : [];
            double time = 0;
            while (time < step.Seconds - 1e-6)
            {
                times.Add(new FilmFrame(start + time, index, time));
                double movesUntil = WalkTimeline.At(walk, index, time).MovesUntilSeconds;
                double next = movesUntil > time + 1e-6
                    ? Math.Min(movesUntil, time + (1.0 / PerSecond))
                    : Math.Min(time + MostStillSeconds, WalkTimeline.NextMove(step, time));
                foreach (double cue in cues.Where(cue => cue > time + 1e-6))
                {
                    next = Math.Min(next, cue);
                }

                // No two pictures closer than a hundredth of a second: the container counts in milliseconds.
                time = Math.Min(step.Seconds, Math.Max(next, time + 0.01));
            }

            start += step.Seconds;
        }

        // A film's last picture stands as long as the one before it: two at the end of usual length, so that the film ends where the walk-through does.
        int last = walk.Steps.Count - 1;
        double end = walk.Steps[last].Seconds;
        times.RemoveAll(frame => frame.AtSeconds > start - (2.5 / PerSecond));
        times.AddRange(new[] { 2.0, 1.0 }.Select(back => new FilmFrame(start - (back / PerSecond), last, end - (back / PerSecond))));
        return times;
    }

    /// <summary>Draws a picture.</summary>
    /// <param name="painter">Draws it.</param>
    /// <param name="walk">The walk-through.</param>
    /// <param name="frame">Which.</param>
    /// <param name="hasCaptions">Whether the caption is drawn into it.</param>
    /// <param name="words">Words around it.</param>
    public static void Paint(ViewPainter painter, WalkThrough walk, FilmFrame frame, bool hasCaptions, FilmWords words)
    {
        ArgumentNullException.ThrowIfNull(painter);
        ArgumentNullException.ThrowIfNull(walk);
        ArgumentNullException.ThrowIfNull(words);
        WalkStep step = walk.Steps[frame.StepIndex];
        WalkMoment moment = WalkTimeline.At(walk, frame.StepIndex, frame.StepSeconds);
        painter.Paint(new PaintedView
        {
            X = moment.View.X,
            Y = moment.View.Y,
            Width = moment.View.Width,
            Height = moment.View.Height,
            Window = moment.Window is { } window ? new VoiTransform { Center = window.Center, Width = window.Width, Function = WindowFunction.LinearExact } : null,
            Marks = [.. moment.Marks.Select(drawn => Styled(drawn.Mark, drawn.Share))],
            Strokes = moment.Strokes,
            Pointer = moment.Pointer,
            Heading = step.Heading,
            Place = words.Place(frame.StepIndex + 1, walk.Steps.Count),
            Caption = hasCaptions ? CaptionCues.Of(step).LastOrDefault(cue => cue.FromSeconds <= frame.StepSeconds + 1e-6)?.Text ?? string.Empty : string.Empty,
            Footer = walk.Caution,
            Notice = walk.IsInvented ? words.Simulated : string.Empty,
        });
    }

    private static StyledMark Styled(WalkMark mark, double share)
    {
        MarkStyle style = Styles.GetValueOrDefault(mark.Kind, MarkStyles.Evidence);
        return share >= 1 || style.Shape == MarkShape.Square
            ? new StyledMark(style, mark.Points, mark.IsClosed)
            : new StyledMark(style with { Shape = MarkShape.Line }, WalkTimeline.Part(mark.Points, mark.IsClosed, share), false);
    }
}

/// <summary>Words around the pictures of a film, in the language they were made in.</summary>
/// <param name="Simulated">That nobody was exposed.</param>
/// <param name="PlacePattern">Which step of how many; {0} and {1}.</param>
public sealed record FilmWords(string Simulated, string PlacePattern)
{
    /// <summary>The words of the language of <see cref="CultureInfo.CurrentUICulture"/>.</summary>
    public static FilmWords Current => new(Texts.Get("walk-through.simulated"), Texts.Get("walk-through.player.place", "{0}", "{1}"));

    /// <summary>Which step of how many.</summary>
    /// <param name="number">The step, from 1.</param>
    /// <param name="count">How many.</param>
    public string Place(int number, int count)
        => PlacePattern.Replace("{0}", number.ToString(CultureInfo.InvariantCulture), StringComparison.Ordinal).Replace("{1}", count.ToString(CultureInfo.InvariantCulture), StringComparison.Ordinal);
}
