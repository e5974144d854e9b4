using System.Collections.Concurrent;
using Hotlight.Core;
using Hotlight.Simulation.Attenuation;
using Hotlight.Simulation.Projection;
using Hotlight.Simulation.Tube;

namespace Hotlight.Simulation.Grid;

/// <summary>What a grid lets through in one beam and geometry.</summary>
/// <remarks>
/// <para>A ray that leans against the strip by the slope Δ covers h·|Δ| more of the strip's shadow. The mean transmission over one period follows from the length of the ray in strip and interspace, weighted with the energy of the beam's photons.
/// For opaque strips that is (D − h·|Δ|)/(D + d), the loss of the handbooks: r·b/f for a grid off centre by b, r·c·|1/f − 1/SID| off focus, 2·r·c/f upside down.</para>
/// <para>Scatter: the mean over directions of equal radiance from the part's side (number through a plane proportional to the cosine). Photons scattered in the grid itself are left out.</para>
/// </remarks>
internal sealed class GridTransmission
{
    private const int Steps = 400;
    private const int MostKnown = 64;

    /// <summary>Tables that were made: a picture that follows a hand asks for the same again.</summary>
    private static readonly ConcurrentDictionary<string, Lazy<(float[] Table, double Scatter)>> Known = new(StringComparer.Ordinal);

    private readonly AntiScatterGrid grid;
    private readonly BeamGeometry geometry;
    private readonly double[] energies;
    private readonly double[] weights;
    private readonly double[] strip;
    private readonly double[] interspace;
    private readonly double[] covers;
    private readonly double largest;
    private readonly float[] table;
    private readonly double across;
    private readonly double along;
    private readonly double sourceAcross;

    /// <summary>Tabulates the transmission of primary radiation and of scatter.</summary>
    /// <param name="grid">The grid.</param>
    /// <param name="beam">What falls on it.</param>
    /// <param name="geometry">Source and receptor.</param>
    /// <param name="beamKey">Tells this beam from all others: then the tables are kept, and taken where the same grid is asked for again; null: they are made anew.</param>
    public GridTransmission(AntiScatterGrid grid, BeamEnergies beam, BeamGeometry geometry, string? beamKey = null)
    {
        this.grid = grid;
        this.geometry = geometry;
        Preconditions.AboveZero(grid.Ratio);
        Preconditions.Within(grid.StripMm, 1e-4, 0.95 * grid.PeriodMm);
        Preconditions.Within(grid.TiltDegrees, -45, 45);
        energies = [.. beam.EnergiesKev];
        weights = [.. energies.Zip(beam.PhotonsPerMm2PerMas, (energy, photons) => energy * photons)];
        double sum = weights.Sum();
        weights = [.. weights.Select(weight => weight / sum)];
        strip = [.. energies.Select(grid.Strip.LinearAttenuationPerMm)];
        interspace = [.. energies.Select(grid.Interspace.LinearAttenuationPerMm)];
        covers = [.. energies.Select(energy => grid.Covers.Sum(layer => layer.Material.LinearAttenuationPerMm(energy) * layer.ThicknessMm))];
        largest = 4 * grid.PeriodMm / grid.HeightMm;
        if (Known.Count > MostKnown)
        {
            Known.Clear();
        }

        (table, ScatterTransmission) = beamKey is null
            ? Tabulate()
            : Known.GetOrAdd(FormattableString.Invariant($"{beamKey}/{grid.HeightMm:R}/{grid.PeriodMm:R}/{grid.StripMm:R}/{grid.Strip.Name}/{grid.Interspace.Name}/") + string.Join('+', grid.Covers.Select(layer => FormattableString.Invariant($"{layer.Material.Name} {layer.ThicknessMm:R}"))), _ => new Lazy<(float[] Table, double Scatter)>(Tabulate)).Value;
        double turn = grid.OrientationDegrees * Math.PI / 180;
        across = Math.Cos(turn);
        along = -Math.Sin(turn);
        sourceAcross = (geometry.Source.X * across) + (geometry.Source.Y * along);
    }

