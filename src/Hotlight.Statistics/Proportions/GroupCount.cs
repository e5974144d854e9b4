namespace Hotlight.Statistics.Proportions;

/// <summary>The count of one group, such as a room, a projection or a person's pseudonym.</summary>
/// <param name="Name">The group's name; unlike any other in the same list.</param>
/// <param name="Count">Its events and total.</param>
public sealed record GroupCount(string Name, EventCount Count);
