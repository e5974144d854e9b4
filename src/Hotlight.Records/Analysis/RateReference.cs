namespace Hotlight.Records.Analysis;

/// <summary>A line to hold a rate against. It is no limit: the department's own history tells more.</summary>
/// <param name="Fraction">The rate as a fraction.</param>
/// <param name="Label">What it is, in a few words.</param>
/// <param name="Source">Where it comes from, with its mark.</param>
public sealed record RateReference(double Fraction, string Label, string Source)
{
    private const string Tg151 = "AAPM TG-151, Med Phys 2015;42:6658 (the figures from memory)";

    /// <summary>Lines for adult patients.</summary>
    public static IReadOnlyList<RateReference> Adult { get; } = [new(0.08, "TG-151 target 8 %", Tg151), new(0.10, "TG-151 look into it 10 %", Tg151)];

    /// <summary>Lines for children.</summary>
    public static IReadOnlyList<RateReference> Child { get; } = [new(0.05, "TG-151 children 5 %", Tg151), new(0.07, "TG-151 children, look into it 7 %", Tg151)];

    /// <summary>Lines that fit the patients a query picks: children's where it picks children alone, otherwise adults'.</summary>
    /// <param name="query">The query.</param>
    public static IReadOnlyList<RateReference> Of(LogQuery query)
    {
        ArgumentNullException.ThrowIfNull(query);
        return query.AgeGroups is [AgeGroup.Child] ? Child : Adult;
    }
}
