using System.Globalization;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Imaging.Display;

namespace Hotlight.Privacy.Publishing;

/// <summary>A place in the pixels that holds text.</summary>
/// <param name="Box">Where, with a rim.</param>
/// <param name="Kind">What it is, where what was read there is a known value; else <see cref="IdentityKind.DrawnText"/>.</param>
public sealed record DrawnTextPlace(PixelBox Box, IdentityKind Kind);

/// <summary>What was found in the pixels of a radiograph.</summary>
/// <param name="Places">Places of text that is no accepted side marker, from the top.</param>
/// <param name="Unplaced">Why a person must look the whole picture over, one sentence; null where the places vouch for it.</param>
/// <param name="ReadBy">Program that read the pixels beside the search for strokes; null where none is installed.</param>
public sealed record DrawnText(IReadOnlyList<DrawnTextPlace> Places, string? Unplaced, string? ReadBy)
{
    /// <summary>Nothing, of an exposure that the lab invented: nobody's name can be in it.</summary>
    public static DrawnText NoneInInvented { get; } = new([], null, null);
}

/// <summary>What is known of a radiograph's pixels before they are looked over.</summary>
/// <param name="SaysDrawnText">Whether header or measurement say that text is drawn into the pixels.</param>
/// <param name="SideMarkers">Boxes of side markers that a measure read or a person accepted: they may stay.</param>
public sealed record DrawnTextHints(bool SaysDrawnText, IReadOnlyList<PixelBox> SideMarkers);

/// <summary>Finds text drawn into the pixels: by its strokes, and by a program that reads text where one is installed.</summary>
/// <remarks>
/// <para>Strokes: short runs of exactly one extreme value that begin and end within two pixels, many close together. What is exposed comes through blur and noise and has none. Text drawn in another grey, or smoothed afterwards, is found only by the reading program; text over 24 pixels high in a picture of 2400 too.</para>
/// <para>Not: what is written on a lead plate and exposed with the patient, unless the program reads it.</para>
/// </remarks>
public static class DrawnTextFinder
{
    // A stroke is no longer than this share of the width; longer runs are masks, frames and saturation.
    private const double LongestShare = 0.06;
    private const double LeastJumpShare = 0.15;

    // Beside a word that was found, less is asked of what goes on with it.
    private const double LeastJumpBesideShare = 0.03;
    private const double LeastShareOfChange = 0.75;

    // Letters are drawn with strokes of two pixels and more; single pixels at the end of the scale are noise.
    private const int LeastStrokePixels = 2;

    // A letter of two strokes, eight rows high, has 16 runs, each in one or two cells.
    private const int LeastRuns = 16;

    /// <summary>Looks a radiograph over.</summary>
    /// <param name="radiograph">The radiograph; borrowed.</param>
    /// <param name="known">Values that are looked for in what is read.</param>
    /// <param name="hints">What is known before.</param>
    /// <param name="reader">Reads text; null: <see cref="TextReadingProgram.Installed"/>.</param>
    /// <param name="cancellation">Stops it.</param>
    public static async Task<DrawnText> FindAsync(Radiograph radiograph, KnownIdentity known, DrawnTextHints hints, TextReadingProgram? reader = null, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(radiograph);
        ArgumentNullException.ThrowIfNull(known);
        ArgumentNullException.ThrowIfNull(hints);
        reader ??= TextReadingProgram.Installed;
        Task<IReadOnlyList<ReadWord>?> reading = reader is null ? Task.FromResult<IReadOnlyList<ReadWord>?>(null) : reader.ReadAsync(DisplayTable.Render(radiograph), cancellation);
        IReadOnlyList<PixelBox> strokes = Strokes(radiograph);
        IReadOnlyList<ReadWord>? words = await reading.ConfigureAwait(false);

        List<DrawnTextPlace> places = [];
        foreach (ReadWord word in words ?? [])
        {
            IdentityKind? kind = PublicationGate.Check(known, [new PublishedText("the pixels", word.Text, IsTyped: true)]).Findings.Select(found => (IdentityKind?)found.Kind).FirstOrDefault();
            if (kind is not null || word.IsSure)
            {
                places.Add(new DrawnTextPlace(word.Box.Grown(Math.Max(3, word.Box.Height / 4), radiograph.Columns, radiograph.Rows), kind ?? IdentityKind.DrawnText));
            }
        }

        places.AddRange(strokes.Select(box => new DrawnTextPlace(box.Grown(Math.Max(3, box.Height / 6), radiograph.Columns, radiograph.Rows), IdentityKind.DrawnText)));
        DrawnTextPlace[] left = [.. Joined(places).Where(place => !IsSideMarker(place, hints.SideMarkers)).OrderBy(place => place.Box.Top).ThenBy(place => place.Box.Left)];
        string? unplaced = left.Length > 0 ? null
            : hints.SaysDrawnText ? "Text is said to be drawn into the pixels, and its place was not found: look the whole picture over, cover what names anybody, or say that nothing does."
            : words is null && reader is not null ? "The program that reads text in pictures did not answer, so only strokes of one value were looked for: look the whole picture over."
            : reader is null ? "No program that reads text in pictures is installed, so only strokes of one value were looked for: look the whole picture over."
            : null;
        return new DrawnText(left, unplaced, words is null ? null : reader?.Name);
    }

