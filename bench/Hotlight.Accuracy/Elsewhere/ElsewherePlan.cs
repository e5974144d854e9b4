using Hotlight.Core;

namespace Hotlight.Accuracy.Elsewhere;

/// <summary>A side of the beam: a line with what lies outward of it in shadow.</summary>
/// <param name="OutX">Direction outward.</param>
/// <param name="OutY">Direction outward.</param>
/// <param name="AtMm">Distance of the line from the picture's middle along that direction, in mm.</param>
/// <param name="PenumbraMm">Width of the penumbra, in mm.</param>
internal sealed record BeamSide(double OutX, double OutY, double AtMm, double PenumbraMm)
{
    /// <summary>How far inside a place lies, in mm; below 0 beyond.</summary>
    public double Inside(double x, double y) => AtMm - (OutX * x) - (OutY * y);

    /// <summary>Where two sides meet, in mm.</summary>
    public (double X, double Y) Meets(BeamSide other)
    {
        double determinant = (OutX * other.OutY) - (OutY * other.OutX);
        return (((AtMm * other.OutY) - (other.AtMm * OutY)) / determinant, ((other.AtMm * OutX) - (AtMm * other.OutX)) / determinant);
    }
}

/// <summary>Something dense that does not belong to the body.</summary>
/// <param name="Thing">What it is.</param>
/// <param name="X">Its middle, in mm.</param>
/// <param name="Y">Its middle, in mm.</param>
/// <param name="ReachMm">A circle that holds it, in mm.</param>
/// <param name="Through">Share of the radiation that passes.</param>
/// <param name="Distance">Distance from its rim, in mm; below 0 within.</param>
internal sealed record DenseThing(string Thing, double X, double Y, double ReachMm, double Through, Func<double, double, double> Distance);

/// <summary>How a side marker is made.</summary>
internal enum MarkerMake
{
    /// <summary>A letter of lead on a sheet.</summary>
    Letter,

    /// <summary>A disc of lead with the letter cut out.</summary>
    CutOut,

    /// <summary>A letter drawn afterwards.</summary>
    Drawn,

    /// <summary>A letter drawn afterwards on a box of one value.</summary>
    Boxed,
}

/// <summary>Everything that is drawn by chance for one exposure of the second generator.</summary>
internal sealed class ElsewherePlan
{
    /// <summary>What is varied, in the order in which a series takes them.</summary>
    public static string[] Kinds { get; } = ["position", "exposure", "motion", "collimation", "marker", "mask", "artifact", "receptor", "grid", "motion", "marker", "artifact"];

    private readonly Random random;

