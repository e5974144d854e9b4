using Hotlight.Core;

namespace Hotlight.Simulation.Tube;

/// <summary>Backscatter factor: air kerma on the patient's skin over the incident air kerma at the same place.</summary>
/// <remarks>
/// Source: [benmakhlouf-2013] equation 8 and its coefficients (Phys Med Biol 58 (2013) 247, doi 10.1088/0031-9155/58/2/247), read in a public program: water phantom, square fields of 5 to 35 cm, a polynomial of voltage and half-value layer.
/// Between the fields straight lines of the side; smaller and larger fields keep the ends. Checked against a Monte Carlo of this project and the rounded table of the same authors' 2011 paper.
/// </remarks>
internal static class Backscatter
{
    private static readonly double[] SidesCm = [5, 10, 20, 25, 35];

    private static readonly double[][] Coefficients =
    [
        [1.00870e+0, 9.29969e-1, 8.65442e-1, 8.58665e-1, 8.57065e-1],
        [2.35816e-3, 4.08549e-3, 5.36739e-3, 5.51579e-3, 5.55933e-3],
        [-9.48937e-6, -1.66271e-5, -2.21494e-5, -2.27532e-5, -2.28004e-5],
        [1.03143e-1, 1.53605e-1, 1.72418e-1, 1.70826e-1, 1.66418e-1],
        [-1.04881e-3, -1.45187e-3, -1.46088e-3, -1.38540e-3, -1.28180e-3],
        [3.59731e-6, 5.05312e-6, 5.17430e-6, 4.91192e-6, 4.53036e-6],
        [-7.31303e-3, -9.32427e-3, -8.30138e-3, -7.64330e-3, -6.81574e-3],
        [7.93272e-5, 9.40568e-5, 7.13576e-5, 6.13126e-5, 4.94197e-5],
        [-2.74296e-7, -3.28449e-7, -2.54885e-7, -2.21399e-7, -1.79074e-7],
    ];

    /// <summary>The factor, about 1.1 to 1.7.</summary>
    /// <param name="tubeVoltageKvp">Peak voltage, 50 to 150 kVp; outside, the ends are kept.</param>
    /// <param name="halfValueLayerMm">First half-value layer, in mm aluminium, 1 to 10; outside, the ends are kept.</param>
    /// <param name="fieldSideMm">Side of the square field of the same area on the skin, in mm, above 0.</param>
    public static double FactorOf(double tubeVoltageKvp, double halfValueLayerMm, double fieldSideMm)
    {
        double kvp = Math.Clamp(Preconditions.AboveZero(tubeVoltageKvp), 50, 150);
        double layer = Math.Clamp(Preconditions.AboveZero(halfValueLayerMm), 1, 10);
        double side = Math.Clamp(Preconditions.AboveZero(fieldSideMm) / 10, SidesCm[0], SidesCm[^1]);
        int k = 0;
        while (k < SidesCm.Length - 2 && side > SidesCm[k + 1])
        {
            k++;
        }

        double low = At(k, kvp, layer);
        return low + ((At(k + 1, kvp, layer) - low) * (side - SidesCm[k]) / (SidesCm[k + 1] - SidesCm[k]));
    }

    private static double At(int field, double kvp, double layer)
    {
        double sum = 0;
        for (int power = 0; power < 3; power++)
        {
            double part = Coefficients[3 * power][field] + (Coefficients[(3 * power) + 1][field] * kvp) + (Coefficients[(3 * power) + 2][field] * kvp * kvp);
            sum += part * Math.Pow(layer, power);
        }

        return sum;
    }
}