    private static bool IsSideMarker(DrawnTextPlace place, IReadOnlyList<PixelBox> markers)
        => place.Kind is IdentityKind.DrawnText && markers.Any(marker => place.Box.ShareIn(new PixelBox(
            marker.Left - (marker.Width / 2), marker.Top - (marker.Height / 2), 2 * marker.Width, 2 * marker.Height)) > 0.8);

    /// <summary>Boxes that overlap become one; the kind that names most stays.</summary>
    private static List<DrawnTextPlace> Joined(List<DrawnTextPlace> places)
    {
        List<DrawnTextPlace> joined = [];
        foreach (DrawnTextPlace place in places)
        {
            DrawnTextPlace whole = place;
            for (int index = joined.FindIndex(Overlaps); index >= 0; index = joined.FindIndex(Overlaps))
            {
                PixelBox other = joined[index].Box;
                int left = Math.Min(whole.Box.Left, other.Left);
                int top = Math.Min(whole.Box.Top, other.Top);
                whole = new DrawnTextPlace(
                    new PixelBox(left, top, Math.Max(whole.Box.Right, other.Right) - left, Math.Max(whole.Box.Bottom, other.Bottom) - top),
                    whole.Kind == IdentityKind.DrawnText ? joined[index].Kind : whole.Kind);
                joined.RemoveAt(index);
            }

            joined.Add(whole);

            bool Overlaps(DrawnTextPlace other) => whole.Box.ShareIn(other.Box) > 0 || IsOnOneLine(whole.Box, other.Box);
        }

        return joined;
    }

    // Words of one line stand no further apart than two heights; what lies between them goes too.
    private static bool IsOnOneLine(PixelBox one, PixelBox other)
    {
        int common = Math.Min(one.Bottom, other.Bottom) - Math.Max(one.Top, other.Top);
        int lower = Math.Min(one.Height, other.Height);
        int gap = Math.Max(one.Left, other.Left) - Math.Min(one.Right, other.Right);
        return common > 0.5 * lower && gap < 2 * lower && Math.Max(one.Height, other.Height) < 3 * lower;
    }

    /// <summary>Places with many strokes.</summary>
    internal static IReadOnlyList<PixelBox> Strokes(Radiograph radiograph)
    {
        (int lowest, int highest) = Range(radiograph);
        ushort[] values = [.. new[] { 0, radiograph.PixelMaximum, lowest, highest }.Distinct().Select(value => (ushort)value)];
        int cell = Math.Max(4, Math.Max(radiograph.Columns, radiograph.Rows) / 300);
        int across = (radiograph.Columns + cell - 1) / cell;
        int down = (radiograph.Rows + cell - 1) / cell;
        List<PixelBox> boxes = [];
        foreach (ushort value in values)
        {
            int[] runs = new int[across * down];
            Parallel.For(0, down, row =>
            {
                List<(int First, int Last)> above = [];
                List<(int First, int Last)> here = [];
                for (int line = Math.Max(0, (row * cell) - 1); line < Math.Min(radiograph.Rows, (row + 1) * cell); line++)
                {
                    FindRuns(radiograph.Pixels.Row(line), value, highest - lowest, here);
                    if (line >= row * cell)
                    {
                        Count(here, above, runs.AsSpan(row * across, across), cell);
                    }

                    (above, here) = (here, above);
                }
            });
            boxes.AddRange(Clusters(runs, across, down, cell, radiograph).Select(box => Prolonged(box, radiograph, value, highest - lowest)));
        }

        return boxes;
    }

    private static (int Lowest, int Highest) Range(Radiograph radiograph)
    {
        int lowest = int.MaxValue;
        int highest = 0;
        foreach (ushort value in radiograph.Pixels.Samples)
        {
            lowest = Math.Min(lowest, value);
            highest = Math.Max(highest, value);
        }

        return (lowest, highest);
    }

    // A stroke goes on from row to row, at a slant by no more than this; specks of noise at the end of the scale do not.
    private const int MostSlantPixels = 3;

    private static void Count(List<(int First, int Last)> here, List<(int First, int Last)> above, Span<int> runs, int cell)
    {
        int next = 0;
        foreach ((int first, int last) in here)
        {
            while (next < above.Count && above[next].Last < first - MostSlantPixels)
            {
                next++;
            }

            for (int other = next; other < above.Count && above[other].First <= last + MostSlantPixels; other++)
            {
                if (Math.Abs(above[other].First - first) <= MostSlantPixels && Math.Abs(above[other].Last - last) <= MostSlantPixels)
                {
                    for (int place = first / cell; place <= last / cell; place++)
                    {
                        runs[place]++;
                    }

                    break;
                }
            }
        }
    }

