using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Imaging.Dicom;

namespace Hotlight.Benchmarks;

/// <summary>An invented exposure of a limb at full receptor size, with work for every section: tilted field with penumbra and scatter, skin, two bones, a lead L, a ring, lines of a grid, a dead column, quantum noise through a blur.</summary>
internal static class GeneratedExposure
{
    private const int Seed = 20260;
    private const double DirectSignal = 42_000;
    private const double SpacingMm = 0.1;

    /// <summary>Writes the exposure as an uncompressed digital x-ray object, for processing, 16 bits.</summary>
    /// <param name="path">Where to.</param>
    /// <param name="rows">Number of rows.</param>
    /// <param name="columns">Number of columns.</param>
    public static void Write(string path, int rows, int columns)
    {
        using FileStream stream = File.Create(path);
        DicomWriter.Write(stream, DxObject.Create(Draw(rows, columns), new DxDescription { Comments = "invented exposure for benchmarks", Seed = "benchmark" }));
    }

    private static Radiograph Draw(int rows, int columns)
    {
        var pixels = new Raster<ushort>(rows, columns);
        float[][] noise = Noise(rows, columns);
        double tilt = 3 * Math.PI / 180;
        (double cosine, double sine) = (Math.Cos(tilt), Math.Sin(tilt));
        Parallel.For(0, rows, row =>
        {
            Span<ushort> line = pixels.Row(row);
            double y = ((double)row / rows) - 0.5;
            for (int column = 0; column < columns; column++)
            {
                double x = ((double)column / columns) - 0.5;
                double u = (x * cosine) + (y * sine);
                double v = (y * cosine) - (x * sine);

                // The field is 70 % × 80 % of the receptor; its penumbra is about 6 pixels, and scatter of 2 % falls off beyond it.
                double outside = Math.Max(Math.Abs(u) - 0.35, Math.Abs(v) - 0.40);
                double beam = 0.5 * (1 - Math.Tanh(outside * columns / 6));
                double scatter = 0.02 * Math.Exp(-Math.Max(0, outside) * 12);

                // Thickness in mm over a limb 90 mm across at the upper end and 70 mm at the lower; two bones in it.
                double half = 0.15 - (0.03 * v);
                double tissue = Chord(u, half) * 300;
                double bone = (Chord(u + 0.055, 0.028) + Chord(u - 0.05, 0.022)) * 300 * 0.7;
                double mm = columns * SpacingMm;
                double lines = 1 + (0.006 * Math.Sin(2 * Math.PI * 1.3 * x * mm));
                double signal = DirectSignal * lines * ((beam * Dense(u * mm, v * mm, mm) * Math.Exp((-0.022 * tissue) - (0.05 * bone))) + scatter);
                double deviation = 0.9 * Math.Sqrt(signal);
                line[column] = (ushort)Math.Clamp(Math.Round(signal + (deviation * noise[row][column])), 0, ushort.MaxValue);
            }

            line[columns * 2 / 5] = 0;
        });
        return new Radiograph
        {
            FileName = "benchmark.dcm",
            Source = ImageSource.Dicom,
            Pixels = pixels,
            BitsStored = 16,
            Encoding = "uncompressed",
            ReceptorSpacing = new PixelSpacing(rowSpacingMm: SpacingMm, columnSpacingMm: SpacingMm),
            HighIsShownDark = true,
            PresentationIntent = PresentationIntent.ForProcessing,
            Relationship = PixelRelationship.Linear,
            RelationshipSign = 1,
            Windows = [new VoiTransform { Center = 18_000, Width = 36_000 }],
            Exposure = new ExposureRecord { ExposureIndex = 310, TargetExposureIndex = 250, DeviationIndex = 0.9, TubeVoltageKvp = 60 },
        };
    }

    /// <summary>What passes a lead L, 12 mm high, at the upper right of the field, and a ring at its lower left.</summary>
    private static double Dense(double x, double y, double mm)
    {
        double u = x - (0.27 * mm);
        double v = y + (0.3 * mm);
        bool letter = (Math.Abs(u + 3) < 1 && Math.Abs(v) < 6) || (Math.Abs(u) < 4 && Math.Abs(v - 5) < 1);
        double radius = Math.Sqrt(((x + (0.27 * mm)) * (x + (0.27 * mm))) + ((y - (0.3 * mm)) * (y - (0.3 * mm))));
        return letter ? 0.06 : Math.Abs(radius - 7) < 1.2 ? 0.2 : 1;
    }

    // The framework's seeded generator is linear in its seed: evenly spaced seeds would make the same columns answer otherwise in every row. Mixed by
    // the finaliser of SplitMix64 (Steele, Lea, Flood, Proc OOPSLA 2014:453), they are as unlike as chance.
    private static int SeedOf(int row)
    {
        ulong word = ((ulong)Seed << 32) + ((ulong)row * 0x9E3779B97F4A7C15);
        word = (word ^ (word >> 30)) * 0xBF58476D1CE4E5B9;
        word = (word ^ (word >> 27)) * 0x94D049BB133111EB;
        return (int)((word ^ (word >> 31)) & int.MaxValue);
    }

    private static double Chord(double across, double half) => Math.Abs(across) < half ? 2 * Math.Sqrt((half * half) - (across * across)) : 0;

    /// <summary>White noise of deviation 1 averaged with its neighbours (1, 2, 1 in both directions), scaled back to deviation 1.</summary>
    private static float[][] Noise(int rows, int columns)
    {
        var white = new float[rows][];
        Parallel.For(0, rows, row =>
        {
            var random = new Random(SeedOf(row));
            var line = new float[columns];
            for (int column = 0; column < columns; column++)
            {
                line[column] = (float)(Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble()));
            }

            white[row] = line;
        });
        var blurred = new float[rows][];

        // Sum of squares of (1, 2, 1) ⊗ (1, 2, 1) is 36.
        const float Scale = 1 / 6f;
        Parallel.For(0, rows, row =>
        {
            float[] above = white[Math.Max(0, row - 1)];
            float[] here = white[row];
            float[] below = white[Math.Min(rows - 1, row + 1)];
            var line = new float[columns];
            for (int column = 0; column < columns; column++)
            {
                int left = Math.Max(0, column - 1);
                int right = Math.Min(columns - 1, column + 1);
                line[column] = Scale * (above[left] + (2 * above[column]) + above[right]
                    + (2 * (here[left] + (2 * here[column]) + here[right]))
                    + below[left] + (2 * below[column]) + below[right]);
            }

            blurred[row] = line;
        });
        return blurred;
    }
}
