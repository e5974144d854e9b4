using Hotlight.Catalogue;
using Hotlight.Core;
using Hotlight.Measure.Document;
using Hotlight.Testing;

namespace Hotlight.Judgement.Tests;

public sealed class FieldLinesTests
{
    [Theory]
    [InlineData("wrist-pa", new FieldSide[0], ChecklistState.Met)]
    [InlineData("wrist-pa", new[] { FieldSide.Bottom }, ChecklistState.Met)]
    [InlineData("wrist-pa", new[] { FieldSide.Top, FieldSide.Bottom }, ChecklistState.Met)]
    [InlineData("wrist-pa", new[] { FieldSide.Left, FieldSide.Right }, ChecklistState.Met)]
    [InlineData("wrist-pa", new[] { FieldSide.Top, FieldSide.Right }, ChecklistState.CannotTell)]
    [InlineData("wrist-pa", new[] { FieldSide.Top, FieldSide.Right, FieldSide.Bottom }, ChecklistState.CannotTell)]
    [InlineData("wrist-pa", new[] { FieldSide.Top, FieldSide.Right, FieldSide.Bottom, FieldSide.Left }, ChecklistState.CannotTell)]
    [InlineData("elbow-lateral", new[] { FieldSide.Top, FieldSide.Right }, ChecklistState.Met)]
    [InlineData("elbow-lateral", new[] { FieldSide.Top, FieldSide.Right, FieldSide.Bottom }, ChecklistState.CannotTell)]
    [InlineData("chest-pa", new[] { FieldSide.Top, FieldSide.Right, FieldSide.Bottom, FieldSide.Left }, ChecklistState.NotApplicable)]
    [Trait("evidence", "analytic")]
    public void SkinLine_SidesByWhichTheBodyLeaves_AreHeldAgainstTheProjection(string id, FieldSide[] leaves, ChecklistState state)
    {
        Projection projection = ProjectionCatalogue.BuiltIn.Get(id);
        Critique critique = CritiqueBuilder.Build(Cases.WristHeader, Cases.Measured() with { Anatomy = Cases.Leaving(leaves) }, projection, Answers.None(id));
        Assert.Equal(state, critique.Line("anatomy.skin").State);
        bool hinted = critique.Lines.Where(line => line.Section == ChecklistSection.RequiredAnatomy && line.Required).All(line => line.Hint is not null);
        Assert.Equal(state == ChecklistState.CannotTell, hinted);
    }

    // Field corners clockwise from the upper left: (100,100) (1900,100) (1900,2300) (100,2300); its left side runs from the last to the first.
    [Fact]
    [Trait("evidence", "analytic")]
    public void Evidence_OfACutSide_IsThatSideOfTheField()
    {
        Critique critique = Cases.Judge(Cases.Measured() with { Anatomy = Cases.Leaving(FieldSide.Top, FieldSide.Bottom, FieldSide.Left) });
        Evidence evidence = critique.Line("anatomy.skin").Evidence.Single(piece => piece.Kind == EvidenceKind.CutSide);
        Assert.Equal([new PixelPoint(X: 100, Y: 2300), new PixelPoint(X: 100, Y: 100)], Assert.Single(evidence.Outlines));
        Assert.False(evidence.Closed);
    }

    // A square of 32 pixels about (500, 500).
    [Fact]
    [Trait("evidence", "analytic")]
    public void Evidence_OfMottle_IsTheSquareItWasMeasuredIn()
    {
        Evidence evidence = Assert.Single(Cases.Judge(Cases.Measured()).Line("exposure.mottle").Evidence);
        Assert.Equal([new(484, 484), new(516, 484), new(516, 516), new(484, 516)], Assert.Single(evidence.Outlines));
    }

