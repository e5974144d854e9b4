namespace Hotlight.Records.Sources.Tables;

/// <summary>A row of a table as an entry.</summary>
/// <param name="Line">Line it begins on, from 1.</param>
/// <param name="Entry">The entry; null where the row has a fault.</param>
/// <param name="Faults">What is wrong with it.</param>
public sealed record TableRow(long Line, ExposureEntry? Entry, IReadOnlyList<SourceFault> Faults);
