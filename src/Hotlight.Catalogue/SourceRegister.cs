using System.Reflection;
using System.Text.Json;

namespace Hotlight.Catalogue;

/// <summary>How well a source is known.</summary>
public enum SourceStanding
{
    /// <summary>Its text was read.</summary>
    Read,

    /// <summary>Quoted from memory, not read again.</summary>
    Memory,

    /// <summary>Reasoned or calculated in this project; the place says where.</summary>
    Derived,

    /// <summary>There is no outside source.</summary>
    None,
}

/// <summary>One source of figures and statements.</summary>
/// <param name="Title">Title, author, year.</param>
/// <param name="Place">Where: journal, clause, kind of page.</param>
/// <param name="Standing">How well it is known.</param>
/// <param name="Note">What it is used for and what to mind.</param>
public sealed record Source(string Title, string Place, SourceStanding Standing, string Note);

/// <summary>The register of sources: <c>data/sources.json</c>.</summary>
public sealed class SourceRegister
{
    private const string SchemaName = "hotlight.sources/1";

    private SourceRegister(IReadOnlyDictionary<string, Source> sources) => Sources = sources;

    /// <summary>The register built into the program.</summary>
    public static SourceRegister BuiltIn { get; } = LoadBuiltIn();

    /// <summary>Sources by key.</summary>
    public IReadOnlyDictionary<string, Source> Sources { get; }

    /// <summary>Reads a register.</summary>
    /// <param name="json">The text.</param>
    /// <param name="file">Name of the file, for messages.</param>
    /// <exception cref="UnreadableCatalogueException">The text is not a register.</exception>
    public static SourceRegister Parse(string json, string file)
    {
        RegisterFile content = CatalogueJson.Parse<RegisterFile>(json, file);
        if (content.Schema != SchemaName)
        {
            throw new UnreadableCatalogueException(file, "$.schema", $"the register says '{content.Schema}'; this version reads '{SchemaName}'.");
        }

        return new SourceRegister(content.Sources);
    }

    private static SourceRegister LoadBuiltIn()
    {
        using Stream stream = Assembly.GetExecutingAssembly().GetManifestResourceStream("sources.json")
            ?? throw new InvalidOperationException("The register of sources is not built in.");
        using var reader = new StreamReader(stream);
        return Parse(reader.ReadToEnd(), "sources.json");
    }

    private sealed record RegisterFile(string Schema, Dictionary<string, Source> Sources);
}
