using Hotlight.Imaging;
using Hotlight.Judgement;
using Hotlight.Measure.Exposure;
using Hotlight.Workflows.Clinic;

namespace Hotlight.Workflows.Tests.Clinic;

public sealed class ClinicSettingsTests
{
    private static readonly Room Room1 = new() { Id = Guid.NewGuid(), Name = "Room 1", Kind = RoomKind.Chest };

    private static ClinicSettings Full => new()
    {
        People = [new Person { Id = Guid.NewGuid(), Pseudonym = "Möwe", Role = PersonRole.Supervisor }, new Person { Id = Guid.NewGuid(), Pseudonym = "Tern", IsActive = false }],
        Rooms = [Room1],
        Receptors = [new Receptor { Id = Guid.NewGuid(), Name = "Wall stand", RoomId = Room1.Id, DetectorId = "SML-7", Calibration = new Calibration { Relationship = PixelRelationship.Linear, Gain = 200, Offset = 3, KermaUncertaintyPercent = 5, Note = "March" } }],
        TargetExposureIndices = new Dictionary<string, double> { ["wrist-pa"] = 400 },
        Thresholds = new Dictionary<string, double> { ["smallestTrimMm"] = 15 },
        LeftMarkerWords = ["LINKS"],
        RightMarkerWords = ["RECHTS"],
    };

    [Fact]
    public void Write_EveryMember_IsReadBackTheSame()
    {
        ClinicSettings full = Full;
        foreach (bool indented in new[] { true, false })
        {
            string json = ClinicSettingsJson.Write(full, indented);
            ClinicSettings read = ClinicSettingsJson.Read(json, "clinic.json");
            Assert.Equal(json, ClinicSettingsJson.Write(read, indented));
            Assert.Equal(full.People, read.People);
            Assert.Equal(full.Rooms, read.Rooms);
            Assert.Equal(full.Receptors, read.Receptors);
            Assert.Equal(full.TargetExposureIndices, read.TargetExposureIndices);
            Assert.Equal(full.Thresholds, read.Thresholds);
            Assert.Equal(["LINKS"], read.LeftMarkerWords);
            Assert.Equal(["RECHTS"], read.RightMarkerWords);
            Assert.Equal(full.ResultKey, read.ResultKey);
        }
    }

    [Theory]
    [InlineData("", "this is not a file")]
    [InlineData("null", "this is not a file")]
    [InlineData("[]", "must be 'hotlight.clinic/1'")]
    [InlineData("{}", "must be 'hotlight.clinic/1'")]
    [InlineData("{\"schema\":7}", "must be 'hotlight.clinic/1'")]
    [InlineData("{\"schema\":\"hotlight.clinic/9\"}", "this version reads 'hotlight.clinic/1'")]
    [InlineData("{\"schema\":\"hotlight.clinic/1\",\"peopel\":[]}", "this is not a file")]
    [InlineData("{\"schema\":\"hotlight.clinic/1\",\"people\":[null]}", "empty (null)")]
    [InlineData("{\"schema\":\"hotlight.clinic/1\",\"people\":[{\"id\":\"2f3c6f0e-0000-4000-8000-000000000001\"}]}", "this is not a file")]
    [InlineData("{\"schema\":\"hotlight.clinic/1\",\"people\":[{\"id\":\"2f3c6f0e-0000-4000-8000-000000000001\",\"pseudonym\":\" \"}]}", "needs a pseudonym")]
    [InlineData("{\"schema\":\"hotlight.clinic/1\",\"targetExposureIndices\":{\"wrist-pa\":\"400\"}}", "$.targetExposureIndices")]
    [InlineData("{\"schema\":\"hotlight.clinic/1\",\"targetExposureIndices\":{\"wrist-pa\":3}}", "number from 10 to 10000")]
    [InlineData("{\"schema\":\"hotlight.clinic/1\",\"thresholds\":{\"smallestTrim\":3}}", "'smallestTrim' is not a threshold")]
    [InlineData("{\"schema\":\"hotlight.clinic/1\",\"thresholds\":{\"smallestTrimMm\":900}}", "from 0.1 to 100")]
    [InlineData("{\"schema\":\"hotlight.clinic/1\",\"thresholds\":{\"deviationLow\":2}}", "bands rise")]
    [InlineData("{\"schema\":\"hotlight.clinic/1\",\"markerWords\":{\"left\":[\"L\"]}}", "always sought")]
    [InlineData("{\"schema\":\"hotlight.clinic/1\",\"markerWords\":{\"left\":[\"LI\"],\"right\":[\"li\"]}}", "one side only")]
    [InlineData("{\"schema\":\"hotlight.clinic/1\",\"rooms\":[],\"rooms\":[]}", "this is not a file")]
    public void Read_WhatCannotBe_IsRefusedInOneSentenceThatNamesTheFile(string json, string part)
    {
        FormatException error = Assert.Throws<FormatException>(() => ClinicSettingsJson.Read(json, "ours.json"));
        Assert.StartsWith("ours.json: ", error.Message, StringComparison.Ordinal);
        Assert.Contains(part, error.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void ResultKey_PeopleAndRooms_DoNotMoveItAndWhatBearsOnResultsDoes()
    {
        Assert.Equal(string.Empty, ClinicSettings.None.ResultKey);
        Assert.Equal(string.Empty, new ClinicSettings { People = Full.People, Rooms = Full.Rooms, Receptors = [new Receptor { Id = Guid.NewGuid(), Name = "bare" }] }.ResultKey);
        ClinicSettings[] bearing =
        [
            new() { TargetExposureIndices = Full.TargetExposureIndices },
            new() { Thresholds = Full.Thresholds },
            new() { LeftMarkerWords = ["LINKS"] },
            new() { RightMarkerWords = ["LINKS"] },
            new() { Receptors = Full.Receptors },
        ];
        string[] keys = [.. bearing.Select(settings => settings.ResultKey)];
        Assert.All(keys, key => Assert.Matches("^[0-9a-f]{16}$", key));
        Assert.Equal(keys.Length, keys.Distinct().Count());
    }

    [Fact]
    public void ReceptorOf_EverythingGiven_MustStandInTheHeader()
    {
        var settings = new ClinicSettings
        {
            Receptors =
            [
                new Receptor { Id = Guid.NewGuid(), Name = "nothing given" },
                new Receptor { Id = Guid.NewGuid(), Name = "both", StationName = "SML1", DetectorId = "D-7" },
                new Receptor { Id = Guid.NewGuid(), Name = "model", ManufacturerModel = "Tidewater 43" },
            ],
        };
        Assert.Equal("both", settings.ReceptorOf(new ExposureRecord { StationName = " sml1 ", DetectorId = "D-7", ManufacturerModel = "Tidewater 43" })?.Name);
        Assert.Equal("model", settings.ReceptorOf(new ExposureRecord { StationName = "SML1", ManufacturerModel = "Tidewater 43" })?.Name);
        Assert.Null(settings.ReceptorOf(new ExposureRecord { StationName = "SML1" }));
        Assert.Null(settings.ReceptorOf(new ExposureRecord()));
    }

    [Fact]
    public void Rules_OneThresholdSet_LeavesTheOthersAsBuiltIn()
    {
        JudgementRules rules = Full.Rules;
        Assert.Equal(15, rules.SmallestTrimMm);
        Assert.Equal(JudgementRules.Default, rules with { SmallestTrimMm = JudgementRules.Default.SmallestTrimMm });
        Assert.Same(JudgementRules.Default, ClinicSettings.None.Rules);
    }
}
