using Hotlight.Core;

namespace Hotlight.Accuracy.Elsewhere;

/// <summary>An exposure of the second generator: the receptor's signal with and without noise, and where the body lies. It has nothing in common with the phantom lab: bodies of formulas seen by parallel rays, a beam of a few lines, scatter as a wide blur, a blur with a long tail, noise with memory and flicker.</summary>
internal sealed class ElsewhereExposure
{
    // Attenuation over density of water and cortical bone in cm²/g, NIST's tables of x-ray mass attenuation coefficients, from memory; between the energies by powers.
    private static readonly (double Kev, double Water, double Bone)[] Attenuation =
    [
        (20, 0.8096, 4.001), (30, 0.3756, 1.331), (40, 0.2683, 0.6655), (50, 0.2269, 0.4242), (60, 0.2059, 0.3148), (80, 0.1837, 0.2229), (100, 0.1707, 0.1855), (150, 0.1505, 0.1480),
    ];

    private const double SoftDensity = 1.05;
    private const double CortexDensity = 1.9;
    private const double SpongyDensity = 1.18;
    private const double PlasterDensity = 0.9;

    // How far the fine texture of bone is bent, in mm: of the longest of its waves (4.5 mm) exp(−(2π·1.8/4.5)²/2), 4 %, stays in step.
    private const double BendMm = 1.8;

    // Photons of a hardened beam for 1 µGy, per mm² (IEC 62220-1 gives 30,174 for RQA5), times the share that a screen stops.
    private const double QuantaPerMicrograyPerMm2 = 28_000 * 0.6;

    private readonly ElsewherePlan plan;

    /// <summary>Makes the exposure of a plan.</summary>
    /// <param name="plan">The plan.</param>
    /// <param name="second">A second exposure on the same receptor, of the same form; null for none.</param>
    /// <param name="secondShare">Its signal over what its own plan gives.</param>
    public ElsewhereExposure(ElsewherePlan plan, ElsewherePlan? second = null, double secondShare = 0)
    {
        this.plan = plan;
        IsDouble = second is not null;
        Skin = new Raster<float>(plan.Rows, plan.Columns);
        Bone = new Raster<float>(plan.Rows, plan.Columns);
        Clean = Signal();
        if (second is not null)
        {
            ReadOnlySpan<float> other = new ElsewhereExposure(second).Clean.Samples;
            for (int k = 0; k < other.Length; k++)
            {
                Clean.Samples[k] += (float)secondShare * other[k];
            }
        }

        Saturation = Clean.Samples.ToArray().Max() * (plan.Kind == "exposure" && plan.DeviationIndex > 2 ? 0.35 : 1.3);
        Read = Noisy();
    }

    /// <summary>The plan.</summary>
    public ElsewherePlan Plan => plan;

    /// <summary>Whether the receptor was exposed twice.</summary>
    public bool IsDouble { get; }

    /// <summary>Skin to skin, in mm.</summary>
    public Raster<float> Skin { get; }

    /// <summary>Within bone surfaces, in mm.</summary>
    public Raster<float> Bone { get; }

    /// <summary>Signal without noise or faults of the receptor, in µGy.</summary>
    public Raster<float> Clean { get; }

    /// <summary>Signal as read, in µGy.</summary>
    public Raster<float> Read { get; }

    /// <summary>Where the receptor's signal ends, in µGy.</summary>
    public double Saturation { get; }

    /// <summary>Mean signal over the anatomy in the beam, in µGy.</summary>
    public double MeanMicrogray { get; private set; }

    /// <summary>Median signal over the anatomy in the beam, in µGy.</summary>
    public double MedianMicrogray { get; private set; }

    /// <summary>How far inside the beam a place lies, in mm.</summary>
    public double InsideBeam(double x, double y) => plan.Sides.Min(side => side.Inside(x, y));

    /// <summary>Place of a pixel, in mm.</summary>
    public (double X, double Y) Place(int row, int column) => ((column - ((plan.Columns - 1) / 2.0)) * plan.Spacing, (row - ((plan.Rows - 1) / 2.0)) * plan.Spacing);

