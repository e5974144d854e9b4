using Hotlight.Imaging.Dicom;

namespace Hotlight.Imaging.Tests.Dicom;

public sealed class DicomDictionaryTests
{
    // [dicom-ps3-6] chapter 6: keyword, tag and value representation.
    [Theory]
    [InlineData("PatientName", 0x00100010, "PN")]
    [InlineData("ExposureIndex", 0x00181411, "DS")]
    [InlineData("PixelData", 0x7FE00010, "OW")]
    [InlineData("StudyInstanceUID", 0x0020000D, "UI")]
    [InlineData("ViewCodeSequence", 0x00540220, "SQ")]
    public void Attribute_OfTheStandard_IsKnownByKeywordAndTag(string keyword, uint tag, string vr)
    {
        Assert.Equal(tag, DicomDictionary.TagOf(keyword)!.Value.Number);
        Assert.Equal(vr, DicomDictionary.VrOf(tag));
        Assert.Equal(keyword, DicomDictionary.KeywordOf(tag));
    }

    [Fact]
    public void Attribute_OfARepeatedGroup_IsThatOfTheFirst()
    {
        Assert.Equal("OverlayData", DicomDictionary.KeywordOf(0x60023000));
        Assert.Equal("OverlayRows", DicomDictionary.KeywordOf(0x601E0010));
    }

    [Fact]
    public void Attribute_ThatIsNone_IsNotKnown()
    {
        Assert.Null(DicomDictionary.VrOf(0x00091001));
        Assert.Null(DicomDictionary.TagOf("Nonsense"));
        Assert.Equal(0x00091001u, DicomDictionary.TagOf("00091001")!.Value.Number);
    }
}
