using System.Text;
using Hotlight.Core;
using Hotlight.Imaging.Dicom;

namespace Hotlight.Imaging.Tests.Dicom;

/// <summary>What the header says, clause by clause, on data sets put together here.</summary>
public sealed class DicomReadingTests
{
    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(16, 12, 11, 0x0ABC, 0xABC)]
    [InlineData(16, 12, 13, 0x2AF3, 0xABC)]
    [InlineData(16, 10, 9, 0xFC01, 0x001)]
    public void Read_HighBitAndUnusedBits_TakesTheBitsStored(int allocated, int stored, int highBit, int word, int expected)
    {
        // PS3.5 8.1.1: the pixel is the bits from High Bit down; 0x2AF3 >> 2 = 0xABC.
        Radiograph radiograph = Read(Image([(ushort)word, 0]).SetNumbers(Tags.BitsAllocated, "US", allocated).SetNumbers(Tags.BitsStored, "US", stored).SetNumbers(Tags.HighBit, "US", highBit));
        Assert.Equal(expected, radiograph.Pixels[0, 0]);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Read_SignedPixels_CountFromTheLowestStoredValue()
    {
        Radiograph radiograph = Read(Image([0x0800, 0x07FF, 0xFFFF, 0x0000]).SetNumbers(Tags.BitsStored, "US", 12).SetNumbers(Tags.HighBit, "US", 11)
            .SetNumbers(Tags.PixelRepresentation, "US", 1).Set(DicomElement.OfValue(Tags.PixelPaddingValue, "SS", new byte[] { 0x00, 0xF8 })));
        Assert.Equal(-2048, radiograph.StoredMinimum);
        Assert.Equal([0, 4095, 2047, 2048], radiograph.Pixels.Samples.ToArray().Select(value => (int)value));
        Assert.Equal(new PixelPadding(-2048, -2048), radiograph.Padding);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Read_PaddingRange_IsTakenInEitherOrder()
    {
        Radiograph radiograph = Read(Image([5, 6]).SetNumbers(Tags.PixelPaddingValue, "US", 9).SetNumbers(Tags.PixelPaddingRangeLimit, "US", 3));
        Assert.Equal(new PixelPadding(3, 9), radiograph.Padding);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Read_OverlayInHighBits_IsKeptApart()
    {
        // Old files set bit 12 of a 12-bit pixel's word where the overlay is drawn (PS3.5 8.1.2, retired).
        Radiograph radiograph = Read(Image([0x1ABC, 0x0ABC, 0x1001, 0x0002]).SetNumbers(Tags.BitsStored, "US", 12).SetNumbers(Tags.HighBit, "US", 11)
            .SetNumbers(0x60000010u, "US", 1).SetNumbers(0x60000011u, "US", 4).SetNumbers(0x60000050u, "SS", 1, 1).SetNumbers(0x60000100u, "US", 16).SetNumbers(0x60000102u, "US", 12));
        Assert.Equal([0xABC, 0xABC, 1, 2], radiograph.Pixels.Samples.ToArray().Select(value => (int)value));
        OverlayPlane overlay = Assert.Single(radiograph.Overlays);
        Assert.Equal([1, 0, 1, 0], overlay.Bits.Samples.ToArray().Select(value => (int)value));
        Assert.Equal((0x6000, 0, 0), (overlay.Group, overlay.OriginRow, overlay.OriginColumn));
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Read_OverlayPlane_StartsAtItsOriginLowestBitFirst()
    {
        Radiograph radiograph = Read(Image([1, 2]).SetNumbers(0x60020010u, "US", 3).SetNumbers(0x60020011u, "US", 3).SetNumbers(0x60020050u, "SS", 2, -3)
            .Set(DicomElement.OfValue(0x60023000u, "OW", new byte[] { 0b0000_0101, 0b1 })));
        OverlayPlane overlay = Assert.Single(radiograph.Overlays);
        Assert.Equal((1, -4), (overlay.OriginRow, overlay.OriginColumn));
        Assert.Equal([1, 0, 1, 0, 0, 0, 0, 0, 1], overlay.Bits.Samples.ToArray().Select(value => (int)value));
    }

    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(null, null, null, null, null)]
    [InlineData("0.14\\0.15", "0.1\\0.1", "GEOMETRY", null, 0.14)]
    [InlineData(null, "0.2\\0.2", null, null, 0.2)]
    [InlineData(null, "0.1\\0.1", "GEOMETRY", "1.2", 0.12)]
    [InlineData(null, "0.1\\0.1", "FIDUCIAL", "1.2", null)]
    [InlineData(null, "0.1\\0.1", "GEOMETRY", null, null)]
    [InlineData("0\\0", null, null, null, null)]
    [InlineData("-0.1\\0.1", "0.2\\0.2", null, null, 0.2)]
    [InlineData("0.1", null, null, null, null)]
    [InlineData("abc\\def", null, null, null, null)]
    public void Read_Spacing_IsTheReceptorsOrUnknown(string? imager, string? pixel, string? calibration, string? magnification, double? rowSpacingMm)
    {
        DicomDataset dataset = Image([1, 2]);
        void Set(DicomTag tag, string vr, string? value)
        {
            if (value is not null)
            {
                dataset.SetText(tag, vr, value.Split('\\'));
            }
        }

        Set(Tags.ImagerPixelSpacing, "DS", imager);
        Set(Tags.PixelSpacing, "DS", pixel);
        Set(Tags.PixelSpacingCalibrationType, "CS", calibration);
        Set(Tags.EstimatedRadiographicMagnificationFactor, "DS", magnification);
        Radiograph radiograph = Read(dataset);
        Assert.Equal(rowSpacingMm is null, radiograph.ReceptorSpacing is null);
        Assert.Equal(rowSpacingMm is null, radiograph.SpacingBasis is null);
        if (rowSpacingMm is double expected)
        {
            Assert.Equal(expected, radiograph.ReceptorSpacing!.Value.RowSpacingMm, 1e-12);
        }
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Read_RowSpacing_ComesFirst()
    {
        // PS3.3 10.7.1.3: row spacing, the distance between rows, then column spacing.
        Radiograph radiograph = Read(Image([1, 2]).SetNumbers(Tags.ImagerPixelSpacing, "DS", 0.3, 0.1));
        Assert.Equal(new PixelSpacing(rowSpacingMm: 0.3, columnSpacingMm: 0.1), radiograph.ReceptorSpacing);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Read_RectangularAndCircularShutter_GivesTheirCommonPart()
    {
        DicomDataset dataset = Image(new ushort[100 * 80], rows: 100, columns: 80).SetText(Tags.ShutterShape, "CS", "RECTANGULAR", "CIRCULAR")
            .SetNumbers(0x00181602u, "IS", 11).SetNumbers(0x00181604u, "IS", 71).SetNumbers(0x00181606u, "IS", 21).SetNumbers(0x00181608u, "IS", 81)
            .SetNumbers(0x00181610u, "IS", 51, 41).SetNumbers(0x00181612u, "IS", 30);
        Radiograph radiograph = Read(dataset);
        Assert.NotNull(radiograph.Shutter);

        // The circle about (40, 50) of radius 30 lies within columns 10 … 70 and rows 20 … 80: its area is left, less what 180 corners cut off.
        Assert.Equal(Math.PI * 900, Area(radiograph.Shutter), 0.001 * Math.PI * 900);
        Assert.All(radiograph.Shutter, point => Assert.InRange(point.DistancePixelsTo(new PixelPoint(X: 40, Y: 50)), 0, 30.001));
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Read_PolygonalCollimator_GivesItsCornersFromZero()
    {
        Radiograph radiograph = Read(Image(new ushort[100 * 80], rows: 100, columns: 80).SetText(Tags.CollimatorShape, "CS", "POLYGONAL")
            .SetNumbers(0x00181720u, "IS", 11, 21, 11, 61, 91, 61, 91, 21));
        Assert.Equal([new(20, 10), new(60, 10), new(60, 90), new(20, 90)], radiograph.HeaderCollimator!);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Read_ModalityTable_ClampsToItsEnds()
    {
        DicomDataset item = new DicomDataset().SetNumbers(Tags.LutDescriptor, "US", 3, 10, 12).Set(DicomElement.OfValue(Tags.LutData, "OW", new byte[] { 1, 0, 2, 0, 0xFF, 0x0F }));
        Radiograph radiograph = Read(Image([1, 2]).SetItems(Tags.ModalityLutSequence, item));
        Assert.Equal([1.0, 1, 2, 4095, 4095], new[] { 0, 10, 11, 12, 500 }.Select(radiograph.Modality.Apply));
    }

    [Theory]
    [InlineData("MONOCHROME1", "INVERSE", true, false)]
    [InlineData("MONOCHROME2", "IDENTITY", false, false)]
    [InlineData("MONOCHROME1", null, true, false)]
    [InlineData("MONOCHROME2", "INVERSE", false, true)]
    [InlineData("MONOCHROME1", "IDENTITY", true, true)]
    public void Read_Polarity_FollowsThePhotometricInterpretation(string photometric, string? shape, bool highIsShownDark, bool isRemarked)
    {
        DicomDataset dataset = Image([1, 2]).SetText(Tags.PhotometricInterpretation, "CS", photometric);
        if (shape is not null)
        {
            dataset.SetText(Tags.PresentationLutShape, "CS", shape);
        }

        Radiograph radiograph = Read(dataset);
        Assert.Equal(highIsShownDark, radiograph.HighIsShownDark);
        Assert.Equal(isRemarked, radiograph.Remarks.Any(remark => remark.Contains("contradicts")));
    }

    [Fact]
    public void Read_SeveralWindows_KeepsThoseThatAreWindows()
    {
        Radiograph radiograph = Read(Image([1, 2]).SetNumbers(Tags.WindowCenter, "DS", 100, 200, 300).SetNumbers(Tags.WindowWidth, "DS", 50, 0, 80)
            .SetText(Tags.WindowCenterWidthExplanation, "LO", "SOFT", "NONE", "HARD"));
        Assert.Equal([(100.0, "SOFT"), (300.0, "HARD")], radiograph.Windows.Select(window => (window.Center, window.Explanation!)));
    }

    [Theory]
    [InlineData("CT", "it is a computed tomography image; Hotlight judges plain radiographs.")]
    [InlineData("US", "it is an ultrasound image; Hotlight judges plain radiographs.")]
    [InlineData("MR", "it is a magnetic resonance image; Hotlight judges plain radiographs.")]
    [InlineData("SR", "it is a structured report; Hotlight judges plain radiographs.")]
    public void Read_OtherModality_SaysWhatItIs(string modality, string reason)
        => Assert.Equal(reason, Refusal(Image([1, 2]).SetText(Tags.Modality, "CS", modality)));

    [Fact]
    public void Read_PaletteColour_IsRefused()
        => Assert.Equal("it is a colour image (PALETTE COLOR); a radiograph is grey.", Refusal(Image([1, 2]).SetText(Tags.PhotometricInterpretation, "CS", "PALETTE COLOR")));

    [Fact]
    public void Read_SeveralFrames_IsRefused() => Assert.Equal("it holds 12 frames; give one exposure a file.", Refusal(Image([1, 2]).SetText(Tags.NumberOfFrames, "IS", "12")));

    [Fact]
    public void Read_NoPixelData_SaysSo() => Assert.Contains("without pixel data", Refusal(Image([1, 2]).Remove(Tags.PixelData)));

    [Fact]
    public void Read_PixelDataTooShort_IsNotFilledUp() => Assert.Equal("its pixel data ends early: 4 bytes of 6.", Refusal(Image([1, 2]).SetNumbers(Tags.Columns, "US", 3)));

    [Theory]
    [InlineData(0, 5)]
    [InlineData(65_535, 65_535)]
    [InlineData(30_001, 1)]
    public void Read_ImpossibleSize_IsRefused(int rows, int columns)
        => Assert.StartsWith("it says it has", Refusal(Image([1, 2]).SetNumbers(Tags.Rows, "US", rows).SetNumbers(Tags.Columns, "US", columns)));

    [Fact]
    public void Read_SequencesNestedTooDeep_IsRefused()
    {
        DicomDataset inner = new();
        for (int i = 0; i < 200; i++)
        {
            inner = new DicomDataset().SetItems(Tags.ViewCodeSequence, inner);
        }

        Assert.Equal("its sequences are nested more than 16 deep.", Refusal(Image([1, 2]).SetItems(Tags.ViewCodeSequence, inner)));
    }

    [Fact]
    public void Read_DeflatedDataSetOfEndlessZeros_IsRefused()
    {
        using MemoryStream file = new();
        DicomWriter.Write(file, Image([1, 2]).SetText(Tags.Manufacturer, "LO", "x"), DicomEncoding.Deflated);
        byte[] start = file.ToArray();
        int meta = Encoding.Latin1.GetString(start).IndexOf("HOTLIGHT", StringComparison.Ordinal) + 8;
        using MemoryStream bomb = new();
        bomb.Write(start, 0, meta);
        using (System.IO.Compression.DeflateStream deflater = new(bomb, System.IO.Compression.CompressionLevel.Fastest, leaveOpen: true))
        {
            byte[] zeros = new byte[1 << 20];
            for (int i = 0; i < 180; i++)
            {
                deflater.Write(zeros);
            }
        }

        UnreadableImageException error = Assert.Throws<UnreadableImageException>(() => RadiographReader.Read(bomb.ToArray(), "bomb.dcm"));
        Assert.Contains("grows beyond", error.Reason);
    }

    [Fact]
    public void Read_GreyStoredAsColour_IsReadWithARemark()
    {
        DicomDataset dataset = Image([1, 2]).SetNumbers(Tags.SamplesPerPixel, "US", 3).SetText(Tags.PhotometricInterpretation, "CS", "RGB").SetNumbers(Tags.PlanarConfiguration, "US", 0)
            .SetNumbers(Tags.BitsAllocated, "US", 8).SetNumbers(Tags.BitsStored, "US", 8).SetNumbers(Tags.HighBit, "US", 7)
            .Set(DicomElement.OfValue(Tags.PixelData, "OB", new byte[] { 7, 7, 7, 250, 250, 250 }));
        Radiograph radiograph = Read(dataset);
        Assert.Equal([7, 250], radiograph.Pixels.Samples.ToArray().Select(value => (int)value));
        Assert.Contains("The picture is grey stored as colour.", radiograph.Remarks);
        Assert.Contains("in colour", Refusal(dataset.Set(DicomElement.OfValue(Tags.PixelData, "OB", new byte[] { 250, 7, 7, 7, 200, 7 }))));
    }

    [Fact]
    [Trait("evidence", "published")]
    public void Read_JapaneseText_IsDecodedByItsCharacterSet()
    {
        // PS3.5 annex H.3.1, second component group, byte for byte: ESC $ B 3B 33 45 44 ESC ( B 5E ESC $ B 42 40 4F 3A ESC ( B.
        byte[] name = Convert.FromHexString("1B24423B3345441B28425E1B244242404F3A1B2842");
        DicomDataset dataset = Image([1, 2]).SetText(Tags.SpecificCharacterSet, "CS", "", "ISO 2022 IR 87").Set(DicomElement.OfValue(Tags.Manufacturer, "LO", name));
        Assert.Equal("山田^太郎", Read(dataset).Exposure.Manufacturer);
    }

    [Theory]
    [InlineData("LO")]
    [InlineData("UN")]
    [InlineData("CS")]
    public void Read_CharacterSetsOfAnyRepresentation_AreReadInNone(string representation)
    {
        DicomDataset dataset = Image([1, 2]).Set(DicomElement.OfValue(Tags.SpecificCharacterSet, representation, "ISO_IR 100"u8.ToArray())).Set(DicomElement.OfValue(Tags.Manufacturer, "LO", new byte[] { 0x4D, 0xFC }));
        Assert.Equal("Mü", Read(dataset).Exposure.Manufacturer);
    }

    [Fact]
    public void Read_PatientAttributes_SayOnlyWhetherTheyAreThere()
    {
        Assert.False(Read(Image([1, 2])).Exposure.CarriesPatientIdentity);
        Assert.True(Read(Image([1, 2]).SetText(Tags.PatientId, "LO", "X")).Exposure.CarriesPatientIdentity);
        Assert.True(Read(Image([1, 2]).SetText(Tags.PatientIdentityRemoved, "CS", "YES")).Exposure.SaysIdentityRemoved);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Read_ExposureInMicroampereSeconds_BecomesMilliampereSeconds()
    {
        Assert.Equal(2.55, Read(Image([1, 2]).SetText(Tags.Exposure, "IS", "3").SetText(Tags.ExposureInMicroAmpereSeconds, "IS", "2550")).Exposure.ExposureMas!.Value, 1e-12);
        Assert.Equal(3, Read(Image([1, 2]).SetText(Tags.Exposure, "IS", "3")).Exposure.ExposureMas);
        Assert.Null(Read(Image([1, 2]).SetText(Tags.Exposure, "IS", "0")).Exposure.ExposureMas);
    }

    private static DicomDataset Image(ushort[] words, int rows = 1, int? columns = null)
    {
        byte[] bytes = new byte[words.Length * 2];
        Buffer.BlockCopy(words, 0, bytes, 0, bytes.Length);
        return new DicomDataset()
            .SetText(Tags.SopClassUid, "UI", "1.2.840.10008.5.1.4.1.1.1").SetText(Tags.SopInstanceUid, "UI", "2.25.1").SetText(Tags.Modality, "CS", "CR")
            .SetNumbers(Tags.Rows, "US", rows).SetNumbers(Tags.Columns, "US", columns ?? words.Length).SetNumbers(Tags.SamplesPerPixel, "US", 1)
            .SetText(Tags.PhotometricInterpretation, "CS", "MONOCHROME2").SetNumbers(Tags.BitsAllocated, "US", 16).SetNumbers(Tags.BitsStored, "US", 16)
            .SetNumbers(Tags.HighBit, "US", 15).SetNumbers(Tags.PixelRepresentation, "US", 0).Set(DicomElement.OfValue(Tags.PixelData, "OW", bytes));
    }

    private static Radiograph Read(DicomDataset dataset)
    {
        using MemoryStream file = new();
        DicomWriter.Write(file, dataset);
        return RadiographReader.Read(file.ToArray(), "a.dcm");
    }

    private static string Refusal(DicomDataset dataset) => Assert.Throws<UnreadableImageException>(() => Read(dataset)).Reason;

    private static double Area(IReadOnlyList<PixelPoint> polygon)
    {
        double twice = 0;
        for (int i = 0; i < polygon.Count; i++)
        {
            PixelPoint a = polygon[i];
            PixelPoint b = polygon[(i + 1) % polygon.Count];
            twice += (a.X * b.Y) - (b.X * a.Y);
        }

        return Math.Abs(twice) / 2;
    }
}