    /// <summary>Share of the scatter that gets through, in energy.</summary>
    public double ScatterTransmission { get; }

    /// <summary>Share of the primary radiation that gets through where a ray is in line with the strips, in energy.</summary>
    public double AlignedPrimaryTransmission => table[0];

    /// <summary>Selectivity Σ: primary over scatter transmission, in line.</summary>
    public double Selectivity => AlignedPrimaryTransmission / ScatterTransmission;

    /// <summary>Frequency of the lines in the image of a grid that does not move, in mm⁻¹ at the receptor; 0 for a moving one.</summary>
    public double LineFrequencyPerMm => grid.Moving ? 0 : 1 / (grid.PeriodMm * Enlargement);

    private double Enlargement => geometry.Source.Z / (geometry.Source.Z - grid.ReceptorGapMm);

    /// <summary>Frequency at which the lines show after sampling, in mm⁻¹: what a measure of the image should find.</summary>
    /// <param name="spacingMm">Distance of pixel centres across the strips, in mm.</param>
    public double AliasedLineFrequencyPerMm(double spacingMm)
    {
        double sampling = 1 / Preconditions.AboveZero(spacingMm);
        return Math.Abs(LineFrequencyPerMm - (Math.Round(LineFrequencyPerMm / sampling) * sampling));
    }

    /// <summary>Bucky factor B: exposure with the grid over exposure without it for the same total signal.</summary>
    /// <param name="scatterToPrimary">Scatter over primary without a grid, 0 or more.</param>
    public double BuckyFactor(double scatterToPrimary)
        => (1 + scatterToPrimary) / (AlignedPrimaryTransmission + (ScatterTransmission * scatterToPrimary));

    /// <summary>Contrast improvement factor K: contrast with the grid over contrast without it.</summary>
    /// <param name="scatterToPrimary">Scatter over primary without a grid, 0 or more.</param>
    public double ContrastImprovementFactor(double scatterToPrimary) => AlignedPrimaryTransmission * BuckyFactor(scatterToPrimary);

    /// <summary>Primary transmission at a place of the receptor, averaged over strips, 0 to 1, in energy.</summary>
    /// <param name="x">Room x, in mm.</param>
    /// <param name="y">Room y, in mm.</param>
    public float PrimaryAt(float x, float y) => Tabulated(SlopeAt((x * across) + (y * along)));

    /// <summary>Primary transmission of every pixel, with the lines of a grid that does not move, a new block.</summary>
    public Raster<float> Primary()
    {
        // Everything depends on the place across the strips alone: a table of 16 places a pixel, and straight lines between.
        double[] corners = [.. new[] { 0, geometry.Rows - 1 }.SelectMany(row => new[] { 0, geometry.Columns - 1 }.Select(column => Place(row, column)))];
        double first = corners.Min();
        double step = geometry.SpacingMm / 16;
        float[] profile = new float[(int)((corners.Max() - first) / step) + 3];
        double contrast = LineContrast();
        double period = grid.PeriodMm * Enlargement;
        double width = grid.StripMm * Enlargement;
        Parallel.For(0, profile.Length, k =>
        {
            double place = first + (k * step);
            double slope = SlopeAt(place);
            double value = Tabulated(slope);
            if (!grid.Moving)
            {
                // Fourier series of the strips' shadows: strip and lean as boxes, and the element's aperture.
                double lean = grid.HeightMm * Math.Abs(slope) * Enlargement;
                for (int order = 1; order <= 3; order++)
                {
                    double amplitude = 2 * width / period * Sinc(order * width / period) * Sinc(order * lean / period)
                        * Sinc(order * Math.Abs(across) * geometry.SpacingMm / period) * Sinc(order * Math.Abs(along) * geometry.SpacingMm / period);
                    value -= contrast * amplitude * Math.Cos(order * 2 * Math.PI * (place - grid.CentreMm) / period);
                }
            }

            profile[k] = (float)Math.Max(0, value);
        });
        Raster<float> through = new(geometry.Rows, geometry.Columns);
        Parallel.For(0, geometry.Rows, row =>
        {
            Span<float> line = through.Row(row);
            double start = (Place(row, 0) - first) / step;
            double advance = across * geometry.SpacingMm / step;
            for (int column = 0; column < line.Length; column++)
            {
                double at = Math.Max(0, start + (column * advance));
                int k = (int)at;
                line[column] = profile[k] + ((profile[k + 1] - profile[k]) * (float)(at - k));
            }
        });
        return through;

        double Place(int row, int column) => (geometry.ReceptorX(column) * across) + (geometry.ReceptorY(row) * along);
    }

