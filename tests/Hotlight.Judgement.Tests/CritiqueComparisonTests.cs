using Hotlight.Catalogue;
using Hotlight.Core;
using Hotlight.Measure.Document;

namespace Hotlight.Judgement.Tests;

public sealed class CritiqueComparisonTests
{
    private static readonly string RepeatLine = CritiqueBuilder.BlankChecklist(Cases.WristPa).First(line => line is { Weight: Weight.Repeat, Required: true, Section: ChecklistSection.Positioning }).Id;
    private static readonly string OtherRepeatLine = CritiqueBuilder.BlankChecklist(Cases.WristPa).Last(line => line is { Weight: Weight.Repeat, Required: true } && line.Id != RepeatLine).Id;

    [Fact]
    public void Repeat_ThatPutsRightWhatWasMissed_SaysSo()
    {
        CritiqueComparison comparison = CritiqueComparison.Of(Missing(RepeatLine), Missing());
        Assert.Equal(RepeatAnswer.PutRight, comparison.Answer);
        LineComparison line = comparison.Lines.Single(each => each.LineId == RepeatLine);
        Assert.Equal(LineCourse.PutRight, line.Course);
        Assert.True(line.WasAskedFor);
        Assert.Contains(line.Question, comparison.Sentence, StringComparison.Ordinal);
    }

    [Fact]
    public void Repeat_ThatMissesTheSameAgain_SaysSo()
    {
        Assert.Equal(RepeatAnswer.NotPutRight, CritiqueComparison.Of(Missing(RepeatLine), Missing(RepeatLine)).Answer);
        Assert.Equal(RepeatAnswer.PartlyPutRight, CritiqueComparison.Of(Missing(RepeatLine, OtherRepeatLine), Missing(RepeatLine)).Answer);
    }

    [Fact]
    public void Repeat_ThatLosesSomethingElse_SaysBoth()
    {
        CritiqueComparison comparison = CritiqueComparison.Of(Missing(RepeatLine), Missing(OtherRepeatLine));
        Assert.Equal(RepeatAnswer.PutRightButLost, comparison.Answer);
        Assert.Equal(LineCourse.NewlyMissed, comparison.Lines.Single(each => each.LineId == OtherRepeatLine).Course);
        Assert.Contains("New and asking for a repeat", comparison.Sentence, StringComparison.Ordinal);
    }

    [Fact]
    public void OpenLine_IsNotTakenForPutRight()
    {
        Critique open = Cases.Judge(Cases.Measured(), Cases.AllMet(Cases.WristPa).With(RepeatLine, null));
        Assert.Equal(RepeatAnswer.CannotTell, CritiqueComparison.Of(Missing(RepeatLine), open).Answer);
        Assert.Equal(RepeatAnswer.NothingToPutRight, CritiqueComparison.Of(Missing(), Missing()).Answer);
    }

    // Turned round, what was put right is newly lost, and every difference changes its sign.
    [Fact]
    [Trait("evidence", "invariant")]
    public void Comparison_TurnedRound_IsItsMirrorImage()
    {
        Critique one = Missing(RepeatLine);
        Critique other = Cases.Judge(Cases.Measured(-2.5, deviationUncertainty: 0.3), Cases.AllMet(Cases.WristPa));
        CritiqueComparison there = CritiqueComparison.Of(one, other);
        CritiqueComparison back = CritiqueComparison.Of(other, one);
        Assert.Equal(there.Lines.Count(line => line.Course == LineCourse.PutRight), back.Lines.Count(line => line.Course == LineCourse.NewlyMissed));
        Assert.Equal(there.Lines.Count(line => line.Course == LineCourse.NewlyMissed), back.Lines.Count(line => line.Course == LineCourse.PutRight));
        Assert.Equal(there.Figures.Select(figure => (figure.Name, -figure.Difference)), back.Figures.Select(figure => (figure.Name, figure.Difference)));
    }

    // JCGM 100:2008, 5.1.2: sqrt(0.3² + 0.4²) = 0.5, so twice the deviation is 1.0.
    [Theory]
    [InlineData(0.9, false)]
    [InlineData(1.1, true)]
    [Trait("evidence", "published")]
    public void Difference_IsTold_BeyondTwiceItsDeviation(double second, bool isTold)
    {
        FigureComparison figure = CritiqueComparison.Of(
            Cases.Judge(Cases.Measured(0, deviationUncertainty: 0.3)),
            Cases.Judge(Cases.Measured(second, deviationUncertainty: 0.4))).Figures.Single(each => each.Name == "Deviation index");
        Assert.Equal(0.5, figure.DifferenceUncertainty!.Value, 1e-12);
        Assert.Equal(isTold, figure.IsMoreThanUncertainty);
        Assert.Contains(isTold ? "more than twice" : "no difference can be told", figure.Sentence, StringComparison.Ordinal);
    }

    [Fact]
    public void Difference_WithoutUncertainty_IsNotJudged()
    {
        FigureComparison figure = CritiqueComparison.Of(Cases.Judge(Cases.Measured(0)), Cases.Judge(Cases.Measured(2))).Figures.Single(each => each.Name == "Deviation index");
        Assert.Null(figure.IsMoreThanUncertainty);
        Assert.Contains("not stated", figure.Sentence, StringComparison.Ordinal);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Dose_OfBothIsAdded()
    {
        string dose = CritiqueComparison.Of(Missing(), Cases.Judge(Cases.Measured(), exposure: Cases.WristHeader with { KermaAreaProductDgyCm2 = 0.15 })).Dose!;
        Assert.Contains("0.2 dGy·cm² and 0.15 dGy·cm², together 0.35 dGy·cm²", dose, StringComparison.Ordinal);
        Assert.Null(CritiqueComparison.Of(WithoutDose(), WithoutDose()).Dose);
    }

    [Fact]
    public void DifferentProjections_AreComparedWhereTheyCan_AndSayIt()
    {
        Projection lateral = ProjectionCatalogue.BuiltIn.Get("wrist-lateral");
        Critique other = CritiqueBuilder.Build(Cases.Header(lateral), Cases.Measured(), lateral, Cases.AllMet(lateral));
        CritiqueComparison comparison = CritiqueComparison.Of(Missing(RepeatLine), other);
        Assert.Contains(comparison.Cautions, caution => caution.Contains("different projections", StringComparison.Ordinal));
        Assert.Contains(comparison.Lines, line => line.Second is null);
        Assert.Contains(comparison.Lines, line => line.First is null);
        Assert.Equal(comparison.Lines.Count, comparison.Lines.Select(line => line.LineId).Distinct().Count());
    }

    [Fact]
    public void MottleOfDifferentScales_IsNotCompared()
    {
        MeasurementDocument linear = Cases.Measured();
        MeasurementDocument values = linear with { Mottle = Figure<MottleMeasurement>.Measured(linear.Mottle.Value! with { Scale = "pixel values" }) };
        CritiqueComparison comparison = CritiqueComparison.Of(Cases.Judge(linear), Cases.Judge(values));
        Assert.DoesNotContain(comparison.Figures, figure => figure.Name == "Mottle");
        Assert.Contains(comparison.Cautions, caution => caution.StartsWith("Mottle is not compared", StringComparison.Ordinal));
    }

    private static Critique Missing(params string[] lines)
        => Cases.Judge(Cases.Measured(), lines.Aggregate(Cases.AllMet(Cases.WristPa), (answers, line) => answers.With(line, new Answer(ChecklistState.NotMet))));

    private static Critique WithoutDose() => Cases.Judge(Cases.Measured(), exposure: Cases.WristHeader with { KermaAreaProductDgyCm2 = null });
}