    [Theory]
    [InlineData(4, FieldEdge.Receptor, ChecklistState.Met)]
    [InlineData(2, FieldEdge.Receptor, ChecklistState.Met)]
    [InlineData(1, FieldEdge.Receptor, ChecklistState.NotMet)]
    [InlineData(0, FieldEdge.Receptor, ChecklistState.NotMet)]
    [InlineData(0, FieldEdge.Mask, ChecklistState.CannotTell)]
    [InlineData(2, FieldEdge.Mask, ChecklistState.Met)]
    public void CollimatorEdges_Seen_AreCountedAndAMaskIsNotOne(int beam, FieldEdge rest, ChecklistState state)
    {
        MeasurementDocument document = Cases.Measured();
        document = document with
        {
            Field = Figure<FieldMeasurement>.Measured(document.Field.Value! with
            {
                Sides = [.. Enum.GetValues<FieldSide>().Select((side, index) => new FieldSideMeasurement { Side = side, Edge = index < beam ? FieldEdge.Beam : rest, TiltDegrees = 0 })],
            }),
        };
        ChecklistLine line = Cases.Judge(document).Line("collimation.edges");
        Assert.Equal(state, line.State);
        Assert.Equal($"collimator edge on {beam} of 4 sides", line.Figure);
    }

    [Fact]
    public void CollimatorEdges_OfAPicture_AreNotJudgedWhereItMayBeCropped()
    {
        MeasurementDocument document = Cases.Measured() with { Image = Cases.NothingKnown(Hotlight.Imaging.ImageSource.Jpeg).Image };
        document = document with { Field = Figure<FieldMeasurement>.Measured(document.Field.Value! with { Sides = [.. document.Field.Value!.Sides.Select(side => side with { Edge = FieldEdge.Receptor })] }) };
        ChecklistLine line = Cases.Judge(document, exposure: new Hotlight.Imaging.ExposureRecord()).Line("collimation.edges");
        Assert.Equal(ChecklistState.CannotTell, line.State);
        Assert.Contains("may have been cropped", line.Explanation, StringComparison.Ordinal);
    }

    [Fact]
    public void FieldSize_BehindAMask_SaysThatTheBeamMayHaveReachedFurther()
    {
        MeasurementDocument document = Cases.Measured();
        document = document with { Field = Figure<FieldMeasurement>.Measured(document.Field.Value! with { Sides = [.. document.Field.Value!.Sides.Select(side => side with { Edge = FieldEdge.Mask })] }) };
        Assert.Contains("may have been wider still", Cases.Judge(document).Line("collimation.size").Explanation, StringComparison.Ordinal);
    }

    // Taken for body on every side, the tighter field is the field itself and shows nothing, as long as much of it is empty.
    [Theory]
    [InlineData(50, 0, ChecklistState.CannotTell)]
    [InlineData(50, 38, ChecklistState.NotMet)]
    [InlineData(12, 0, ChecklistState.Met)]
    [Trait("evidence", "analytic")]
    public void FieldSize_WithBodyOnSidesItShouldNotReach_IsJudgedOnlyWhereTheEmptyPartIsSmall(double empty, double reduction, ChecklistState state)
    {
        MeasurementDocument document = Cases.Measured(reductionPercent: reduction) with { Anatomy = Cases.Leaving(Enum.GetValues<FieldSide>()) };
        document = document with { Collimation = Figure<CollimationMeasurement>.Measured(document.Collimation.Value! with { EmptyPercentOfField = empty }) };
        Assert.Equal(state, Cases.Judge(document).Line("collimation.size").State);
    }

    [Fact]
    public void Figures_WithAnUncertaintyTooSmallToShow_NeverSayPlusMinusZero()
    {
        MeasurementDocument document = Cases.Measured();
        document = document with
        {
            Collimation = Figure<CollimationMeasurement>.Measured(document.Collimation.Value! with { EmptyPercentOfFieldUncertainty = 0.01 }),
            Mottle = Figure<MottleMeasurement>.Measured(document.Mottle.Value! with { RelativeNoisePercentUncertainty = 0.04 }),
        };
        Critique critique = Cases.Judge(document);
        Assert.Equal("40 ± <1 % of the field is empty", critique.Line("collimation.size").Figure);
        Assert.Equal("noise 2.40 ± 0.04 %", critique.Line("exposure.mottle").Figure);
    }

