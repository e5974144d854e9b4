using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Document;
using Hotlight.Measure.Exposure;
using Hotlight.Measure.Regions;
using Hotlight.Measure.Tests.Document;
using Hotlight.Measure.Tests.Mottle;

namespace Hotlight.Measure.Tests.Exposure;

public class ExposureMeasureTests
{
    [Theory]
    [Trait("evidence", "published")]

    // IEC 62494-1: DI = 10 · log10(EI / EI_T). AAPM Report 116: +3 is about twice, −3 about half the wanted exposure. Values to 0.001.
    [InlineData(0.50, -3.010)]
    [InlineData(0.75, -1.249)]
    [InlineData(0.80, -0.969)]
    [InlineData(1.00, 0.000)]
    [InlineData(1.25, 0.969)]
    [InlineData(1.50, 1.761)]
    [InlineData(2.00, 3.010)]
    [InlineData(3.00, 4.771)]
    [InlineData(4.00, 6.021)]
    [InlineData(10.0, 10.000)]
    public void DeviationIndex_RatioToTarget_IsTheStandardsValue(double ratio, double expected)
        => Assert.Equal(expected, ExposureMeasure.DeviationIndex(250 * ratio, 250), 0.0005);

    [Theory]
    [InlineData(0, 250)]
    [InlineData(250, 0)]
    [InlineData(-1, 250)]
    [InlineData(double.NaN, 250)]
    public void DeviationIndex_NotAboveZero_IsRefused(double index, double target)
        => Assert.Throws<ArgumentOutOfRangeException>(() => ExposureMeasure.DeviationIndex(index, target));

