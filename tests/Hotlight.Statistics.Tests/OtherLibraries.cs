using System.Text.Json.Nodes;
using Hotlight.Testing;

namespace Hotlight.Statistics.Tests;

/// <summary>What other authors' libraries make of the same data: tests/reference/statistics, made by its build.py.</summary>
internal static class OtherLibraries
{
    private static readonly JsonObject Expected = JsonNode.Parse(File.ReadAllText(Path.Combine(SharedData.RepositoryRoot, "tests", "reference", "statistics", "expected.json")))!.AsObject();

    public static JsonArray Rows(string section) => Expected[section]!.AsArray();

    public static JsonObject One(string section) => Expected[section]!.AsObject();

    public static double Number(this JsonNode? node) => (double)node!;

    public static double[] Numbers(this JsonNode? node) => [.. node!.AsArray().Select(value => (double)value!)];
}
