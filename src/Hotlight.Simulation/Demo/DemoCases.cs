using System.Globalization;
using System.Text.Json;
using Hotlight.Simulation.Scene;

namespace Hotlight.Simulation;

/// <summary>The demo set of the fictional Saltmarsh Lane teaching clinic: simulated radiographs with the faults a teacher meets, and good ones. Shipped as scenes (data/demo) and exposed on the user's machine.</summary>
public static class DemoCases
{
    private const string Folder = "Hotlight.Simulation.demo.";

    private static readonly Lazy<IReadOnlyList<DemoCase>> Shipped = new(Read);

    /// <summary>All cases, in the order a newcomer should open them.</summary>
    public static IReadOnlyList<DemoCase> All => Shipped.Value;

    private static IReadOnlyList<DemoCase> Read()
    {
        System.Reflection.Assembly assembly = typeof(DemoCases).Assembly;
        return [.. assembly.GetManifestResourceNames()
            .Where(name => name.StartsWith(Folder, StringComparison.Ordinal))
            .Order(StringComparer.Ordinal)
            .Select(name =>
            {
                using StreamReader reader = new(assembly.GetManifestResourceStream(name)!);
                return Parse(reader.ReadToEnd(), name[Folder.Length..]);
            })];
    }

    /// <summary>A case file: one object with the members case and scene.</summary>
    internal static DemoCase Parse(string json, string file)
    {
        using JsonDocument document = JsonDocument.Parse(json);
        JsonElement told = document.RootElement.GetProperty("case");
        SceneDocument scene = SceneJson.Read(document.RootElement.GetProperty("scene").GetRawText(), file);
        SceneTube tube = scene.Tube;
        string grid = scene.Grid is { } used ? string.Create(CultureInfo.InvariantCulture, $"grid {used.Ratio:0.#}:1") : "no grid";
        return new DemoCase
        {
            Id = scene.Id,
            Title = told.GetProperty("title").GetString()!,
            History = told.GetProperty("history").GetString()!,
            Fault = told.TryGetProperty("fault", out JsonElement fault) ? fault.GetString() : null,
            RepeatOf = told.TryGetProperty("repeatOf", out JsonElement earlier) ? earlier.GetString() : null,
            ProjectionId = scene.Records.Projection ?? Lab.Parts.Single(part => part.Name == scene.Part!.Name).Views.Single(view => view.Name == scene.Part!.View).ProjectionId,
            Technique = string.Create(
                CultureInfo.InvariantCulture,
                $"{tube.TubeVoltageKvp:0} kVp, {tube.ExposureMas:0.##} mAs, SID {tube.SourceImageDistanceMm / 10:0} cm, {grid}, focal spot {tube.FocalSpotMm:0.#} mm"),
            Scene = scene,
        };
    }
}
