using Hotlight.Statistics.Proportions;

namespace Hotlight.Statistics.Tests.Proportions;

public sealed class SmallGroupsTests
{
    [Fact]
    [Trait("evidence", "invariant")]
    public void Suppress_RandomTables_NeverLetsASmallCountBeWorkedOut()
    {
        Random random = new(7);
        for (int trial = 0; trial < 500; trial++)
        {
            GroupCount[] groups = [.. Enumerable.Range(0, random.Next(1, 8)).Select(index =>
            {
                int total = random.Next(0, 40);
                return new GroupCount($"g{index}", new EventCount(random.Next(0, total + 1), total));
            })];
            SuppressedTable table = SmallGroups.Suppress(groups, 10);
            long[] hidden = [.. table.Groups.Select((row, index) => row.Count.IsMeasured ? -1 : groups[index].Count.Total).Where(total => total >= 0)];
            Assert.All(table.Groups, row => Assert.False(row.Count.IsMeasured && row.Count.Value.Total is > 0 and < 10));
            if (table.Sum.IsMeasured && hidden.Length > 0)
            {
                Assert.True(hidden.Length >= 2 && hidden.Sum() >= 10, "the sum less what is shown gives a small group away");
            }

            Assert.All(table.Groups.Where(row => !row.Count.IsMeasured), row => Assert.StartsWith("Not shown", row.Count.Why, StringComparison.Ordinal));
        }
    }

    [Fact]
    public void Suppress_OneSmallGroup_HidesTheNextSmallestWithIt()
    {
        SuppressedTable table = SmallGroups.Suppress([new("a", new(1, 4)), new("b", new(2, 60)), new("c", new(3, 30)), new("d", new(0, 0))], 10);
        Assert.Equal([false, true, false, true], table.Groups.Select(row => row.Count.IsMeasured));
        Assert.Equal(1, table.ComplementarySuppressed);
        Assert.Equal(94, table.Sum.Value!.Total);
        Assert.Contains("fewer than 10", table.Groups[0].Count.Why, StringComparison.Ordinal);
        Assert.Contains("worked out", table.Groups[2].Count.Why, StringComparison.Ordinal);
    }

    [Fact]
    public void Suppress_ALoneSmallGroup_HidesTheSumToo()
    {
        SuppressedTable table = SmallGroups.Suppress([new("a", new(1, 4))], 10);
        Assert.False(table.Sum.IsMeasured);
        Assert.Throws<ArgumentException>(() => SmallGroups.Suppress([new("a", new(1, 4)), new("a", new(1, 4))], 10));
    }
}
