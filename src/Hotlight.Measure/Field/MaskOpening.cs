using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Document;

namespace Hotlight.Measure.Field;

/// <summary>The opening of a mask that is one exact value from the frame to a straight row or column, and the opening that the header's shutter states.</summary>
internal static class MaskOpening
{
    // Of sampled pixels: what counts as all of a row (a drawn letter may lie on a mask), and as the row where the image begins.
    private const double MostOther = 0.05;
    private const double LeastBegun = 0.6;
    private const int Samples = 800;

    /// <summary>The sides of the opening; empty where there is no such mask. Sides that reach the frame are left out.</summary>
    /// <param name="radiograph">The radiograph; files compressed with loss have no exact value and give none.</param>
    internal static List<FoundSide> Find(Radiograph radiograph)
    {
        var sides = new List<FoundSide>();
        ReadOnlyRaster<ushort> pixels = radiograph.Pixels;
        int rows = pixels.Rows, columns = pixels.Columns;
        if (radiograph.LossyCompressed != true && radiograph.Source != ImageSource.Jpeg && rows > 24 && columns > 24)
        {
            ushort value = FrameValue(pixels, out bool isFramed);
            if (isFramed)
            {
                int top = 0, bottom = rows - 1, left = 0, right = columns - 1;
                while (top < rows - 1 && OtherInRow(pixels, top, 0, columns, value) <= MostOther)
                {
                    top++;
                }

                while (bottom > top && OtherInRow(pixels, bottom, 0, columns, value) <= MostOther)
                {
                    bottom--;
                }

                while (left < columns - 1 && OtherInColumn(pixels, left, top, bottom + 1, value) <= MostOther)
                {
                    left++;
                }

                while (right > left && OtherInColumn(pixels, right, top, bottom + 1, value) <= MostOther)
                {
                    right--;
                }

                // The image must begin all along the line, not at the one place where a body or a tilted side comes nearest.
                Add(FieldSide.Top, top > 0 && OtherInRow(pixels, top, left, right + 1, value) >= LeastBegun, 0, -1, 0.5 - top, left, right, value);
                Add(FieldSide.Bottom, bottom < rows - 1 && OtherInRow(pixels, bottom, left, right + 1, value) >= LeastBegun, 0, 1, bottom + 0.5, -right, -left, value);
                Add(FieldSide.Left, left > 0 && OtherInColumn(pixels, left, top, bottom + 1, value) >= LeastBegun, -1, 0, 0.5 - left, -bottom, -top, value);
                Add(FieldSide.Right, right < columns - 1 && OtherInColumn(pixels, right, top, bottom + 1, value) >= LeastBegun, 1, 0, right + 0.5, top, bottom, value);
            }
        }

        AddShutter(radiograph, sides);
        return sides;

        void Add(FieldSide side, bool isThere, double nx, double ny, double rho, double from, double to, ushort beyond)
        {
            if (isThere && to - from > 12)
            {
                sides.Add(Side(side, nx, ny, rho, from, to, beyond));
            }
        }
    }

    // A stated shutter hides what lies beyond it, whatever the pixels hold there.
    private static void AddShutter(Radiograph radiograph, List<FoundSide> sides)
    {
        if (radiograph.Shutter is not { Count: >= 3 } shutter)
        {
            return;
        }

        double cx = shutter.Average(p => p.X), cy = shutter.Average(p => p.Y);
        for (int i = 0; i < shutter.Count; i++)
        {
            PixelPoint a = shutter[i], b = shutter[(i + 1) % shutter.Count];
            double length = a.DistancePixelsTo(b);
            if (length < 1)
            {
                continue;
            }

            double nx = (b.Y - a.Y) / length, ny = (a.X - b.X) / length, rho = (nx * a.X) + (ny * a.Y);
            if ((nx * cx) + (ny * cy) > rho)
            {
                (nx, ny, rho) = (-nx, -ny, -rho);
            }

            bool hides = false;
            foreach (PixelPoint corner in ConvexOutline.OfImage(radiograph.Rows, radiograph.Columns))
            {
                hides |= (nx * corner.X) + (ny * corner.Y) > rho + 1.5;
            }

            FieldSide side = Math.Abs(nx) > Math.Abs(ny) ? nx > 0 ? FieldSide.Right : FieldSide.Left : ny > 0 ? FieldSide.Bottom : FieldSide.Top;
            if (hides && !sides.Exists(other => Math.Abs(other.Refined.Line.Rho - rho) < 2 && (other.Refined.Line.NormalX * nx) + (other.Refined.Line.NormalY * ny) > 0.999))
            {
                double ta = (nx * a.Y) - (ny * a.X), tb = (nx * b.Y) - (ny * b.X);
                sides.Add(Side(side, nx, ny, rho, Math.Min(ta, tb), Math.Max(ta, tb), 0));
            }
        }
    }

    // A side between two pixels: known to a quarter of one, even over one (1/√12).
    private static FoundSide Side(FieldSide side, double nx, double ny, double rho, double from, double to, ushort beyond)
    {
        var refined = new RefinedSide(new SideLine(nx, ny, rho, from, to), 0.29, 0.29 / (to - from) * 180 / Math.PI, 1, 0.29, 1, 1, beyond, 0);
        return new FoundSide(refined, FieldEdge.Mask, new SegmentEvidence() with { OutsideConstant = 1 }) { Side = side };
    }

    // The value that fills at least one whole side of the frame.
    private static ushort FrameValue(ReadOnlyRaster<ushort> pixels, out bool isFramed)
    {
        int rows = pixels.Rows, columns = pixels.Columns;
        foreach ((int row, int column) in ((int Row, int Column)[])[(0, 0), (rows - 1, columns - 1), (0, columns - 1), (rows - 1, 0)])
        {
            ushort value = pixels[row, column];
            if (OtherInRow(pixels, row, 0, columns, value) <= MostOther || OtherInColumn(pixels, column, 0, rows, value) <= MostOther)
            {
                isFramed = true;
                return value;
            }
        }

        isFramed = false;
        return 0;
    }

    private static double OtherInRow(ReadOnlyRaster<ushort> pixels, int row, int from, int to, ushort value)
    {
        ReadOnlySpan<ushort> line = pixels.Row(row);
        int stride = Math.Max(1, (to - from) / Samples), other = 0, seen = 0;
        for (int column = from; column < to; column += stride, seen++)
        {
            other += line[column] != value ? 1 : 0;
        }

        return seen == 0 ? 0 : (double)other / seen;
    }

    private static double OtherInColumn(ReadOnlyRaster<ushort> pixels, int column, int from, int to, ushort value)
    {
        int stride = Math.Max(1, (to - from) / Samples), other = 0, seen = 0;
        for (int row = from; row < to; row += stride, seen++)
        {
            other += pixels[row, column] != value ? 1 : 0;
        }

        return seen == 0 ? 0 : (double)other / seen;
    }
}
