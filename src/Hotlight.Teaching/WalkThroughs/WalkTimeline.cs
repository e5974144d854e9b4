using Hotlight.Core;

namespace Hotlight.Teaching.WalkThroughs;

/// <summary>What is seen at one moment of a walk-through.</summary>
/// <param name="View">What is in sight.</param>
/// <param name="Window">The window; null: as the image is opened.</param>
/// <param name="Marks">Marks that are drawn or being drawn, each with how much of its line, above 0 to 1.</param>
/// <param name="Pointer">Where the pointer is; null: away.</param>
/// <param name="Strokes">What was drawn so far.</param>
/// <param name="MovesUntilSeconds">Until when something moves, in seconds of the step; the moment itself where all stands still.</param>
public sealed record WalkMoment(
    WalkView View,
    WalkWindow? Window,
    IReadOnlyList<(WalkMark Mark, double Share)> Marks,
    PixelPoint? Pointer,
    IReadOnlyList<IReadOnlyList<PixelPoint>> Strokes,
    double MovesUntilSeconds);

/// <summary>What a walk-through shows at any time. The player in the browser computes the same; docs/walk-throughs.md has the rules.</summary>
public static class WalkTimeline
{
    /// <summary>Longest way from one view to the next, in seconds.</summary>
    public const double WaySeconds = 1.2;

    /// <summary>How long a mark takes to be drawn, in seconds.</summary>
    public const double DrawSeconds = 0.8;

    /// <summary>Largest share of a step that the way to it takes.</summary>
    private const double MostWayShare = 0.4;

    /// <summary>How long the way to a step takes, in seconds.</summary>
    /// <param name="step">The step.</param>
    public static double WayOf(WalkStep step)
    {
        ArgumentNullException.ThrowIfNull(step);
        return Math.Min(WaySeconds, MostWayShare * step.Seconds);
    }

    /// <summary>What is seen.</summary>
    /// <param name="walk">The walk-through.</param>
    /// <param name="index">The step, from 0.</param>
    /// <param name="seconds">Time of the step.</param>
    public static WalkMoment At(WalkThrough walk, int index, double seconds)
    {
        ArgumentNullException.ThrowIfNull(walk);
        WalkStep step = walk.Steps[index];
        double time = Math.Clamp(seconds, 0, step.Seconds);
        double way = WayOf(step);
        WalkView view = ViewAt(step, time);
        WalkWindow? window = WindowAt(step, time);
        double moves = time;
        if (index > 0 && time < way)
        {
            WalkStep before = walk.Steps[index - 1];
            WalkView fromView = ViewAt(before, before.Seconds);
            WalkWindow? fromWindow = WindowAt(before, before.Seconds);
            double share = Smooth(time / way);
            if (fromView != view)
            {
                view = Between(fromView, view, share);
                moves = way;
            }

            if (fromWindow != window)
            {
                WalkWindow from = fromWindow ?? walk.Image.Window;
                WalkWindow to = window ?? walk.Image.Window;
                window = new WalkWindow(from.Center + (share * (to.Center - from.Center)), from.Width * Math.Pow(to.Width / from.Width, share));
                moves = way;
            }
        }

        var marks = new List<(WalkMark, double)>();
        foreach (WalkMark mark in step.Marks)
        {
            double share = (time - mark.FromSeconds) / DrawSeconds;
            if (share > 0)
            {
                marks.Add((mark, Math.Min(1, share)));
            }

            if (share is >= 0 and < 1)
            {
                moves = Math.Max(moves, mark.FromSeconds + DrawSeconds);
            }
        }

        PixelPoint? pointer = null;
        var strokes = new List<IReadOnlyList<PixelPoint>>();
        if (step.Recording is { } recording)
        {
            foreach (IReadOnlyList<double[]> run in recording.Pointer.Where(run => run.Count > 0 && run[0][0] <= time && run[^1][0] >= time))
            {
                double[] place = OnTrack(run, time);
                pointer = new PixelPoint(X: place[1], Y: place[2]);
            }

            foreach (IReadOnlyList<double[]> run in recording.Strokes.Where(run => run.Count > 0 && run[0][0] <= time))
            {
                double[] end = OnTrack(run, time);
                strokes.Add([.. run.TakeWhile(entry => entry[0] <= time).Select(entry => new PixelPoint(X: entry[1], Y: entry[2])), new PixelPoint(X: end[1], Y: end[2])]);
            }

            foreach (IReadOnlyList<double[]> track in (IEnumerable<IReadOnlyList<double[]>>)[recording.Views, recording.Windows, .. recording.Pointer, .. recording.Strokes])
            {
                moves = Math.Max(moves, MovesUntil(track, time));
            }
        }

        return new WalkMoment(view, window, marks, pointer, strokes, Math.Min(moves, step.Seconds));
    }

