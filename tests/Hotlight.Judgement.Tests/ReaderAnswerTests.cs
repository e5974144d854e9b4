using Hotlight.Imaging;

namespace Hotlight.Judgement.Tests;

public sealed class ReaderAnswerTests
{
    [Fact]
    public void Build_AnswerAgainstAMeasurementWithoutReason_IsNotTaken()
    {
        Critique critique = Cases.Judge(Cases.Measured(reductionPercent: 50), Cases.AllMet(Cases.WristPa).With("collimation.size", new Answer(ChecklistState.Met)));
        ChecklistLine line = critique.Line("collimation.size");
        Assert.Equal(ChecklistState.NotMet, line.State);
        Assert.Equal(DecidedBy.Measurement, line.DecidedBy);
        Assert.Contains("gives no reason", line.Hint, StringComparison.Ordinal);
        Assert.True(CritiqueBuilder.NeedsRemark(line, ChecklistState.Met));
        Assert.False(CritiqueBuilder.NeedsRemark(line, ChecklistState.NotMet));
    }

    [Fact]
    public void Build_AnswerAgainstAMeasurementWithReason_CountsAndKeepsBoth()
    {
        Critique critique = Cases.Judge(Cases.Measured(reductionPercent: 50), Cases.AllMet(Cases.WristPa).With("collimation.size", new Answer(ChecklistState.Met, null, "Forearm was asked for as well.")));
        ChecklistLine line = critique.Line("collimation.size");
        Assert.Equal(ChecklistState.Met, line.State);
        Assert.Equal(DecidedBy.Reader, line.DecidedBy);
        Assert.Equal("Forearm was asked for as well.", line.Remark);
        Assert.Equal(ChecklistState.NotMet, line.Overridden!.State);
        Assert.Equal(DecidedBy.Measurement, line.Overridden.DecidedBy);
        Assert.Contains("50 % smaller", line.Overridden.Explanation, StringComparison.Ordinal);
        Assert.Equal("40 % of the field is empty", line.Figure);
        Assert.Equal(VerdictKind.Accept, critique.Verdict.Kind);
        Assert.Empty(critique.Changes);
        Assert.True(CritiqueBuilder.NeedsRemark(line, ChecklistState.Met));
    }

    [Fact]
    public void Build_AnswerThatAgreesWithTheMeasurement_LeavesItMeasured()
    {
        ChecklistLine line = Cases.Judge(Cases.Measured(), Cases.AllMet(Cases.WristPa).With("exposure.mottle", new Answer(ChecklistState.Met, null, "Clean."))).Line("exposure.mottle");
        Assert.Equal(DecidedBy.Measurement, line.DecidedBy);
        Assert.Equal("Clean.", line.Remark);
        Assert.Null(line.Overridden);
    }

    [Fact]
    public void Build_RequiredLineLeftOut_NeedsAReason()
    {
        Answers without = Cases.AllMet(Cases.WristPa).With("anatomy.metacarpals", new Answer(ChecklistState.NotApplicable));
        Assert.Equal(VerdictKind.Undetermined, Cases.Judge(Cases.Measured(), without).Verdict.Kind);
        Answers with = Cases.AllMet(Cases.WristPa).With("anatomy.metacarpals", new Answer(ChecklistState.NotApplicable, null, "Amputated hand."));
        Assert.Equal(VerdictKind.Accept, Cases.Judge(Cases.Measured(), with).Verdict.Kind);
    }

    [Fact]
    public void Build_ReaderWhoCannotTell_KeepsTheLineOpenAndNamesTheReader()
    {
        Critique critique = Cases.Judge(Cases.Measured(), Cases.AllMet(Cases.WristPa).With("sharpness.edges", new Answer(ChecklistState.CannotTell)));
        Assert.Equal(VerdictKind.Undetermined, critique.Verdict.Kind);
        Assert.Equal(DecidedBy.Reader, critique.Line("sharpness.edges").DecidedBy);
    }

    [Fact]
    public void Build_AnswersOfAnotherProjection_AreRefused()
        => Assert.Throws<ArgumentException>(() => Cases.Judge(Cases.Measured(), Answers.None("knee-ap")));

    [Theory]
    [InlineData("anatomy.spleen", null)]
    [InlineData("position.palm-flat", "upside-down")]
    public void Build_LineOrWayThatDoesNotExist_IsRefused(string line, string? miss)
        => Assert.Throws<ArgumentException>(() => Cases.Judge(Cases.Measured(), Answers.None("wrist-pa").With(line, new Answer(ChecklistState.NotMet, miss))));
}

