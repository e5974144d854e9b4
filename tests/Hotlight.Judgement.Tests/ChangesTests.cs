using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Document;

namespace Hotlight.Judgement.Tests;

public sealed class ChangesTests
{
    // [iec-62494-1] DI -2.041 (EI 250 against 400): factor 1.6; 4 mAs -> 6.4 mAs. DI +3.010 (ratio 2.00): factor 0.50; 4 -> 2 mAs.
    [Theory]
    [InlineData(-2.0412, 1.6, "raise", "from 4 to 6.4 mAs")]
    [InlineData(3.0103, 0.5, "lower", "from 4 to 2 mAs")]
    [InlineData(-4.7712, 3.0, "raise", "from 4 to 12 mAs")]
    [Trait("evidence", "published")]
    public void Changes_OfMas_GoBackToTheTarget(double deviationIndex, double factor, string direction, string text)
    {
        Change change = Assert.Single(Cases.Judge(Cases.Measured(deviationIndex)).Changes);
        Assert.Equal(factor, change.MasFactor!.Value, 0.0005);
        Assert.Equal(direction, change.Direction);
        Assert.Contains(text, change.Instruction, StringComparison.Ordinal);
        Assert.Contains("distance unchanged", change.Instruction, StringComparison.Ordinal);
    }

