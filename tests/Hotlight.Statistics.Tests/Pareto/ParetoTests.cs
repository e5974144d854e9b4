using Hotlight.Statistics.Pareto;

namespace Hotlight.Statistics.Tests.Pareto;

public sealed class ParetoTests
{
    [Fact]
    [Trait("evidence", "analytic")]
    public void Of_Reasons_AreOrderedWithSharesAndLeads()
    {
        IReadOnlyList<ParetoRow> rows = ParetoTables.Of([new("marker", 3), new("positioning", 30), new("exposure", 9), new("motion", 3), new("equipment", 0)]).Value!;
        Assert.Equal(["positioning", "exposure", "marker", "motion", "equipment"], rows.Select(row => row.Name));
        Assert.Equal([30 / 45.0, 39 / 45.0, 42 / 45.0, 1, 1], rows.Select(row => row.CumulativeFraction));
        Assert.Equal(1, rows[2].AheadOfNext.Value!.PValue);

        // 3 against 0: 2·(1/2)³. 9 against 3: 2·P(B(12, ½) ≤ 3) = 2·299/4096.
        Assert.Equal(0.25, rows[3].AheadOfNext.Value!.PValue, 1e-12);
        Assert.Equal(2 * 299 / 4096.0, rows[1].AheadOfNext.Value!.PValue, 1e-12);
        Assert.False(rows[4].AheadOfNext.IsMeasured);
        Assert.Equal(45, rows[0].Share.Count.Total);
    }

    [Fact]
    public void Of_NoEvents_CannotBeTold()
    {
        Assert.False(ParetoTables.Of([new("motion", 0)]).IsMeasured);
        Assert.Throws<ArgumentException>(() => ParetoTables.Of([new("motion", 1), new("motion", 2)]));
    }
}
