using System.Globalization;

namespace Hotlight.Imaging;

/// <summary>Reads grey stored as colour, and refuses a picture that is truly in colour; docs/methods/reading.md#colour.</summary>
/// <remarks>
/// A pixel counts as coloured when its largest and smallest sample differ by more than a tolerance: 1/12 of the range, or 1/6 for JPEG, whose coarse chroma blocks tint grey edges.
/// Few coloured pixels (an arrow, a caption) are read as grey with a remark; more than 15 % refuse the picture. Common practice, no source; the figures were chosen on the radiographs and photos the tests name.
/// </remarks>
internal sealed class GreyFromColour(int bits, bool isJpeg)
{
    private const double RefusedFraction = 0.15;

    private readonly int tolerance = ((1 << bits) - 1) / (isJpeg ? 6 : 12);
    private long pixels;
    private long coloured;
    private bool isTinted;

    /// <summary>Converts interleaved samples, red first; further samples are left out.</summary>
    public void Convert(ReadOnlySpan<ushort> line, int samples, Span<ushort> grey)
    {
        int count = line.Length / samples;
        pixels += count;
        for (int i = 0; i < count; i++)
        {
            grey[i] = Convert(line[i * samples], line[(i * samples) + 1], line[(i * samples) + 2]);
        }
    }

    /// <summary>Converts palette indices; the palette has red, green, blue of 8 bits.</summary>
    public void ConvertPalette(ReadOnlySpan<ushort> line, byte[] palette, Span<ushort> grey)
    {
        pixels += line.Length;
        for (int i = 0; i < line.Length; i++)
        {
            int entry = line[i] * 3;
            if (entry + 2 >= palette.Length)
            {
                throw new ImageFormatException("it is a damaged picture: a pixel names a colour its palette does not have.");
            }

            grey[i] = Convert(palette[entry], palette[entry + 1], palette[entry + 2]);
        }
    }

    /// <summary>Counts colour by the chroma planes of a JPEG picture, whose samples are 128 where it is grey.</summary>
    public void CountChroma(ReadOnlySpan<ushort> blueChroma, ReadOnlySpan<ushort> redChroma)
    {
        pixels += blueChroma.Length;
        for (int i = 0; i < blueChroma.Length; i++)
        {
            int blue = blueChroma[i] - 128;
            int red = redChroma[i] - 128;
            if ((blue | red) == 0)
            {
                continue;
            }

            // Differences of R, G and B from luma, in thousandths: R 1.402 Cr, B 1.772 Cb, G −0.344 Cb − 0.714 Cr (JFIF 1.02).
            isTinted = true;
            int r = 1402 * red;
            int b = 1772 * blue;
            int g = (-344 * blue) - (714 * red);
            if (Math.Max(r, Math.Max(g, b)) - Math.Min(r, Math.Min(g, b)) > 1000 * tolerance)
            {
                coloured++;
            }
        }
    }

    /// <summary>Refuses a picture in colour; adds a remark for one that is nearly grey.</summary>
    public void Finish(List<string> remarks)
    {
        double fraction = pixels == 0 ? 0 : (double)coloured / pixels;
        if (fraction > RefusedFraction)
        {
            throw new ImageFormatException(string.Create(CultureInfo.InvariantCulture, $"it is a picture in colour ({100 * fraction:0} % of its pixels); a radiograph is grey."));
        }

        if (coloured > 0)
        {
            remarks.Add(string.Create(CultureInfo.InvariantCulture, $"{Math.Max(100 * fraction, 0.01):0.##} % of the picture is in colour, such as drawn arrows or captions; it was read as grey."));
        }
        else if (isTinted)
        {
            remarks.Add("The picture is stored as colour with a slight tint; it was read as grey.");
        }
        else
        {
            remarks.Add("The picture is grey stored as colour.");
        }
    }

    private ushort Convert(int red, int green, int blue)
    {
        if (red == green && green == blue)
        {
            return (ushort)red;
        }

        isTinted = true;
        if (Math.Max(red, Math.Max(green, blue)) - Math.Min(red, Math.Min(green, blue)) > tolerance)
        {
            coloured++;
        }

        // Luma of ITU-R BT.601, as JFIF uses it.
        return (ushort)(((299 * red) + (587 * green) + (114 * blue) + 500) / 1000);
    }
}
