using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Exposure;
using Hotlight.Measure.Tests.Document;
using Hotlight.Measure.Tests.Mottle;

namespace Hotlight.Measure.Tests.Exposure;

public class CalibrationFitTests
{
    private static readonly double[] Kermas = [0.5, 1, 2.5, 5, 10, 20];

    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(PixelRelationship.Linear, 200, 100)]
    [InlineData(PixelRelationship.Linear, -150, 4000)]
    [InlineData(PixelRelationship.Logarithmic, 1000, 2000)]
    [InlineData(PixelRelationship.Logarithmic, -1000, 3000)]
    [InlineData(PixelRelationship.SquareRoot, 500, 20)]
    public void Of_ExposuresOnARelation_FindsIt(PixelRelationship relation, double gain, double offset)
    {
        CalibrationFit fit = CalibrationFit.Of(Points(relation, gain, offset), meterPercent: 5, note: "drawn").Value!;

        Assert.Equal(relation, fit.Calibration.Relationship);
        Assert.Equal(gain, fit.Calibration.Gain, 1e-6 * Math.Abs(gain));
        Assert.Equal(offset, fit.Calibration.Offset, 1e-6 * Math.Abs(gain));
        Assert.Equal(0, fit.ResidualDeviationPercent, 1e-6);
        Assert.Equal(5, fit.Calibration.KermaUncertaintyPercent);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Of_OneExposureOff_LeavesItsResidual()
    {
        // 5 µGy was noted for what was 5.3: the fit is pulled a little, so of the −5.7 % (5 / 5.3 the other way: +6 %) most is left at that point.
        List<CalibrationPoint> points = [.. Points(PixelRelationship.Linear, 200, 0)];
        points[3] = points[3] with { ModalityValue = 200 * 5.3 };

        CalibrationFit fit = CalibrationFit.Of(points).Value!;

        Assert.InRange(fit.ResidualsPercent[3], 3, 6);
        Assert.Equal(fit.ResidualsPercent.Max(Math.Abs), fit.ResidualsPercent[3]);
        Assert.Null(fit.Calibration.KermaUncertaintyPercent);
    }

    [Fact]
    public void Of_ExposuresThatGiveNoCalibration_CannotTell()
    {
        CalibrationPoint[] points = Points(PixelRelationship.Linear, 200, 0);
        Assert.Contains("3 flat exposures", CalibrationFit.Of(points[..2]).Why, StringComparison.Ordinal);
        Assert.Contains("factor of 4", CalibrationFit.Of(points[..3].Select((point, at) => point with { KermaMicrogray = 1 + at }).ToArray()).Why, StringComparison.Ordinal);
        Assert.Contains("mixed up", CalibrationFit.Of((CalibrationPoint[])[points[0], points[3], points[2] with { KermaMicrogray = 15 }]).Why, StringComparison.Ordinal);

        // Doubling with every step of ten: none of the three relations.
        Assert.Contains("no linear, logarithmic or square-root relation", CalibrationFit.Of([new(100, 1), new(101, 2), new(130, 4), new(900, 8)]).Why, StringComparison.Ordinal);
        Assert.Throws<ArgumentOutOfRangeException>(() => CalibrationFit.Of([new CalibrationPoint(1, 0), points[1], points[2]]));
    }

    [Fact]
    public void Write_ThenParse_GivesTheSameCalibration()
    {
        var calibration = new Calibration { Relationship = PixelRelationship.SquareRoot, Gain = -12.5, Offset = 3.25, KermaUncertaintyPercent = 5.5, Note = "room 2, \"µGy\"" };

        Assert.Equal(calibration, CalibrationFile.Parse(CalibrationFile.Write(calibration), "x.json"));
        Assert.Equal(calibration with { KermaUncertaintyPercent = null, Note = null }, CalibrationFile.Parse(CalibrationFile.Write(calibration with { KermaUncertaintyPercent = null, Note = null }), "x.json"));
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void FlatExposure_NoiseOnAnEvenField_IsItsValue()
    {
        var noise = new NoiseField(seed: 31);
        Radiograph radiograph = HandDrawn.Radiograph(400, 512, 14, (row, column) => row < 20 ? 16383 : 3000 + (0.2 * column) + (40 * noise.Gaussian())) with { Modality = new ModalityTransform { Slope = 2, Intercept = -100 } };

        FlatExposure flat = FlatExposure.Measure(radiograph).Value!;

        // The middle column is 255.5: 3051.1, in modality values 6002.2. The median of 10,000 pixels: 40 · 1.25 / 100 = 0.5, twice that in modality values, four of these.
        Assert.Equal(6002.2, flat.ModalityValue, 4.0);
        Assert.InRange(flat.SpreadPercent, 0, 1);
    }

    [Fact]
    public void FlatExposure_NotFlatClippedOrRendered_CannotTell()
    {
        Radiograph edge = HandDrawn.Radiograph(400, 400, 12, (_, column) => column < 200 ? 1000 : 3000);
        Radiograph clipped = HandDrawn.Radiograph(400, 400, 12, (row, column) => (row + column) % 5 == 0 ? 4095 : 4000);
        Radiograph small = HandDrawn.Radiograph(100, 100, 12, (_, _) => 1000);

        Assert.Contains("not flat", FlatExposure.Measure(edge).Why, StringComparison.Ordinal);
        Assert.Contains("clipped", FlatExposure.Measure(clipped).Why, StringComparison.Ordinal);
        Assert.Contains("128", FlatExposure.Measure(small).Why, StringComparison.Ordinal);
        Assert.Contains("for presentation", FlatExposure.Measure(small with { PresentationIntent = PresentationIntent.ForPresentation }).Why, StringComparison.Ordinal);
    }

    private static CalibrationPoint[] Points(PixelRelationship relation, double gain, double offset)
        => [.. Kermas.Select(kerma => new CalibrationPoint(
            offset + (gain * relation switch
            {
                PixelRelationship.Linear => kerma,
                PixelRelationship.Logarithmic => Math.Log10(kerma),
                _ => Math.Sqrt(kerma),
            }),
            kerma))];
}
