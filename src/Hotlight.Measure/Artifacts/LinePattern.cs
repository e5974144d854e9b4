using Hotlight.Core;

namespace Hotlight.Measure.Artifacts;

/// <summary>A pattern of straight, evenly spaced lines over the whole field.</summary>
/// <param name="PerPixelX">Cycles per pixel along a row.</param>
/// <param name="PerPixelY">Cycles per pixel down the rows.</param>
/// <param name="PerPixelSigma">One standard deviation of either.</param>
/// <param name="Amplitude">Half of peak to peak, on the attenuation scale.</param>
/// <param name="AmplitudeSigma">One standard deviation.</param>
/// <param name="Strength">ln(power) above its surroundings, over the limit.</param>
internal readonly record struct LinePattern(double PerPixelX, double PerPixelY, double PerPixelSigma, double Amplitude, double AmplitudeSigma, double Strength)
{
    /// <summary>Cycles per pixel across the lines, for square pixels.</summary>
    public double PerPixel => Math.Sqrt((PerPixelX * PerPixelX) + (PerPixelY * PerPixelY));

    /// <summary>Whether the lines run along rows or columns as exactly as can be told.</summary>
    public bool IsAlongAxis => Math.Min(Math.Abs(PerPixelX), Math.Abs(PerPixelY)) < Math.Max(4 * PerPixelSigma, 2e-4);
}

/// <summary>Looks for line patterns as peaks of the field's spectrum.</summary>
/// <remarks>
/// <para>A peak must stand above the median of the 56 values around it, and above the spectrum farther in and out on the same ray, by six standard deviations of a value: by chance in about one of 100 000 images of noise (8192 values, normal tail 1e-9). Trabeculae and ribs have broad spectra and make no peak; a zip or a necklace is in a few tiles only.</para>
/// </remarks>
internal static class LinePatterns
{
    // Standard deviations above the surroundings.
    private const double LeastSigmas = 6;

    // And at least this much, in ln(power): with many tiles six deviations are 1.2, and structure adds to them.
    private const double LeastExcess = 1.25;

    // Below this the anatomy's own spectrum is too steep to see a peak on, in cycles per pixel.
    private const double LeastFrequency = 0.04;

    // Power of a pattern over that beside it on its ray, in the large square. A pattern at the limit of the tiles has 30 and more there; the largest of a few exponential values is 3 to 5 times their mean.
    private const double LeastOverRay = 8;

    // Excess of a pattern, in ln(power), over the quieter half of the tiles: a grid's lines lie over the whole field and stand out most where there is least else. Without lines the mean of twenty values is −0.2 ± 0.3 (the logarithm of an exponential value, less that of their median, is −0.21 ± 1.28), of eight ± 0.5. On the second generator's seed 7001 textures of bone reach 2.3, lines 6.8 and more.
    private const double LeastQuietExcess = 2.5;

    // A tile shows the lines clearly where its own power beside them is a sixteenth of theirs, ln 16; of such tiles no more than this share may lack them (be below a quarter of their amplitude). There: textures 0.24 and more, lines 0.
    private const double ClearLog = 2.77;
    private const double MostMissing = 0.15;

    // A peak on the other axis at the same frequency, this clear: the pattern of blocks, not of a grid.
    private const double CrossSigmas = 2.5;

    /// <summary>What was found.</summary>
    /// <param name="Patterns">The patterns, strongest first, one a direction.</param>
    /// <param name="BlocksPerPixel">Frequency of a pattern of square blocks, in cycles per pixel; null where there is none.</param>
    internal readonly record struct Result(List<LinePattern> Patterns, double? BlocksPerPixel);