    // σ(factor) = factor · ln(10)/10 · σ(DI): DI +3.0103 ± 0.4 -> 0.5 · 0.230259 · 0.4 = 0.04605.
    [Fact]
    [Trait("evidence", "analytic")]
    public void Changes_OfMas_CarryTheUncertaintyOfTheIndex()
    {
        Change change = Assert.Single(Cases.Judge(Cases.Measured(3.0103, deviationUncertainty: 0.4)).Changes);
        Assert.Equal(0.04605, change.MasFactorUncertainty!.Value, 0.00001);
        Assert.Contains("0.50 ± 0.05", change.Instruction, StringComparison.Ordinal);
        Assert.Contains("neighbouring band", Cases.Judge(Cases.Measured(3.0103, deviationUncertainty: 0.4)).Line("exposure.deviation-index").Explanation, StringComparison.Ordinal);
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Changes_OfOppositeIndices_UndoEachOther()
    {
        foreach (double deviationIndex in new[] { 1.2, 2.5, 4.0, 9.0 })
        {
            Change high = Assert.Single(Cases.Judge(Cases.Measured(deviationIndex)).Changes);
            Change low = Assert.Single(Cases.Judge(Cases.Measured(-deviationIndex)).Changes);
            Assert.Equal(1, high.MasFactor!.Value * low.MasFactor!.Value, 1e-5);
            Assert.NotEqual(high.Direction, low.Direction);
        }

        Assert.Empty(Cases.Judge(Cases.Measured(0)).Changes);
    }

    [Fact]
    public void Changes_UnderAutomaticExposure_LookAtTheChamberFirst()
    {
        Change change = Assert.Single(Cases.Judge(Cases.Measured(-3.5), exposure: Cases.WristHeader with { ExposureControlMode = "AUTOMATIC" }).Changes);
        Assert.StartsWith("Exposure was automatic: check chamber, centring and collimation first", change.Instruction, StringComparison.Ordinal);
    }

    // Mottle asks for more exposure; an index that is high already asks for less. The two must not stand side by side.
    [Fact]
    public void Changes_MottleThoughTheIndexIsHigh_NeverContradictThemselves()
    {
        Critique critique = Cases.Judge(Cases.Measured(4, mottleVisible: true), Cases.AllMet(Cases.WristPa).With("exposure.mottle", new Answer(ChecklistState.NotMet, "hides-detail")));
        Assert.Equal(["exposure.deviation-index", "exposure.mottle"], critique.Changes.Select(change => change.LineId));
        Assert.Equal("lower", critique.Changes[0].Direction);
        Assert.Contains("more exposure is not the answer", critique.Changes[1].Instruction, StringComparison.Ordinal);
    }

    [Fact]
    public void Changes_MottleWithALowIndex_AreOneChangeWithASize()
    {
        Critique critique = Cases.Judge(Cases.Measured(-4, mottleVisible: true), Cases.AllMet(Cases.WristPa).With("exposure.mottle", new Answer(ChecklistState.NotMet, "hides-detail")));
        Assert.NotNull(Assert.Single(critique.Changes).MasFactor);
    }

    // Free distance less margin: right 85 − 25 = 60, left 55 − 25 = 30; top and bottom are where the limb leaves.
    [Fact]
    [Trait("evidence", "analytic")]
    public void Changes_OfTheField_NameEachSideAndItsDistance()
    {
        Change change = Assert.Single(Cases.Judge(Cases.Measured(reductionPercent: 38)).Changes);
        Assert.Equal([new FieldTrim(FieldSide.Right, 60), new FieldTrim(FieldSide.Left, 30)], change.Trims);
        Assert.Equal("Make the field smaller: bring in the right side by 60 mm and the left side by 30 mm (at the receptor, sides as seen on the image).", change.Instruction);
    }

    [Fact]
    public void Changes_OfTheFieldWithoutSpacing_GiveNoMillimetres()
    {
        MeasurementDocument document = Cases.Measured(reductionPercent: 38);
        document = document with { Collimation = Figure<CollimationMeasurement>.Measured(document.Collimation.Value! with { SkinToEdgeMm = null, SkinMarginMm = null }) };
        Change change = Assert.Single(Cases.Judge(document).Changes);
        Assert.Empty(change.Trims);
        Assert.DoesNotContain("mm", change.Instruction, StringComparison.Ordinal);
        Assert.Contains("38 % less area", change.Instruction, StringComparison.Ordinal);
    }

    // Mirror the image and swap the side label: the side named must swap and nothing else may change.
    [Fact]
    [Trait("evidence", "invariant")]
    public void Build_MirroredImageAndSwappedLabel_SwapsTheSideAndNothingElse()
    {
        MeasurementDocument document = Cases.Measured(reductionPercent: 38) with { Anatomy = Cases.Leaving(FieldSide.Top, FieldSide.Bottom, FieldSide.Left) };
        MeasurementDocument mirrored = document with
        {
            Anatomy = Cases.Leaving(FieldSide.Top, FieldSide.Right, FieldSide.Bottom),
            Collimation = Figure<CollimationMeasurement>.Measured(document.Collimation.Value! with { SkinToEdgeMm = [0, 55, 0, 85] }),
        };
        Critique plain = Cases.Judge(document);
        Critique turned = Cases.Judge(mirrored, exposure: Cases.WristHeader with { Laterality = "L" });
        Assert.Equal(plain.Verdict.Kind, turned.Verdict.Kind);
        Assert.Equal(plain.Changes.Single().Trims.Select(trim => (Swap(trim.Side), trim.Mm)).Order(), turned.Changes.Single().Trims.Select(trim => (trim.Side, trim.Mm)).Order());
        Assert.Equal("The body also leaves the field at the left of the image: look there first.", plain.Line("anatomy.carpus").Hint);
        Assert.Equal("The body also leaves the field at the right of the image: look there first.", turned.Line("anatomy.carpus").Hint);
        Assert.Contains("the letter R", plain.Line("marker.side").Question, StringComparison.Ordinal);
        Assert.Equal(plain.Line("marker.side").Question.Replace("letter R", "letter L", StringComparison.Ordinal), turned.Line("marker.side").Question);
        Assert.Equal(plain.Lines.Select(line => (line.Id, line.State, line.DecidedBy, line.Weight)), turned.Lines.Select(line => (line.Id, line.State, line.DecidedBy, line.Weight)));
    }

    private static FieldSide Swap(FieldSide side) => side switch
    {
        FieldSide.Left => FieldSide.Right,
        FieldSide.Right => FieldSide.Left,
        _ => side,
    };
}
