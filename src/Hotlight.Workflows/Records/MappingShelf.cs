using System.Text;
using Hotlight.Records.Sources.Tables;

namespace Hotlight.Workflows.Records;

/// <summary>Mappings of tables kept by name, one open JSON file each, in a folder.</summary>
/// <param name="folder">The folder; made when a mapping is first kept.</param>
public sealed class MappingShelf(string folder)
{
    private const string Ending = ".json";

    /// <summary>The mappings that can be read, by name; files that are none are passed over.</summary>
    public IReadOnlyList<TableMapping> All()
    {
        if (!Directory.Exists(folder))
        {
            return [];
        }

        List<TableMapping> mappings = [];
        foreach (string file in Directory.EnumerateFiles(folder, "*" + Ending))
        {
            try
            {
                if (new FileInfo(file).Length <= TableMappingJson.LargestBytes)
                {
                    mappings.Add(TableMappingJson.Read(File.ReadAllText(file), Path.GetFileName(file)));
                }
            }
            catch (Exception error) when (error is FormatException or IOException or UnauthorizedAccessException)
            {
                // Somebody else's file, or one of a later version.
            }
        }

        return [.. mappings.OrderBy(mapping => mapping.Name, StringComparer.CurrentCultureIgnoreCase)];
    }

    /// <summary>Keeps a mapping under its name, over one that has it.</summary>
    /// <param name="mapping">The mapping.</param>
    /// <exception cref="FormatException">It has a fault.</exception>
    /// <exception cref="IOException">It cannot be written.</exception>
    /// <exception cref="UnauthorizedAccessException">It may not be written.</exception>
    public void Keep(TableMapping mapping)
    {
        ArgumentNullException.ThrowIfNull(mapping);
        if (mapping.Faults() is [{ } fault, ..])
        {
            throw new FormatException(fault);
        }

        Directory.CreateDirectory(folder);
        string path = Path.Combine(folder, FileNameOf(mapping.Name));
        string unfinished = $"{path}.{Guid.NewGuid():N}.part";
        try
        {
            File.WriteAllText(unfinished, TableMappingJson.Write(mapping) + "\n");
            File.Move(unfinished, path, overwrite: true);
        }
        finally
        {
            File.Delete(unfinished);
        }
    }

    // Letters and digits stay; so that two names never share a file, others become their number.
    private static string FileNameOf(string name)
    {
        StringBuilder file = new();
        foreach (Rune letter in name.Trim().EnumerateRunes())
        {
            file.Append(Rune.IsLetterOrDigit(letter) || letter.Value is '-' or ' ' ? letter.ToString() : $"_{letter.Value:x}_");
        }

        string text = file.ToString();
        return (text.Length <= 120 ? text : text[..120]) + Ending;
    }
}
