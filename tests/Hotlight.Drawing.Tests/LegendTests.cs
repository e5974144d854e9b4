using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Document;

namespace Hotlight.Drawing.Tests;

public sealed class LegendTests
{
    // 431 with 7 % is 30.17: a measured index is rounded to the digits that its deviation carries, a recorded one stays what the console says.
    [Theory]
    [InlineData(ExposureBasis.Header, "431 ± 30")]
    [InlineData(ExposureBasis.Reader, "431 ± 30")]
    [InlineData(ExposureBasis.Pixels, "430 ± 30")]
    [Trait("evidence", "analytic")]
    public void Of_AnExposureIndex_ShowsARecordedOneAsItWasRecorded(ExposureBasis basis, string expected)
    {
        Radiograph radiograph = Specimen.Radiograph(64, 64);
        MeasurementDocument document = Specimen.Measured(radiograph) with
        {
            Exposure = Figure<ExposureMeasurement>.Measured(new ExposureMeasurement
            {
                Basis = basis,
                ExposureIndex = 431,
                ExposureIndexUncertainty = 30.17,
                ReceptorAirKermaMicrogray = 4.31,
            }),
        };
        LegendLine line = Legend.Of(document, radiograph, showsMarks: false).SelectMany(section => section.Lines).Single(candidate => candidate.Label == "exposure index");
        Assert.Equal(expected, line.Value);
    }
}
