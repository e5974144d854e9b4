using Hotlight.Accuracy.Elsewhere;
using Hotlight.Accuracy.Scoring;
using Hotlight.Core;
using Hotlight.Imaging;

namespace Hotlight.Accuracy.Tests;

/// <summary>The second generator: its formulas against closed forms, and its truth against its own pictures.</summary>
public sealed class ElsewhereTests
{
    [Fact]
    [Trait("evidence", "analytic")]
    public void Thickness_OfABarAndALump_IsThatOfTheCircleAndTheEllipsoid()
    {
        // 3-4-5: 3 mm off the axis of a bar of radius 5 the ray is 8 mm long.
        Assert.Equal(8, new Capsule(-50, 0, 5, 50, 0, 5).Thickness(0, 3), 12);
        Assert.Equal(0, new Capsule(-50, 0, 5, 50, 0, 5).Thickness(0, 5.001), 12);

        // At (0.6, 0) of the half axes an ellipsoid is 0.8 of its depth.
        Assert.Equal(0.8 * 2 * 7, new Lump(0, 0, 10, 20, 7).Thickness(6, 0), 12);
        Assert.Equal(0.8 * 2 * 7, new Lump(0, 0, 10, 20, 7, 2, 90).Thickness(0, 6), 9);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void LongBone_AtItsMiddle_HasAShellOfItsCortex()
    {
        (double cortex, double inner) = new LongBone(new Capsule(-50, 0, 10, 50, 0, 10), 4, 0.5).Lengths(0, 0);

        Assert.Equal(8, cortex, 9);
        Assert.Equal(12, inner, 9);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Letters_MirroredThenTurned_LieWhereTheContractSays()
    {
        // The foot of an L points right; seen from behind left; from behind and upside down it points right above.
        static bool Covers(StrokeText text, double x, double y) => text.Distance(x, y) < 0;

        Assert.True(Covers(new StrokeText("L", 0, 0, 10, 0.2, 0, 0, false), 2, 5));
        Assert.True(Covers(new StrokeText("L", 0, 0, 10, 0.2, 0, 0, true), -2, 5));
        Assert.True(Covers(new StrokeText("L", 0, 0, 10, 0.2, 0, 180, true), 2, -5));
        Assert.False(Covers(new StrokeText("L", 0, 0, 10, 0.2, 0, 180, true), 2, 5));

        // A quarter clockwise: the foot points down at the left.
        Assert.True(Covers(new StrokeText("L", 0, 0, 10, 0.2, 0, 90, false), -5, 2));
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Tailed_OfAPoint_KeepsItsSumAndItsVariance()
    {
        var point = new Raster<float>(121, 121);
        point[60, 60] = 1;

        Raster<float> blurred = Blurs.Tailed(point, 2);

        double sum = 0;
        double variance = 0;
        for (int row = 0; row < 121; row++)
        {
            for (int column = 0; column < 121; column++)
            {
                sum += blurred[row, column];
                variance += blurred[row, column] * (column - 60.0) * (column - 60);
            }
        }

        // Taps end at four widths: 0.006 % of a Gaussian and 0.1 % of its variance lie beyond.
        double expected = Blurs.LongTail.Sum(part => part.Share * part.Width * part.Width) * 4;
        Assert.Equal(1, sum, 3);
        Assert.Equal(expected, variance, 0.005 * expected);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Along_AWayOfEvenSteps_HasTheVarianceOfItsWay()
    {
        var point = new Raster<float>(41, 41);
        point[20, 20] = 1;
        PixelPoint[] way = [.. Enumerable.Range(-3, 7).Select(step => new PixelPoint(X: step, Y: 0))];

        Raster<float> moved = Blurs.Along(point, way);

        // Seven places a pixel apart: variance (7² − 1) / 12.
        double variance = Enumerable.Range(0, 41).Sum(column => moved[20, column] * (column - 20.0) * (column - 20));
        Assert.Equal(4, variance, 5);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void NoiseStream_OverRows_IsNormalAlongEveryColumn()
    {
        const int rows = 1200;
        const int columns = 1300;
        double[] sums = new double[columns];
        double squares = 0;
        double beside = 0;
        for (int row = 0; row < rows; row++)
        {
            NoiseStream stream = new(seed: 7001, row);
            double before = 0;
            for (int column = 0; column < columns; column++)
            {
                double value = stream.Next();
                sums[column] += value;
                squares += value * value;
                beside += value * before;
                before = value;
            }
        }

        // A column's sum over √rows is standard normal: of 1300 one passes 5.5 with a chance of 5e-5. Where seeds were evenly spaced, columns reached 18.
        double[] deviations = [.. sums.Select(sum => sum / Math.Sqrt(rows))];
        Assert.InRange(deviations.Max(Math.Abs), 2.5, 5.5);

        // k·s/√n with k = 4.5: variance of the columns' sums (s² = 2, n = 1300), of single values (s² = 2, n = 1.56 million), product of neighbours (s = 1, same n).
        Assert.Equal(1, deviations.Average(value => value * value), 4.5 * Math.Sqrt(2.0 / columns));
        Assert.Equal(1, squares / (rows * columns), 4.5 * Math.Sqrt(2.0 / (rows * columns)));
        Assert.Equal(0, beside / (rows * columns), 4.5 / Math.Sqrt(rows * columns));
    }

    [Fact]
    public void Plans_AreTheSameForASeedAndOtherForAnother()
    {
        var one = new ElsewherePlan(4, 9);
        var same = new ElsewherePlan(4, 9);
        var other = new ElsewherePlan(4, 10);

        Assert.Equal((one.TurnDegrees, one.DeviationIndex, one.NoiseSeed), (same.TurnDegrees, same.DeviationIndex, same.NoiseSeed));
        Assert.NotEqual(one.TurnDegrees, other.TurnDegrees);
    }

    [Fact]
    public void Written_AnExposure_AgreesWithItsTruth()
    {
        string folder = Directory.CreateTempSubdirectory("hotlight-elsewhere-").FullName;
        try
        {
            // Number 1 of this seed: a fan, no mask.
            var exposure = new ElsewhereExposure(new ElsewherePlan(1, 3));
            ElsewhereFiles.Write(folder, "exposure-001-fan", exposure);
            TruthRecord truth = TruthRecord.Read(Path.Combine(folder, "exposure-001-fan.truth.json"));
            Radiograph processing = RadiographReader.Read(Path.Combine(folder, "exposure-001-fan.processing.dcm"));
            Radiograph presentation = RadiographReader.Read(Path.Combine(folder, "exposure-001-fan.presentation.dcm"));

            Assert.Equal(PresentationIntent.ForProcessing, processing.PresentationIntent);
            Assert.Equal(PresentationIntent.ForPresentation, presentation.PresentationIntent);
            Assert.Equal((exposure.Plan.Rows, exposure.Plan.Columns), (processing.Rows, processing.Columns));
            Assert.Equal(exposure.Plan.Spacing, truth.SpacingMm, 9);

            // The median over the anatomy in the beam is what the exposure index says, counted here on all pixels.
            List<float> signals = [];
            long field = 0;
            for (int row = 0; row < exposure.Plan.Rows; row++)
            {
                for (int column = 0; column < exposure.Plan.Columns; column++)
                {
                    (double x, double y) = exposure.Place(row, column);
                    if (!Polygon.Holds(truth.Outline, column, row))
                    {
                        continue;
                    }

                    field++;
                    if (exposure.Skin[row, column] >= 1 && exposure.InsideBeam(x, y) > 0)
                    {
                        signals.Add(exposure.Clean[row, column]);
                    }
                }
            }

            // A quarter of the pixels was counted for the truth: its median and shares hold to a part in a few hundred.
            signals.Sort();
            Assert.Equal(truth.ExposureIndex, 100 * signals[signals.Count / 2], 0.005 * truth.ExposureIndex);
            Assert.Equal(truth.AnatomyPercent, 100.0 * signals.Count / field, 0.3);
            Assert.Equal(truth.AreaMm2, field * truth.SpacingMm * truth.SpacingMm, 0.003 * truth.AreaMm2);
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    [Fact]
    public void Truth_OfRealImages_IsWhole()
    {
        string file = Path.Combine(AppContext.BaseDirectory, "..", "..", "..", "..", "..", "bench", "truth", "radiographs.json");
        System.Text.Json.Nodes.JsonArray images = System.Text.Json.Nodes.JsonNode.Parse(File.ReadAllText(file))!["images"]!.AsArray();

        Assert.Equal(101, images.Count);
        foreach (System.Text.Json.Nodes.JsonNode image in images.Select(one => one!))
        {
            string name = (string)image["file"]!;
            byte first = System.Security.Cryptography.SHA1.HashData(System.Text.Encoding.UTF8.GetBytes(name))[0];
            Assert.Equal(first < 0x80 ? "tune" : "held", (string)image["split"]!);
            Assert.NotEmpty((string)image["seen"]!);
            if (image["field"] is { } field)
            {
                Assert.Equal(4, field["edges"]!.AsArray().Count);
                PixelPoint[] outline = [.. field["outline"]!.AsArray().Select(corner => new PixelPoint(X: (double)corner![0]!, Y: (double)corner[1]!))];

                // Convex and clockwise, as the overlap asks: nothing is lost when it is cut by itself.
                Assert.Equal(1, Polygon.Overlap(outline, outline), 6);
            }
        }
    }
}
