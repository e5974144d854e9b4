using Hotlight.Catalogue;
using Hotlight.Core;

namespace Hotlight.Cli.Commands;

/// <summary>The catalogue's projections, looked up by the words of a call.</summary>
internal static class Projections
{
    /// <summary>Name of the environment variable that holds a clinic's own folder of projections.</summary>
    public const string FolderVariable = "HOTLIGHT_CATALOGUE";

    /// <summary>The built-in catalogue with the clinic's own entries over it, in the language of the call.</summary>
    /// <param name="folder">The clinic's folder; null: that of the environment, else none.</param>
    /// <exception cref="RefusedException">The clinic's folder has faults; the sentence says how to see them.</exception>
    public static ProjectionCatalogue Catalogue(string? folder)
    {
        string? own = folder ?? Environment.GetEnvironmentVariable(FolderVariable);
        if (string.IsNullOrWhiteSpace(own))
        {
            return Languages.In(ProjectionCatalogue.BuiltIn);
        }

        try
        {
            return Languages.In(ProjectionCatalogue.BuiltIn.With(ProjectionCatalogue.Load(own)));
        }
        catch (UnreadableCatalogueException error)
        {
            string more = error.Errors.Count > 1 ? $" There are {error.Errors.Count - 1} more faults; 'hotlight catalogue check FOLDER' lists them all." : string.Empty;
            throw new RefusedException(error.Errors[0] + more);
        }
    }

    /// <summary>The projection of an identifier.</summary>
    /// <param name="id">The identifier.</param>
    /// <param name="folder">The clinic's own folder of projections, or null.</param>
    /// <exception cref="RefusedException">There is none; the sentence names the nearest and how to list them.</exception>
    public static Projection Find(string id, string? folder = null)
    {
        ProjectionCatalogue catalogue = Catalogue(folder);
        if (catalogue.Find(id) is { } projection)
        {
            return projection;
        }

        IReadOnlyList<string> near = catalogue.Near(id);
        throw new RefusedException(near.Count == 0
            ? Texts.Get("projections.refused.unknown", id)
            : Texts.Get("projections.refused.near", id, string.Join(Texts.Get("projections.refused.or"), near.Select(name => $"'{name}'"))));
    }
}
