using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Sharpness;

namespace Hotlight.Measure.Landmarks;

/// <summary>Finds the edge next to a place of the image, to a fraction of a pixel.</summary>
/// <remarks>
/// <para>Method: around the place the gradient of the smoothed image is searched for its ridges; across each of the strongest an edge-spread function (a Gaussian's, on a slope) is fitted; the nearest fit whose height is at least <see cref="LeastContrastToNoise"/> times the noise counts.</para>
/// <para>Holds when the edge is straight within about a millimetre along itself. Method and evidence: docs/methods/landmarks.md.</para>
/// </remarks>
public static class EdgeSnap
{
    /// <summary>Height of an edge over the noise of one pixel below which it is not taken for an edge.</summary>
    public const double LeastContrastToNoise = 2;

    // Smoothing under the search, in pixels, and the strongest ridges that are tried.
    private const double SmoothingPixels = 1.5;
    private const int Tried = 24;

    // A ridge weaker than this share of the strongest is not tried.
    private const double LeastShare = 0.2;

    // Linear interpolation takes a third of white noise's deviation out of each sample and shares it with its neighbours, so that samples are not independent: the fit's own error is this much too small.
    private const double SharedNoise = 1.5;

    // What is left of a place's error beyond noise: the tails of the fit on textured ground; measured, docs/methods/landmarks.md#accuracy.
    private const double LeastUncertaintyPixels = 0.01;

    /// <summary>Finds the edge.</summary>
    /// <param name="radiograph">The radiograph; borrowed.</param>
    /// <param name="near">A place near the edge, in pixels.</param>
    /// <param name="searchRadiusPixels">How far it is searched, in pixels, 2 to 200.</param>
    /// <returns>The point of the edge nearest to the place; cannot-tell where there is none.</returns>
    public static Figure<EdgePoint> Find(Radiograph radiograph, PixelPoint near, double searchRadiusPixels)
    {
        ArgumentNullException.ThrowIfNull(radiograph);
        Preconditions.Within(searchRadiusPixels, 2, 200);
        if (!double.IsFinite(near.X) || !double.IsFinite(near.Y) || near.X < 0 || near.Y < 0 || near.X > radiograph.Columns - 1 || near.Y > radiograph.Rows - 1)
        {
            return Figure<EdgePoint>.CannotTell("The place lies outside the image, so there is no edge to find.");
        }

        var window = Window.Around(radiograph, near, searchRadiusPixels);
        List<EdgeCandidate> candidates = window.Ridges(near, searchRadiusPixels);
        ImageScale scale = ImageScale.InPixels(radiograph);
        var fit = new EdgeSpreadFit(scale.StepMm);
        var profile = new EdgeProfile(radiograph.Pixels, scale, EdgeSpreadFit.ReachMm, int.MinValue, int.MaxValue);
        EdgePoint? best = null;
        foreach (EdgeCandidate candidate in candidates)
        {
            profile.Take(candidate);
            if (fit.Fit(profile, candidate, SmoothingPixels * scale.StepMm, scale) is not { } edge)
            {
                continue;
            }

            // The edge's point nearest to the place: the fitted line is followed sideways.
            double along = ((near.X - edge.X) * -candidate.NormalY) + ((near.Y - edge.Y) * candidate.NormalX);
            double followed = Math.Clamp(along, -1, 1);
            var point = new PixelPoint(X: edge.X - (followed * candidate.NormalY), Y: edge.Y + (followed * candidate.NormalX));
            double noise = profile.PixelNoise(edge.ShiftMm / profile.StepMm);
            double contrastToNoise = noise > 0 ? edge.Step / noise : double.MaxValue;
            if (contrastToNoise < LeastContrastToNoise || point.DistancePixelsTo(near) > searchRadiusPixels)
            {
                continue;
            }

            if (best is null || point.DistancePixelsTo(near) < best.Point.DistancePixelsTo(near))
            {
                double uncertainty = SharedNoise * edge.ShiftErrorMm / scale.StepMm;
                best = new EdgePoint
                {
                    Point = point,
                    NormalDegrees = Math.Atan2(candidate.NormalY, candidate.NormalX) * 180 / Math.PI,
                    UncertaintyPixels = Math.Sqrt((uncertainty * uncertainty) + (LeastUncertaintyPixels * LeastUncertaintyPixels)),
                    ContrastToNoise = contrastToNoise,
                    BlurPixels = edge.SigmaMm / scale.StepMm,
                };
            }
        }

        return best is null
            ? Figure<EdgePoint>.CannotTell($"Within {searchRadiusPixels:0.#} pixels of this place no edge stands out from noise and slope.")
            : Figure<EdgePoint>.Measured(best);
    }

