using Hotlight.Core;
using Hotlight.Imaging.Dicom;

namespace Hotlight.Imaging.Tests.Dicom;

public sealed class DxObjectTests
{
    private static Radiograph Example(int bits)
    {
        Raster<ushort> pixels = new(5, 7);
        for (int i = 0; i < pixels.Samples.Length; i++)
        {
            pixels.Samples[i] = (ushort)((i * 7919) & ((1 << bits) - 1));
        }

        return new Radiograph
        {
            FileName = "example.dcm",
            Source = ImageSource.Dicom,
            Pixels = pixels,
            BitsStored = bits,
            ReceptorSpacing = new PixelSpacing(rowSpacingMm: 0.14, columnSpacingMm: 0.15),
            HighIsShownDark = true,
            PresentationIntent = PresentationIntent.ForPresentation,
            Relationship = PixelRelationship.Linear,
            RelationshipSign = 1,
            Modality = new ModalityTransform { Slope = 2, Intercept = -10 },
            Windows = [new VoiTransform { Center = 100, Width = 200.5, Function = WindowFunction.Sigmoid, Explanation = "Köln" }, new VoiTransform { Center = 50, Width = 60, Function = WindowFunction.Sigmoid }],
            Padding = new PixelPadding(0, 3),
            Encoding = "",
            Exposure = new ExposureRecord { ExposureIndex = 312.5, TargetExposureIndex = 250, DeviationIndex = 0.97, TubeVoltageKvp = 60, ExposureMas = 2.5, ViewCode = "399348003", Laterality = "L", PatientOrientation = "L\\F", Grid = "FIXED PARALLEL" },
        };
    }

    [Theory]
    [Trait("evidence", "invariant")]
    [InlineData(8, DicomEncoding.ExplicitLittleEndian)]
    [InlineData(8, DicomEncoding.ExplicitBigEndian)]
    [InlineData(12, DicomEncoding.ExplicitLittleEndian)]
    [InlineData(12, DicomEncoding.ImplicitLittleEndian)]
    [InlineData(14, DicomEncoding.ExplicitBigEndian)]
    [InlineData(16, DicomEncoding.Deflated)]
    public void Write_AnyEncoding_ReadsBackTheSame(int bits, DicomEncoding encoding)
    {
        Radiograph written = Example(bits);
        using MemoryStream stream = new();
        DxObject.Write(stream, written, encoding: encoding);
        Radiograph read = RadiographReader.Read(stream.ToArray(), "example.dcm");

        Assert.Equal(written.Pixels.Samples.ToArray(), read.Pixels.Samples.ToArray());
        Assert.Equal((5, 7, bits), (read.Rows, read.Columns, read.BitsStored));
        Assert.Equal(written.ReceptorSpacing, read.ReceptorSpacing);
        Assert.True(read.HighIsShownDark);
        Assert.Equal(PresentationIntent.ForPresentation, read.PresentationIntent);
        Assert.Equal((PixelRelationship.Linear, 1), (read.Relationship, read.RelationshipSign));
        Assert.Equal(written.Modality, read.Modality);
        Assert.Equal(written.Windows, read.Windows);
        Assert.Equal(written.Padding, read.Padding);
        Assert.Equal((312.5, 250, 0.97), (read.Exposure.ExposureIndex, read.Exposure.TargetExposureIndex, read.Exposure.DeviationIndex));
        Assert.Equal((60, 2.5, "399348003", "L"), (read.Exposure.TubeVoltageKvp, read.Exposure.ExposureMas, read.Exposure.ViewCode, read.Exposure.Laterality));
        Assert.Equal(("L\\F", "FIXED PARALLEL"), (read.Exposure.PatientOrientation, read.Exposure.Grid));
        Assert.False(read.Exposure.CarriesPatientIdentity);
        Assert.Empty(read.Remarks);
    }
}
