using Hotlight.Catalogue;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Document;

namespace Hotlight.Judgement.Tests;

public sealed partial class CritiqueBuilderTests
{
    public static TheoryData<string> Projections()
    {
        var ids = new TheoryData<string>();
        foreach (Projection projection in ProjectionCatalogue.BuiltIn.Projections)
        {
            ids.Add(projection.Id);
        }

        return ids;
    }

    [Theory]
    [MemberData(nameof(Projections))]
    [Trait("evidence", "invariant")]
    public void Build_PictureWithoutHeader_AsksEveryRequiredQuestionAndClaimsNothing(string id)
    {
        Projection projection = ProjectionCatalogue.BuiltIn.Get(id);
        Critique critique = CritiqueBuilder.Build(new ExposureRecord(), Cases.NothingKnown(), projection, Answers.None(id));
        Assert.Equal(VerdictKind.Undetermined, critique.Verdict.Kind);
        Assert.Empty(critique.Verdict.Reasons);
        Assert.Empty(critique.Changes);
        Assert.All(critique.Lines, line => Assert.True(line.State is ChecklistState.CannotTell or ChecklistState.NotApplicable, line.Id));
        Assert.All(critique.Lines, line => Assert.Equal(DecidedBy.Nobody, line.DecidedBy));
        Assert.Equal(critique.Lines.Where(line => line.Required).Select(line => line.Id), critique.Verdict.Open.Select(reason => reason.LineId));
        Assert.Equal(CostBasis.Relative, critique.Cost.Basis);
        Assert.Null(critique.Cost.RepeatDgyCm2);
    }

    [Theory]
    [MemberData(nameof(Projections))]
    [Trait("evidence", "invariant")]
    public void Build_AnyImage_FollowsTheTeachingOrderWithTheSameLines(string id)
    {
        Projection projection = ProjectionCatalogue.BuiltIn.Get(id);
        IReadOnlyList<ChecklistLine> blank = CritiqueBuilder.BlankChecklist(projection);
        Critique critique = CritiqueBuilder.Build(Cases.WristHeader, Cases.Measured(), projection, Answers.None(id));
        Assert.Equal(blank.Select(line => line.Id), critique.Lines.Select(line => line.Id));
        Assert.Equal(blank.Count, blank.Select(line => line.Id).Distinct().Count());
        Assert.Equal(critique.Lines.Select(line => line.Section), critique.Lines.Select(line => line.Section).Order());
        Assert.Equal(Enum.GetValues<ChecklistSection>(), critique.Lines.Select(line => line.Section).Distinct());
    }

    [Fact]
    public void Build_EverythingMet_AcceptsAndSaysThatARepeatGivesNothing()
    {
        Critique critique = Cases.Judge(Cases.Measured());
        Assert.Equal(VerdictKind.Accept, critique.Verdict.Kind);
        Assert.Empty(critique.Verdict.Reasons);
        Assert.Empty(critique.Verdict.Open);

        // Not required and for the reader: forearm level, hand in line, tissues, centre, shielding, ready to send.
        Assert.Equal("Keep the image. 6 lines were left unanswered.", critique.Verdict.Sentence);
        Assert.Empty(critique.Changes);
        Assert.Contains("gain nothing", critique.Cost.Gain, StringComparison.Ordinal);
        Assert.Equal(Critique.SafetyCaution, critique.Cautions[0]);
    }
}