    /// <summary>The smoothed image around a place.</summary>
    private sealed class Window
    {
        private readonly float[] smooth;
        private readonly int left;
        private readonly int top;
        private readonly int rows;
        private readonly int columns;

        private Window(float[] smooth, int left, int top, int rows, int columns)
        {
            this.smooth = smooth;
            this.left = left;
            this.top = top;
            this.rows = rows;
            this.columns = columns;
        }

        internal static Window Around(Radiograph radiograph, PixelPoint near, double radius)
        {
            int reach = (int)Math.Ceiling(radius) + 2, kernelReach = (int)Math.Ceiling(3 * SmoothingPixels);
            int left = Math.Max(0, (int)near.X - reach), right = Math.Min(radiograph.Columns - 1, (int)near.X + 1 + reach);
            int top = Math.Max(0, (int)near.Y - reach), bottom = Math.Min(radiograph.Rows - 1, (int)near.Y + 1 + reach);
            int rows = bottom - top + 1, columns = right - left + 1;
            float[] kernel = [.. Enumerable.Range(-kernelReach, (2 * kernelReach) + 1).Select(n => (float)Math.Exp(-0.5 * n * n / (SmoothingPixels * SmoothingPixels)))];
            float sum = kernel.Sum();
            var across = new float[(rows + (2 * kernelReach)) * columns];
            for (int row = 0; row < rows + (2 * kernelReach); row++)
            {
                ReadOnlySpan<ushort> line = radiograph.Pixels.Row(Math.Clamp(top + row - kernelReach, 0, radiograph.Rows - 1));
                for (int column = 0; column < columns; column++)
                {
                    float value = 0;
                    for (int k = 0; k < kernel.Length; k++)
                    {
                        value += kernel[k] * line[Math.Clamp(left + column + k - kernelReach, 0, radiograph.Columns - 1)];
                    }

                    across[(row * columns) + column] = value / sum;
                }
            }

            var smooth = new float[rows * columns];
            for (int row = 0; row < rows; row++)
            {
                for (int column = 0; column < columns; column++)
                {
                    float value = 0;
                    for (int k = 0; k < kernel.Length; k++)
                    {
                        value += kernel[k] * across[((row + k) * columns) + column];
                    }

                    smooth[(row * columns) + column] = value / sum;
                }
            }

            return new Window(smooth, left, top, rows, columns);
        }

        /// <summary>Ridges of the gradient within a radius, the steepest first.</summary>
        internal List<EdgeCandidate> Ridges(PixelPoint near, double radius)
        {
            var found = new List<EdgeCandidate>();
            for (int row = 2; row < rows - 2; row++)
            {
                for (int column = 2; column < columns - 2; column++)
                {
                    double apart = new PixelPoint(X: left + column, Y: top + row).DistancePixelsTo(near);
                    if (apart > radius + 1)
                    {
                        continue;
                    }

                    (double x, double y) = Gradient(row, column);
                    double size = Math.Sqrt((x * x) + (y * y));
                    if (!(size > 0))
                    {
                        continue;
                    }

                    int stepX = Math.Abs(x) > 0.4142 * Math.Abs(y) ? Math.Sign(x) : 0, stepY = Math.Abs(y) > 0.4142 * Math.Abs(x) ? Math.Sign(y) : 0;
                    if (size >= Size(row - stepY, column - stepX) && size > Size(row + stepY, column + stepX))
                    {
                        found.Add(new EdgeCandidate(left + column, top + row, x / size, y / size, size));
                    }
                }
            }

            double strongest = found.Count == 0 ? 0 : found.Max(candidate => candidate.Gradient);
            return [.. found.Where(candidate => candidate.Gradient >= LeastShare * strongest)
                .OrderBy(candidate => new PixelPoint(X: candidate.X, Y: candidate.Y).DistancePixelsTo(near)).Take(Tried)];
        }

        private (double X, double Y) Gradient(int row, int column)
        {
            int at = (row * columns) + column;
            return ((smooth[at + 1] - smooth[at - 1]) / 2, (smooth[at + columns] - smooth[at - columns]) / 2);
        }

        private double Size(int row, int column)
        {
            (double x, double y) = Gradient(row, column);
            return Math.Sqrt((x * x) + (y * y));
        }
    }
}