    /// <summary>Area of the shadow of a dense thing, in mm².</summary>
    public double AreaMm2(DenseThing thing)
    {
        int count = 0;
        double step = plan.Spacing;
        for (double y = thing.Y - thing.ReachMm; y < thing.Y + thing.ReachMm; y += step)
        {
            for (double x = thing.X - thing.ReachMm; x < thing.X + thing.ReachMm; x += step)
            {
                count += thing.Distance(x, y) < 0 ? 1 : 0;
            }
        }

        return count * step * step;
    }

    private static (double Water, double Bone) At(double kev)
    {
        int k = 1;
        while (Attenuation[k].Kev < kev)
        {
            k++;
        }

        (double low, double waterLow, double boneLow) = Attenuation[k - 1];
        (double high, double waterHigh, double boneHigh) = Attenuation[k];
        double share = Math.Log(kev / low) / Math.Log(high / low);
        return (waterLow * Math.Pow(waterHigh / waterLow, share), boneLow * Math.Pow(boneHigh / boneLow, share));
    }

    /// <summary>Signal without noise: what passes the body, along the way it moved; beam, lead and dense things; scatter; blur.</summary>
    private Raster<float> Signal()
    {
        Raster<float> through = Body();
        if (plan.MotionMm > 0)
        {
            through = Blurs.Along(through, Way());
        }

        Raster<float> primary = Raster();
        Raster<float> scattered = Raster();
        double heelX = Math.Cos(plan.HeelDegrees * Math.PI / 180) / (plan.Columns * plan.Spacing);
        double heelY = Math.Sin(plan.HeelDegrees * Math.PI / 180) / (plan.Rows * plan.Spacing);
        double cutX = Math.Cos(plan.CutOffDegrees * Math.PI / 180) / (plan.Columns * plan.Spacing);
        double cutY = Math.Sin(plan.CutOffDegrees * Math.PI / 180) / (plan.Rows * plan.Spacing);
        Parallel.For(0, plan.Rows, row =>
        {
            for (int column = 0; column < plan.Columns; column++)
            {
                (double x, double y) = Place(row, column);
                double beam = 1;
                foreach (BeamSide side in plan.Sides)
                {
                    // Half at the line, straight across the penumbra.
                    beam *= Math.Clamp(0.5 + (side.Inside(x, y) / side.PenumbraMm), 0, 1);
                }

                double fall = (heelX * x) + (heelY * y) + 0.5;
                beam *= 1 - (plan.Heel * fall * fall);
                double passed = beam * through[row, column];
                scattered[row, column] = (float)(passed * plan.Form.ScatterShare * (1 - Math.Exp(-Skin[row, column] / 80)));
                passed *= Lead(x, y) * Dense(x, y);
                if (plan.CutOffShare > 0)
                {
                    double towards = Math.Clamp((2 * ((cutX * x) + (cutY * y))) + 0.15, 0, 1);
                    passed *= 1 - (plan.CutOffShare * towards);
                }

                primary[row, column] = (float)(passed + 0.0015);
            }
        });
        Raster<float> near = Blurs.Gaussian(scattered, plan.ScatterMm / plan.Spacing);
        Raster<float> far = Blurs.Gaussian(scattered, 2.6 * plan.ScatterMm / plan.Spacing);
        Parallel.For(0, plan.Rows, row =>
        {
            Span<float> to = primary.Row(row);
            for (int column = 0; column < to.Length; column++)
            {
                to[column] += (0.65f * near[row, column]) + (0.35f * far[row, column]);
            }
        });
        Raster<float> blurred = Blurs.Tailed(primary, plan.BlurMm / plan.Spacing);
        Scale(blurred);
        return blurred;
    }

    private Raster<float> Raster() => new(plan.Rows, plan.Columns);

