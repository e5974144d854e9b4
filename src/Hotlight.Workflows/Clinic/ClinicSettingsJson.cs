using System.Globalization;
using System.Text.Encodings.Web;
using System.Text.Json;
using System.Text.Json.Nodes;
using System.Text.Json.Serialization;
using Hotlight.Core;
using Hotlight.Measure.Exposure;
using Hotlight.Records;

namespace Hotlight.Workflows.Clinic;

/// <summary>Writes the clinic's settings as JSON and reads them back, strictly: a member that is not known is refused, so that a misspelt one is not lost in silence.</summary>
public static class ClinicSettingsJson
{
    /// <summary>The value of the file's <c>schema</c> in this version.</summary>
    public const string SchemaName = "hotlight.clinic/1";

    /// <summary>Largest file that is read, in bytes.</summary>
    public const int LargestBytes = 1 << 20;

    private static readonly JsonSerializerOptions Indented = Options(indented: true);
    private static readonly JsonSerializerOptions Compact = Options(indented: false);

    /// <summary>Writes the settings.</summary>
    /// <param name="settings">The settings.</param>
    /// <param name="indented">Whether for people (lines) or for keeping (one line).</param>
    public static string Write(ClinicSettings settings, bool indented = true)
    {
        ArgumentNullException.ThrowIfNull(settings);
        var file = new ClinicFile(
            SchemaName,
            settings.People,
            settings.Rooms,
            settings.Receptors,
            new SortedDictionary<string, double>(settings.TargetExposureIndices.ToDictionary(), StringComparer.Ordinal),
            new SortedDictionary<string, double>(settings.Thresholds.ToDictionary(), StringComparer.Ordinal),
            new MarkerWordLists(settings.LeftMarkerWords, settings.RightMarkerWords),
            settings.Shifts == ShiftHours.Usual ? null : settings.Shifts,
            settings.Requirements.Count == 0 ? null : settings.Requirements);
        return JsonSerializer.Serialize(file, indented ? Indented : Compact);
    }

    /// <summary>Reads settings and checks them.</summary>
    /// <param name="json">The file's text.</param>
    /// <param name="fileName">Its name, for messages.</param>
    /// <exception cref="FormatException">It is not such a file, or what it sets cannot be; the message is one sentence for the reader.</exception>
    public static ClinicSettings Read(string json, string fileName)
    {
        ArgumentNullException.ThrowIfNull(json);
        ClinicSettings settings;
        try
        {
            using (JsonText.Parse(json))
            {
                // Every text in it is whole.
            }

            JsonNode root = JsonNode.Parse(json, documentOptions: new JsonDocumentOptions { AllowDuplicateProperties = false }) ?? throw new JsonException();
            if (root is not JsonObject || root["schema"] is not JsonValue schema || !schema.TryGetValue(out string? name))
            {
                throw new FormatException($"{fileName}: this is not a file of a clinic's settings; the member 'schema' must be '{SchemaName}'.");
            }

            if (name != SchemaName)
            {
                throw new FormatException($"{fileName}: the schema is '{name}'; this version reads '{SchemaName}'.");
            }

            ClinicFile file = root.Deserialize<ClinicFile>(Compact) ?? throw new JsonException();
            IEnumerable<object?> items = [.. file.People ?? [], .. file.Rooms ?? [], .. file.Receptors ?? [], .. file.MarkerWords?.Left ?? [], .. file.MarkerWords?.Right ?? [], .. file.Requirements ?? []];
            if (items.Any(item => item is null))
            {
                throw new FormatException($"{fileName}: an entry of a list is empty (null).");
            }

            settings = new ClinicSettings
            {
                People = file.People ?? [],
                Rooms = file.Rooms ?? [],
                Receptors = file.Receptors ?? [],
                TargetExposureIndices = file.TargetExposureIndices ?? [],
                Thresholds = file.Thresholds ?? [],
                LeftMarkerWords = file.MarkerWords?.Left ?? [],
                RightMarkerWords = file.MarkerWords?.Right ?? [],
                Shifts = file.Shifts ?? ShiftHours.Usual,
                Requirements = file.Requirements ?? [],
            };
        }
        catch (JsonException error)
        {
            string place = error.Path is { Length: > 1 } path ? $" at {path}" : error.LineNumber is { } line ? $" at line {line + 1}" : string.Empty;
            throw new FormatException($"{fileName}: this is not a file of a clinic's settings; look{(place.Length > 0 ? place : " for a value of the wrong kind or a member that is not known")}.", error);
        }

        IReadOnlyList<string> faults = settings.Faults();
        return faults.Count == 0 ? settings : throw new FormatException($"{fileName}: {faults[0]}{(faults.Count > 1 ? $" There are {faults.Count - 1} more faults." : string.Empty)}");
    }

    private static JsonSerializerOptions Options(bool indented) => new(JsonSerializerDefaults.Web)
    {
        WriteIndented = indented,
        NumberHandling = JsonNumberHandling.Strict,
        PropertyNameCaseInsensitive = false,
        UnmappedMemberHandling = JsonUnmappedMemberHandling.Disallow,
        DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull,
        IgnoreReadOnlyProperties = true,
        Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping,
        RespectNullableAnnotations = true,
        Converters = { new JsonStringEnumConverter(JsonNamingPolicy.KebabCaseLower, allowIntegerValues: false), new CalibrationConverter(), new TimeOfDayConverter() },
    };

    private sealed record ClinicFile(
        string Schema,
        IReadOnlyList<Person>? People,
        IReadOnlyList<Room>? Rooms,
        IReadOnlyList<Receptor>? Receptors,
        SortedDictionary<string, double>? TargetExposureIndices,
        SortedDictionary<string, double>? Thresholds,
        MarkerWordLists? MarkerWords,
        ShiftHours? Shifts,
        IReadOnlyList<CompetencyRequirement>? Requirements);

    private sealed record MarkerWordLists(IReadOnlyList<string>? Left, IReadOnlyList<string>? Right);

    /// <summary>A calibration stands in the settings as in its own file.</summary>
    private sealed class CalibrationConverter : JsonConverter<Calibration>
    {
        public override Calibration Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options)
        {
            using var document = JsonDocument.ParseValue(ref reader);
            try
            {
                return CalibrationFile.Parse(System.Text.Encoding.UTF8.GetBytes(document.RootElement.GetRawText()), "calibration");
            }
            catch (FormatException error)
            {
                throw new JsonException(error.Message, error);
            }
        }

        public override void Write(Utf8JsonWriter writer, Calibration value, JsonSerializerOptions options)
        {
            using var document = JsonDocument.Parse(CalibrationFile.Write(value));
            document.RootElement.WriteTo(writer);
        }
    }

    /// <summary>A time of day stands as people write it, such as "06:30".</summary>
    private sealed class TimeOfDayConverter : JsonConverter<TimeOnly>
    {
        public override TimeOnly Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options)
            => TimeOnly.TryParseExact(reader.GetString(), "HH:mm", CultureInfo.InvariantCulture, DateTimeStyles.None, out TimeOnly time) ? time : throw new JsonException();

        public override void Write(Utf8JsonWriter writer, TimeOnly value, JsonSerializerOptions options) => writer.WriteStringValue(value.ToString("HH:mm", CultureInfo.InvariantCulture));
    }
}