    [Fact]
    public void DeviationIndex_WithoutATarget_GivesTheIndexAndAsksForTheTarget()
    {
        ChecklistLine line = Cases.Judge(Cases.Measured(deviationIndex: null)).Line("exposure.deviation-index");
        Assert.Equal(ChecklistState.CannotTell, line.State);
        Assert.Equal("EI 250", line.Figure);
        Assert.Contains("give the clinic's target", line.Explanation, StringComparison.Ordinal);
    }

    [Fact]
    public void DeviationIndex_OfAHeaderThatContradictsItself_DecidesNothing()
    {
        MeasurementDocument document = Cases.Measured(-4);
        document = document with { Exposure = Figure<ExposureMeasurement>.Measured(document.Exposure.Value! with { HeaderAgrees = false }) };
        Critique critique = Cases.Judge(document);
        Assert.Equal(ChecklistState.CannotTell, critique.Line("exposure.deviation-index").State);
        Assert.Equal(ChecklistState.NotMet, critique.Line("exposure.header-figures").State);
        Assert.DoesNotContain(critique.Changes, change => change.MasFactor is not null);
    }

    [Theory]
    [InlineData(-60.0)]
    [InlineData(20.1)]
    [InlineData(double.NaN)]
    public void DeviationIndex_BeyondBelief_DecidesNothing(double deviationIndex)
    {
        Critique critique = Cases.Judge(Cases.Measured(deviationIndex));
        Assert.Equal(ChecklistState.CannotTell, critique.Line("exposure.deviation-index").State);
        Assert.DoesNotContain(critique.Changes, change => change.MasFactor is not null);
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Methods_EveryLineOfTheChecklist_IsExplained()
    {
        string text = File.ReadAllText(Path.Combine(SharedData.RepositoryRoot, "docs", "methods", "judgement.md"));
        foreach (ChecklistLine line in CritiqueBuilder.BlankChecklist(Cases.WristPa).Where(line => line.Section is not ChecklistSection.Positioning && (!line.Required || line.Section != ChecklistSection.RequiredAnatomy)))
        {
            Assert.True(text.Contains($"`{line.Id}`", StringComparison.Ordinal) || (line.Id.StartsWith("records.", StringComparison.Ordinal) && text.Contains("`records.*`", StringComparison.Ordinal)), line.Id);
        }
    }

    // Every key that a line names is in the register of sources.
    [Fact]
    [Trait("evidence", "invariant")]
    public void Basis_OfEveryLine_IsInTheRegister()
        => Assert.All(
            ProjectionCatalogue.BuiltIn.Projections.SelectMany(CritiqueBuilder.BlankChecklist).SelectMany(line => line.Basis),
            key => Assert.Contains(key, SourceRegister.BuiltIn.Sources.Keys));

    // What a tired reader meets: a capital letter first, one closing mark, no doubled blanks, no trace of a program.
    [Fact]
    [Trait("evidence", "invariant")]
    public void Sentences_OfEveryLineAndWay_AreClean()
    {
        foreach (ChecklistLine line in ProjectionCatalogue.BuiltIn.Projections.SelectMany(CritiqueBuilder.BlankChecklist))
        {
            Assert.EndsWith("?", line.Question, StringComparison.Ordinal);
            foreach (string sentence in line.Misses.SelectMany(miss => new[] { miss.Means, miss.Correction }).Concat(line.Explanation is null ? [] : [line.Explanation]))
            {
                Assert.EndsWith(".", sentence, StringComparison.Ordinal);
                Assert.True(char.IsUpper(sentence[0]) || char.IsDigit(sentence[0]), sentence);
                Assert.DoesNotContain("  ", sentence, StringComparison.Ordinal);
                Assert.DoesNotContain("..", sentence, StringComparison.Ordinal);
            }

            foreach (string phrase in line.Misses.Select(miss => miss.Looks))
            {
                Assert.False(phrase.EndsWith('.'), phrase);
            }
        }
    }
}