    /// <summary>Looks for patterns.</summary>
    /// <param name="spectrum">The field's spectrum.</param>
    /// <param name="pixels">The stored pixels.</param>
    /// <param name="scale">The attenuation scale.</param>
    /// <param name="span">The field.</param>
    public static Result Find(FieldSpectrum spectrum, ReadOnlyRaster<ushort> pixels, AttenuationScale scale, FieldSpan span)
    {
        int half = spectrum.Side / 2;
        double limit = Math.Max(LeastExcess, LeastSigmas * spectrum.LogSigma);
        var peaks = new List<(int Row, int Column, double Excess)>();
        for (int row = 0; row <= half; row++)
        {
            for (int column = row == 0 || row == half ? 0 : -half; column <= half; column++)
            {
                double radius = Math.Sqrt((row * row) + (column * column));
                if (radius >= LeastFrequency * spectrum.Side && IsPeak(spectrum, row, column))
                {
                    double excess = spectrum.At(row, column) - Surroundings(spectrum, row, column);
                    if (excess > limit)
                    {
                        peaks.Add((row, column, excess));
                    }
                }
            }
        }

        peaks.Sort((a, b) => b.Excess.CompareTo(a.Excess));
        double? blocks = null;
        var patterns = new List<LinePattern>();
        foreach ((int row, int column, double excess) in peaks)
        {
            if (row == 0 || column == 0)
            {
                double cross = spectrum.At(column, row) - Surroundings(spectrum, column, row);
                bool isEighth = Math.Max(row, Math.Abs(column)) % (spectrum.Side / 8) == 0;
                if (cross > CrossSigmas * spectrum.LogSigma || (isEighth && blocks is not null))
                {
                    blocks ??= (double)Math.Max(row, Math.Abs(column)) / spectrum.Side;
                    continue;
                }
            }
            else if (blocks is not null && row % (spectrum.Side / 8) == 0 && column % (spectrum.Side / 8) == 0)
            {
                continue;
            }

            if (patterns.Count < 2 && !patterns.Exists(other => SameDirection(other, row, column))
                && Refine(pixels, scale, span, (double)column / spectrum.Side, (double)row / spectrum.Side, 1.0 / spectrum.Side, excess / limit) is { } pattern
                && IsOverField(spectrum, pixels, scale, pattern))
            {
                patterns.Add(pattern);
            }
        }

        return new Result(patterns, blocks);
    }

    /// <summary>Whether the pattern is in the quieter half of the tiles too, and in nearly all tiles that would show it. The texture of a bone, a woven cloth or a comb of ribs is evenly spaced at times, but over a part of the field.</summary>
    private static bool IsOverField(FieldSpectrum spectrum, ReadOnlyRaster<ushort> pixels, AttenuationScale scale, LinePattern pattern)
    {
        int side = spectrum.Side;
        var tile = new float[side * side];
        var tiles = new List<(double Around, double Excess)>(spectrum.Tiles);
        Span<double> around = stackalloc double[12];
        foreach ((int Row, int Column) corner in spectrum.Corners)
        {
            spectrum.Fill(pixels, scale.ByPixelValue, corner, tile);

            // A Hann window's peak ends two bins away; four bins away is the tile's own noise and texture.
            for (int at = 0; at < around.Length; at++)
            {
                (double sine, double cosine) = Math.SinCos(2 * Math.PI * at / around.Length);
                around[at] = Power(tile, side, side, pattern.PerPixelX + (4 * cosine / side), pattern.PerPixelY + (4 * sine / side));
            }

            around.Sort();
            double usual = Math.Log(((around[5] + around[6]) / 2) + 1e-30);
            tiles.Add((usual, Math.Log(Power(tile, side, side, pattern.PerPixelX, pattern.PerPixelY) + 1e-30) - usual));
        }

        // What the lines would give in a tile: amplitude times half of the window's sum, which is a quarter of the tile's area.
        double expected = 2 * Math.Log(pattern.Amplitude * side * side / 8);
        int clear = tiles.Count(item => item.Around < expected - ClearLog), missing = tiles.Count(item => item.Around < expected - ClearLog && item.Around + item.Excess < expected - ClearLog);
        if (missing > MostMissing * clear)
        {
            return false;
        }

        return tiles.OrderBy(item => item.Around).Take((tiles.Count + 1) / 2).Average(item => item.Excess) >= LeastQuietExcess;
    }

    private static bool SameDirection(LinePattern pattern, int row, int column)
    {
        double cross = ((pattern.PerPixelX * row) - (pattern.PerPixelY * column)) / (pattern.PerPixel * Math.Sqrt((row * row) + (column * column)));
        return Math.Abs(cross) < 0.35;
    }

    private static bool IsPeak(FieldSpectrum spectrum, int row, int column)
    {
        double own = spectrum.At(row, column);
        for (int dy = -1; dy <= 1; dy++)
        {
            for (int dx = -1; dx <= 1; dx++)
            {
                if ((dy != 0 || dx != 0) && spectrum.At(row + dy, column + dx) > own)
                {
                    return false;
                }
            }
        }

        return true;
    }

