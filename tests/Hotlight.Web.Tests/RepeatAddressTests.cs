using Hotlight.Records;
using Hotlight.Records.Analysis;
using Hotlight.Web.Repeats;
using Hotlight.Workflows.Repeats;
using Microsoft.AspNetCore.WebUtilities;
using Microsoft.Extensions.Primitives;

namespace Hotlight.Web.Tests;

/// <summary>What is asked stands in the address, whole, and nothing in an address can break the page.</summary>
public sealed class RepeatAddressTests
{
    private static readonly LogQuery Fallback = new() { Site = "Saltmarsh Lane (invented)", From = new DateOnly(2025, 11, 1), Before = new DateOnly(2026, 11, 1) };

    private static RepeatQuestion Read(string query)
    {
        Dictionary<string, StringValues> values = QueryHelpers.ParseQuery(query);
        return RepeatAddress.Read(name => values.TryGetValue(name, out StringValues found) ? [.. found] : [], Fallback);
    }

    [Fact]
    public void WrittenAndRead_IsTheSameQuestion()
    {
        var question = new RepeatQuestion
        {
            Query = new LogQuery
            {
                Site = "A & B, 50 %",
                From = new DateOnly(2026, 1, 1),
                Before = new DateOnly(2026, 7, 1),
                ProjectionIds = ["wrist-pa", null],
                Rooms = ["Room 2", "a=b&c"],
                Receptors = [null],
                Performers = ["Heron"],
                Shifts = [Shift.Night],
                AgeGroups = [AgeGroup.Child],
            },
            Period = LogDimension.Month,
            Kind = RateKind.Repeats,
            Training = new DateOnly(2026, 3, 1),
            ControlRoom = "Room 1",
        };
        string address = RepeatAddress.Write(RepeatView.Training, question);
        Assert.StartsWith("/repeats/training?", address, StringComparison.Ordinal);
        Assert.Equivalent(question, Read(address[address.IndexOf('?', StringComparison.Ordinal)..]), strict: true);
    }

    [Fact]
    public void Entries_KeepWhatPicksSingleOnes()
    {
        var question = new RepeatQuestion { Query = Fallback with { Uses = [ExposureUse.Rejected], Reasons = [null], DeviationBeyond = 3.05, HasIndex = true } };
        string address = RepeatAddress.Write(RepeatView.Entries, question);
        RepeatQuestion read = Read(address[address.IndexOf('?', StringComparison.Ordinal)..]);
        Assert.Equivalent(question.Query, read.Query, strict: true);

        // Counts know nothing of these; they must not narrow them by accident.
        Assert.Equal((0, 0, null, null), (read.Counted.Uses.Count, read.Counted.Reasons.Count, read.Counted.DeviationBeyond, read.Counted.HasIndex));
    }

    [Theory]
    [InlineData("")]
    [InlineData("?from=yesterday&to=2026-99-99&shift=7&age=zebra&reason=12&use=-1&beyond=NaN&index=maybe&by=century&rate=1&training=0000-00-00&control=")]
    public void NonsenseInAnAddress_IsLeftOut(string query)
        => Assert.Equivalent(new RepeatQuestion { Query = Fallback }, Read(query), strict: true);

    [Fact]
    public void AllOfTheTime_IsNotTheLastTwelveMonths()
    {
        string address = RepeatAddress.Write(RepeatView.Overview, new RepeatQuestion { Query = new LogQuery { Site = string.Empty } });
        RepeatQuestion read = Read(address[address.IndexOf('?', StringComparison.Ordinal)..]);
        Assert.Equal((string.Empty, null, null), (read.Query.Site, read.Query.From, read.Query.Before));
    }

    [Theory]
    [InlineData(null, RepeatView.Overview)]
    [InlineData("rooms", RepeatView.Rooms)]
    [InlineData("3", RepeatView.Overview)]
    [InlineData("no-such", RepeatView.Overview)]
    public void ViewOf_AWordOfThePath(string? word, RepeatView view) => Assert.Equal(view, RepeatAddress.ViewOf(word));
}
