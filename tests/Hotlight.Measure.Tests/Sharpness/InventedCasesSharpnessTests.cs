using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Document;
using Hotlight.Measure.Sharpness;
using Hotlight.Simulation;
using Xunit.Abstractions;

namespace Hotlight.Measure.Tests.Sharpness;

/// <summary>Motion in invented cases, whose truth the simulator knows and the measure does not.</summary>
public sealed class InventedCasesSharpnessTests(ITestOutputHelper output)
{
    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData("wrist-pa-moved", MotionSign.Seen)]
    [InlineData("wrist-pa-good", MotionSign.NotSeen)]
    public void Measure_AnInventedCase_TellsMotionAndItsDirection(string id, MotionSign expected)
    {
        DemoExposure exposure = DemoCases.All.Single(invented => invented.Id == id).Expose();
        Figure<SharpnessMeasurement> figure = RadiographMeasure.Measure(RadiographReader.Read(exposure.Dicom, id + ".dcm")).Sharpness;
        Assert.True(figure.IsMeasured, figure.Why);
        SharpnessMeasurement sharpness = figure.Value;
        output.WriteLine($"{id}: blur {sharpness.EdgeBlurMm:0.000} mm of {exposure.Truth.Sharpness!.EdgeBlurMm:0.000}, way {sharpness.MotionMm:0.00} mm of {exposure.Truth.Sharpness.MotionMm:0.00}, {sharpness.DirectionDegrees:0} degrees of {exposure.Truth.Sharpness.DirectionDegrees:0}");
        Assert.Equal(expected, sharpness.Motion);
        if (expected == MotionSign.Seen)
        {
            Assert.InRange(DirectionalBlur.Apart(sharpness.DirectionDegrees!.Value, exposure.Truth.Sharpness.DirectionDegrees), 0, 15);
            Assert.InRange(Math.Abs(sharpness.MotionMm!.Value - exposure.Truth.Sharpness.MotionMm), 0, 2 * sharpness.MotionMmUncertainty!.Value);
        }
    }
}
