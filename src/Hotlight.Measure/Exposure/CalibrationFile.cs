using System.Globalization;
using System.Text.Json;
using Hotlight.Core;
using Hotlight.Imaging;

namespace Hotlight.Measure.Exposure;

/// <summary>Reads a <see cref="Calibration"/> from a file.</summary>
/// <remarks>
/// <para>The form: <c>{"schema": "hotlight.calibration/1", "relationship": "linear" | "logarithmic" | "square-root", "gain": 200, "offset": 0, "kermaUncertaintyPercent": 5, "note": "…"}</c>; offset, kermaUncertaintyPercent and note may be left out; no other member is allowed, so that a misspelt one is not lost in silence.</para>
/// </remarks>
public static class CalibrationFile
{
    /// <summary>The value of the file's <c>schema</c> member.</summary>
    public const string SchemaName = "hotlight.calibration/1";

    private const long LargestBytes = 65_536;

    private static readonly JsonWriterOptions Indented = new() { Indented = true, Encoder = System.Text.Encodings.Web.JavaScriptEncoder.UnsafeRelaxedJsonEscaping };

    /// <summary>The text of a calibration file, UTF-8, that <see cref="Parse"/> reads back.</summary>
    /// <param name="calibration">The calibration.</param>
    public static byte[] Write(Calibration calibration)
    {
        ArgumentNullException.ThrowIfNull(calibration);
        using var content = new MemoryStream();
        using (var json = new Utf8JsonWriter(content, Indented))
        {
            json.WriteStartObject();
            json.WriteString("schema", SchemaName);
            json.WriteString("relationship", CalibrationFit.NameOf(calibration.Relationship));
            json.WriteNumber("gain", calibration.Gain);
            json.WriteNumber("offset", calibration.Offset);
            if (calibration.KermaUncertaintyPercent is { } percent)
            {
                json.WriteNumber("kermaUncertaintyPercent", percent);
            }

            if (calibration.Note is { } note)
            {
                json.WriteString("note", note);
            }

            json.WriteEndObject();
        }

        content.WriteByte((byte)'\n');
        return content.ToArray();
    }

    /// <summary>Reads and checks a calibration file.</summary>
    /// <param name="path">Path of the file; never changed.</param>
    /// <exception cref="FormatException">The file is missing, is not JSON of this form, or holds a value that cannot be; the message names the file and says what is wrong in one sentence.</exception>
    public static Calibration Read(string path)
    {
        ArgumentException.ThrowIfNullOrWhiteSpace(path);
        string name = Path.GetFileName(Path.TrimEndingDirectorySeparator(path));
        byte[] content;
        try
        {
            if (Directory.Exists(path))
            {
                throw Refused(name, "it is a folder; give a calibration file.");
            }

            var file = new FileInfo(path);
            if (!file.Exists)
            {
                throw Refused(name, "there is no such calibration file.");
            }

            if (file.Length > LargestBytes)
            {
                throw Refused(name, string.Create(CultureInfo.InvariantCulture, $"it has {file.Length} bytes; a calibration file has a few hundred."));
            }

            content = File.ReadAllBytes(path);
        }
        catch (Exception problem) when (problem is IOException or UnauthorizedAccessException or NotSupportedException)
        {
            throw Refused(name, "the calibration file cannot be opened: " + problem.Message, problem);
        }

        return Parse(content, name);
    }

    /// <summary>Reads and checks the text of a calibration file.</summary>
    /// <param name="content">UTF-8 text (borrowed).</param>
    /// <param name="fileName">Name for messages.</param>
    /// <exception cref="FormatException">As for <see cref="Read(string)"/>.</exception>
    public static Calibration Parse(ReadOnlyMemory<byte> content, string fileName)
    {
        ReadOnlyMemory<byte> text = content.Span.StartsWith("\uFEFF"u8) ? content[3..] : content;
        JsonDocument document;
        try
        {
            document = JsonDocument.Parse(text);
        }
        catch (JsonException problem)
        {
            throw Refused(fileName, "it is not JSON; a calibration file is one JSON object of schema " + SchemaName + ".", problem);
        }

        using (document)
        {
            if (document.RootElement.ValueKind != JsonValueKind.Object)
            {
                throw Refused(fileName, "it holds no JSON object; a calibration file is one JSON object of schema " + SchemaName + ".");
            }

            try
            {
                return FromObject(document.RootElement, fileName);
            }
            catch (InvalidOperationException problem)
            {
                throw Refused(fileName, "it holds a text that is no UTF-8.", problem);
            }
        }
    }

