namespace Hotlight.Workflows.Readings;

/// <summary>Says which cases are held back from everybody, beyond what each reader has finished.</summary>
public interface IReadingHold
{
    /// <summary>The cases that are held back now, by case.</summary>
    /// <param name="cancellation">Stops the reading.</param>
    Task<IReadOnlyDictionary<Guid, ReadingHold>> HeldAsync(CancellationToken cancellation = default);
}

/// <summary>What holds the answers of a case back.</summary>
/// <param name="RoundId">The round that reads it.</param>
/// <param name="Title">Its title.</param>
public sealed record ReadingHold(Guid RoundId, string Title);
