using System.Globalization;
using System.Reflection;
using System.Text.Json;
using System.Text.Json.Nodes;
using Hotlight.Core;
using Hotlight.Catalogue;

namespace Hotlight.Judgement;

/// <summary>Reads a file of thresholds, strictly: nothing missing, nothing unknown, each with value, unit, basis and why; every fault is named with its member.</summary>
public static class JudgementRulesJson
{
    /// <summary>The value of the file's <c>schema</c> in this version.</summary>
    public const string SchemaName = "hotlight.thresholds/1";

    private const string Index = "deviation index";

    private static readonly Dictionary<string, Limit> Limits = new(StringComparer.Ordinal)
    {
        ["deviationSevereLow"] = new(Index, -20, 20),
        ["deviationLow"] = new(Index, -20, 20),
        ["deviationTargetLow"] = new(Index, -20, 20),
        ["deviationTargetHigh"] = new(Index, -20, 20),
        ["deviationHigh"] = new(Index, -20, 20),
        ["deviationSevereHigh"] = new(Index, -20, 20),
        ["largestDeviationIndex"] = new(Index, 1, 20),
        ["saturatedPercentOfAnatomy"] = new("%", 0.01, 100),
        ["skinLineLostPercent"] = new("%", 0.1, 100),
        ["sharpEdgeBlurMm"] = new("mm", 0.01, 5),
        ["fieldReductionPercent"] = new("%", 1, 100),
        ["smallestTrimMm"] = new("mm", 0.1, 100),
        ["collimatorEdges"] = new("sides", 0, 4, IsWhole: true),
        ["distanceTolerancePercent"] = new("%", 0.1, 100),
        ["repeatsBeforeAsking"] = new("repeats", 1, 10, IsWhole: true),
    };

    /// <summary>Every threshold as it is built in, in the file's order.</summary>
    public static IReadOnlyList<Threshold> Thresholds { get; } = BuiltInThresholds();

    /// <summary>The built-in rules with other values for some thresholds.</summary>
    /// <param name="values">Values by identifier, each in the threshold's own unit.</param>
    /// <exception cref="UnreadableThresholdsException">An identifier is not known, or a value is out of its range or order; every fault is named.</exception>
    public static JudgementRules With(IReadOnlyDictionary<string, double> values)
    {
        ArgumentNullException.ThrowIfNull(values);
        JsonNode root = JsonNode.Parse(BuiltInText())!;
        JsonObject thresholds = root["thresholds"]!.AsObject();
        foreach ((string id, double value) in values)
        {
            if (!Limits.ContainsKey(id) || !double.IsFinite(value))
            {
                throw new UnreadableThresholdsException([new CatalogueError("thresholds", "$.thresholds." + id, Limits.ContainsKey(id) ? "a number is expected." : $"'{id}' is not a threshold known here.")]);
            }

            thresholds[id]!["value"] = value;
        }

        return Read(root.ToJsonString(), "thresholds");
    }

    /// <summary>Reads a file of thresholds.</summary>
    /// <param name="json">The file's text.</param>
    /// <param name="file">Name of the file, for messages.</param>
    /// <param name="sources">The register its keys must be in; null: the one built in.</param>
    /// <exception cref="UnreadableThresholdsException">It is not such a file; every fault is named.</exception>
    public static JudgementRules Read(string json, string file, SourceRegister? sources = null)
    {
        ArgumentNullException.ThrowIfNull(json);
        JsonDocument document;
        try
        {
            document = JsonText.Parse(json, new JsonDocumentOptions { AllowDuplicateProperties = false });
        }
        catch (JsonException error)
        {
            throw new UnreadableThresholdsException([new CatalogueError(file, "$", error.LineNumber is { } line ? $"this is not JSON; look at line {line + 1}." : "this is not JSON, or a member stands twice.")], error);
        }

        using (document)
        {
            var reading = new Reading(file, sources ?? SourceRegister.BuiltIn);
            JudgementRules? rules = reading.Rules(document.RootElement);
            return rules is not null && reading.Errors.Count == 0 ? rules : throw new UnreadableThresholdsException(reading.Errors);
        }
    }