    /// <summary>When something next begins to move after a moment at which all stands still, in seconds of the step; the step's end where nothing does.</summary>
    /// <param name="step">The step.</param>
    /// <param name="seconds">The moment.</param>
    public static double NextMove(WalkStep step, double seconds)
    {
        ArgumentNullException.ThrowIfNull(step);
        double next = step.Seconds;
        foreach (WalkMark mark in step.Marks.Where(mark => mark.FromSeconds > seconds))
        {
            next = Math.Min(next, mark.FromSeconds);
        }

        if (step.Recording is { } recording)
        {
            foreach (IReadOnlyList<double[]> track in (IEnumerable<IReadOnlyList<double[]>>)[recording.Views, recording.Windows, .. recording.Pointer, .. recording.Strokes])
            {
                for (int entry = 0; entry < track.Count; entry++)
                {
                    // A run begins with its first entry; inside it, what differs from the entry before has moved on the way.
                    bool moves = entry == 0 || !track[entry].AsSpan(1).SequenceEqual(track[entry - 1].AsSpan(1));
                    double from = entry == 0 ? track[entry][0] : track[entry - 1][0];
                    if (moves && from > seconds)
                    {
                        next = Math.Min(next, from);
                        break;
                    }
                }
            }

            foreach (IReadOnlyList<double[]> run in recording.Pointer.Where(run => run.Count > 0 && run[^1][0] > seconds))
            {
                next = Math.Min(next, run[^1][0]);
            }
        }

        return next;
    }

    /// <summary>The part of a line that is drawn first.</summary>
    /// <param name="points">The line.</param>
    /// <param name="isClosed">Whether its last point is joined to its first.</param>
    /// <param name="share">How much of its length, 0 to 1.</param>
    public static IReadOnlyList<PixelPoint> Part(IReadOnlyList<PixelPoint> points, bool isClosed, double share)
    {
        ArgumentNullException.ThrowIfNull(points);
        PixelPoint[] line = isClosed && points.Count > 1 ? [.. points, points[0]] : [.. points];
        double length = 0;
        for (int point = 1; point < line.Length; point++)
        {
            length += line[point].DistancePixelsTo(line[point - 1]);
        }

        double left = length * Math.Clamp(share, 0, 1);
        var part = new List<PixelPoint> { line[0] };
        for (int point = 1; point < line.Length; point++)
        {
            double piece = line[point].DistancePixelsTo(line[point - 1]);
            if (piece >= left)
            {
                double along = piece == 0 ? 0 : left / piece;
                part.Add(new PixelPoint(X: line[point - 1].X + (along * (line[point].X - line[point - 1].X)), Y: line[point - 1].Y + (along * (line[point].Y - line[point - 1].Y))));
                break;
            }

            part.Add(line[point]);
            left -= piece;
        }

        return part;
    }

    /// <summary>A view on the way from one to another: its middle goes straight, its size by equal factors.</summary>
    internal static WalkView Between(WalkView from, WalkView to, double share)
    {
        double width = from.Width * Math.Pow(to.Width / from.Width, share);
        double height = from.Height * Math.Pow(to.Height / from.Height, share);
        double middleX = from.X + (from.Width / 2) + (share * (to.X + (to.Width / 2) - from.X - (from.Width / 2)));
        double middleY = from.Y + (from.Height / 2) + (share * (to.Y + (to.Height / 2) - from.Y - (from.Height / 2)));
        return new WalkView(middleX - (width / 2), middleY - (height / 2), width, height);
    }

    internal static WalkView ViewAt(WalkStep step, double time)
        => step.Recording is { Views.Count: > 0 } recording && OnTrack(recording.Views, time) is { } view ? new WalkView(view[1], view[2], view[3], view[4]) : step.View;

    private static WalkWindow? WindowAt(WalkStep step, double time)
        => step.Recording is { Windows.Count: > 0 } recording && OnTrack(recording.Windows, time) is { } window ? new WalkWindow(window[1], window[2]) : step.Window;

    /// <summary>A track's entry at a time: the first before it begins, the last after it ends, straight between two.</summary>
    internal static double[] OnTrack(IReadOnlyList<double[]> track, double time)
    {
        int after = 0;
        while (after < track.Count && track[after][0] <= time)
        {
            after++;
        }

        if (after == 0)
        {
            return track[0];
        }

        if (after == track.Count)
        {
            return track[^1];
        }

        double[] from = track[after - 1];
        double[] to = track[after];
        double share = to[0] > from[0] ? (time - from[0]) / (to[0] - from[0]) : 1;
        double[] between = new double[from.Length];
        for (int member = 0; member < from.Length; member++)
        {
            between[member] = from[member] + (share * (to[member] - from[member]));
        }

        return between;
    }

    private static double MovesUntil(IReadOnlyList<double[]> track, double time)
    {
        for (int entry = 1; entry < track.Count; entry++)
        {
            if (track[entry][0] > time && track[entry - 1][0] <= time)
            {
                return track[entry].AsSpan(1).SequenceEqual(track[entry - 1].AsSpan(1)) ? time : track[entry][0];
            }
        }

        return time;
    }

    private static double Smooth(double share) => share * share * (3 - (2 * share));
}