    /// <summary>Slope between a ray and the strip that it meets, for a place across the strips, in mm.</summary>
    internal double SlopeAt(double placeMm)
    {
        double toSource = (placeMm - sourceAcross) / geometry.Source.Z;
        double lean = (placeMm - grid.CentreMm) / grid.FocalDistanceMm;
        return toSource - (grid.UpsideDown ? -lean : lean) + Math.Tan(grid.TiltDegrees * Math.PI / 180);
    }

    private static double Sinc(double x) => Math.Abs(x) < 1e-9 ? 1 : Math.Sin(Math.PI * x) / (Math.PI * x);

    private (float[] Table, double Scatter) Tabulate()
    {
        float[] made = new float[Steps + 1];
        Parallel.For(0, Steps + 1, step => made[step] = (float)Mean(largest * step / Steps, 1));
        return (made, OfScatter());
    }

    private float Tabulated(double slope)
    {
        float place = (float)(Math.Abs(slope) / largest * Steps);
        if (place >= Steps)
        {
            return (float)Mean(Math.Abs(slope), 1);
        }

        int k = (int)place;
        return table[k] + ((table[k + 1] - table[k]) * (place - k));
    }

    private double LineContrast()
    {
        double open = 0;
        double closed = 0;
        for (int k = 0; k < energies.Length; k++)
        {
            open += weights[k] * Math.Exp(-(interspace[k] * grid.HeightMm) - covers[k]);
            closed += weights[k] * Math.Exp(-(strip[k] * grid.HeightMm) - covers[k]);
        }

        return open - closed;
    }

    /// <summary>Mean transmission over one period for a slope across the strips; the path is longer by a factor.</summary>
    private double Mean(double slope, double pathFactor)
    {
        const int Places = 120;
        double lean = grid.HeightMm * slope;
        double sum = 0;
        for (int place = 0; place < Places; place++)
        {
            double start = grid.PeriodMm * (place + 0.5) / Places;

            // Share of the ray's way across in strips: strips fill [0, d) of each period.
            double share = lean < 1e-9
                ? (start < grid.StripMm ? 1 : 0)
                : (InStrips(start + lean) - InStrips(start)) / lean;
            double inStrip = grid.HeightMm * pathFactor * share;
            double between = grid.HeightMm * pathFactor * (1 - share);
            for (int k = 0; k < energies.Length; k++)
            {
                sum += weights[k] * Math.Exp(-(strip[k] * inStrip) - (interspace[k] * between) - (covers[k] * pathFactor));
            }
        }

        return sum / Places;
    }

    private double InStrips(double place)
    {
        double whole = Math.Floor(place / grid.PeriodMm);
        return (whole * grid.StripMm) + Math.Min(place - (whole * grid.PeriodMm), grid.StripMm);
    }

    // ∫∫ cos θ · T dΩ / π by the middle rule in sin²θ and azimuth (a quarter stands for all four).
    private double OfScatter()
    {
        const int Rings = 16;
        const int Sectors = 16;
        double[] rings = new double[Rings];
        Parallel.For(0, Rings, ring =>
        {
            double sine = Math.Sqrt((ring + 0.5) / Rings);
            double cosine = Math.Sqrt(1 - (sine * sine));
            for (int sector = 0; sector < Sectors; sector++)
            {
                double azimuth = (sector + 0.5) / Sectors * Math.PI / 2;
                rings[ring] += Mean(sine / cosine * Math.Cos(azimuth), 1 / cosine) / Sectors;
            }
        });
        return rings.Average();
    }
}
