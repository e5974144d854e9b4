using Hotlight.Imaging;
using Hotlight.Measure.Document;
using Hotlight.Measure.Exposure;
using Hotlight.Measure.Tests.Document;
using Hotlight.Testing;

namespace Hotlight.Measure.Tests.Exposure;

public class OpenRadiographExposureTests
{
    [SharedDataFact("radiographs-dicom")]
    [Trait("evidence", "independent")]
    public void Measure_OpenRadiographWithAllThreeFigures_AgreesWithItsHeader()
    {
        // Its header: EI 176, EI_T 876, DI −7.0, as another author's reader (pydicom 2.3.1) prints them; 10 · log10(176 / 876) = −6.970.
        Radiograph radiograph = RadiographReader.Read(Path.Combine(SharedData.Folder("radiographs-dicom"), "dx_image_vet_dog_thorax.dcm"));

        ExposureMeasurement exposure = ExposureMeasure.Measure(radiograph, HandDrawn.NothingFound(radiograph), new MeasureOptions()).Value!;

        Assert.Equal(176, exposure.ExposureIndex);
        Assert.Equal(876, exposure.TargetExposureIndex);
        Assert.Equal(-6.970, exposure.DeviationIndex!.Value, 0.0006);
        Assert.True(exposure.HeaderAgrees);
        Assert.Equal(1.76, exposure.ReceptorAirKermaMicrogray);
    }
}