    /// <summary>What passes the body, and the paths in it.</summary>
    private Raster<float> Body()
    {
        double c = Math.Cos(plan.TurnDegrees * Math.PI / 180);
        double s = Math.Sin(plan.TurnDegrees * Math.PI / 180);
        (double Share, double Soft, double Cortex, double Spongy, double Plaster)[] lines = [.. plan.Form.Energies.Select(line =>
        {
            (double water, double bone) = At(line.Kev);
            double spongy = (0.75 * water) + (0.25 * bone);
            return (line.Share, water * SoftDensity / 10, bone * CortexDensity / 10, spongy * SpongyDensity / 10, bone * 0.7 * PlasterDensity / 10);
        })];
        var random = new Random(plan.TextureSeed);
        Wave[] fine = Wave.Draw(random, 16, 1.1, 4.5);
        Wave[] coarse = Wave.Draw(random, 14, 7, 50);
        Wave[] bentX = Wave.Draw(random, 6, 10, 30);
        Wave[] bentY = Wave.Draw(random, 6, 10, 30);
        Raster<float> through = Raster();
        Parallel.For(0, plan.Rows, row =>
        {
            for (int column = 0; column < plan.Columns; column++)
            {
                (double px, double py) = Place(row, column);
                px -= plan.ShiftX;
                py -= plan.ShiftY;
                double x = (px * c) + (py * s);
                double y = (py * c) - (px * s);
                Lengths lengths = plan.Body.At(x, y);
                Skin[row, column] = (float)lengths.Skin;
                Bone[row, column] = (float)(lengths.Cortex + lengths.Spongy);
                double plaster = plan.Plaster > 0 ? Shell(x, y, lengths.Skin) : 0;
                if (lengths.Skin <= 0 && plaster <= 0)
                {
                    through[row, column] = 1;
                    continue;
                }

                double soft = lengths.Soft + (0.03 * Math.Min(lengths.Soft, 45) * Wave.Sum(coarse, x, y));
                double spongy = 0;
                if (lengths.Spongy > 0)
                {
                    // Plane waves alone are evenly spaced lines from one end of the bone to the other, as a grid's; bent, they keep step over a few of their lengths only.
                    double bx = x + (BendMm * Wave.Sum(bentX, x, y));
                    double by = y + (BendMm * Wave.Sum(bentY, x, y));
                    spongy = lengths.Spongy * (1 + (0.22 * Wave.Sum(fine, bx, by)));
                }

                double sum = 0;
                foreach ((double share, double ofSoft, double ofCortex, double ofSpongy, double ofPlaster) in lines)
                {
                    sum += share * Math.Exp(-(ofSoft * soft) - (ofCortex * lengths.Cortex) - (ofSpongy * spongy) - (ofPlaster * plaster));
                }

                through[row, column] = (float)sum;
            }
        });
        return through;
    }

    /// <summary>Length of the ray in a shell of plaster about the first bar.</summary>
    private double Shell(double x, double y, double skin)
    {
        Capsule bar = plan.Body.Bars[0];
        double rough = 1 + (0.12 * Math.Sin(x * 0.9) * Math.Sin(y * 0.7));
        return Math.Max(0, (bar with { R0 = bar.R0 + (plan.Plaster * rough), R1 = bar.R1 + (plan.Plaster * rough) }).Thickness(x, y) - skin);
    }

    private double Lead(double x, double y)
    {
        double through = 1;
        if (plan.Marker is { } marker && plan.Make is MarkerMake.Letter or MarkerMake.CutOut)
        {
            StrokeText letter = plan.Marker!;
            double reach = Math.Max(1.6 * letter.HeightMm, letter.ReachMm);
            if (Math.Abs(x - letter.X) < reach && Math.Abs(y - letter.Y) < reach)
            {
                through *= 1 - ((1 - plan.LeadThrough) * Leaded(letter, x, y));
            }
        }

        foreach (StrokeText text in plan.LeadTexts)
        {
            if (Math.Abs(x - text.X) < text.ReachMm && Math.Abs(y - text.Y) < text.ReachMm)
            {
                through *= 1 - ((1 - plan.LeadThrough) * Covered(text.Distance(x, y)));
            }
        }

        return through;
    }

    private double Leaded(StrokeText letter, double x, double y)
    {
        double cover = Covered(letter.Distance(x, y));
        if (plan.Make == MarkerMake.Letter)
        {
            return cover;
        }

        if (letter.Text.Length > 1)
        {
            // A bar of lead with the word cut out.
            (double u, double v) = letter.Own(x, y);
            double middle = 0.425 * (letter.Text.Length - 1);
            return Covered(letter.HeightMm * Math.Max(Math.Abs(u - middle) - middle - 0.65, Math.Abs(v) - 0.85)) * (1 - cover);
        }

        double dx = x - letter.X;
        double dy = y - letter.Y;
        return Covered(Math.Sqrt((dx * dx) + (dy * dy)) - (0.95 * letter.HeightMm)) * (1 - cover);
    }