    [Fact]
    [Trait("evidence", "published")]
    public void Measure_ExposureOf2Point5Microgray_IsIndex250()
    {
        // IEC 62494-1: EI = 100 per µGy; 2.50 µGy → 250, and against EI_T 400 the DI is −2.041.
        ExposureMeasurement exposure = FromHeader(new ExposureRecord { ExposureIndex = 250, TargetExposureIndex = 400 });

        Assert.Equal(2.5, exposure.ReceptorAirKermaMicrogray);
        Assert.Equal(-2.041, exposure.DeviationIndex!.Value, 0.0005);
        Assert.Equal(ExposureBasis.Header, exposure.Basis);
        Assert.Null(exposure.HeaderAgrees);
    }

    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(176, 876, -7.0, true)] // 10 · log10(176 / 876) = −6.970
    [InlineData(250, 250, 0.1, true)]
    [InlineData(250, 250, -0.1, true)]
    [InlineData(250, 250, 0.11, false)]
    [InlineData(500, 250, 2.9, false)] // 3.0103
    [InlineData(500, 250, -3.0, false)]
    public void HeaderAgrees_AllThreeFigures_IsWithinATenth(double index, double target, double deviation, bool expected)
    {
        ExposureMeasurement exposure = FromHeader(new ExposureRecord { ExposureIndex = index, TargetExposureIndex = target, DeviationIndex = deviation });

        Assert.Equal(expected, exposure.HeaderAgrees);
        Assert.Equal(10 * Math.Log10(index / target), exposure.DeviationIndex!.Value, 0.0006);
        Assert.Equal(!expected, exposure.Explanation!.Contains("its own figures give", StringComparison.Ordinal));
    }

    [Fact]
    public void HeaderAgrees_TargetGivenByReader_StaysAboutTheHeader()
    {
        var record = new ExposureRecord { ExposureIndex = 176, TargetExposureIndex = 876, DeviationIndex = -7 };
        ExposureMeasurement exposure = FromHeader(record, new MeasureOptions { TargetExposureIndex = 352 });

        Assert.True(exposure.HeaderAgrees);
        Assert.Equal(352, exposure.TargetExposureIndex);
        Assert.Equal(-3.010, exposure.DeviationIndex!.Value, 0.0006);
        Assert.Contains("876", exposure.Explanation, StringComparison.Ordinal);
    }

    [Fact]
    public void DeviationIndex_NoTargetKnown_IsAbsent()
    {
        ExposureMeasurement exposure = FromHeader(new ExposureRecord { ExposureIndex = 176 });

        Assert.Null(exposure.DeviationIndex);
        Assert.Null(exposure.DeviationIndexUncertainty);
        Assert.Contains("No target", exposure.Explanation, StringComparison.Ordinal);
    }

    [Fact]
    public void DeviationIndex_HeaderWithoutTarget_IsTheHeadersOwn()
        => Assert.Equal(-1.5, FromHeader(new ExposureRecord { ExposureIndex = 176, DeviationIndex = -1.5 }).DeviationIndex);

    [Fact]
    [Trait("evidence", "published")]
    public void Uncertainty_HeaderIndex_IsTheSpreadFoundBetweenSystems()
    {
        // AAPM 2020 abstract: 866.8 EI per mR with a deviation of 62.7: 7.23 %, printed 7.2 %.
        Assert.Equal(100 * 62.7 / 866.8, ExposureMeasure.FieldSpreadPercent, 0.05);
        ExposureMeasurement exposure = FromHeader(new ExposureRecord { ExposureIndex = 200, TargetExposureIndex = 200 });
        Assert.Equal(14.4, exposure.ExposureIndexUncertainty!.Value, 0.005);
        Assert.Equal(10 / Math.Log(10) * 0.072, exposure.DeviationIndexUncertainty!.Value, 0.0006);
    }

    [Theory]
    [Trait("evidence", "published")]

    // AAPM Report 116, table of indicators (relations): S = 200 / E(mR); 1000 · log10(E mR) + 2000; 1.96 at 2.5 µGy, one more for ten times as much. 1 mR = 8.76 µGy.
    // 0.5 mR = 4.38 µGy: S 400, index 1699; 2 mR = 17.52 µGy: S 100, index 2301; 0.631 mR = 5.53 µGy: index 1800; 8.76 µGy: number 2.505. Printed digits.
    [InlineData(IndicatorFamily.InverseSensitivity, 200, 8.76, 0.005)]
    [InlineData(IndicatorFamily.InverseSensitivity, 400, 4.38, 0.005)]
    [InlineData(IndicatorFamily.InverseSensitivity, 100, 17.52, 0.005)]
    [InlineData(IndicatorFamily.LogarithmicIndex, 2000, 8.76, 0.005)]
    [InlineData(IndicatorFamily.LogarithmicIndex, 1699, 4.38, 0.006)]
    [InlineData(IndicatorFamily.LogarithmicIndex, 2301, 17.52, 0.025)]
    [InlineData(IndicatorFamily.LogarithmicIndex, 1800, 5.53, 0.005)]
    [InlineData(IndicatorFamily.LogMedian, 1.96, 2.5, 0.005)]
    [InlineData(IndicatorFamily.LogMedian, 2.505, 8.76, 0.02)]
    [InlineData(IndicatorFamily.Log2Deviation, 1, 5, 1e-9)]
    [InlineData(IndicatorFamily.Log2Deviation, -1, 1.25, 1e-9)]
    public void IndicatorScale_PublishedRelation_GivesItsKerma(IndicatorFamily family, double value, double expectedMicrogray, double tolerance)
        => Assert.Equal(expectedMicrogray, IndicatorScale.KermaMicrogray(family, value, targetMicrogray: 2.5), tolerance);

    [Fact]
    public void Measure_OlderIndicator_IsTurnedOnlyWhereTheReaderNamesItsScale()
    {
        var record = new ExposureRecord { Sensitivity = 400, RelativeXRayExposure = 1699 };
        Figure<ExposureMeasurement> unnamed = Measure(record, new MeasureOptions());
        ExposureMeasurement sensitivity = FromHeader(record, new MeasureOptions { Indicator = new ExposureIndicator(IndicatorFamily.InverseSensitivity), TargetExposureIndex = 219 });
        ExposureMeasurement index = FromHeader(record, new MeasureOptions { Indicator = new ExposureIndicator(IndicatorFamily.LogarithmicIndex) });
        ExposureMeasurement read = FromHeader(new ExposureRecord(), new MeasureOptions { Indicator = new ExposureIndicator(IndicatorFamily.LogMedian, 1.96) });

        Assert.Contains("scale", unnamed.Why, StringComparison.Ordinal);
        Assert.Equal(4.38, sensitivity.ReceptorAirKermaMicrogray, 0.005);
        Assert.Equal(3.010, sensitivity.DeviationIndex!.Value, 0.001);
        Assert.Equal(ExposureBasis.Header, sensitivity.Basis);
        Assert.Contains("1752", sensitivity.Explanation, StringComparison.Ordinal);
        Assert.Equal(4.38, index.ReceptorAirKermaMicrogray, 0.006);
        Assert.Equal(2.5, read.ReceptorAirKermaMicrogray, 0.005);
        Assert.Equal(ExposureBasis.Reader, read.Basis);

        // The beam without added filtration weighs far more than the spread between systems: √(28² + 7.2²) = 28.9 %.
        Assert.Equal(0.289 * 4.38, sensitivity.ReceptorAirKermaMicrograyUncertainty!.Value, 0.005);
        Assert.True(index.ReceptorAirKermaMicrograyUncertainty < 0.1 * 4.38);
    }

    [Theory]
    [InlineData(IndicatorFamily.LogMedian, 0.0, "give its value")]
    [InlineData(IndicatorFamily.LogarithmicIndex, 9000.0, "another scale")]
    [InlineData(IndicatorFamily.Log2Deviation, 1.0, "target")]
    [InlineData(IndicatorFamily.InverseSensitivity, -5.0, "read it again")]
    public void Measure_IndicatorThatCannotBe_CannotTell(IndicatorFamily family, double value, string says)
        => Assert.Contains(says, Measure(new ExposureRecord(), new MeasureOptions { Indicator = new ExposureIndicator(family, value == 0 ? null : value) }).Why, StringComparison.Ordinal);

    [Fact]
    public void Measure_IndexGivenByReader_IsUsedBeforeTheHeaders()
    {
        ExposureMeasurement exposure = FromHeader(new ExposureRecord { ExposureIndex = 176 }, new MeasureOptions { ExposureIndex = 300, TargetExposureIndex = 300 });

        Assert.Equal(ExposureBasis.Reader, exposure.Basis);
        Assert.Equal(300, exposure.ExposureIndex);
        Assert.Equal(0, exposure.DeviationIndex);
    }

    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(PixelRelationship.Linear, 1000, 50)]
    [InlineData(PixelRelationship.Linear, -1000, 60000)]
    [InlineData(PixelRelationship.Logarithmic, 20000, 5000)]
    [InlineData(PixelRelationship.SquareRoot, 10000, 100)]
    public void Measure_CalibratedPixels_IsTheDrawnKerma(PixelRelationship relationship, double gain, double offset)
    {
        // Anatomy (rows 100 to 299 of 400) has K = 3.12 µGy with 5 % noise, direct exposure 20 µGy: EI 312.
        // Median of n = 80,000 at 5 %: 1.2533 · 5 % / √80,000 = 0.02 %; one grey step is below 0.1 %. Four deviations and a step: 0.2 %.
        var noise = new NoiseField(seed: 7);
        double Kerma(int row) => row is >= 100 and < 300 ? 3.12 * (1 + (0.05 * noise.Gaussian())) : 20;
        Radiograph radiograph = HandDrawn.Radiograph(400, 400, 16, (row, _) => offset + (gain * relationship switch
        {
            PixelRelationship.Linear => Kerma(row),
            PixelRelationship.Logarithmic => Math.Log10(Kerma(row)),
            _ => Math.Sqrt(Kerma(row)),
        }));
        RadiographRegions regions = HandDrawn.Regions(radiograph, (row, _) => row is >= 104 and < 296 ? RegionLabel.SoftTissue : RegionLabel.Direct, exposureSign: Math.Sign(gain));
        var options = new MeasureOptions
        {
            TargetExposureIndex = 250,
            Calibration = new Calibration { Relationship = relationship, Gain = gain, Offset = offset, KermaUncertaintyPercent = 5 },
        };

        Figure<ExposureMeasurement> figure = ExposureMeasure.Measure(radiograph, regions, options);

        Assert.True(figure.IsMeasured, figure.Why);
        ExposureMeasurement exposure = figure.Value;
        Assert.Equal(ExposureBasis.Pixels, exposure.Basis);
        Assert.InRange(exposure.ExposureIndex, 312 * 0.998, 312 * 1.002);
        Assert.InRange(exposure.DeviationIndex!.Value, 0.962 - 0.01, 0.962 + 0.01);
        Assert.InRange(exposure.ExposureIndexUncertainty!.Value / exposure.ExposureIndex, 0.0499, 0.051);
        Assert.Null(exposure.HeaderAgrees);
    }

    [Fact]
    public void Measure_CalibrationWithoutUncertainty_GivesNone()
    {
        Radiograph radiograph = HandDrawn.Radiograph(64, 64, 12, (row, column) => 1000 + ((row + column) % 7));
        var options = new MeasureOptions { Calibration = new Calibration { Relationship = PixelRelationship.Linear, Gain = 400 } };

        ExposureMeasurement exposure = ExposureMeasure.Measure(radiograph, HandDrawn.AllSoftTissue(radiograph), options).Value!;

        Assert.Null(exposure.ExposureIndexUncertainty);
        Assert.Contains("no uncertainty", exposure.Explanation, StringComparison.Ordinal);
    }

    [Fact]
    public void Measure_AnatomySaturatedInPart_SaysTheShare()
    {
        Radiograph radiograph = HandDrawn.Radiograph(100, 100, 12, (row, column) => row < 20 ? 4095 : 1000 + (column % 5));
        var options = new MeasureOptions { Calibration = new Calibration { Relationship = PixelRelationship.Linear, Gain = 400 } };

        ExposureMeasurement exposure = ExposureMeasure.Measure(radiograph, HandDrawn.AllSoftTissue(radiograph), options).Value!;

        Assert.Contains("20 % of the anatomy", exposure.Explanation, StringComparison.Ordinal);
    }

    [Fact]
    public void Measure_AnatomySaturatedByHalf_CannotTell()
    {
        Radiograph radiograph = HandDrawn.Radiograph(100, 100, 12, (row, _) => row < 60 ? 4095 : 1000);
        var options = new MeasureOptions { Calibration = new Calibration { Relationship = PixelRelationship.Linear, Gain = 400 } };

        Assert.Contains("limit of the signal", ExposureMeasure.Measure(radiograph, HandDrawn.AllSoftTissue(radiograph), options).Why, StringComparison.Ordinal);
    }

    [Fact]
    public void Measure_CalibrationOfAnotherReceptor_CannotTell()
    {
        Radiograph radiograph = HandDrawn.Radiograph(100, 100, 12, (row, column) => 1000 + ((row + column) % 9));
        var options = new MeasureOptions { Calibration = new Calibration { Relationship = PixelRelationship.Linear, Gain = 400, Offset = 2000 } };

        Assert.Contains("does not belong", ExposureMeasure.Measure(radiograph, HandDrawn.AllSoftTissue(radiograph), options).Why, StringComparison.Ordinal);
    }

    [Fact]
    public void Measure_PixelsForPresentation_CannotTellByCalibration()
    {
        Radiograph radiograph = HandDrawn.Radiograph(64, 64, 12, (_, _) => 1000) with { PresentationIntent = PresentationIntent.ForPresentation };
        var options = new MeasureOptions { Calibration = new Calibration { Relationship = PixelRelationship.Linear, Gain = 400 } };

        Assert.Contains("for presentation", ExposureMeasure.Measure(radiograph, HandDrawn.AllSoftTissue(radiograph), options).Why, StringComparison.Ordinal);
    }

    [Fact]
    public void Measure_LinearPixelsWithoutGain_CannotTell()
    {
        Radiograph radiograph = HandDrawn.Radiograph(64, 64, 12, (_, _) => 1000);

        Assert.Contains("how many units are one µGy", ExposureMeasure.Measure(radiograph, HandDrawn.AllSoftTissue(radiograph), new MeasureOptions()).Why, StringComparison.Ordinal);
    }

    [Fact]
    public void Measure_OnlyAMakersSensitivity_CannotTellAndNamesIt()
    {
        Radiograph radiograph = HandDrawn.Radiograph(64, 64, 12, (_, _) => 1000) with { Exposure = new ExposureRecord { Sensitivity = 357 } };

        string why = ExposureMeasure.Measure(radiograph, HandDrawn.AllSoftTissue(radiograph), new MeasureOptions()).Why!;

        Assert.Contains("357", why, StringComparison.Ordinal);
        Assert.Contains("does not name", why, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(0.0)]
    [InlineData(-5.0)]
    [InlineData(double.NaN)]
    public void Measure_HeaderIndexNotAboveZero_CannotTell(double index)
    {
        Radiograph radiograph = HandDrawn.Radiograph(64, 64, 12, (_, _) => 1000) with { Exposure = new ExposureRecord { ExposureIndex = index } };

        Assert.False(ExposureMeasure.Measure(radiograph, HandDrawn.AllSoftTissue(radiograph), new MeasureOptions()).IsMeasured);
    }

    private static Figure<ExposureMeasurement> Measure(ExposureRecord record, MeasureOptions options)
    {
        Radiograph radiograph = HandDrawn.Radiograph(32, 32, 12, (_, _) => 1000) with { Exposure = record };
        return ExposureMeasure.Measure(radiograph, HandDrawn.NothingFound(radiograph), options);
    }

    private static ExposureMeasurement FromHeader(ExposureRecord record, MeasureOptions? options = null)
    {
        Radiograph radiograph = HandDrawn.Radiograph(32, 32, 12, (_, _) => 1000) with { Exposure = record };
        return ExposureMeasure.Measure(radiograph, HandDrawn.NothingFound(radiograph), options ?? new MeasureOptions()).Value!;
    }
}
