using Hotlight.Catalogue;
using Hotlight.Privacy;
using Hotlight.Records;
using Hotlight.Records.Sources;
using Hotlight.Testing;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.Intake;
using Hotlight.Workflows.Records;

namespace Hotlight.Workflows.Tests.Records;

public sealed class ClinicNamingTests
{
    private static readonly PrivacyKey Key = new([.. Enumerable.Range(0, PrivacyKey.Bytes).Select(number => (byte)number)]);
    private static readonly ProjectionWords Words = new(ProjectionCatalogue.BuiltIn);
    private static readonly Room Room2 = new() { Id = Guid.NewGuid(), Name = "Room 2" };
    private static readonly ClinicSettings Settings = new()
    {
        Rooms = [Room2],
        Receptors = [new Receptor { Id = Guid.NewGuid(), Name = "Wall stand", RoomId = Room2.Id, DetectorId = "SML-7" }],
        Shifts = new ShiftHours { Early = new TimeOnly(9, 30), Late = new TimeOnly(17, 0), Night = new TimeOnly(23, 0) },
    };

    [Theory]
    [InlineData(IntakeSetting.Teaching)]
    [InlineData(IntakeSetting.Clinical)]
    public void AnEntry_HoldsNoNameOfAnybody(IntakeSetting setting)
    {
        var source = new DicomSource(Words, new ClinicNaming(Key, Settings, Words, setting), Settings.Shifts);
        ExposureEntry entry = Assert.Single(source.Read(InventedSources.Header().SetText(0x00181030, "LO", "Handgelenk pa Invented Patient SL-0042")).Exposures).Entry;
        string all = entry.ToString();
        foreach (string name in new[] { "Reed", "Invented", "Patient", "SL-0042", "20100101" })
        {
            Assert.DoesNotContain(name, all.Replace("PatientKey", string.Empty, StringComparison.Ordinal), StringComparison.Ordinal);
        }

        Assert.Equal("Handgelenk pa", entry.GivenProjection);
        Assert.Equal(("Room 2", "Wall stand"), (entry.Room, entry.Receptor));
        Assert.StartsWith("R-", entry.Performer, StringComparison.Ordinal);

        // 09:12 lies before the clinic's own early shift of 09:30.
        Assert.Equal(Shift.Night, entry.Shift);
        Assert.Equal(setting == IntakeSetting.Clinical, entry.Key == InventedSources.Uid(1));
    }

    [Fact]
    public void PerformerOf_OneNameInEverySpelling_IsOnePseudonym()
    {
        ClinicNaming naming = new(Key, Settings, Words, IntakeSetting.Teaching);
        string?[] same = [naming.PerformerOf("Reed^Ida"), naming.PerformerOf("REED, Ida"), naming.PerformerOf("Ida Reed"), naming.PerformerOf("Reed^Ida^^^=ignored")];
        Assert.Single(same.Distinct());
        Assert.NotEqual(same[0], naming.PerformerOf("Reed^Ina"));
        Assert.Null(naming.PerformerOf("^^"));
    }

    [Fact]
    public void ACasesKey_IsTheKeyOfItsHeader()
    {
        // What de-identification makes of a SOP Instance UID is what the naming makes of it: the case and the header are one exposure.
        byte[] file = InventedSources.File(InventedSources.Header(), pixelBytes: 2048);
        ClinicNaming naming = new(Key, Settings, Words, IntakeSetting.Teaching);
        Assert.Equal(Key.Uid(InventedSources.Uid(1)), naming.UidOf(InventedSources.Uid(1)));
        Assert.NotEmpty(file);
    }

    [Fact]
    public void Settings_WithShifts_ComeBackFromTheirFile()
    {
        string json = ClinicSettingsJson.Write(Settings);
        Assert.Contains("\"early\": \"09:30\"", json, StringComparison.Ordinal);
        Assert.Equal(Settings.Shifts, ClinicSettingsJson.Read(json, "clinic.json").Shifts);
        Assert.DoesNotContain("shifts", ClinicSettingsJson.Write(ClinicSettings.None), StringComparison.Ordinal);
        Assert.Contains("one after the other", Assert.Throws<FormatException>(() => ClinicSettingsJson.Read(json.Replace("09:30", "18:00", StringComparison.Ordinal), "clinic.json")).Message, StringComparison.Ordinal);
        Assert.Equal(ClinicSettings.None.ResultKey, new ClinicSettings { Shifts = Settings.Shifts }.ResultKey);
    }
}
