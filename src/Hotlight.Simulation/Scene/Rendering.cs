using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Simulation.Projection;
using Hotlight.Simulation.Receptor;
using Hotlight.Simulation.Shapes;

namespace Hotlight.Simulation.Scene;

/// <summary>Stored pixels of an exposure and the window they are shown with.</summary>
internal sealed record RenderedPixels(Raster<ushort> Pixels, int BitsStored, VoiTransform? Window);

/// <summary>Renders a receptor's signal into stored pixels.</summary>
internal static class Rendering
{
    /// <summary>Pixel steps for a factor of ten of exposure, for presentation.</summary>
    public const double StepsPerDecade = 1000;

    /// <summary>Pixel steps per µGy, for processing.</summary>
    public const double StepsPerMicrogray = 125;

    public static RenderedPixels Linear(SimulatedExposure exposure)
    {
        Raster<float> signal = exposure.SignalMicrogray;
        Raster<ushort> pixels = new(signal.Rows, signal.Columns);
        double full = Math.Min(16383, Math.Round(exposure.SaturationMicrogray * StepsPerMicrogray));
        Parallel.For(0, signal.Rows, row =>
        {
            ReadOnlySpan<float> from = signal.Row(row);
            Span<ushort> to = pixels.Row(row);
            for (int column = 0; column < to.Length; column++)
            {
                to[column] = (ushort)Math.Clamp(Math.Round(from[column] * StepsPerMicrogray), 0, full);
            }
        });
        Finish(exposure.Setup, pixels, 0, (ushort)full);
        return new RenderedPixels(pixels, 14, null);
    }

    public static RenderedPixels Presentation(SimulatedExposure exposure)
        => Presentation(exposure.Setup, exposure.Beam, exposure.Paths.Skin, exposure.SignalMicrogray);

    /// <param name="setup">The scene in the room.</param>
    /// <param name="beam">Its beam.</param>
    /// <param name="skin">Lengths within the skin, in mm.</param>
    /// <param name="signal">What the receptor read, in µGy.</param>
    public static RenderedPixels Presentation(SceneSetup setup, XRayBeam beam, Raster<float> skin, Raster<float> signal)
    {
        SceneRendering rendering = setup.Scene.Rendering;
        Raster<float> decades = new(signal.Rows, signal.Columns);
        float full = (float)beam.SaturationMicrogray;
        Parallel.For(0, signal.Rows, row =>
        {
            ReadOnlySpan<float> from = signal.Row(row);
            Span<float> to = decades.Row(row);
            for (int column = 0; column < to.Length; column++)
            {
                to[column] = MathF.Log10(Math.Clamp(from[column], 0.012f, full));
            }
        });
        Raster<float> smooth = GaussianBlur.Blurred(decades, rendering.SharpeningMm / setup.Geometry.SpacingMm);
        float sharpening = (float)rendering.SharpeningShare;
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
        VoiTransform window = Window(setup, beam.Leaves, skin, pixels);
        Finish(setup, pixels, 0, 4095);
        return new RenderedPixels(pixels, 12, window);
    }

    /// <summary>A sigmoid window over the anatomy in the beam.</summary>
    private static VoiTransform Window(SceneSetup setup, Leaves leaves, Raster<float> skin, Raster<ushort> pixels)
    {
        SceneRendering rendering = setup.Scene.Rendering;
        BeamGeometry geometry = setup.Geometry;
        List<ushort> values = [];
        for (int row = 0; row < pixels.Rows; row += 3)
        {
            for (int column = 0; column < pixels.Columns; column += 3)
            {
                if (skin[row, column] > 4 && leaves.InsideMm(geometry.ReceptorX(column), geometry.ReceptorY(row)) > 3)
                {
                    values.Add(pixels[row, column]);
                }
            }
        }

        if (values.Count == 0)
        {
            // No part: everything in the field.
            for (int row = 0; row < pixels.Rows; row += 3)
            {
                for (int column = 0; column < pixels.Columns; column += 3)
                {
                    if (leaves.InsideMm(geometry.ReceptorX(column), geometry.ReceptorY(row)) > 3)
                    {
                        values.Add(pixels[row, column]);
                    }
                }
            }
        }

        if (values.Count == 0)
        {
            values.AddRange([0, 4095]);
        }

        values.Sort();
        double low = values[(int)(rendering.WindowDarkTail * (values.Count - 1))];
        double high = values[(int)(0.995 * (values.Count - 1))];
        return new VoiTransform
        {
            Center = Math.Round((low + high) / 2),
            Width = Math.Max(1, Math.Round(rendering.WindowWidthShare * (high - low))),
            Function = WindowFunction.Sigmoid,
            Explanation = "anatomy in the beam",
        };
    }

    /// <summary>What is put over the pixels afterwards: a mask, then a drawn letter.</summary>
    private static void Finish(SceneSetup setup, Raster<ushort> pixels, ushort maskValue, ushort letterValue)
    {
        if (SceneTruthBuilder.MaskPixels(setup) is { } opening)
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

        if (setup.Scene.Marker is not { Kind: "annotation" } marker)
        {
            return;
        }

        Letter letter = new(marker.Word ?? marker.Letter, marker.HeightMm, 1);
        PixelPoint centre = setup.PixelsFromMiddle(marker.CentreMm);
        double spacing = setup.Geometry.SpacingMm;
        (double sin, double cos) = Math.SinCos(marker.TurnDegrees * Math.PI / 180);
        double reach = Math.Max(marker.HeightMm, letter.ReachMm) / spacing;
        for (int row = Math.Max(0, (int)(centre.Y - reach)); row <= Math.Min(pixels.Rows - 1, centre.Y + reach); row++)
        {
            for (int column = Math.Max(0, (int)(centre.X - reach)); column <= Math.Min(pixels.Columns - 1, centre.X + reach); column++)
            {
                double x = (column - centre.X) * spacing;
                double y = (row - centre.Y) * spacing;
                System.Numerics.Vector2 place = new((float)(((x * cos) + (y * sin)) * (marker.Mirrored ? -1 : 1)), (float)((y * cos) - (x * sin)));
                if (letter.FromStrokes(place) < marker.HeightMm * 0.07)
                {
                    pixels[row, column] = letterValue;
                }
            }
        }
    }
}
