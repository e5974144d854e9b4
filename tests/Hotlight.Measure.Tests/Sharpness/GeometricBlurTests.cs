using Hotlight.Imaging;
using Hotlight.Measure.Sharpness;

namespace Hotlight.Measure.Tests.Sharpness;

/// <summary>Geometric unsharpness against printed examples.</summary>
public sealed class GeometricBlurTests
{
    // A nondestructive-testing education formula page: spot 3 mm, object 50 cm from the film, 100 cm from the source: 1.5 mm (answer printed as 0.15 cm).
    // Spot 1.2 mm, 5 cm, 100 cm: F·OID/SOD = 1.2·50/950 = 0.06316 mm.
    [Theory]
    [Trait("evidence", "published")]
    [InlineData(3, 1500, 1000, 1.5)]
    [InlineData(1.2, 1000, 950, 0.06316)]
    public void Expected_DistancesInTheHeader_IsThePenumbrasSigma(double spotMm, double toReceptorMm, double toObjectMm, double penumbraMm)
    {
        (double SigmaMm, string Basis)? expected = GeometricBlur.Expected(new ExposureRecord { FocalSpotMm = spotMm, SourceImageDistanceMm = toReceptorMm, SourceObjectDistanceMm = toObjectMm });
        Assert.Equal(penumbraMm / Math.Sqrt(12), expected!.Value.SigmaMm, 5e-6);
        Assert.Contains("distance", expected.Value.Basis, StringComparison.Ordinal);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Expected_MagnificationOrThickness_StandInForTheDistance()
    {
        var exposure = new ExposureRecord { FocalSpotMm = 1, MagnificationFactor = 1.1 };
        Assert.Equal(0.1 / Math.Sqrt(12), GeometricBlur.Expected(exposure)!.Value.SigmaMm, 1e-9);

        // The middle of 100 mm on the receptor at 1000 mm: M = 1000/950.
        exposure = new ExposureRecord { FocalSpotMm = 1, SourceImageDistanceMm = 1000, BodyPartThicknessMm = 100 };
        Assert.Equal(((1000 / 950.0) - 1) / Math.Sqrt(12), GeometricBlur.Expected(exposure)!.Value.SigmaMm, 1e-9);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Expected_DistancesMissingOrImpossible_IsNotGuessed()
    {
        Assert.Null(GeometricBlur.Expected(new ExposureRecord()));
        Assert.Null(GeometricBlur.Expected(new ExposureRecord { FocalSpotMm = 1, SourceImageDistanceMm = 1000 }));
        Assert.Null(GeometricBlur.Expected(new ExposureRecord { FocalSpotMm = 1, SourceImageDistanceMm = 1000, SourceObjectDistanceMm = 1200 }));
        Assert.Null(GeometricBlur.Expected(new ExposureRecord { SourceImageDistanceMm = 1000, SourceObjectDistanceMm = 900 }));
    }
}
