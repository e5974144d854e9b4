using System.Globalization;
using System.Text;

namespace Hotlight.Physics.Build;

/// <summary>Makes the shipped table of attenuation from the published ones.</summary>
public static class AttenuationTable
{
    /// <summary>The shipped table as UTF-8 text: one row an energy, with key, energy in keV, mu/rho and mu_en/rho in cm²/g; keys in ordinal order, energies as published.</summary>
    /// <param name="rawFolder">Folder of the published tables, one file a table: energy in MeV, mu/rho, mu_en/rho, separated by commas; lines with # are comments.</param>
    /// <exception cref="InvalidDataException">A row cannot be read, or energies fall.</exception>
    public static byte[] Build(string rawFolder)
    {
        StringBuilder text = new("key\tenergy_kev\tmass_attenuation_cm2_per_g\tmass_energy_absorption_cm2_per_g\n");
        foreach (string file in Directory.GetFiles(rawFolder, "*.csv").OrderBy(Path.GetFileName, StringComparer.Ordinal))
        {
            double last = 0;
            foreach (string line in File.ReadLines(file).Where(line => line.Length > 0 && line[0] != '#'))
            {
                string[] cells = line.Split(',');
                if (cells.Length != 3 || !cells.All(cell => double.TryParse(cell, NumberStyles.Float, CultureInfo.InvariantCulture, out double value) && value > 0))
                {
                    throw new InvalidDataException($"{Path.GetFileName(file)}: '{line}' is not three numbers above 0.");
                }

                // Decimal arithmetic keeps the printed digits: 6.953e-02 MeV is 69.53 keV.
                decimal energyKev = decimal.Parse(cells[0], NumberStyles.Float, CultureInfo.InvariantCulture) * 1000m;
                if ((double)energyKev < last)
                {
                    throw new InvalidDataException($"{Path.GetFileName(file)}: energy {energyKev} keV comes after {last} keV.");
                }

                last = (double)energyKev;
                text.Append(CultureInfo.InvariantCulture, $"{Path.GetFileNameWithoutExtension(file)}\t{energyKev:0.####}\t{cells[1]}\t{cells[2]}\n");
            }
        }

        return Encoding.UTF8.GetBytes(text.ToString());
    }
}