    /// <summary>Draws a plan.</summary>
    /// <param name="number">Number in the series, from 0; it decides form and kind.</param>
    /// <param name="seed">Seed of the series.</param>
    /// <param name="words">Whether every exposure has a word in place of a letter.</param>
    public ElsewherePlan(int number, ulong seed, bool words = false)
    {
        // The generator of the framework is the same on every machine for a seed.
        random = new Random(unchecked((int)((seed * 2654435761UL) ^ ((ulong)number * 40503UL) ^ (seed >> 17))));
        Number = number;
        Form = BodyForm.All[number % BodyForm.All.Length];
        Kind = Kinds[(number + (number / Kinds.Length)) % Kinds.Length];
        Severity = random.NextDouble() < 0.2 ? 0 : In(0.1, 1);
        Spacing = Form.SpacingMm;
        Columns = (int)Math.Round(Form.WidthMm / Spacing);
        Rows = (int)Math.Round(Form.HeightMm / Spacing);
        Body = Form.Draw(random, random.Next(8) == 0 ? 0.75 : 1);
        TurnDegrees = Form.Name is "cage" or "column" ? In(-4, 4) : In(-12, 12);
        ShiftX = In(-8, 8);
        ShiftY = In(-8, 8);
        if (Kind == "position")
        {
            TurnDegrees += Severity * In(-18, 18);
            ShiftX += Severity * In(-28, 28);
            ShiftY += Severity * In(-28, 28);
        }

        DeviationIndex = In(-1.5, 1.5) + (Kind == "exposure" ? Severity * (random.Next(2) == 0 ? -5 : 6) : 0);
        Heel = In(0, 0.12) + (Kind == "collimation" ? 0.13 * Severity : 0);
        HeelDegrees = 90 * random.Next(4);
        BlurMm = In(0.11, 0.24);
        ScatterMm = In(22, 45);
        SetBeam();
        if (Kind == "mask" && Severity > 0)
        {
            SetMask();
        }

        if (Kind == "motion" && Severity > 0)
        {
            MotionMm = 3.2 * Severity;
            MotionDegrees = In(0, 180);
            MotionBend = In(-0.35, 0.35);
        }

        SetMarkers();
        if (words)
        {
            SetWord(new Random(unchecked((int)((seed * 0x9E3779B97F4A7C15UL) ^ ((ulong)number * 2246822519UL)))));
        }

        if (Kind == "artifact" && Severity > 0)
        {
            SetThings(Severity < 0.5 ? 1 : random.Next(2, 4));
        }

        if (Kind == "receptor" && Severity > 0)
        {
            SetFaults();
        }

        if (Kind == "grid" && Severity > 0)
        {
            SetGrid();
        }

        Plaster = Form.Name == "shaft" && random.Next(4) == 0 ? In(4, 9) : 0;
        CorrelationShare = In(0.3, 0.75);
        Correlation = In(0.2, 0.5);
        FlickerShare = In(0.001, 0.003);
        ElectronicMicrogray = In(0.004, 0.02);
        Curve = random.Next(3);
        LocalShare = In(0, 0.45);
        SharpShare = In(0, 0.8);
        HighIsDark = random.Next(3) == 0;
        Logarithmic = random.Next(5) == 0;
        TellsIndex = random.Next(3) != 0;
        NoiseSeed = random.Next();
        TextureSeed = random.Next();
    }

    /// <summary>Number in the series.</summary>
    public int Number { get; }

    /// <summary>The form of the body.</summary>
    public BodyForm Form { get; }

    /// <summary>What is varied.</summary>
    public string Kind { get; }

    /// <summary>How severely, 0 to 1.</summary>
    public double Severity { get; }

    /// <summary>Distance of pixel centres, in mm.</summary>
    public double Spacing { get; }

    /// <summary>Number of rows.</summary>
    public int Rows { get; }

    /// <summary>Number of columns.</summary>
    public int Columns { get; }

    /// <summary>The body.</summary>
    public Body Body { get; }

    /// <summary>Turn of the body, clockwise.</summary>
    public double TurnDegrees { get; }

    /// <summary>Shift of the body, in mm.</summary>
    public double ShiftX { get; }

    /// <summary>Shift of the body, in mm.</summary>
    public double ShiftY { get; }

    /// <summary>10·log10(EI / EI_T).</summary>
    public double DeviationIndex { get; }

    /// <summary>Fall of the beam from one side of the picture to the other, as a share.</summary>
    public double Heel { get; }

    /// <summary>Direction in which it falls.</summary>
    public double HeelDegrees { get; }

    /// <summary>Scale of the receptor's blur, in mm.</summary>
    public double BlurMm { get; }

    /// <summary>Scale of the scatter's spread, in mm.</summary>
    public double ScatterMm { get; }

    /// <summary>Top, right, bottom and left of the beam.</summary>
    public BeamSide[] Sides { get; private set; } = [];

    /// <summary>Corners of the mask, clockwise from the upper left, in pixels; null without one.</summary>
    public PixelPoint[]? Mask { get; private set; }

    /// <summary>Whether the mask is shown white.</summary>
    public bool MaskIsWhite { get; private set; }

    /// <summary>Length of the way that the body moved, from its beginning to its end, in mm.</summary>
    public double MotionMm { get; }

    /// <summary>Direction of that way.</summary>
    public double MotionDegrees { get; }

    /// <summary>How far its middle lies off the straight line, over its length.</summary>
    public double MotionBend { get; }

    /// <summary>The side marker, or null.</summary>
    public StrokeText? Marker { get; private set; }

    /// <summary>Whether the word that is the marker stands for the left; null for a letter.</summary>
    public bool? WordIsLeft { get; private set; }