    /// <summary>What the spectrum would be without the peak: the higher of the median around it and of the means farther in and farther out on its ray.</summary>
    private static double Surroundings(FieldSpectrum spectrum, int row, int column)
    {
        Span<double> around = stackalloc double[56];
        int count = 0;
        for (int dy = -4; dy <= 4; dy++)
        {
            for (int dx = -4; dx <= 4; dx++)
            {
                if (Math.Abs(dy) > 2 || Math.Abs(dx) > 2)
                {
                    around[count++] = spectrum.At(row + dy, column + dx);
                }
            }
        }

        around.Sort();
        double median = (around[27] + around[28]) / 2, radius = Math.Sqrt((row * row) + (column * column));
        double inward = 0, outward = 0;
        for (int away = 4; away <= 6; away++)
        {
            inward += spectrum.At((int)Math.Round(row * (radius - away) / radius), (int)Math.Round(column * (radius - away) / radius)) / 3;
            outward += spectrum.At((int)Math.Round(row * (radius + away) / radius), (int)Math.Round(column * (radius + away) / radius)) / 3;
        }

        // On a ray the spectrum falls outward: between the two lies what it would be here.
        return Math.Max(median, (inward + outward) / 2);
    }

    /// <summary>Frequency and amplitude of a pattern from one large square in the middle of the field, by the highest value of its windowed transform.</summary>
    private static LinePattern? Refine(ReadOnlyRaster<ushort> pixels, AttenuationScale scale, FieldSpan span, double x, double y, double bin, double strength)
    {
        int row0 = 0, row1 = pixels.Rows - 1;
        while (row0 < row1 && span.Row(row0).End - span.Row(row0).First < 64)
        {
            row0++;
        }

        while (row1 > row0 && span.Row(row1).End - span.Row(row1).First < 64)
        {
            row1--;
        }

        int rows = Math.Min(512, (row1 - row0 + 1) * 3 / 4), top = ((row0 + row1) / 2) - (rows / 2);
        int left = Math.Max(span.Row(top).First, span.Row(top + rows - 1).First), right = Math.Min(span.Row(top).End, span.Row(top + rows - 1).End);
        int columns = Math.Min(512, right - left);
        if (rows < 64 || columns < 64)
        {
            return null;
        }

        left = ((left + right) / 2) - (columns / 2);
        var windowed = new float[rows * columns];
        double mean = 0;
        for (int row = 0; row < rows; row++)
        {
            ReadOnlySpan<ushort> line = pixels.Row(top + row).Slice(left, columns);
            foreach (ushort value in line)
            {
                mean += scale.ByPixelValue[value];
            }
        }

        mean /= (double)rows * columns;
        double weights = 0, squares = 0;
        var across = new double[columns];
        for (int column = 0; column < columns; column++)
        {
            across[column] = 1 - Math.Cos(2 * Math.PI * (column + 0.5) / columns);
        }

        for (int row = 0; row < rows; row++)
        {
            ReadOnlySpan<ushort> line = pixels.Row(top + row).Slice(left, columns);
            double down = 0.5 * (1 - Math.Cos(2 * Math.PI * (row + 0.5) / rows));
            for (int column = 0; column < columns; column++)
            {
                double weight = down * 0.5 * across[column];
                windowed[(row * columns) + column] = (float)((scale.ByPixelValue[line[column]] - mean) * weight);
                weights += weight;
                squares += weight * weight;
            }
        }

        double step = bin / 2;
        double best = 0, noise = 0;
        for (int round = 0; round < 4; round++)
        {
            (double X, double Y, double Power)[] tries = Around(windowed, rows, columns, x, y, step);
            (double X, double Y, double Power) top3 = tries.MaxBy(item => item.Power);
            (x, y, best) = top3;
            if (round == 0)
            {
                // Off the peak by the bin's own width, the median is what noise and anatomy give.
                noise = tries.Select(item => item.Power).Order().ElementAt(tries.Length / 4);
            }

            step /= 2.5;
        }

        // On the same ray, two to six widths of the window's peak away: lines of their own random offsets are as strong there, a tone is not.
        double fx = x / Math.Sqrt((x * x) + (y * y)), fy = y / Math.Sqrt((x * x) + (y * y)), width = 1.5 / Math.Min(rows, columns);
        var ray = new List<double>();
        for (int away = 2; away <= 6; away++)
        {
            ray.Add(Power(windowed, rows, columns, x + (away * width * fx), y + (away * width * fy)));
            ray.Add(Power(windowed, rows, columns, x - (away * width * fx), y - (away * width * fy)));
        }

        // The median of exponential values is ln 2 of their mean.
        ray.Sort();
        if (best < LeastOverRay * (ray[4] + ray[5]) / 2 / Math.Log(2))
        {
            return null;
        }

        // Parabola through the last three in each direction.
        (double X, double Y, double Power)[] last = Around(windowed, rows, columns, x, y, step);
        double PowerAt(int dx, int dy) => last[((dy + 2) * 5) + dx + 2].Power;
        x += step * Vertex(PowerAt(-1, 0), PowerAt(0, 0), PowerAt(1, 0));
        y += step * Vertex(PowerAt(0, -1), PowerAt(0, 0), PowerAt(0, 1));
        double amplitude = 2 * Math.Sqrt(best) / weights, amplitudeSigma = Math.Sqrt(2 * noise) / weights;

        // Cramér–Rao bound of a tone's frequency, σ_f = √6 / (π·L) · σ_A / A with σ_A² = 2σ²/N, and a Hann window's loss of √1.5 in σ_A (in amplitudeSigma) and again in the length it uses.
        double length = Math.Min(rows, columns);
        double sigma = (1.5 * Math.Sqrt(6) / (Math.PI * length) * amplitudeSigma / (Math.Sqrt(2) * amplitude)) + 1e-6;
        return new LinePattern(x, y, sigma, amplitude, amplitudeSigma, strength);
    }