    /// <summary>The thresholds built into the program.</summary>
    internal static JudgementRules BuiltIn() => Read(BuiltInText(), "thresholds.json");

    private static Threshold[] BuiltInThresholds()
    {
        JsonObject thresholds = JsonNode.Parse(BuiltInText())!["thresholds"]!.AsObject();
        return
        [
            .. thresholds.Select(each => new Threshold(
                each.Key,
                each.Value!["value"]!.GetValue<double>(),
                Limits[each.Key].Unit,
                Limits[each.Key].From,
                Limits[each.Key].To,
                Limits[each.Key].IsWhole,
                each.Value["basis"]!.GetValue<string>(),
                each.Value["why"]!.GetValue<string>())),
        ];
    }

    private static string BuiltInText()
    {
        using Stream stream = Assembly.GetExecutingAssembly().GetManifestResourceStream("thresholds.json")
            ?? throw new InvalidOperationException("The thresholds are not built in.");
        using var reader = new StreamReader(stream);
        return reader.ReadToEnd();
    }

    private sealed record Limit(string Unit, double From, double To, bool IsWhole = false);

    private sealed class Reading(string file, SourceRegister sources)
    {
        public List<CatalogueError> Errors { get; } = [];

        public JudgementRules? Rules(JsonElement root)
        {
            if (!Members(root, "$", ["schema", "deviationScheme", "thresholds"], ["$schema"]))
            {
                return null;
            }

            if (Text(root, "schema", "$") is { } schema && schema != SchemaName)
            {
                Fault("$.schema", $"the file says '{schema}'; this version reads '{SchemaName}'.");
            }

            JsonElement scheme = root.GetProperty("deviationScheme");
            bool known = Members(scheme, "$.deviationScheme", ["name", "basis"]);
            string? name = known ? Text(scheme, "name", "$.deviationScheme") : null;
            string? basis = known ? Key(scheme, "$.deviationScheme") : null;
            JsonElement thresholds = root.GetProperty("thresholds");
            if (!Members(thresholds, "$.thresholds", [.. Limits.Keys]))
            {
                return null;
            }

            var values = Limits.ToDictionary(limit => limit.Key, limit => Value(thresholds.GetProperty(limit.Key), "$.thresholds." + limit.Key, limit.Value), StringComparer.Ordinal);
            string[] bands = ["deviationSevereLow", "deviationLow", "deviationTargetLow", "deviationTargetHigh", "deviationHigh", "deviationSevereHigh"];
            for (int index = 1; index < bands.Length; index++)
            {
                if (values[bands[index]] < values[bands[index - 1]])
                {
                    Fault($"$.thresholds.{bands[index]}.value", $"the bands rise; it must not lie below {bands[index - 1]}.");
                }
            }

            return Errors.Count > 0 ? null : new JudgementRules
            {
                DeviationBands = new DeviationBands
                {
                    Scheme = name!,
                    Basis = basis!,
                    SevereLow = values[bands[0]],
                    Low = values[bands[1]],
                    TargetLow = values[bands[2]],
                    TargetHigh = values[bands[3]],
                    High = values[bands[4]],
                    SevereHigh = values[bands[5]],
                },
                LargestDeviationIndex = values["largestDeviationIndex"],
                SaturatedPercentOfAnatomy = values["saturatedPercentOfAnatomy"],
                SkinLineLostPercent = values["skinLineLostPercent"],
                SharpEdgeBlurMm = values["sharpEdgeBlurMm"],
                FieldReductionPercent = values["fieldReductionPercent"],
                SmallestTrimMm = values["smallestTrimMm"],
                CollimatorEdges = (int)values["collimatorEdges"],
                DistanceTolerancePercent = values["distanceTolerancePercent"],
                RepeatsBeforeAsking = (int)values["repeatsBeforeAsking"],
            };
        }

