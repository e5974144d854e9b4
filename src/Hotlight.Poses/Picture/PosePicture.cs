using Hotlight.Core;
using Hotlight.Simulation;
using Hotlight.Simulation.Scene;

namespace Hotlight.Poses;

/// <summary>The phantom at a pose as a picture on the grid of the real image: a simulation with a generic anatomy, and to be shown as one.</summary>
/// <remarks>Method, speed and what differs from a full exposure: docs/methods/pose-picture.md.</remarks>
public sealed class PosePicture
{
    private PosePicture(Raster<byte> grey, Raster<bool> visible, PoseTone? tone)
    {
        Grey = grey.AsReadOnly();
        Visible = visible.AsReadOnly();
        Tone = tone;
    }

    /// <summary>The sentence that stands beside every such picture.</summary>
    public static string Label => Texts.Get("pose.label");

    /// <summary>The picture, 0 black to 255 white, rows × columns of the <see cref="PoseImage"/> it was drawn for; black outside what is visible.</summary>
    public ReadOnlyRaster<byte> Grey { get; }

    /// <summary>What the real image shows of the field.</summary>
    public ReadOnlyRaster<bool> Visible { get; }

    /// <summary>How its greys were brought to those of the real image; keep it for the next pose, so that only the pose changes. Null where there was no image.</summary>
    public PoseTone? Tone { get; }

    /// <summary>Draws a pose.</summary>
    /// <param name="fit">The fit; its image gives the grid.</param>
    /// <param name="state">The pose; null: the fitted one.</param>
    /// <param name="image">The real image, scaled: its greys are taken over; null: the phantom is shown with the lab's own window.</param>
    /// <param name="field">What of the image is exposed, a polygon in pixels of the radiograph; null: all of it.</param>
    /// <param name="tone">How greys were brought to the image's at another pose; null: as they are here.</param>
    /// <param name="technique">Scene whose technique and rendering are taken; null: the view's usual one.</param>
    /// <param name="longestSide">Most pixels along the longer side where there is no <paramref name="image"/>, 64 to 1024.</param>
    /// <param name="noise">Whether it has the noise of its exposure.</param>
    /// <param name="cancellation">Stops the work.</param>
    /// <exception cref="UnreadableSceneException">The lab cannot take the pose; one sentence.</exception>
    /// <exception cref="OperationCanceledException">The work was stopped.</exception>
    public static PosePicture Draw(PoseFit fit, PoseState? state = null, PoseImage? image = null, IReadOnlyList<PixelPoint>? field = null, PoseTone? tone = null, SceneDocument? technique = null, int longestSide = 512, bool noise = true, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(fit);
        SceneDocument scene = fit.SceneAt(state ?? fit.State, technique);
        PoseSetting setting = fit.Problem.Setting;
        int side = image is null ? Math.Min(longestSide, Math.Max(setting.Rows, setting.Columns)) : Math.Max(image.Raster.Rows, image.Raster.Columns);
        LabLook look = Lab.Look(scene, Math.Clamp(side, 64, 1024), noise, cancellation);
        int rows = image?.Raster.Rows ?? look.Grey.Rows, columns = image?.Raster.Columns ?? look.Grey.Columns;
        double factor = image?.Factor ?? Math.Max(1, Math.Max(setting.Rows, setting.Columns) / (double)side);
        Raster<bool> visible = Inside(field, rows, columns, setting, factor);
        Raster<byte> grey = new(rows, columns);

        // Grids of one size share every pixel; rounding may leave one row or column more.
        int top = (look.Grey.Rows - rows) / 2, left = (look.Grey.Columns - columns) / 2;
        Raster<bool> part = new(rows, columns);
        for (int row = 0; row < rows; row++)
        {
            for (int column = 0; column < columns; column++)
            {
                int fromRow = Math.Clamp(row + top, 0, look.Grey.Rows - 1), fromColumn = Math.Clamp(column + left, 0, look.Grey.Columns - 1);
                grey[row, column] = look.Grey[fromRow, fromColumn];
                part[row, column] = visible[row, column] && look.SkinMm[fromRow, fromColumn] > 4;
            }
        }

        tone ??= image is null ? null : PoseTone.Between(grey, image.Raster, part);
        for (int row = 0; row < rows; row++)
        {
            Span<byte> line = grey.Row(row);
            ReadOnlySpan<bool> shown = visible.Row(row);
            for (int column = 0; column < columns; column++)
            {
                line[column] = !shown[column] ? (byte)0 : tone?.Of(line[column]) ?? line[column];
            }
        }

        return new PosePicture(grey, visible, tone);
    }

    private static Raster<bool> Inside(IReadOnlyList<PixelPoint>? field, int rows, int columns, PoseSetting setting, double factor)
    {
        Raster<bool> inside = new(rows, columns);
        for (int row = 0; row < rows; row++)
        {
            Span<bool> line = inside.Row(row);
            if (field is null)
            {
                line.Fill(true);
                continue;
            }

            // Even-odd rule along the row, in pixels of the radiograph.
            double y = ((row - ((rows - 1) / 2.0)) * factor) + ((setting.Rows - 1) / 2.0);
            for (int corner = 0; corner < field.Count; corner++)
            {
                PixelPoint a = field[corner], b = field[(corner + 1) % field.Count];
                if (a.Y > y == b.Y > y)
                {
                    continue;
                }

                double x = a.X + ((y - a.Y) / (b.Y - a.Y) * (b.X - a.X));
                int first = (int)Math.Ceiling(((x - ((setting.Columns - 1) / 2.0)) / factor) + ((columns - 1) / 2.0));
                for (int column = Math.Max(0, first); column < columns; column++)
                {
                    line[column] = !line[column];
                }
            }
        }

        return inside;
    }
}

/// <summary>A rising curve from the phantom's greys to those of a real image.</summary>
public sealed class PoseTone
{
    // Shares of the part's pixels whose greys are brought together.
    private static readonly double[] Shares = [0.02, 0.25, 0.5, 0.75, 0.98];

    private readonly byte[] table = new byte[256];

    private PoseTone(double[] from, double[] to)
    {
        for (int grey = 0; grey < 256; grey++)
        {
            int piece = 0;
            while (piece < from.Length - 2 && grey > from[piece + 1])
            {
                piece++;
            }

            double width = Math.Max(1, from[piece + 1] - from[piece]);
            table[grey] = (byte)Math.Clamp(Math.Round(to[piece] + ((grey - from[piece]) / width * (to[piece + 1] - to[piece]))), 0, 255);
        }
    }

    /// <summary>The image's grey for one of the phantom's.</summary>
    /// <param name="grey">0 to 255.</param>
    public byte Of(byte grey) => table[grey];

    /// <summary>Brings shares of the greys of both pictures together, over the same pixels; null where too few are.</summary>
    internal static PoseTone? Between(Raster<byte> phantom, Raster<float> image, Raster<bool> where)
    {
        List<double> own = [], other = [];
        for (int row = 0; row < where.Rows; row++)
        {
            for (int column = 0; column < where.Columns; column++)
            {
                if (where[row, column])
                {
                    own.Add(phantom[row, column]);
                    other.Add(255 * image[row, column]);
                }
            }
        }

        if (own.Count < 100)
        {
            return null;
        }

        own.Sort();
        other.Sort();
        double[] from = [0, .. Shares.Select(share => own[(int)(share * (own.Count - 1))]), 255];
        double[] to = [0, .. Shares.Select(share => other[(int)(share * (other.Count - 1))]), 255];
        return new PoseTone(from, to);
    }
}