    private double Dense(double x, double y)
    {
        double through = 1;
        foreach (DenseThing thing in plan.Things)
        {
            if (Math.Abs(x - thing.X) < thing.ReachMm && Math.Abs(y - thing.Y) < thing.ReachMm)
            {
                through *= 1 - ((1 - thing.Through) * Covered(thing.Distance(x, y)));
            }
        }

        return through;
    }

    /// <summary>Share of a pixel that is covered, from the distance of its centre to the rim.</summary>
    private double Covered(double distanceMm) => Math.Clamp(0.5 - (distanceMm / plan.Spacing), 0, 1);

    /// <summary>Places on the curved way of the body, in pixels about its middle.</summary>
    private List<PixelPoint> Way()
    {
        int count = 3 + (int)Math.Ceiling(2 * plan.MotionMm / plan.Spacing);
        double c = Math.Cos(plan.MotionDegrees * Math.PI / 180);
        double s = Math.Sin(plan.MotionDegrees * Math.PI / 180);
        List<PixelPoint> way = [];
        for (int k = 0; k < count; k++)
        {
            double at = (k / (count - 1.0)) - 0.5;
            double along = at * plan.MotionMm;
            double across = plan.MotionBend * plan.MotionMm * (0.25 - (at * at)) * 4 * 0.5;
            way.Add(new PixelPoint(X: ((along * c) - (across * s)) / plan.Spacing, Y: ((along * s) + (across * c)) / plan.Spacing));
        }

        return way;
    }

    /// <summary>Scales to the exposure index that the plan asks for.</summary>
    private void Scale(Raster<float> signal)
    {
        double sum = 0;
        long count = 0;
        List<float> values = [];
        for (int row = 0; row < plan.Rows; row += 2)
        {
            for (int column = 0; column < plan.Columns; column += 2)
            {
                (double x, double y) = Place(row, column);
                if (Skin[row, column] >= 1 && InsideBeam(x, y) > 0)
                {
                    sum += signal[row, column];
                    count++;
                    values.Add(signal[row, column]);
                }
            }
        }

        MeanMicrogray = plan.Form.TargetIndex / 100 * Math.Pow(10, plan.DeviationIndex / 10);
        float scale = (float)(MeanMicrogray * count / sum);
        values.Sort();
        MedianMicrogray = scale * values[values.Count / 2];
        foreach (ref float value in signal.Samples)
        {
            value *= scale;
        }
    }

    /// <summary>Noise with memory, flicker and electronics; then the receptor's faults.</summary>
    private Raster<float> Noisy()
    {
        Raster<float> memory = White(plan.NoiseSeed);
        Remember(memory, (float)plan.Correlation);
        Raster<float> white = White(plan.NoiseSeed ^ 0x5bd1e995);
        Raster<float> flicker = Flicker();
        double perPixel = QuantaPerMicrograyPerMm2 * plan.Spacing * plan.Spacing;
        float correlated = (float)Math.Sqrt(plan.CorrelationShare);
        float alone = (float)Math.Sqrt(1 - plan.CorrelationShare);
        Raster<float> read = Raster();
        Parallel.For(0, plan.Rows, row =>
        {
            NoiseStream electronic = new(plan.NoiseSeed ^ 0x2545f491, row);
            for (int column = 0; column < plan.Columns; column++)
            {
                double signal = Clean[row, column];
                double deviation = Math.Sqrt(Math.Max(0, signal) / perPixel);
                double noise = (deviation * ((correlated * memory[row, column]) + (alone * white[row, column])))
                    + (plan.FlickerShare * signal * flicker[row, column])
                    + (plan.ElectronicMicrogray * electronic.Next());
                double value = signal + noise;
                if (plan.LinesPerMm > 0)
                {
                    (double x, double y) = Place(row, column);
                    double phase = ((x * Math.Cos(plan.LinesDegrees * Math.PI / 180)) + (y * Math.Sin(plan.LinesDegrees * Math.PI / 180))) * plan.LinesPerMm;
                    value *= 1 + (plan.LinesShare * Math.Sin(2 * Math.PI * phase));
                }

                if (plan.StepAt > 0 && (plan.StepIsRow ? row : column) >= plan.StepAt)
                {
                    value *= 1 + plan.StepShare;
                }

                read[row, column] = (float)Math.Clamp(value, 0, Saturation);
            }
        });
        foreach (int column in plan.DeadColumns)
        {
            for (int row = 0; row < plan.Rows; row++)
            {
                read[row, column] = 0;
            }
        }

        foreach (int row in plan.DeadRows)
        {
            read.Row(row).Fill((float)Saturation);
        }

        foreach ((int top, int left, int side) in plan.DeadClusters)
        {
            for (int row = top; row < top + side; row++)
            {
                read.Row(row).Slice(left, side).Fill(row % 2 == 0 || side < 4 ? 0 : (float)Saturation);
            }
        }

        return read;
    }

