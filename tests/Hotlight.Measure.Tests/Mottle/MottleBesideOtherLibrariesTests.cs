using System.Runtime.InteropServices;
using System.Security.Cryptography;
using System.Text.Json;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Document;
using Hotlight.Measure.Mottle;
using Hotlight.Measure.Tests.Document;
using Hotlight.Testing;

namespace Hotlight.Measure.Tests.Mottle;

/// <summary>The measure beside scikit-image's estimate_sigma and Immerkær's formula on the same pixels: tests/reference/noise.</summary>
public class MottleBesideOtherLibrariesTests
{
    private const int Side = 512;
    private const double Sigma = 160;

    private static readonly JsonDocument Reference = JsonDocument.Parse(File.ReadAllText(Path.Combine(SharedData.RepositoryRoot, "tests", "reference", "noise", "estimates.json")));

    [Theory]
    [Trait("evidence", "independent")]
    [InlineData("white")]
    [InlineData("white-on-slope")]
    public void RelativeNoise_WhiteNoise_AgreesWithOtherAuthorsEstimates(string name)
    {
        Radiograph radiograph = Draw(name);
        double ours = Measured(radiograph);
        double theirs = Entry(name).GetProperty("estimateSigma").GetDouble();
        double immerkaer = Entry(name).GetProperty("immerkaer").GetDouble();

        // Theirs: a median of 65,536 magnitudes, 1.17 / √65,536 = 0.5 % (one deviation); Immerkær about 0.3 %; ours 5 % by the goal for noise without structure.
        Assert.InRange(ours / theirs, 1 - 0.055, 1 + 0.055);
        Assert.InRange(ours / immerkaer, 1 - 0.055, 1 + 0.055);
    }

    [Fact]
    [Trait("evidence", "independent")]
    public void RelativeNoise_NoiseThroughABlur_IsFoundWhereWhiteNoiseEstimatesFail()
    {
        Radiograph radiograph = Draw("filtered");
        double ours = Measured(radiograph);

        Assert.InRange(ours / Sigma, 0.95, 1.05);

        // The finest diagonal detail of (1, 4, 6, 4, 1) noise is nearly empty: both estimates see less than a third of the deviation.
        Assert.InRange(Entry("filtered").GetProperty("estimateSigma").GetDouble() / Sigma, 0, 1 / 3.0);
        Assert.InRange(Entry("filtered").GetProperty("immerkaer").GetDouble() / Sigma, 0, 1 / 3.0);
    }

    /// <summary>The measured deviation in pixel values: relative noise times the mean of each square, here of the whole image.</summary>
    private static double Measured(Radiograph radiograph)
    {
        Figure<MottleMeasurement> mottle = MottleMeasure.Measure(radiograph, HandDrawn.AllSoftTissue(radiograph), new MeasureOptions());
        Assert.True(mottle.IsMeasured, mottle.Why);
        double mean = 0;
        foreach (PixelPoint place in mottle.Value.Places)
        {
            mean += radiograph.Pixels.Row((int)place.Y).Slice((int)place.X - 31, 64).ToArray().Average(value => (double)value) / mottle.Value.Places.Count;
        }

        return mottle.Value.RelativeNoisePercent / 100 * mean;
    }

    private static JsonElement Entry(string name) => Reference.RootElement.GetProperty("images").GetProperty(name);

    private static Radiograph Draw(string name)
    {
        double[,] noise = name switch
        {
            "white" => Scaled(White(Side, Side, 1), 1),
            "filtered" => Scaled(Filtered(), 70),
            _ => Scaled(White(Side, Side, 3), 1),
        };
        Radiograph radiograph = HandDrawn.Radiograph(Side, Side, 16, (row, column) => Math.Floor(8000 + (noise[row, column] + (name == "white-on-slope" ? column * 4.0 : 0)) + 0.5));
        string hash = Convert.ToHexStringLower(SHA256.HashData(MemoryMarshal.AsBytes(radiograph.Pixels.Samples)));
        Assert.Equal(Entry(name).GetProperty("sha256").GetString(), hash);
        return radiograph;
    }

    private static double[,] Scaled(long[,] noise, double deviation)
    {
        var scaled = new double[Side, Side];
        for (int row = 0; row < Side; row++)
        {
            for (int column = 0; column < Side; column++)
            {
                scaled[row, column] = noise[row, column] / (65536 * deviation) * Sigma;
            }
        }

        return scaled;
    }

    private static long[,] Filtered()
    {
        long[,] white = White(Side + 4, Side + 4, 2);
        long[] weights = [1, 4, 6, 4, 1];
        var noise = new long[Side, Side];
        for (int row = 0; row < Side; row++)
        {
            for (int column = 0; column < Side; column++)
            {
                for (int down = 0; down < 5; down++)
                {
                    for (int across = 0; across < 5; across++)
                    {
                        noise[row, column] += weights[down] * weights[across] * white[row + down, column + across];
                    }
                }
            }
        }

        return noise;
    }

    private static long[,] White(int rows, int columns, ulong seed)
    {
        var noise = new long[rows, columns];
        ulong count = 0;
        for (int row = 0; row < rows; row++)
        {
            for (int column = 0; column < columns; column++)
            {
                long total = -393210;
                for (int word = 0; word < 3; word++)
                {
                    ulong state = seed + (++count * 0x9E3779B97F4A7C15);
                    state = (state ^ (state >> 30)) * 0xBF58476D1CE4E5B9;
                    state = (state ^ (state >> 27)) * 0x94D049BB133111EB;
                    state ^= state >> 31;
                    total += (long)((state & 0xFFFF) + ((state >> 16) & 0xFFFF) + ((state >> 32) & 0xFFFF) + (state >> 48));
                }

                noise[row, column] = total;
            }
        }

        return noise;
    }
}
