using Hotlight.Core;
using Hotlight.Measure.Document;

namespace Hotlight.Accuracy.Scoring;

/// <summary>Markers found beside those that are there.</summary>
/// <param name="Required">Markers that must be found.</param>
/// <param name="Hits">Of these, found with the right letter.</param>
/// <param name="False">Found where none is, or with the wrong letter.</param>
/// <param name="Pairs">A marker that is there, required or not, with what was found of it.</param>
internal sealed record MarkerMatch(int Required, int Hits, int False, IReadOnlyList<(TrueMarker Truth, FoundMarker Found)> Pairs)
{
    /// <summary>Matches by letter, nearest first, within a reach.</summary>
    /// <param name="truth">What is there.</param>
    /// <param name="found">What was found.</param>
    /// <param name="reachPixels">Farthest that a found centre may lie from a true one; four fifths of the letter's height where that is more.</param>
    public static MarkerMatch Of(IReadOnlyList<TrueMarker> truth, IReadOnlyList<FoundMarker> found, double reachPixels)
    {
        List<(double Distance, TrueMarker Truth, FoundMarker Found)> near = [];
        foreach (TrueMarker one in truth)
        {
            foreach (FoundMarker other in found)
            {
                double distance = one.Center.DistancePixelsTo(other.Center);
                if (one.Letter == other.Letter && one.Word == other.Word && distance <= Math.Max(reachPixels, 0.8 * one.HeightPixels))
                {
                    near.Add((distance, one, other));
                }
            }
        }

        List<(TrueMarker Truth, FoundMarker Found)> pairs = [];
        foreach ((_, TrueMarker one, FoundMarker other) in near.OrderBy(pair => pair.Distance))
        {
            if (!pairs.Any(pair => pair.Truth == one || ReferenceEquals(pair.Found, other)))
            {
                pairs.Add((one, other));
            }
        }

        return new MarkerMatch(
            truth.Count(one => one.Required),
            pairs.Count(pair => pair.Truth.Required),
            found.Count(other => !pairs.Any(pair => ReferenceEquals(pair.Found, other))),
            pairs);
    }

    /// <summary>Difference of two rotations, 0 to 180.</summary>
    public static double Turn(double one, double other) => Math.Abs(((one - other + 540) % 360) - 180);
}

/// <summary>Artifacts of one kind found beside those that are there.</summary>
/// <param name="Kind">The kind.</param>
/// <param name="Required">Artifacts that must be found.</param>
/// <param name="Hits">Of these, found.</param>
/// <param name="False">Found where none is.</param>
internal sealed record ArtifactMatch(string Kind, int Required, int Hits, int False)
{
    /// <summary>Kinds in the document's order.</summary>
    public static string[] Kinds { get; } = ["grid-lines", "dead-line", "dead-pixels", "foreign-object", "gain-step", "banding", "grid-cut-off", "double-exposure"];

    // Things that are long: what is found may lie anywhere on them.
    private static readonly string[] LongThings = ["wire", "necklace", "zip", "pin", "staples", "screw", "bone plate", "wires", "keys", "bangle", "rod", "pacemaker"];

    /// <summary>Matches all kinds; several found of one thing count as one.</summary>
    /// <param name="truth">What is there.</param>
    /// <param name="found">What was found.</param>
    /// <param name="spacingMm">Distance of pixel centres, in mm.</param>
    /// <param name="ignored">Places, in pixels, where a dense object counts neither way.</param>
    public static IReadOnlyList<ArtifactMatch> Of(IReadOnlyList<TrueArtifact> truth, IReadOnlyList<FoundArtifact> found, double spacingMm, IReadOnlyList<PixelPoint> ignored)
    {
        List<ArtifactMatch> matches = [];
        foreach (string kind in Kinds)
        {
            TrueArtifact[] there = [.. truth.Where(one => one.Kind == kind)];
            FoundArtifact[] seen = [.. found.Where(one => Name(one.Kind) == kind)];
            int required = there.Count(one => one.Required);
            int hits = there.Count(one => one.Required && found.Any(other => Fits(one, other, spacingMm)));
            int wrong = seen.Count(other => !truth.Any(one => Fits(one, other, spacingMm))
                && !(kind == "foreign-object" && ignored.Any(place => place.DistancePixelsTo(other.Center) * spacingMm < 20)));
            matches.Add(new ArtifactMatch(kind, required, hits, wrong));
        }

        return matches;
    }

    /// <summary>Whether what was found is this artifact.</summary>
    public static bool Fits(TrueArtifact one, FoundArtifact other, double spacingMm)
    {
        string kind = Name(other.Kind);

        // Lines of a grid and bands differ by their frequency alone.
        bool lines = one.Kind is "grid-lines" or "banding";
        if (lines ? kind is not ("grid-lines" or "banding") : kind != one.Kind)
        {
            return false;
        }

        if (one.LinesPerMm is double asked && lines)
        {
            return other.LinesPerMm is double told && Math.Abs(told - asked) <= Math.Max(0.05, 0.05 * asked);
        }

        if (one.Center is not { } centre)
        {
            return true;
        }

        double dx = Math.Abs(centre.X - other.Center.X);
        double dy = Math.Abs(centre.Y - other.Center.Y);
        return one.Kind switch
        {
            // A line is met anywhere on it.
            "dead-line" => one.Thing == "row" ? dy <= 3 : one.Thing == "column" ? dx <= 3 : Math.Min(dx, dy) <= 3,
            "gain-step" => Math.Min(dx, dy) * spacingMm <= 2,
            "dead-pixels" => Math.Max(dx, dy) * spacingMm <= 3,
            _ => Math.Sqrt((dx * dx) + (dy * dy)) * spacingMm <= (LongThings.Contains(one.Thing) ? 40 : Math.Max(10, 1.2 * Math.Sqrt(one.AreaMm2 ?? 0))),
        };
    }

    /// <summary>The kind as the document writes it.</summary>
    public static string Name(ArtifactKind kind) => System.Text.Json.JsonNamingPolicy.KebabCaseLower.ConvertName(kind.ToString());
}
