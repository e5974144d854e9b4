using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Markers;

/// <summary>Where a marker lies: to the field, the anatomy and the patient's sides.</summary>
internal static class MarkerPlace
{
    /// <summary>Corners of the letter's box: upper left, upper right, lower right, lower left, as it reads.</summary>
    /// <param name="marker">The letter.</param>
    internal static PixelPoint[] Corners(ReadMarker marker)
    {
        double halfWidth = marker.HalfWidth * (marker.Mirrored ? -1 : 1), halfHeight = 0.5 * marker.Height;
        (double sin, double cos) = Math.SinCos(marker.RotationDegrees * Math.PI / 180);
        PixelPoint At(double x, double y) => new(Math.Round(marker.X + (x * cos) - (y * sin), 2), Math.Round(marker.Y + (x * sin) + (y * cos), 2));
        return [At(-halfWidth, -halfHeight), At(halfWidth, -halfHeight), At(halfWidth, halfHeight), At(-halfWidth, halfHeight)];
    }

    /// <summary>Whether a letter's middle lies in a word's box or within half a height of it.</summary>
    /// <param name="word">The word.</param>
    /// <param name="letter">The letter.</param>
    internal static bool IsInBox(ReadMarker word, ReadMarker letter)
    {
        (double sin, double cos) = Math.SinCos(word.RotationDegrees * Math.PI / 180);
        double x = letter.X - word.X, y = letter.Y - word.Y;
        return Math.Abs((x * cos) + (y * sin)) < word.HalfWidth + (0.5 * word.Height) && Math.Abs((y * cos) - (x * sin)) < word.Height;
    }

    /// <summary>Whether a point lies in a polygon, by the count of sides to its right.</summary>
    /// <param name="outline">The polygon.</param>
    /// <param name="point">The point.</param>
    internal static bool Contains(IReadOnlyList<PixelPoint> outline, PixelPoint point)
    {
        bool inside = false;
        for (int i = 0, j = outline.Count - 1; i < outline.Count; j = i++)
        {
            PixelPoint a = outline[i], b = outline[j];
            if (a.Y > point.Y != b.Y > point.Y && point.X < a.X + ((b.X - a.X) * (point.Y - a.Y) / (b.Y - a.Y)))
            {
                inside = !inside;
            }
        }

        return inside;
    }

    /// <summary>What lies around the letter, by the coarse map on a ring about it.</summary>
    /// <param name="map">The map.</param>
    /// <param name="pixels">The image.</param>
    /// <param name="marker">The letter.</param>
    /// <returns>Whether most of the ring is anatomy, and whether most of it is bone.</returns>
    internal static (bool OverAnatomy, bool OverDense) Surroundings(RegionMap map, ReadOnlyRaster<ushort> pixels, ReadMarker marker)
    {
        // The letter itself is labelled by its own density, so it is judged by a ring just beyond its box.
        const int Places = 48;
        double reach = marker.HalfWidth + (0.45 * marker.Height);
        (double turnSin, double turnCos) = Math.SinCos(marker.RotationDegrees * Math.PI / 180);
        int anatomy = 0, bone = 0, seen = 0;
        for (int k = 0; k < Places; k++)
        {
            (double sin, double cos) = Math.SinCos(2 * Math.PI * k / Places);
            double along = reach * cos, across = 0.8 * marker.Height * sin;
            int row = (int)Math.Round(marker.Y + (along * turnSin) + (across * turnCos)), column = (int)Math.Round(marker.X + (along * turnCos) - (across * turnSin));
            if (row < 0 || column < 0 || row >= pixels.Rows || column >= pixels.Columns)
            {
                continue;
            }

            seen++;
            RegionLabel label = map.At(row, column);
            anatomy += RegionMap.IsAnatomy(label) ? 1 : 0;
            bone += label == RegionLabel.Bone ? 1 : 0;
        }

        return (anatomy * 2 > seen, bone * 2 > seen);
    }

    /// <summary>Whether the letter is the header's laterality; null where the header names no side, or both.</summary>
    /// <param name="record">The header.</param>
    /// <param name="letter">"L" or "R".</param>
    internal static bool? AgreesWithHeader(ExposureRecord record, string letter) => record.Laterality switch
    {
        "L" => letter == "L",
        "R" => letter == "R",
        _ => null,
    };

    /// <summary>Whether the letter lies on its own side of the middle; null where the header does not say where right and left are, or names one side.</summary>
    /// <param name="record">The header.</param>
    /// <param name="outline">The field, or the picture.</param>
    /// <param name="marker">The letter.</param>
    internal static bool? OnItsSide(ExposureRecord record, IReadOnlyList<PixelPoint> outline, ReadMarker marker)
    {
        if (record.Laterality is "L" or "R" || record.PatientOrientation is not { Length: > 0 } orientation)
        {
            return null;
        }

        // Patient Orientation (0020,0020): the direction of the rows towards the right, then that of the columns downwards; its first letter counts most.
        string[] directions = orientation.Split('\\');
        double middleX = outline.Average(point => point.X), middleY = outline.Average(point => point.Y);
        foreach ((string direction, double off) in directions.Zip([marker.X - middleX, marker.Y - middleY]))
        {
            if (direction.Trim() is { Length: > 0 } names && names[0] is 'L' or 'R')
            {
                return (off > 0 ? direction.Trim()[0] : direction.Trim()[0] == 'L' ? 'R' : 'L') == marker.Letter[0];
            }
        }

        return null;
    }
}