    /// <summary>How it is made.</summary>
    public MarkerMake Make { get; private set; }

    /// <summary>Other letters, of lead.</summary>
    public List<StrokeText> LeadTexts { get; } = [];

    /// <summary>Other letters, drawn.</summary>
    public List<StrokeText> DrawnTexts { get; } = [];

    /// <summary>Share that passes lead.</summary>
    public double LeadThrough { get; private set; }

    /// <summary>Dense things.</summary>
    public List<DenseThing> Things { get; } = [];

    /// <summary>Columns that do not answer.</summary>
    public List<int> DeadColumns { get; } = [];

    /// <summary>Rows that do not answer.</summary>
    public List<int> DeadRows { get; } = [];

    /// <summary>Clusters of elements that do not answer: upper left and side, in pixels.</summary>
    public List<(int Row, int Column, int Side)> DeadClusters { get; } = [];

    /// <summary>Where the gain steps, as a column or a row; 0 for nowhere.</summary>
    public int StepAt { get; private set; }

    /// <summary>Whether the step is at a row.</summary>
    public bool StepIsRow { get; private set; }

    /// <summary>Size of the step, as a share.</summary>
    public double StepShare { get; private set; }

    /// <summary>Frequency of grid lines as seen, in cycles per mm; 0 for none.</summary>
    public double LinesPerMm { get; private set; }

    /// <summary>Direction across the lines.</summary>
    public double LinesDegrees { get; private set; }

    /// <summary>Amplitude of the lines, as a share.</summary>
    public double LinesShare { get; private set; }

    /// <summary>Fall of the primary to one side by a grid off its centre, as a share at that side; 0 for none.</summary>
    public double CutOffShare { get; private set; }

    /// <summary>Direction of that side.</summary>
    public double CutOffDegrees { get; private set; }

    /// <summary>Thickness of plaster around the limb, in mm; 0 for none.</summary>
    public double Plaster { get; }

    /// <summary>Share of the noise's variance that is correlated.</summary>
    public double CorrelationShare { get; }

    /// <summary>How much a pixel's noise keeps of its neighbour's.</summary>
    public double Correlation { get; }

    /// <summary>Noise that falls with frequency, relative to the signal.</summary>
    public double FlickerShare { get; }

    /// <summary>Electronic noise, in µGy.</summary>
    public double ElectronicMicrogray { get; }

    /// <summary>Rendering curve: 0 power, 1 arctangent, 2 logarithm with a toe.</summary>
    public int Curve { get; }

    /// <summary>Enhancement of local contrast.</summary>
    public double LocalShare { get; }

    /// <summary>Enhancement of edges.</summary>
    public double SharpShare { get; }

    /// <summary>Whether high values are shown dark, for presentation.</summary>
    public bool HighIsDark { get; }

    /// <summary>Whether the pixels for processing are logarithmic.</summary>
    public bool Logarithmic { get; }

    /// <summary>Whether the header tells the exposure index.</summary>
    public bool TellsIndex { get; }

    /// <summary>Seed of the noise.</summary>
    public int NoiseSeed { get; }

    /// <summary>Seed of the texture.</summary>
    public int TextureSeed { get; }

    private double HalfWidth => Columns * Spacing / 2;

    private double HalfHeight => Rows * Spacing / 2;

    /// <summary>Pixels of a place in mm.</summary>
    public PixelPoint Pixel(double x, double y) => new(X: (x / Spacing) + ((Columns - 1) / 2.0), Y: (y / Spacing) + ((Rows - 1) / 2.0));

    private double In(double from, double to) => from + ((to - from) * random.NextDouble());

