using System.Collections.Concurrent;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Sharpness;

/// <summary>Fits edge-spread functions to the contours of the anatomy.</summary>
internal static class SharpEdges
{
    /// <summary>Edges whose blur is known to this share are used. Stricter, and the faint contours of thick parts are missing in some directions; on the tuning exposures 0.3 to 0.5 do alike.</summary>
    internal const double MostRelativeError = 0.4;

    /// <summary>Finds and fits.</summary>
    /// <param name="radiograph">The radiograph.</param>
    /// <param name="scale">Its scale.</param>
    /// <param name="map">What each place shows.</param>
    /// <param name="excluded">Discs that are no anatomy.</param>
    /// <param name="exposureSign">+1 when a higher pixel value means more exposure, −1 when less.</param>
    /// <param name="lowLimit">Pixel value at and below which signal is lost.</param>
    /// <param name="highLimit">Pixel value at and above which signal is lost.</param>
    internal static List<FittedEdge> Find(Radiograph radiograph, ImageScale scale, RegionMap map, IReadOnlyList<(PixelPoint Centre, double RadiusPixels)> excluded, int exposureSign, int lowLimit, int highLimit)
    {
        List<EdgeCandidate> candidates = EdgeSearch.Find(radiograph.Pixels, scale, map, excluded, out double smoothingMm);
        var fit = new EdgeSpreadFit(scale.StepMm);
        var fitted = new FittedEdge?[candidates.Count];
        Parallel.ForEach(
            Partitioner.Create(0, Math.Max(1, candidates.Count), 64),
            () => new EdgeProfile(radiograph.Pixels, scale, EdgeSpreadFit.ReachMm, lowLimit, highLimit),
            (range, _, profile) =>
            {
                for (int i = range.Item1; i < Math.Min(range.Item2, candidates.Count); i++)
                {
                    profile.Take(candidates[i]);
                    fitted[i] = fit.Fit(profile, candidates[i], smoothingMm, scale);
                }

                return profile;
            },
            _ => { });
        var edges = new List<FittedEdge>();
        foreach (FittedEdge? edge in fitted)
        {
            if (edge is { } found && found.RelativeError <= MostRelativeError)
            {
                edges.Add(found);
            }
        }

        return DenseObjects.Without(edges, radiograph, scale, map, exposureSign);
    }
}