    private static Calibration FromObject(JsonElement root, string fileName)
    {
        var seen = new HashSet<string>(StringComparer.Ordinal);
        string? schema = null;
        PixelRelationship relationship = PixelRelationship.Unknown;
        double? gain = null;
        double offset = 0;
        double? uncertainty = null;
        string? note = null;
        foreach (JsonProperty member in root.EnumerateObject())
        {
            if (!seen.Add(member.Name))
            {
                throw Refused(fileName, $"the member '{member.Name}' stands there twice.");
            }

            switch (member.Name)
            {
                case "schema":
                    schema = Text(member, fileName);
                    break;
                case "relationship":
                    relationship = Text(member, fileName) switch
                    {
                        "linear" => PixelRelationship.Linear,
                        "logarithmic" => PixelRelationship.Logarithmic,
                        "square-root" => PixelRelationship.SquareRoot,
                        string other => throw Refused(fileName, $"the relationship is 'linear', 'logarithmic' or 'square-root', not '{other}'."),
                    };
                    break;
                case "gain":
                    gain = Number(member, fileName);
                    break;
                case "offset":
                    offset = Number(member, fileName);
                    break;
                case "kermaUncertaintyPercent":
                    uncertainty = member.Value.ValueKind == JsonValueKind.Null ? null : Number(member, fileName);
                    break;
                case "note":
                    note = member.Value.ValueKind == JsonValueKind.Null ? null : Text(member, fileName);
                    break;
                default:
                    throw Refused(fileName, $"'{member.Name}' is not a member of a calibration; the members are schema, relationship, gain, offset, kermaUncertaintyPercent and note.");
            }
        }

        if (schema != SchemaName)
        {
            throw Refused(fileName, schema is null
                ? $"the member 'schema' is missing; it must be '{SchemaName}'."
                : $"the schema is '{schema}'; this version reads '{SchemaName}'.");
        }

        if (relationship == PixelRelationship.Unknown)
        {
            throw Refused(fileName, "the member 'relationship' is missing; it is 'linear', 'logarithmic' or 'square-root'.");
        }

        if (gain is not { } slope)
        {
            throw Refused(fileName, "the member 'gain' is missing: modality value per µGy, per log10 of µGy, or per root of µGy.");
        }

        if (slope == 0)
        {
            throw Refused(fileName, "the gain is 0; then every exposure would give the same value.");
        }

        if (uncertainty is < 0 or > 100)
        {
            throw Refused(fileName, string.Create(CultureInfo.InvariantCulture, $"kermaUncertaintyPercent is {uncertainty}; it must be from 0 to 100."));
        }

        return new Calibration { Relationship = relationship, Gain = slope, Offset = offset, KermaUncertaintyPercent = uncertainty, Note = note };
    }

    private static FormatException Refused(string fileName, string reason, Exception? inner = null) => new(PlainText.Of($"{fileName}: {reason}"), inner);

    private static string Text(JsonProperty member, string fileName)
        => member.Value.ValueKind == JsonValueKind.String
            ? member.Value.GetString()!
            : throw Refused(fileName, $"the member '{member.Name}' must be a text.");

    private static double Number(JsonProperty member, string fileName)
        => member.Value.ValueKind == JsonValueKind.Number && member.Value.TryGetDouble(out double number) && double.IsFinite(number)
            ? number
            : throw Refused(fileName, $"the member '{member.Name}' must be a finite number.");
}
