using Hotlight.Catalogue;

namespace Hotlight.Cli.Commands;

/// <summary>The catalogue's projections, looked up by the words of a call.</summary>
internal static class Projections
{
    /// <summary>The projection of an identifier.</summary>
    /// <exception cref="RefusedException">There is none; the sentence names the nearest and how to list them.</exception>
    public static Projection Find(string id)
    {
        ProjectionCatalogue catalogue = ProjectionCatalogue.BuiltIn;
        if (catalogue.Find(id) is { } projection)
        {
            return projection;
        }

        string? nearest = catalogue.Projections
            .Select(candidate => (candidate.Id, Distance: EditDistance(id.ToLowerInvariant(), candidate.Id)))
            .Where(candidate => candidate.Distance <= 3)
            .OrderBy(candidate => candidate.Distance)
            .Select(candidate => candidate.Id)
            .FirstOrDefault();
        string suggestion = nearest is null ? string.Empty : $" Did you mean '{nearest}'?";
        throw new RefusedException($"the catalogue has no projection '{id}'.{suggestion} 'hotlight projections' lists them.");
    }

    private static int EditDistance(string one, string other)
    {
        int[] previous = Enumerable.Range(0, other.Length + 1).ToArray();
        for (int i = 1; i <= one.Length; i++)
        {
            var current = new int[other.Length + 1];
            current[0] = i;
            for (int j = 1; j <= other.Length; j++)
            {
                int substitution = previous[j - 1] + (one[i - 1] == other[j - 1] ? 0 : 1);
                current[j] = Math.Min(substitution, Math.Min(previous[j], current[j - 1]) + 1);
            }

            previous = current;
        }

        return previous[^1];
    }
}
