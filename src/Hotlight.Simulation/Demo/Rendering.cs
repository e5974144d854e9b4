using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Simulation.Receptor;
using Hotlight.Simulation.Scene;

namespace Hotlight.Simulation;

/// <summary>Stored pixels of an exposure and the window they are shown with.</summary>
internal sealed record RenderedPixels(Raster<ushort> Pixels, int BitsStored, VoiTransform? Window);

/// <summary>Renders a receptor's signal into stored pixels.</summary>
internal static class Rendering
{
    /// <summary>Pixel steps for a factor of ten of exposure, for presentation.</summary>
    public const double StepsPerDecade = 1000;

    /// <summary>Pixel steps per µGy, for processing.</summary>
    public const double StepsPerMicrogray = 125;

    public static RenderedPixels Linear(ExposureScene scene, SimulatedExposure exposure)
    {
        Raster<float> signal = exposure.SignalMicrogray;
        Raster<ushort> pixels = new(signal.Rows, signal.Columns);
        double full = Math.Min(16383, Math.Round(scene.SaturationMicrogray * StepsPerMicrogray));
        Parallel.For(0, signal.Rows, row =>
        {
            ReadOnlySpan<float> from = signal.Row(row);
            Span<ushort> to = pixels.Row(row);
            for (int column = 0; column < to.Length; column++)
            {
                to[column] = (ushort)Math.Clamp(Math.Round(from[column] * StepsPerMicrogray), 0, full);
            }
        });
        Finish(scene, pixels, 0, (ushort)full);
        return new RenderedPixels(pixels, 14, null);
    }

    public static RenderedPixels Presentation(ExposureScene scene, SimulatedExposure exposure)
    {
        Raster<float> signal = exposure.SignalMicrogray;
        Raster<float> decades = new(signal.Rows, signal.Columns);
        float full = (float)scene.SaturationMicrogray;
        Parallel.For(0, signal.Rows, row =>
        {
            ReadOnlySpan<float> from = signal.Row(row);
            Span<float> to = decades.Row(row);
            for (int column = 0; column < to.Length; column++)
            {
                to[column] = MathF.Log10(Math.Clamp(from[column], 0.012f, full));
            }
        });
        Raster<float> smooth = GaussianBlur.Blurred(decades, scene.SharpeningMm / scene.Geometry.SpacingMm);
        float sharpening = (float)scene.SharpeningShare;
        double zeroAt = Math.Log10(full);
        Raster<ushort> pixels = new(signal.Rows, signal.Columns);
        Parallel.For(0, signal.Rows, row =>
        {
            ReadOnlySpan<float> from = decades.Row(row);
            ReadOnlySpan<float> low = smooth.Row(row);
            Span<ushort> to = pixels.Row(row);
            for (int column = 0; column < to.Length; column++)
            {
                // Full sharpening within the grey scale of a part, none across the beam's edge or a letter.
                float detail = from[column] - low[column];
                float sharpened = from[column] + (sharpening * Math.Clamp(detail, -0.15f, 0.15f));
                to[column] = (ushort)Math.Clamp(Math.Round(StepsPerDecade * (zeroAt - sharpened)), 0, 4095);
            }
        });
        VoiTransform window = Window(scene, exposure, pixels);
        Finish(scene, pixels, 0, 4095);
        return new RenderedPixels(pixels, 12, window);
    }

    /// <summary>A sigmoid window over the anatomy in the beam.</summary>
    private static VoiTransform Window(ExposureScene scene, SimulatedExposure exposure, Raster<ushort> pixels)
    {
        List<ushort> values = [];
        for (int row = 0; row < pixels.Rows; row += 3)
        {
            for (int column = 0; column < pixels.Columns; column += 3)
            {
                if (exposure.Paths.Skin[row, column] > 4 && scene.Collimation.InsideMm(column, row, scene.Geometry.SpacingMm) > 3)
                {
                    values.Add(pixels[row, column]);
                }
            }
        }

        values.Sort();
        double low = values[(int)(scene.WindowDarkTail * (values.Count - 1))];
        double high = values[(int)(0.995 * (values.Count - 1))];
        return new VoiTransform
        {
            Center = Math.Round((low + high) / 2),
            Width = Math.Round(scene.WindowWidthShare * (high - low)),
            Function = WindowFunction.Sigmoid,
            Explanation = "anatomy in the beam",
        };
    }

    /// <summary>What is put over the pixels afterwards: a mask, then a drawn letter.</summary>
    private static void Finish(ExposureScene scene, Raster<ushort> pixels, ushort maskValue, ushort letterValue)
    {
        if (scene.Mask is { } opening)
        {
            for (int row = 0; row < pixels.Rows; row++)
            {
                Span<ushort> line = pixels.Row(row);
                if (row < opening.Top || row > opening.Bottom)
                {
                    line.Fill(maskValue);
                    continue;
                }

                line[..opening.Left].Fill(maskValue);
                line[(opening.Right + 1)..].Fill(maskValue);
            }
        }

        if (scene.Marker is not { Kind: TrueMarkerKind.Annotation } marker)
        {
            return;
        }

        double reach = marker.HeightMm / scene.Geometry.SpacingMm;
        for (int row = Math.Max(0, (int)(marker.CentrePixels.Y - reach)); row <= Math.Min(pixels.Rows - 1, marker.CentrePixels.Y + reach); row++)
        {
            for (int column = Math.Max(0, (int)(marker.CentrePixels.X - reach)); column <= Math.Min(pixels.Columns - 1, marker.CentrePixels.X + reach); column++)
            {
                if (marker.DistancesMm(column, row, scene.Geometry.SpacingMm).Stroke < marker.HeightMm * 0.07)
                {
                    pixels[row, column] = letterValue;
                }
            }
        }
    }
}