    private void SetBeam()
    {
        double turn = Kind == "collimation" ? Severity * In(-9, 9) : In(-1.2, 1.2);
        double[] tilts = [In(-0.6, 0.6), In(-0.6, 0.6), In(-0.6, 0.6), In(-0.6, 0.6)];
        bool[] beyond = [random.Next(6) == 0, random.Next(6) == 0, random.Next(6) == 0, random.Next(6) == 0];
        double scale = Kind == "collimation" ? 1 - (0.32 * Severity) : 1;
        double penumbra = In(0.3, 1.6);
        double[] reach = [HalfHeight, HalfWidth, HalfHeight, HalfWidth];
        for (int attempt = 0; ; attempt++)
        {
            Sides = new BeamSide[4];
            for (int side = 0; side < 4; side++)
            {
                double degrees = (90 * (side - 1)) + turn + tilts[side];
                double at = beyond[side] ? (reach[side] * 1.03) + 9 : reach[side] * In(0.80, 0.93) * scale;
                Sides[side] = new BeamSide(Math.Cos(degrees * Math.PI / 180), Math.Sin(degrees * Math.PI / 180), at, penumbra);
            }

            // A side lies wholly in the picture or wholly beyond it, so that its kind is no matter of taste.
            bool plain = true;
            for (int side = 0; side < 4; side++)
            {
                foreach (int other in new[] { (side + 1) % 4, (side + 3) % 4 })
                {
                    (double x, double y) = Sides[side].Meets(Sides[other]);
                    double outward = side switch { 0 => -y - HalfHeight, 1 => x - HalfWidth, 2 => y - HalfHeight, _ => -x - HalfWidth };
                    plain &= beyond[side] ? outward > 1 : outward < -2;
                }
            }

            if (plain)
            {
                return;
            }

            turn *= 0.7;
            if (attempt > 6)
            {
                beyond = [false, false, false, false];
                turn = 0;
                scale = 0.95;
            }
        }
    }

    private void SetMask()
    {
        double turn = random.Next(2) == 0 ? 0 : In(-5, 5);
        double halfWidth = HalfWidth * (0.86 - (0.3 * Severity));
        double halfHeight = HalfHeight * (0.86 - (0.3 * Severity));
        double x0 = In(-6, 6);
        double y0 = In(-6, 6);
        double c = Math.Cos(turn * Math.PI / 180);
        double s = Math.Sin(turn * Math.PI / 180);
        Mask = [.. new[] { (-1, -1), (1, -1), (1, 1), (-1, 1) }.Select(corner =>
        {
            double x = corner.Item1 * halfWidth;
            double y = corner.Item2 * halfHeight;
            return Pixel(x0 + (x * c) - (y * s), y0 + (x * s) + (y * c));
        })];
        MaskIsWhite = random.Next(4) == 0;
    }

    private void SetMarkers()
    {
        LeadThrough = In(0.02, 0.14);
        bool varied = Kind == "marker" && Severity > 0;
        if (random.Next(9) == 0 || (varied && random.Next(8) == 0))
        {
            return;
        }

        Make = random.Next(10) switch { < 5 => MarkerMake.Letter, < 7 => MarkerMake.CutOut, 7 => MarkerMake.Drawn, 8 => MarkerMake.Drawn, _ => MarkerMake.Boxed };
        double rotation = random.Next(3) == 0 ? 0 : In(-9, 9);
        bool drawn = Make is MarkerMake.Drawn or MarkerMake.Boxed;
        if (drawn)
        {
            rotation = 0;
        }
        else if (varied)
        {
            rotation += Severity * In(-180, 180);
        }

        double height = In(7, 19) * (Form.Name is "fan" ? 0.75 : 1);
        bool mirrored = !drawn && random.Next(varied ? 3 : 9) == 0;
        char letter = random.Next(2) == 0 ? 'L' : 'R';
        double place = (height * 0.75) + 7;
        double side = random.Next(2) == 0 ? -1 : 1;
        double end = In(-0.85, 0.85);
        double x;
        double y;
        if (Mask is not null)
        {
            x = side * ((HalfWidth * 0.42) - place);
            y = 0.35 * end * HalfHeight;
        }
        else
        {
            double edge = side > 0 ? Math.Min(HalfWidth, Sides[1].AtMm) : -Math.Min(HalfWidth, Sides[3].AtMm);
            x = edge - (side * (place + (0.05 * HalfWidth)));
            y = end * (Math.Min(Math.Min(Sides[0].AtMm, Sides[2].AtMm), HalfHeight) - place - (0.08 * HalfHeight));
        }

        Marker = new StrokeText(letter.ToString(), x, y, height, In(0.11, 0.24), random.Next(3), rotation, mirrored);
        if (!drawn && random.Next(3) == 0)
        {
            // Initials beside the letter, turned with it.
            char[] others = ['E', 'H', 'T', 'K', 'M', '7', '4'];
            string initials = $"{others[random.Next(others.Length)]}{others[random.Next(others.Length)]}";
            double c = Math.Cos(rotation * Math.PI / 180);
            double s = Math.Sin(rotation * Math.PI / 180);
            double down = height * 0.9;
            LeadTexts.Add(new StrokeText(initials, x - (down * s), y + (down * c), height * 0.45, 0.18, 0, rotation, mirrored));
        }

        if (random.Next(4) == 0)
        {
            DrawnTexts.Add(new StrokeText("4TH", (-HalfWidth * In(0.2, 0.8)) + 4, (random.Next(2) == 0 ? -1 : 1) * (HalfHeight - 8), In(4, 7), 0.14, 0, 0, false));
        }
    }