    private static void FindRuns(ReadOnlySpan<ushort> line, ushort value, int range, List<(int First, int Last)> found)
    {
        found.Clear();
        int longest = Math.Max(8, (int)(LongestShare * line.Length));
        double least = LeastJumpShare * range;
        int at = 0;
        while (at < line.Length)
        {
            int next = line[at..].IndexOf(value);
            if (next < 0)
            {
                return;
            }

            int first = at + next;
            int length = line[first..].IndexOfAnyExcept(value);
            if (length < 0)
            {
                return;
            }

            at = first + length;
            if (length < LeastStrokePixels || length > longest || first < 8 || at + 8 > line.Length)
            {
                continue;
            }

            // One pixel of smoothing is allowed at either end.
            int left = Math.Abs(value - line[first - 2]);
            int right = Math.Abs(value - line[at + 1]);
            int farLeft = Math.Abs(value - line[first - 8]);
            int farRight = Math.Abs(value - line[at + 7]);

            // A stroke beside a stroke has another stroke eight pixels away: then the near jump alone counts.
            if (Math.Min(left, right) > least && left >= LeastShareOfChange * farLeft && right >= LeastShareOfChange * farRight)
            {
                found.Add((first, at - 1));
            }
        }
    }

    /// <summary>A box made longer while strokes of the same value go on beside it, over bone or at the field's edge too.</summary>
    private static PixelBox Prolonged(PixelBox box, Radiograph radiograph, ushort value, int range)
    {
        int longest = Math.Max(8, (int)(LongestShare * radiograph.Columns));
        int reach = (int)(1.2 * box.Height) + 2;
        int left = box.Left;
        int right = box.Right;
        for (bool grew = true; grew;)
        {
            grew = false;
            for (int row = box.Top; row < box.Bottom; row++)
            {
                ReadOnlySpan<ushort> line = radiograph.Pixels.Row(row);
                int end = Math.Min(line.Length, right + reach);
                for (int at = Math.Max(0, left - reach); at < end; at++)
                {
                    if (line[at] != value || (at >= left && at < right))
                    {
                        continue;
                    }

                    int first = at;
                    int last = at;
                    while (first > 0 && line[first - 1] == value)
                    {
                        first--;
                    }

                    while (last + 1 < line.Length && line[last + 1] == value)
                    {
                        last++;
                    }

                    at = last;
                    bool isStroke = last - first < longest && first >= 2 && last + 2 < line.Length
                        && Math.Min(Math.Abs(value - line[first - 2]), Math.Abs(value - line[last + 2])) > LeastJumpBesideShare * range;
                    if (isStroke && (first < left || last >= right))
                    {
                        left = Math.Min(left, first);
                        right = Math.Max(right, last + 1);
                        grew = true;
                    }
                }
            }
        }

        return new PixelBox(left, box.Top, right - left, box.Height);
    }

    private static IEnumerable<PixelBox> Clusters(int[] runs, int across, int down, int cell, Radiograph radiograph)
    {
        bool[] seen = new bool[runs.Length];
        Stack<int> open = new();
        for (int start = 0; start < runs.Length; start++)
        {
            if (runs[start] < 2 || seen[start])
            {
                continue;
            }

            int count = 0;
            int left = int.MaxValue, right = 0, top = int.MaxValue, bottom = 0;
            seen[start] = true;
            open.Push(start);
            while (open.TryPop(out int place))
            {
                int x = place % across;
                int y = place / across;
                count += runs[place];
                left = Math.Min(left, x);
                right = Math.Max(right, x);
                top = Math.Min(top, y);
                bottom = Math.Max(bottom, y);

                // Letters of a word stand up to four cells apart.
                for (int dy = -2; dy <= 2; dy++)
                {
                    for (int dx = -4; dx <= 4; dx++)
                    {
                        int nx = x + dx;
                        int ny = y + dy;
                        if (nx >= 0 && nx < across && ny >= 0 && ny < down && runs[(ny * across) + nx] >= 2 && !seen[(ny * across) + nx])
                        {
                            seen[(ny * across) + nx] = true;
                            open.Push((ny * across) + nx);
                        }
                    }
                }
            }

            // A single upright line, one cell wide, is a drawn line and no text.
            bool isLine = right - left <= 1 && bottom - top > 12;
            if (count >= LeastRuns && !isLine)
            {
                yield return new PixelBox(
                    left * cell,
                    top * cell,
                    Math.Min(radiograph.Columns, (right + 1) * cell) - (left * cell),
                    Math.Min(radiograph.Rows, (bottom + 1) * cell) - (top * cell)).Grown(cell, radiograph.Columns, radiograph.Rows);
            }
        }
    }
}