    private static double Power(float[] windowed, int rows, int columns, double x, double y)
    {
        var cosines = new float[columns];
        var sines = new float[columns];
        for (int column = 0; column < columns; column++)
        {
            (double s, double c) = Math.SinCos(-2 * Math.PI * x * column);
            cosines[column] = (float)c;
            sines[column] = (float)s;
        }

        double sumReal = 0, sumImaginary = 0;
        for (int row = 0; row < rows; row++)
        {
            ReadOnlySpan<float> line = windowed.AsSpan(row * columns, columns);
            float real = Dot(line, cosines), imaginary = Dot(line, sines);
            (double s, double c) = Math.SinCos(-2 * Math.PI * y * row);
            sumReal += (real * c) - (imaginary * s);
            sumImaginary += (real * s) + (imaginary * c);
        }

        return (sumReal * sumReal) + (sumImaginary * sumImaginary);
    }

    private static double Vertex(double before, double at, double after)
    {
        double curve = before - (2 * at) + after;
        return curve < 0 ? Math.Clamp(0.5 * (before - after) / curve, -1, 1) : 0;
    }

    private static (double X, double Y, double Power)[] Around(float[] windowed, int rows, int columns, double x, double y, double step)
    {
        var tries = new (double X, double Y, double Power)[25];
        Parallel.For(-2, 3, dx =>
        {
            double atX = x + (dx * step);
            var real = new double[rows];
            var imaginary = new double[rows];
            var cosines = new float[columns];
            var sines = new float[columns];
            for (int column = 0; column < columns; column++)
            {
                (double s, double c) = Math.SinCos(-2 * Math.PI * atX * column);
                cosines[column] = (float)c;
                sines[column] = (float)s;
            }

            for (int row = 0; row < rows; row++)
            {
                ReadOnlySpan<float> line = windowed.AsSpan(row * columns, columns);
                real[row] = Dot(line, cosines);
                imaginary[row] = Dot(line, sines);
            }

            for (int dy = -2; dy <= 2; dy++)
            {
                double atY = y + (dy * step), sumReal = 0, sumImaginary = 0;
                for (int row = 0; row < rows; row++)
                {
                    (double s, double c) = Math.SinCos(-2 * Math.PI * atY * row);
                    sumReal += (real[row] * c) - (imaginary[row] * s);
                    sumImaginary += (real[row] * s) + (imaginary[row] * c);
                }

                tries[((dy + 2) * 5) + dx + 2] = (atX, atY, (sumReal * sumReal) + (sumImaginary * sumImaginary));
            }
        });
        return tries;
    }

    private static float Dot(ReadOnlySpan<float> a, ReadOnlySpan<float> b)
    {
        ReadOnlySpan<System.Numerics.Vector<float>> first = System.Runtime.InteropServices.MemoryMarshal.Cast<float, System.Numerics.Vector<float>>(a);
        ReadOnlySpan<System.Numerics.Vector<float>> second = System.Runtime.InteropServices.MemoryMarshal.Cast<float, System.Numerics.Vector<float>>(b);
        System.Numerics.Vector<float> sum = System.Numerics.Vector<float>.Zero;
        for (int at = 0; at < first.Length; at++)
        {
            sum += first[at] * second[at];
        }

        float rest = System.Numerics.Vector.Sum(sum);
        for (int at = first.Length * System.Numerics.Vector<float>.Count; at < a.Length; at++)
        {
            rest += a[at] * b[at];
        }

        return rest;
    }
}