    /// <summary>Words of clinics, those for the left first.</summary>
    public static string[] Words { get; } = ["LEFT", "LINKS", "LI", "IZQ", "RIGHT", "RECHTS", "RE", "DER"];

    private void SetWord(Random own)
    {
        double Between(double from, double to) => from + ((to - from) * own.NextDouble());
        int which = own.Next(Words.Length);
        string word = Words[which];
        WordIsLeft = which < Words.Length / 2;
        LeadTexts.Clear();
        Make = own.Next(10) switch { < 5 => MarkerMake.Letter, < 7 => MarkerMake.CutOut, < 9 => MarkerMake.Drawn, _ => MarkerMake.Boxed };
        bool drawn = Make is MarkerMake.Drawn or MarkerMake.Boxed;
        double rotation = drawn ? 0 : own.Next(4) switch { 0 => Between(-9, 9), 1 => (90 * own.Next(-1, 3)) + Between(-9, 9), _ => Between(-180, 180) };
        bool mirrored = !drawn && own.Next(4) == 0;
        double longShare = (0.85 * (word.Length - 1)) + 1.1;
        double height = Between(6, Math.Max(6, Math.Min(25, 0.8 * Math.Min(HalfWidth, HalfHeight) / longShare)));
        double c = Math.Cos(rotation * Math.PI / 180);
        double s = Math.Sin(rotation * Math.PI / 180);
        double back = 0.425 * (word.Length - 1) * height * (mirrored ? -1 : 1);
        StrokeText? best = null;
        double least = double.MaxValue;
        for (int attempt = 0; attempt < 200; attempt++)
        {
            // Where the body is thinnest of the places that hold it whole, as a marker is laid.
            double x = HalfWidth * Between(-0.95, 0.95);
            double y = HalfHeight * Between(-0.95, 0.95);
            bool whole = true;
            for (int corner = 0; corner < 4; corner++)
            {
                double u = 0.5 * longShare * height * (corner % 2 == 0 ? 1 : -1);
                double v = 0.75 * height * (corner < 2 ? 1 : -1);
                double px = x + (u * c) - (v * s);
                double py = y + (u * s) + (v * c);
                double inset = Mask is null ? 0.97 : 0.5;
                whole &= Math.Abs(px) < inset * HalfWidth && Math.Abs(py) < inset * HalfHeight && Array.TrueForAll(Sides, side => side.Inside(px, py) > 2);
            }

            double thick = Body.At(x - ShiftX, y - ShiftY).Skin + (20 * own.NextDouble());
            if (whole && thick < least)
            {
                least = thick;
                best = new StrokeText(word, x - (back * c), y - (back * s), height, Between(0.11, 0.24), own.Next(3), rotation, mirrored);
            }
        }

        Marker = best;
    }

