namespace Hotlight.Statistics;

/// <summary>The method by which a figure was worked out and where it comes from; travels with every result, so that a page can print it.</summary>
/// <param name="Name">The method's name in the trade, such as "Wilson score interval".</param>
/// <param name="Source">Author, journal and year; ends in "(from memory)" where the paper itself was not read for this project.</param>
public sealed record StatisticalMethod(string Name, string Source);