        private void Fault(string member, string reason) => Errors.Add(new CatalogueError(file, member, reason));

        /// <summary>Whether an element is an object that has all the members it must have; unknown ones are faults too.</summary>
        private bool Members(JsonElement element, string place, string[] required, params string[] optional)
        {
            if (element.ValueKind != JsonValueKind.Object)
            {
                Fault(place, $"an object with {string.Join(", ", required)} is expected.");
                return false;
            }

            foreach (JsonProperty member in element.EnumerateObject().Where(member => !required.Contains(member.Name) && !optional.Contains(member.Name)))
            {
                string near = Nearest.To(member.Name, required) is { } best ? $"; did you mean '{best}'?" : ".";
                Fault($"{place}.{member.Name}", $"'{member.Name}' is not a member known here{near}");
            }

            string[] missing = [.. required.Where(name => !element.TryGetProperty(name, out _))];
            foreach (string name in missing)
            {
                Fault($"{place}.{name}", $"the member {name} is missing.");
            }

            return missing.Length == 0;
        }

        private double Value(JsonElement element, string place, Limit limit)
        {
            if (!Members(element, place, ["value", "unit", "basis", "why"]))
            {
                return 0;
            }

            if (Text(element, "unit", place) is { } unit && unit != limit.Unit)
            {
                Fault(place + ".unit", $"the unit is '{limit.Unit}', not '{unit}'.");
            }

            Text(element, "why", place);
            Key(element, place);
            JsonElement number = element.GetProperty("value");
            bool fits = number.ValueKind == JsonValueKind.Number && number.GetDouble() >= limit.From && number.GetDouble() <= limit.To && (!limit.IsWhole || number.GetDouble() % 1 == 0);
            if (!fits)
            {
                Fault(place + ".value", string.Create(CultureInfo.InvariantCulture, $"{(limit.IsWhole ? "a whole number" : "a number")} from {limit.From} to {limit.To} is expected, not {number.GetRawText()}."));
                return 0;
            }

            return number.GetDouble();
        }

        private string? Text(JsonElement element, string member, string place)
        {
            JsonElement value = element.GetProperty(member);
            if (value.ValueKind == JsonValueKind.String && !string.IsNullOrWhiteSpace(value.GetString()))
            {
                return value.GetString();
            }

            Fault($"{place}.{member}", "a text that is not empty is expected.");
            return null;
        }

        private string? Key(JsonElement element, string place)
        {
            string? key = Text(element, "basis", place);
            if (key is not null && !sources.Sources.ContainsKey(key))
            {
                Fault(place + ".basis", $"the source '{key}' is not in the register of sources.");
            }

            return key;
        }
    }
}

/// <summary>A threshold as it is built in.</summary>
/// <param name="Id">Its identifier, such as "deviationLow".</param>
/// <param name="Value">Its value.</param>
/// <param name="Unit">Its unit.</param>
/// <param name="From">Least value that is taken.</param>
/// <param name="To">Greatest value that is taken.</param>
/// <param name="IsWhole">Whether only whole numbers are taken.</param>
/// <param name="Basis">Key of its source.</param>
/// <param name="Why">Why it is so, one sentence.</param>
public sealed record Threshold(string Id, double Value, string Unit, double From, double To, bool IsWhole, string Basis, string Why);

/// <summary>A file of thresholds cannot be used; every fault found is named at once.</summary>
public sealed class UnreadableThresholdsException : Exception
{
    /// <summary>Makes the exception.</summary>
    /// <param name="errors">One or more.</param>
    /// <param name="inner">What lies under it, if anything does.</param>
    public UnreadableThresholdsException(IReadOnlyList<CatalogueError> errors, Exception? inner = null)
        : base(string.Join('\n', errors ?? throw new ArgumentNullException(nameof(errors))), inner) => Errors = errors;

    /// <summary>Everything that is wrong, in the file's order.</summary>
    public IReadOnlyList<CatalogueError> Errors { get; }
}