/// <summary>Lines that the header decides, with full, empty and contradicting headers.</summary>
public sealed class RecordLinesTests
{
    [Theory]
    [InlineData("WRIST", "PA", null, ChecklistState.Met)]
    [InlineData("wrist ", "pa", null, ChecklistState.Met)]
    [InlineData("WRIST", null, "272479007", ChecklistState.Met)]
    [InlineData("WRIST", "AP", "272479007", ChecklistState.Met)]
    [InlineData("HAND", "PA", null, ChecklistState.NotMet)]
    [InlineData("WRIST", "AP", null, ChecklistState.NotMet)]
    [InlineData("WRIST", null, "399348003", ChecklistState.NotMet)]
    [InlineData("EXTREMITY", "PA", null, ChecklistState.CannotTell)]
    [InlineData("WRIST", null, null, ChecklistState.CannotTell)]
    [InlineData(null, null, null, ChecklistState.CannotTell)]
    public void ProjectionRecord_OfAHeader_IsHeldAgainstTheChosenProjection(string? part, string? view, string? code, ChecklistState state)
        => Assert.Equal(state, Cases.Judge(Cases.Measured(), exposure: Cases.WristHeader with { BodyPart = part, ViewPosition = view, ViewCode = code }).Line("records.projection").State);

    [Theory]
    [InlineData("R", ChecklistState.Met)]
    [InlineData("L", ChecklistState.Met)]
    [InlineData("U", ChecklistState.NotMet)]
    [InlineData(null, ChecklistState.NotMet)]
    public void SideRecord_OfAPartWithTwoSides_MustBeRightOrLeft(string? laterality, ChecklistState state)
        => Assert.Equal(state, Cases.Judge(Cases.Measured(), exposure: Cases.WristHeader with { Laterality = laterality }).Line("records.side").State);

    [Fact]
    public void SideRecord_OfTheChest_IsNotApplicable()
    {
        var chest = Catalogue.ProjectionCatalogue.BuiltIn.Get("chest-pa");
        Assert.Equal(ChecklistState.NotApplicable, CritiqueBuilder.Build(Cases.WristHeader, Cases.Measured(), chest, Answers.None("chest-pa")).Line("records.side").State);
    }

    [Theory]
    [InlineData(55.0, ChecklistState.Met)]
    [InlineData(60.0, ChecklistState.Met)]
    [InlineData(60.5, ChecklistState.NotMet)]
    [InlineData(0.0, ChecklistState.CannotTell)]
    [InlineData(null, ChecklistState.CannotTell)]
    public void TubeVoltage_OfTheHeader_IsHeldAgainstTheUsualRangeAndOnlyNoted(double? kvp, ChecklistState state)
    {
        Critique critique = Cases.Judge(Cases.Measured(), exposure: Cases.WristHeader with { TubeVoltageKvp = kvp });
        Assert.Equal(state, critique.Line("exposure.tube-voltage").State);
        Assert.Equal(VerdictKind.Accept, critique.Verdict.Kind);
    }

    // [square-law] 10 mAs at 100 cm -> 115 cm is 13.225 mAs; back from 115 to 100 cm: 1 / 1.3225 = 0.756, printed 0.76.
    [Fact]
    [Trait("evidence", "published")]
    public void Distance_OffTheUsual_SaysWhatTheMasWouldBe()
    {
        ChecklistLine line = Cases.Judge(Cases.Measured(), exposure: Cases.WristHeader with { SourceImageDistanceMm = 1150 }).Line("records.distance");
        Assert.Equal(ChecklistState.NotMet, line.State);
        Assert.Equal("Back at 100 cm, 0.76 times the mAs gives the receptor the same exposure.", line.Explanation);
        Assert.Equal(ChecklistState.Met, Cases.Judge(Cases.Measured(), exposure: Cases.WristHeader with { SourceImageDistanceMm = 1100 }).Line("records.distance").State);
    }

    [Fact]
    public void Records_OfAPicture_AreUnknownAndOfAnEmptyHeaderMissing()
    {
        Critique picture = Cases.Judge(Cases.NothingKnown(ImageSource.Png), exposure: new ExposureRecord());
        Critique header = Cases.Judge(Cases.NothingKnown(ImageSource.Dicom), exposure: new ExposureRecord());
        foreach (string id in new[] { "records.technique", "records.distance", "records.exposure-index", "records.dose", "records.time" })
        {
            Assert.Equal(ChecklistState.CannotTell, picture.Line(id).State);
            Assert.StartsWith("The file has no header", picture.Line(id).Explanation, StringComparison.Ordinal);
            Assert.Equal(ChecklistState.NotMet, header.Line(id).State);
            Assert.Equal(DecidedBy.Header, header.Line(id).DecidedBy);
        }

        Assert.Equal("The header does not record the tube voltage and the mAs.", header.Line("records.technique").Explanation);
    }

    [Fact]
    public void Cautions_OfAFileWithAnIdentity_SaySo()
        => Assert.Contains(Cases.Judge(Cases.Measured(), exposure: Cases.WristHeader with { CarriesPatientIdentity = true }).Cautions, caution => caution.Contains("identity", StringComparison.Ordinal));
}
