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
        int newer = 0;
        foreach (string line in File.ReadLines(Path.Combine(SharedData.RepositoryRoot, "data", "privacy", "profile.tsv")).Where(line => !line.StartsWith('#')))
        {
            string[] parts = line.Split('\t');
            Assert.Contains(parts[2], new[] { "X", "Z", "D", "U", "X/Z", "X/D", "Z/D", "X/Z/D", "X/Z/U*" });
            if (uint.TryParse(parts[0], NumberStyles.AllowHexSpecifier, CultureInfo.InvariantCulture, out uint tag))
            {
                if (DicomDictionary.KeywordOf(tag) is { } keyword)
                {
                    Assert.Equal(parts[1], keyword);
                }
                else
                {
                    newer++;
                }

                rows++;
            }
        }

        Assert.Equal(rows, ConfidentialityProfile.Count);

        // Attributes of the table that the dictionary, of an earlier edition, does not know yet: they go whatever is chosen.
        Assert.Equal(44, newer);
        Assert.Equal(652, rows);
    }

    // Counted in the standard's tables by the authors of the copy: 479 safe private attributes, 211 concepts (11 of them SNOMED, each again under three older designators).
    [Fact]
    public void OtherTables_HaveEveryRowOfTheStandards()
    {
        Assert.Equal(479, ConfidentialityProfile.SafePrivateCount);
        Assert.Equal(211 + (3 * 11), ConfidentialityProfile.ConceptCount);
    }

    // [dicom-ps3-15] Table E.3.10-1.
    [Theory]
    [InlineData("GEMS_PARM_01", 0x00431027u, "SH")]
    [InlineData("GEMS_PARM_01", 0x0043FF27u, "SH")]
    [InlineData("Philips Imaging DD 001", 0x20011003u, "FL")]
    [InlineData("Philips Imaging DD 001", 0x20011000u, null)]
    [InlineData("SOMEBODY ELSE", 0x00431027u, null)]
    public void SafePrivateVr_ByCreatorAndPlaceInItsBlock(string creator, uint tag, string? vr) => Assert.Equal(vr, ConfidentialityProfile.SafePrivateVr(creator, tag));

    // [dicom-ps3-15] Table E.3.4-1.
    [Theory]
    [InlineData("DCM", "121008", "PNAME", Retained.ForTeaching, PrivacyAction.Replace)]
    [InlineData("DCM", "121033", "NUM", Retained.Nothing, PrivacyAction.Remove)]
    [InlineData("DCM", "121033", "NUM", Retained.PatientCharacteristics, PrivacyAction.Keep)]
    [InlineData("DCM", "113809", "DATETIME", Retained.ModifiedDates, PrivacyAction.ShiftDate)]
    [InlineData("DCM", "113809", "DATETIME", Retained.FullDates, PrivacyAction.Keep)]
    [InlineData("DCM", "121071", "TEXT", Retained.CleanedDescriptors, PrivacyAction.CleanWords)]
    [InlineData("DCM", "113880", "TEXT", Retained.DeviceIdentity, PrivacyAction.Keep)]
    [InlineData("SRT", "F-02455", "TEXT", Retained.Nothing, PrivacyAction.Remove)]
    public void FindConcept_ContentItem_GivesTheTablesAction(string scheme, string code, string type, Retained retained, PrivacyAction action)
        => Assert.Equal(action, ConfidentialityProfile.FindConcept(scheme, code, type, retained));

    [Fact]
    public void ForProject_TwoProjectsOfOneKey_ShareNothing()
    {
        PrivacyKey clinic = new(new byte[PrivacyKey.Bytes]);
        PrivacyKey wrists = clinic.ForProject("Wrist study");
        PrivacyKey knees = clinic.ForProject("Knee study");

        Assert.NotEqual(wrists.Pseudonym("id:7"), knees.Pseudonym("id:7"));
        Assert.NotEqual(wrists.Pseudonym("id:7"), clinic.Pseudonym("id:7"));
        Assert.NotEqual(wrists.Uid("1.2.3"), knees.Uid("1.2.3"));
        Assert.NotEqual(wrists.DevicePseudonym('S', "ROOM3"), knees.DevicePseudonym('S', "ROOM3"));
        Assert.Equal(wrists.Pseudonym("id:7"), new PrivacyKey(new byte[PrivacyKey.Bytes]).ForProject(" wrist STUDY ").Pseudonym("id:7"));

        // Of 100 patients the days between two projects' dates are not all the same: no shift of one gives the other.
        Assert.True(Enumerable.Range(0, 100).Select(patient => wrists.DaysBack($"id:{patient}") - knees.DaysBack($"id:{patient}")).Distinct().Count() > 50);
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
