using Hotlight.Catalogue;
using Hotlight.Web.Worklist;
using Hotlight.Workflows.Cases;

namespace Hotlight.Web.Tests;

public sealed class WorklistViewTests
{
    private static readonly IReadOnlyList<Projection> Projections = ProjectionCatalogue.BuiltIn.Projections;

    [Fact]
    public void Read_OfItsOwnAddress_GivesTheSameView()
    {
        WorklistView[] views =
        [
            new(),
            new() { Search = "wrist röntgen & co", State = CaseState.InWork, Verdict = "accept-with-remark", Projection = "region:wrist", Person = WorklistView.None, Origin = CaseOrigin.Network },
            new() { From = new DateOnly(2026, 2, 28), To = new DateOnly(2026, 3, 1), IsInvented = false, Sort = WorklistSort.Exposed, IsDescending = true, Grouping = WorklistGrouping.Patient },
            new() { IsInvented = true, Grouping = WorklistGrouping.Examination },
        ];
        foreach (WorklistView view in views)
        {
            IReadOnlyDictionary<string, object?> address = view.Address();
            Assert.Equal(view, WorklistView.Read(name => address[name] as string));
        }

        Assert.All(new WorklistView().Address().Values, Assert.Null);
    }

    [Theory]
    [InlineData("state", "finished")]
    [InlineData("sort", "7")]
    [InlineData("from", "2026-02-30")]
    [InlineData("from", "yesterday")]
    [InlineData("invented", "perhaps")]
    [InlineData("group", "")]
    [InlineData("projection", " ")]
    public void Read_WhatCannotBe_IsLeftOut(string name, string value)
        => Assert.Equal(new WorklistView(), WorklistView.Read(asked => asked == name ? value : null));

    [Fact]
    public void Query_WordsDaysAndRegion_BecomeTheStoresQuestion()
    {
        var zone = TimeZoneInfo.CreateCustomTimeZone("two hours", TimeSpan.FromHours(2), "two hours", "two hours");
        var view = new WorklistView { Search = " PA  knee ", Projection = "region:wrist", Person = WorklistView.None, Verdict = WorklistView.None, From = new DateOnly(2026, 3, 1), To = new DateOnly(2026, 3, 1) };

        WorklistQuery query = view.Query(Projections, zone);

        Assert.Equal(["PA", "knee"], query.Words.Select(word => word.Text));
        Assert.Contains("wrist-pa", query.Words[0].ProjectionIds);
        Assert.Contains("knee-lateral", query.Words[1].ProjectionIds);
        Assert.DoesNotContain("wrist-pa", query.Words[1].ProjectionIds);
        Assert.Equal(Projections.Where(each => each.Region == "wrist").Select(each => each.Id), query.ProjectionIds);
        Assert.Equal((Guid.Empty, string.Empty), (query.AssigneeId, Assert.Single(query.Verdicts)));
        Assert.Equal(new DateTimeOffset(2026, 2, 28, 22, 0, 0, TimeSpan.Zero), query.From);
        Assert.Equal(TimeSpan.FromDays(1), query.Before - query.From);
        Assert.NotEmpty((view with { Projection = "region:nowhere" }).Query(Projections, zone).ProjectionIds);
    }

    [Fact]
    public void IsFiltered_OrderAndGroupingAlone_DoNotCount()
    {
        Assert.False(new WorklistView { Sort = WorklistSort.Title, IsDescending = true, Grouping = WorklistGrouping.Patient }.IsFiltered);
        Assert.True(new WorklistView { Search = "x" }.IsFiltered);
        Assert.True(new WorklistView { IsInvented = false }.IsFiltered);
    }
}
