using System.Globalization;
using Hotlight.Imaging.Dicom;
using Hotlight.Testing;

namespace Hotlight.Privacy.Tests;

public sealed class ConfidentialityProfileTests
{
    // [dicom-ps3-15] Table E.1-1: action codes read in the table, by row.
    [Theory]
    [InlineData("AccessionNumber", Retained.Nothing, PrivacyAction.Empty)]
    [InlineData("AccessionNumber", Retained.ForTeaching, PrivacyAction.Empty)]
    [InlineData("PatientBirthDate", Retained.ForTeaching, PrivacyAction.Empty)]
    [InlineData("PatientAge", Retained.Nothing, PrivacyAction.Remove)]
    [InlineData("PatientAge", Retained.PatientCharacteristics, PrivacyAction.Keep)]
    [InlineData("StudyDate", Retained.Nothing, PrivacyAction.Empty)]
    [InlineData("StudyDate", Retained.ModifiedDates, PrivacyAction.ShiftDate)]
    [InlineData("StudyDate", Retained.FullDates, PrivacyAction.Keep)]
    [InlineData("SeriesDescription", Retained.Nothing, PrivacyAction.Remove)]
    [InlineData("SeriesDescription", Retained.CleanedDescriptors, PrivacyAction.CleanWords)]
    [InlineData("DeviceSerialNumber", Retained.ForTeaching, PrivacyAction.Remove)]
    [InlineData("DeviceSerialNumber", Retained.DeviceIdentity, PrivacyAction.Keep)]
    [InlineData("InstitutionName", Retained.InstitutionIdentity, PrivacyAction.Keep)]
    [InlineData("SOPInstanceUID", Retained.Nothing, PrivacyAction.ReplaceUid)]
    [InlineData("SOPInstanceUID", Retained.Uids, PrivacyAction.Keep)]
    [InlineData("AcquisitionContextSequence", Retained.Nothing, PrivacyAction.Empty)]
    [InlineData("IconImageSequence", Retained.ForTeaching, PrivacyAction.Remove)]
    public void Find_Attribute_GivesTheTablesAction(string keyword, Retained retained, PrivacyAction action)
    {
        DicomTag tag = DicomDictionary.TagOf(keyword)!.Value;
        Assert.Equal(action, ConfidentialityProfile.Find(tag, DicomDictionary.VrOf(tag)!, retained));
    }

    [Fact]
    public void Find_AttributeOutsideTheTable_GivesNothing() => Assert.Null(ConfidentialityProfile.Find(0x00180060, "DS", Retained.Nothing));

    [Fact]
    public void Table_EveryRow_NamesTheAttributeAsTheDictionaryDoes()
    {
        int rows = 0;
        foreach (string line in File.ReadLines(Path.Combine(SharedData.RepositoryRoot, "data", "privacy", "profile.tsv")).Where(line => !line.StartsWith('#')))
        {
            string[] parts = line.Split('\t');
            Assert.Contains(parts[2], new[] { "X", "Z", "D", "U", "X/Z", "X/D", "Z/D", "X/Z/D", "X/Z/U*" });
            if (uint.TryParse(parts[0], NumberStyles.AllowHexSpecifier, CultureInfo.InvariantCulture, out uint tag))
            {
                Assert.Equal(parts[1], DicomDictionary.KeywordOf(tag));
                rows++;
            }
        }

        Assert.Equal(rows, ConfidentialityProfile.Count);
    }

    [Fact]
    public void Pseudonym_SameKey_IsTheSame_AndTheKeyIsTheUsersAlone()
    {
        using ScratchFolder folder = new();
        PrivacyKey first = PrivacyKey.Open(folder["privacy.key"]);
        PrivacyKey again = PrivacyKey.Open(folder["privacy.key"]);

        Assert.Equal(first.Pseudonym("id:7"), again.Pseudonym("id:7"));
        Assert.Matches("^P-[0-9A-HJKMNP-TV-Z]{8}$", first.Pseudonym("id:7"));
        Assert.NotEqual(first.Pseudonym("id:7"), first.Pseudonym("id:8"));
        Assert.True(OperatingSystem.IsWindows() || File.GetUnixFileMode(folder["privacy.key"]) == (UnixFileMode.UserRead | UnixFileMode.UserWrite));
        Assert.InRange(first.DaysBack("id:7"), 7 * 53, 7 * 521);
        File.WriteAllText(folder["privacy.key"], "short");
        Assert.Throws<IOException>(() => PrivacyKey.Open(folder["privacy.key"]));
    }
}
