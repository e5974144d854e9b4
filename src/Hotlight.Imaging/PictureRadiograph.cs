using Hotlight.Core;

namespace Hotlight.Imaging;

/// <summary>Makes a radiograph of a picture file, which says nothing of receptor, exposure or patient.</summary>
internal static class PictureRadiograph
{
    public static Radiograph Create(string fileName, ImageSource source, Raster<ushort> pixels, int bits, bool highIsShownDark, bool? isLossy, string encoding, List<string> remarks)
    {
        int maximum = (1 << bits) - 1;
        int highest = 0;
        foreach (ushort value in pixels.Samples)
        {
            highest = Math.Max(highest, value);
        }

        // A picture is shown over its full range. Receptor data in a roomier file leaves the upper half empty and would be shown black: then the image itself gives the window.
        bool fillsRange = bits <= 8 || highest > maximum / 2;
        if (!fillsRange)
        {
            remarks.Add("The picture uses less than half of its range, so it is shown by a window made from its own pixel values.");
        }

        return new Radiograph
        {
            FileName = fileName,
            Source = source,
            Pixels = pixels,
            BitsStored = bits,
            HighIsShownDark = highIsShownDark,
            Windows = fillsRange
                ? [new VoiTransform { Center = maximum / 2.0, Width = maximum, Function = WindowFunction.LinearExact, Explanation = "the picture's full range" }]
                : [],
            LossyCompressed = isLossy,
            Encoding = encoding,
            Remarks = remarks,
        };
    }
}
