using System.Globalization;
using Hotlight.Core;

namespace Hotlight.Simulation.Attenuation;

/// <summary>One published table: mass attenuation and mass energy-absorption against energy.</summary>
/// <remarks>
/// Source: [nistir-5632] tables 3 and 4, shipped as data/physics/nistir-5632/attenuation.tsv, 6 to 300 keV.
/// Between the listed energies a cubic spline of the logarithms (not-a-knot), one for each stretch between two absorption edges;
/// a stretch of fewer than four rows is joined by straight lines of the logarithms.
/// Straight lines everywhere would be up to 4.6 % too high near 25 keV, where the listed energies lie far apart.
/// </remarks>
internal sealed class AttenuationTable
{
    private static readonly Lazy<Dictionary<string, AttenuationTable>> Shipped = new(Load);

    private readonly Stretch[] stretches;

    private AttenuationTable(IReadOnlyList<(double EnergyKev, double Attenuation, double EnergyAbsorption)> rows)
    {
        List<Stretch> parts = [];
        List<double> edges = [];
        int start = 0;
        for (int row = 1; row <= rows.Count; row++)
        {
            if (row == rows.Count || rows[row].EnergyKev == rows[row - 1].EnergyKev)
            {
                parts.Add(new Stretch([.. rows.Skip(start).Take(row - start)]));
                start = row;
                if (row < rows.Count)
                {
                    edges.Add(rows[row].EnergyKev);
                }
            }
        }

        stretches = [.. parts];
        EdgesKev = edges;
    }

    /// <summary>Lowest energy of every table, in keV.</summary>
    public const double LowestKev = 6;

    /// <summary>Highest energy of every table, in keV.</summary>
    public const double HighestKev = 300;

    /// <summary>Energies of the absorption edges from 6 to 300 keV as printed, in keV, rising.</summary>
    public IReadOnlyList<double> EdgesKev { get; }

    /// <summary>The table of a key of the shipped file, such as "z74" or "water".</summary>
    public static AttenuationTable Of(string key) => Shipped.Value[key];

    /// <summary>Mass attenuation, in cm²/g; at an edge the value above it.</summary>
    public double MassAttenuationAt(double energyKev) => StretchAt(energyKev).Attenuation.At(energyKev);

    /// <summary>Mass energy-absorption, in cm²/g; at an edge the value above it.</summary>
    public double MassEnergyAbsorptionAt(double energyKev) => StretchAt(energyKev).EnergyAbsorption.At(energyKev);

    private static Dictionary<string, AttenuationTable> Load()
    {
        using Stream stream = typeof(AttenuationTable).Assembly.GetManifestResourceStream("attenuation.tsv")
            ?? throw new InvalidOperationException("The table of attenuation is not in the assembly.");
        using StreamReader reader = new(stream);
        Dictionary<string, List<(double, double, double)>> rows = new(StringComparer.Ordinal);
        reader.ReadLine();
        while (reader.ReadLine() is { } line)
        {
            string[] cells = line.Split('\t');
            if (!rows.TryGetValue(cells[0], out List<(double, double, double)>? table))
            {
                rows.Add(cells[0], table = []);
            }

            table.Add((Number(cells[1]), Number(cells[2]), Number(cells[3])));
        }

        return rows.ToDictionary(entry => entry.Key, entry => new AttenuationTable(entry.Value), StringComparer.Ordinal);
    }

    private static double Number(string cell) => double.Parse(cell, NumberStyles.Float, CultureInfo.InvariantCulture);

    private Stretch StretchAt(double energyKev)
    {
        Preconditions.Within(energyKev, LowestKev, HighestKev);
        int k = stretches.Length - 1;
        while (k > 0 && energyKev < stretches[k].FirstKev)
        {
            k--;
        }

        return stretches[k];
    }

    private sealed class Stretch
    {
        public Stretch((double EnergyKev, double Attenuation, double EnergyAbsorption)[] rows)
        {
            FirstKev = rows[0].EnergyKev;
            double[] energies = [.. rows.Select(row => row.EnergyKev)];
            Attenuation = new LogSpline(energies, [.. rows.Select(row => row.Attenuation)]);
            EnergyAbsorption = new LogSpline(energies, [.. rows.Select(row => row.EnergyAbsorption)]);
        }

        public double FirstKev { get; }

        public LogSpline Attenuation { get; }

        public LogSpline EnergyAbsorption { get; }
    }
}