    private Raster<float> White(int seed)
    {
        Raster<float> white = Raster();
        Parallel.For(0, plan.Rows, row =>
        {
            NoiseStream stream = new(seed, row);
            Span<float> line = white.Row(row);
            for (int column = 0; column < line.Length; column++)
            {
                line[column] = (float)stream.Next();
            }
        });
        return white;
    }

    /// <summary>Each pixel keeps a share of its neighbour's noise, forward and back, in both directions: a correlation that falls exponentially.</summary>
    private static void Remember(Raster<float> noise, float keep)
    {
        float fresh = MathF.Sqrt(1 - (keep * keep));
        Parallel.For(0, noise.Rows, row =>
        {
            Span<float> line = noise.Row(row);
            for (int column = 1; column < line.Length; column++)
            {
                line[column] = (keep * line[column - 1]) + (fresh * line[column]);
            }
        });
        for (int row = 1; row < noise.Rows; row++)
        {
            ReadOnlySpan<float> above = noise.Row(row - 1);
            Span<float> line = noise.Row(row);
            for (int column = 0; column < line.Length; column++)
            {
                line[column] = (keep * above[column]) + (fresh * line[column]);
            }
        }
    }

    /// <summary>Noise whose power falls as the frequency rises: octaves of equal strength, each smoothed at its own scale.</summary>
    private Raster<float> Flicker()
    {
        Raster<float> sum = Raster();
        int seed = plan.NoiseSeed ^ 0x1b873593;
        foreach (int step in new[] { 4, 8, 16, 32 })
        {
            int rows = (plan.Rows / step) + 2;
            int columns = (plan.Columns / step) + 2;
            NoiseStream stream = new(seed, step);
            float[] knots = new float[rows * columns];
            for (int k = 0; k < knots.Length; k++)
            {
                knots[k] = (float)stream.Next();
            }

            Parallel.For(0, plan.Rows, row =>
            {
                int r = row / step;
                float v = (row % step) / (float)step;
                Span<float> to = sum.Row(row);
                for (int column = 0; column < to.Length; column++)
                {
                    int c = column / step;
                    float u = (column % step) / (float)step;
                    int at = (r * columns) + c;
                    to[column] += 0.6f * (((1 - v) * (((1 - u) * knots[at]) + (u * knots[at + 1]))) + (v * (((1 - u) * knots[at + columns]) + (u * knots[at + columns + 1]))));
                }
            });
        }

        return sum;
    }

    /// <summary>A plane wave of a texture.</summary>
    private sealed record Wave(double Kx, double Ky, double Phase, double Amplitude)
    {
        public static Wave[] Draw(Random random, int count, double shortestMm, double longestMm)
        {
            Wave[] waves = new Wave[count];
            double power = 0;
            for (int k = 0; k < count; k++)
            {
                double length = shortestMm * Math.Pow(longestMm / shortestMm, random.NextDouble());
                double angle = 2 * Math.PI * random.NextDouble();
                waves[k] = new Wave(2 * Math.PI * Math.Cos(angle) / length, 2 * Math.PI * Math.Sin(angle) / length, 2 * Math.PI * random.NextDouble(), length);
                power += length * length / 2;
            }

            return [.. waves.Select(wave => wave with { Amplitude = wave.Amplitude / Math.Sqrt(power) })];
        }

        public static double Sum(Wave[] waves, double x, double y)
        {
            double sum = 0;
            foreach (Wave wave in waves)
            {
                sum += wave.Amplitude * Math.Cos((wave.Kx * x) + (wave.Ky * y) + wave.Phase);
            }

            return sum;
        }
    }
}