    private void SetThings(int count)
    {
        for (int k = 0; k < count; k++)
        {
            double x = 0.55 * HalfWidth * In(-1, 1);
            double y = 0.6 * HalfHeight * In(-1, 1);
            double turn = In(0, 2 * Math.PI);
            double size = In(4, 11);
            double c = Math.Cos(turn);
            double s = Math.Sin(turn);
            (double U, double V) Own(double px, double py) => (((px - x) * c) + ((py - y) * s), ((py - y) * c) - ((px - x) * s));
            Things.Add(random.Next(5) switch
            {
                0 => new DenseThing("square", x, y, size * 1.6, In(0.05, 0.35), (px, py) =>
                {
                    (double u, double v) = Own(px, py);
                    double frame = Math.Max(Math.Abs(u), Math.Abs(v)) - size;
                    return Math.Max(frame, (size * 0.45) - Math.Sqrt((u * u) + (v * v)));
                }),
                1 => new DenseThing("curl", x, y, size * 1.8, In(0.03, 0.2), (px, py) =>
                {
                    // A spiral wire of two turns, 1.1 mm thick.
                    (double u, double v) = Own(px, py);
                    double radius = Math.Sqrt((u * u) + (v * v));
                    double angle = (Math.Atan2(v, u) / (2 * Math.PI)) + 0.5;
                    double least = double.MaxValue;
                    for (int turnNumber = 0; turnNumber < 2; turnNumber++)
                    {
                        least = Math.Min(least, Math.Abs(radius - (size * (0.5 + (0.5 * (turnNumber + angle))))));
                    }

                    return least - 0.55;
                }),
                2 => new DenseThing("staples", x, y, 16, In(0.1, 0.4), (px, py) =>
                {
                    (double u, double v) = Own(px, py);
                    double least = double.MaxValue;
                    for (int staple = -1; staple <= 1; staple++)
                    {
                        double w = u - (staple * 8);
                        double bar = Math.Max(Math.Abs(v) - 3, Math.Abs(w) - 0.4);
                        double leg = Math.Max(Math.Abs(Math.Abs(v) - 3) - 0.4, Math.Abs(w - 1.2) - 1.6);
                        least = Math.Min(least, Math.Min(bar, leg));
                    }

                    return least;
                }),
                3 => new DenseThing("coin", x, y, size * 1.1, In(0.02, 0.2), (px, py) =>
                {
                    (double u, double v) = Own(px, py);
                    return Math.Sqrt((u * u) + (v * v)) - size;
                }),
                _ => new DenseThing("screw", x, y, size * 2.2, In(0.1, 0.35), (px, py) =>
                {
                    (double u, double v) = Own(px, py);
                    double thread = 1.2 + (0.45 * Math.Abs(Math.Sin(u * 2.6)));
                    double shank = Math.Max(Math.Abs(u) - (1.6 * size), Math.Abs(v) - thread);
                    double head = Math.Max(Math.Abs(u + (1.6 * size)) - 1.6, Math.Abs(v) - 3.2);
                    return Math.Min(shank, head);
                }),
            });
        }
    }

    private void SetFaults()
    {
        int which = random.Next(4);
        if (which is 0 or 3)
        {
            for (int k = 0; k < random.Next(1, 3); k++)
            {
                (random.Next(2) == 0 ? DeadColumns : DeadRows).Add((int)(In(0.25, 0.75) * Math.Min(Rows, Columns)));
            }
        }

        if (which is 1 or 3)
        {
            for (int k = 0; k < random.Next(1, 5); k++)
            {
                DeadClusters.Add(((int)(In(0.3, 0.7) * Rows), (int)(In(0.3, 0.7) * Columns), random.Next(2, 7)));
            }
        }

        if (which == 2)
        {
            StepIsRow = random.Next(2) == 0;
            StepAt = (int)((StepIsRow ? Rows : Columns) * (random.Next(2) == 0 ? 0.5 : 0.333));
            StepShare = 0.008 + (0.035 * Severity);
        }
    }

    private void SetGrid()
    {
        if (random.Next(2) == 0)
        {
            LinesPerMm = In(0.25, 0.42 / Spacing);
            LinesDegrees = (90 * random.Next(2)) + In(-3, 3);
            LinesShare = 0.004 + (0.02 * Severity);
        }
        else
        {
            CutOffShare = 0.15 + (0.45 * Severity);
            CutOffDegrees = 90 * random.Next(4);
        }
    }
}
