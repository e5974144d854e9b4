using Hotlight.Core;
using Hotlight.Imaging;

namespace Hotlight.Measure.Tests.Images;

/// <summary>A radiograph drawn from closed forms: a rectangular field of known tilt and penumbra, scatter beyond it, a heel gradient, attenuating shapes of known area, seeded noise.</summary>
/// <remarks>Written for the tests alone; it shares no formula with the measures or the simulator.</remarks>
internal sealed record DrawnRadiograph
{
    public int Rows { get; init; } = 1000;

    public int Columns { get; init; } = 800;

    public int Bits { get; init; } = 14;

    /// <summary>Middle of the field, in pixels.</summary>
    public PixelPoint Middle { get; init; } = new(X: 400, Y: 500);

    /// <summary>Extent of the field along its own x axis, in pixels.</summary>
    public double Width { get; init; } = 560;

    /// <summary>Extent of the field along its own y axis, in pixels.</summary>
    public double Height { get; init; } = 700;

    /// <summary>Clockwise tilt of the field.</summary>
    public double TiltDegrees { get; init; }

    /// <summary>Sigma of the error function across a beam's edge, in pixels.</summary>
    public double PenumbraPixels { get; init; } = 3;

    /// <summary>Exposure far beyond the beam, as a share of direct exposure.</summary>
    public double ScatterShare { get; init; } = 0.04;

    /// <summary>Change of direct exposure from the field's left to its right, as a share.</summary>
    public double HeelShare { get; init; }

    /// <summary>Standard deviation of noise in a pixel of direct exposure, as a share of it.</summary>
    public double NoiseShare { get; init; } = 0.02;

    public int Seed { get; init; } = 20260715;

    /// <summary>+1: more exposure is a higher pixel value; −1: a lower one.</summary>
    public int Sign { get; init; } = 1;

    /// <summary>Sign put into the header; null: the header does not say.</summary>
    public int? HeaderSign { get; init; }

    public bool HighIsShownDark { get; init; } = true;

    /// <summary>Value put over all that lies beyond the field, instead of a beam's edge; null: a beam's edge.</summary>
    public ushort? MaskValue { get; init; }

    public PixelSpacing? Spacing { get; init; } = new PixelSpacing(0.2, 0.2);

    public IReadOnlyList<DrawnShape> Shapes { get; init; } = [];

    /// <summary>The field's corners, clockwise from its own upper left.</summary>
    public IReadOnlyList<PixelPoint> Corners =>
    [
        ToImage(-Width / 2, -Height / 2), ToImage(Width / 2, -Height / 2), ToImage(Width / 2, Height / 2), ToImage(-Width / 2, Height / 2),
    ];

    public PixelPoint ToImage(double along, double down)
    {
        (double sine, double cosine) = Math.SinCos(TiltDegrees * Math.PI / 180);
        return new PixelPoint(X: Middle.X + (along * cosine) - (down * sine), Y: Middle.Y + (along * sine) + (down * cosine));
    }

    public Radiograph Draw()
    {
        var random = new Random(Seed);
        var raster = new Raster<ushort>(Rows, Columns);
        double top = (1 << Bits) - 1, direct = 0.75 * top;
        (double sine, double cosine) = Math.SinCos(TiltDegrees * Math.PI / 180);
        for (int row = 0; row < Rows; row++)
        {
            Span<ushort> line = raster.Row(row);
            for (int column = 0; column < Columns; column++)
            {
                double x = column - Middle.X, y = row - Middle.Y, along = (x * cosine) + (y * sine), down = (y * cosine) - (x * sine);
                double beam = Edge((Width / 2) - along) * Edge(along + (Width / 2)) * Edge((Height / 2) - down) * Edge(down + (Height / 2));
                double transmission = 1;
                foreach (DrawnShape shape in Shapes)
                {
                    transmission *= shape.TransmissionAt(column, row);
                }

                double exposure = direct * (((1 - ScatterShare) * beam * transmission) + ScatterShare) * (1 + (HeelShare * along / Math.Max(1, Width)));
                double noisy = exposure + (Normal(random) * NoiseShare * Math.Sqrt(exposure * direct));
                double value = Sign > 0 ? noisy : top - noisy;
                line[column] = (ushort)Math.Clamp(Math.Round(value), 0, top);
                if (MaskValue is { } mask && (Math.Abs(along) > Width / 2 || Math.Abs(down) > Height / 2))
                {
                    line[column] = mask;
                }
            }
        }

        return new Radiograph
        {
            FileName = "drawn",
            Source = ImageSource.Dicom,
            Pixels = raster,
            BitsStored = Bits,
            Encoding = "drawn",
            HighIsShownDark = HighIsShownDark,
            RelationshipSign = HeaderSign,
            ReceptorSpacing = Spacing,
        };
    }

    private double Edge(double inside) => MaskValue is null ? 0.5 * (1 + Erf(inside / (PenumbraPixels * Math.Sqrt(2)))) : 1;

    private static double Normal(Random random)
        => Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());

    // Abramowitz and Stegun, Handbook of Mathematical Functions, 7.1.26: absolute error below 1.5e-7 (formula from memory).
    private static double Erf(double x)
    {
        double t = 1 / (1 + (0.3275911 * Math.Abs(x)));
        double y = 1 - (((((((((1.061405429 * t) - 1.453152027) * t) + 1.421413741) * t) - 0.284496736) * t) + 0.254829592) * t * Math.Exp(-x * x));
        return x >= 0 ? y : -y;
    }
}

/// <summary>A shape that lets through a share of the exposure; sharp-edged, so its area is its closed form.</summary>
internal abstract record DrawnShape(double Transmission)
{
    public double TransmissionAt(double x, double y) => Holds(x, y) ? Transmission : 1;

    protected abstract bool Holds(double x, double y);
}

/// <summary>A disc: area π·r².</summary>
internal sealed record DrawnDisc(PixelPoint Middle, double RadiusPixels, double Transmission) : DrawnShape(Transmission)
{
    public double Area => Math.PI * RadiusPixels * RadiusPixels;

    protected override bool Holds(double x, double y)
        => ((x - Middle.X) * (x - Middle.X)) + ((y - Middle.Y) * (y - Middle.Y)) <= RadiusPixels * RadiusPixels;
}

/// <summary>A straight band without ends about a line through a point: a limb that leaves the field at both ends.</summary>
internal sealed record DrawnBand(PixelPoint On, double DirectionDegrees, double WidthPixels, double Transmission) : DrawnShape(Transmission)
{
    protected override bool Holds(double x, double y)
    {
        (double sine, double cosine) = Math.SinCos(DirectionDegrees * Math.PI / 180);
        return Math.Abs(((y - On.Y) * cosine) - ((x - On.X) * sine)) <= WidthPixels / 2;
    }
}

/// <summary>A capsule: a band between two points with round ends; area w·l + π·(w/2)².</summary>
internal sealed record DrawnCapsule(PixelPoint From, PixelPoint To, double WidthPixels, double Transmission) : DrawnShape(Transmission)
{
    public double Area => (WidthPixels * From.DistancePixelsTo(To)) + (Math.PI * WidthPixels * WidthPixels / 4);

    protected override bool Holds(double x, double y)
    {
        double dx = To.X - From.X, dy = To.Y - From.Y, f = Math.Clamp((((x - From.X) * dx) + ((y - From.Y) * dy)) / ((dx * dx) + (dy * dy)), 0, 1);
        double px = From.X + (f * dx) - x, py = From.Y + (f * dy) - y;
        return (px * px) + (py * py) <= WidthPixels * WidthPixels / 4;
    }
}
