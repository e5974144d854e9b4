using System.Globalization;
using System.Text.Json;

namespace Hotlight.Web.Upkeep;

/// <summary>How the bench is started, in one file: a JSON object whose names are the options of the command line without their dashes. Options of the command line come after it and win.</summary>
internal static class SettingsFile
{
    /// <summary>Name of the option that gives the file.</summary>
    public const string Option = "--settings-file";

    private static readonly JsonDocumentOptions Reading = new() { CommentHandling = JsonCommentHandling.Skip, AllowTrailingCommas = true };

    /// <summary>Puts what a settings file says in front of the rest of a command line.</summary>
    /// <param name="arguments">The command line; as it is where it names no file.</param>
    /// <param name="names">The options that there are, with their dashes; true: they take a value.</param>
    /// <exception cref="BenchRefusedException">The file cannot be read, or says what is no setting.</exception>
    public static IReadOnlyList<string> Expand(IReadOnlyList<string> arguments, IReadOnlyDictionary<string, bool> names)
    {
        List<string> rest = [];
        string? path = null;
        for (int index = 0; index < arguments.Count; index++)
        {
            string[] parts = arguments[index].Split('=', 2);
            if (parts[0] != Option)
            {
                rest.Add(arguments[index]);
                continue;
            }

            path = parts.Length == 2 ? parts[1] : ++index < arguments.Count ? arguments[index] : throw new BenchRefusedException($"{Option} needs the path of a file; see --help.");
        }

        return path is null ? arguments : [.. Read(path, names), .. rest];
    }

    private static List<string> Read(string path, IReadOnlyDictionary<string, bool> names)
    {
        try
        {
            using JsonDocument file = JsonDocument.Parse(File.ReadAllBytes(path), Reading);
            if (file.RootElement.ValueKind != JsonValueKind.Object)
            {
                throw new BenchRefusedException($"The settings file {path} must be one JSON object, such as {{ \"port\": 5180 }}.");
            }

            List<string> options = [];
            List<string> faults = [];
            HashSet<string> seen = new(StringComparer.Ordinal);
            foreach (JsonProperty each in file.RootElement.EnumerateObject())
            {
                string option = "--" + each.Name;
                if (option is "--help" or Option or "--check" || !names.TryGetValue(option, out bool takesValue))
                {
                    faults.Add($"'{each.Name}' is no setting{Near(each.Name, names)}");
                }
                else if (!seen.Add(option))
                {
                    faults.Add($"'{each.Name}' stands there twice");
                }
                else if (takesValue && each.Value.ValueKind is JsonValueKind.String or JsonValueKind.Number)
                {
                    options.AddRange([option, each.Value.ToString()]);
                }
                else if (!takesValue && each.Value.ValueKind is JsonValueKind.True or JsonValueKind.False)
                {
                    options.AddRange(each.Value.ValueKind == JsonValueKind.True ? [option] : []);
                }
                else
                {
                    faults.Add($"'{each.Name}' takes {(takesValue ? "a text or a number" : "true or false")}");
                }
            }

            return faults.Count == 0
                ? options
                : throw new BenchRefusedException(string.Create(CultureInfo.InvariantCulture, $"The settings file {path}: {string.Join("; ", faults)}."));
        }
        catch (JsonException error)
        {
            throw new BenchRefusedException(string.Create(CultureInfo.InvariantCulture, $"The settings file {path} is no JSON: look at line {(error.LineNumber ?? 0) + 1}."), error);
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException or ArgumentException)
        {
            throw new BenchRefusedException($"The settings file {path} cannot be read: {error.Message}", error);
        }
    }

    private static string Near(string name, IReadOnlyDictionary<string, bool> names)
    {
        string? near = names.Keys.Select(each => each[2..]).Where(each => Distance(each, name) <= 2 || each.StartsWith(name, StringComparison.OrdinalIgnoreCase)).MinBy(each => Distance(each, name));
        return near is null ? string.Empty : $", perhaps '{near}'";
    }

    // How many letters differ (Levenshtein).
    private static int Distance(string one, string other)
    {
        int[] row = [.. Enumerable.Range(0, other.Length + 1)];
        for (int i = 1; i <= one.Length; i++)
        {
            int diagonal = row[0];
            row[0] = i;
            for (int j = 1; j <= other.Length; j++)
            {
                (diagonal, row[j]) = (row[j], Math.Min(Math.Min(row[j] + 1, row[j - 1] + 1), diagonal + (char.ToLowerInvariant(one[i - 1]) == char.ToLowerInvariant(other[j - 1]) ? 0 : 1)));
            }
        }

        return row[^1];
    }
}
