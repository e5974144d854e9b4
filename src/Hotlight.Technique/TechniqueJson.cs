using System.Text.Encodings.Web;
using System.Text.Json;
using System.Text.Json.Serialization;
using Hotlight.Core;
using Hotlight.Technique.Dose;

namespace Hotlight.Technique;

/// <summary>A file of rules cannot be read; the message is one sentence.</summary>
/// <param name="file">Name of the file.</param>
/// <param name="reason">What is wrong with it.</param>
public sealed class UnreadableRulesException(string file, string reason) : Exception($"{file}: {reason}");

/// <summary>Plans, doses and rules as JSON: camelCase members, terms in kebab-case, absent members left out.</summary>
public static class TechniqueJson
{
    private static readonly JsonSerializerOptions Options = Create(strict: false);
    private static readonly JsonSerializerOptions Strict = Create(strict: true);

    /// <summary>A plan, with the dose where there is one.</summary>
    /// <param name="plan">The plan; null: a dose alone.</param>
    /// <param name="dose">The dose of this exposure and the next, or null.</param>
    public static string Write(TechniquePlan? plan, DoseReport? dose = null)
        => JsonSerializer.Serialize(new PlanFile(TechniquePlan.SchemaName, plan, dose, Wording.NotADevice), Options);

    /// <summary>The rules as a file to review and edit.</summary>
    /// <param name="rules">The rules.</param>
    public static string Write(TechniqueRules rules) => JsonSerializer.Serialize(rules, Options);

    /// <summary>Reads a file of rules. What a file leaves out keeps its default; a list is replaced whole.</summary>
    /// <param name="json">The text.</param>
    /// <param name="file">Name of the file, for messages.</param>
    /// <exception cref="UnreadableRulesException">The text is not a file of rules, or a figure makes no sense.</exception>
    public static TechniqueRules ReadRules(string json, string file)
    {
        TechniqueRules rules;
        try
        {
            using (JsonDocument document = JsonText.Parse(json, new JsonDocumentOptions { AllowDuplicateProperties = false }))
            {
                if (document.RootElement.ValueKind != JsonValueKind.Object || !document.RootElement.TryGetProperty("schema", out JsonElement schema) || schema.ValueKind != JsonValueKind.String)
                {
                    throw new UnreadableRulesException(file, $"a file of rules is one object whose schema is \"{TechniqueRules.SchemaName}\".");
                }

                if (schema.GetString() != TechniqueRules.SchemaName)
                {
                    throw new UnreadableRulesException(file, $"the file says '{schema.GetString()}'; this version reads '{TechniqueRules.SchemaName}'.");
                }
            }

            rules = JsonSerializer.Deserialize<TechniqueRules>(json, Strict)!;
        }
        catch (JsonException error)
        {
            string where = error.Path is { Length: > 1 } path ? $"; look at {path}" : error.LineNumber is { } line ? $"; look at line {line + 1}" : string.Empty;
            throw new UnreadableRulesException(file, $"this is no file of rules{where}.");
        }

        return Checked(rules, file);
    }

    private static TechniqueRules Checked(TechniqueRules rules, string file)
    {
        void Need(bool holds, string sentence)
        {
            if (!holds)
            {
                throw new UnreadableRulesException(file, sentence);
            }
        }

        static bool Positive(double value) => double.IsFinite(value) && value > 0;
        Need(Array.TrueForAll<object?>([rules.Grids, rules.Casts, rules.MotionLimits, rules.Tube, rules.Series], member => member is not null), "a list or an object is null; leave it out to keep the default.");
        Need(rules.Grids.All(grid => grid is not null && grid.Ratio >= 0 && Positive(grid.ConversionFactor) && (grid.OtherAuthor is not { } other || Positive(other))), "each grid has a ratio of 0 or more and a conversion factor above 0.");
        Need(rules.Grids.Select(grid => grid.Ratio).Distinct().Count() == rules.Grids.Count, "a grid ratio stands twice.");
        Need(rules.Casts.All(cast => cast is { Id.Length: > 0, Name.Length: > 0, Basis.Length: > 0 } && Positive(cast.MasFactor) && Math.Abs(cast.TubeVoltageShiftKvp) <= 50), "each cast has an id, a name, a basis, a mAs factor above 0 and a voltage shift of at most 50 kVp.");
        Need(rules.Casts.Select(cast => cast.Id).Distinct().Count() == rules.Casts.Count && rules.Casts.Any(cast => cast is { Id: TechniqueRules.NoCast, MasFactor: 1, TubeVoltageShiftKvp: 0 }), $"the casts have ids of their own, and '{TechniqueRules.NoCast}' changes nothing.");
        Need(rules.MotionLimits.All(limit => limit is { Id.Length: > 0, Name.Length: > 0, Basis.Length: > 0 } && Positive(limit.LongestMs)), "each motion limit has an id, a name, a basis and a time above 0 ms.");
        Need(Positive(rules.TissueHalfValueLayerMm) && Positive(rules.OtherTissueHalfValueLayerMm), "the half-value layers of tissue are above 0 mm.");
        Need(GeneratorSeries.All.Any(series => series.Id == rules.Series), $"there is no series '{rules.Series}'; there are {string.Join(", ", GeneratorSeries.All.Select(series => series.Id))}.");
        Need(new[] { rules.Tube.LargestCurrentMa, rules.Tube.RatingKw, rules.Tube.LargestHeatUnits }.All(limit => limit is not { } value || Positive(value)), "the tube's limits are above 0.");
        Need(rules.HiddenChangePercent >= 0 && rules.VisibleChangePercent >= rules.HiddenChangePercent && rules.VoltageRuleFromKvp < rules.VoltageRuleToKvp, "a range runs backwards.");
        return rules;
    }

    private static JsonSerializerOptions Create(bool strict)
    {
        var options = new JsonSerializerOptions
        {
            PropertyNamingPolicy = JsonNamingPolicy.CamelCase,
            DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull,
            WriteIndented = true,
            NewLine = "\n",
            Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping,
            RespectRequiredConstructorParameters = strict,
            UnmappedMemberHandling = strict ? JsonUnmappedMemberHandling.Disallow : JsonUnmappedMemberHandling.Skip,
        };
        options.Converters.Add(new JsonStringEnumConverter(JsonNamingPolicy.KebabCaseLower, allowIntegerValues: false));
        return options;
    }

    private sealed record PlanFile(string Schema, TechniquePlan? Plan, DoseReport? Dose, string Caution);
}
