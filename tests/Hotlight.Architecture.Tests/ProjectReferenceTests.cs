using System.Xml.Linq;
using Hotlight.Testing;

namespace Hotlight.Architecture.Tests;

/// <summary>Dependencies point one way: every edge between the rooms is in this list, and every entry of the list exists.</summary>
public sealed class ProjectReferenceTests
{
    private static readonly Dictionary<string, string[]> Allowed = new(StringComparer.Ordinal)
    {
        ["Core"] = [],
        ["Audit"] = ["Core"],
        ["Imaging"] = ["Core", "Worker"],
        ["Worker"] = ["Core"],
        ["Measure"] = ["Core", "Imaging"],
        ["Privacy"] = ["Core", "Imaging"],
        ["Catalogue"] = ["Core"],
        ["Positioning"] = ["Core", "Measure", "Catalogue"],
        ["Technique"] = ["Core"],
        ["Statistics"] = ["Core"],
        ["Judgement"] = ["Core", "Imaging", "Measure", "Catalogue", "Positioning", "Technique"],
        ["Simulation"] = ["Core", "Imaging"],
        ["Poses"] = ["Core", "Imaging", "Measure", "Catalogue", "Positioning", "Simulation"],
        ["Records"] = ["Core", "Imaging", "Catalogue", "Statistics"],
        ["Drawing"] = ["Core", "Imaging", "Measure"],
        ["Printing"] = ["Core"],
        ["Teaching"] = ["Core", "Imaging", "Privacy", "Measure", "Catalogue", "Positioning", "Technique", "Statistics", "Simulation", "Poses", "Judgement", "Drawing", "Printing"],
        ["Workflows"] = ["Core", "Audit", "Teaching", "Printing", "Imaging", "Privacy", "Measure", "Catalogue", "Positioning", "Judgement", "Technique", "Statistics", "Simulation", "Poses", "Drawing", "Records"],
        ["Store"] = ["Core", "Workflows"],
        ["Store.Sqlite"] = ["Store"],
        ["Store.Postgres"] = ["Store"],
        ["Web"] = ["Workflows", "Store.Sqlite", "Store.Postgres"],
        ["Cli"] = ["Workflows", "Store.Sqlite", "Store.Postgres"],
    };

    /// <summary>Which rooms may use a package whose name begins so; all other rooms may not.</summary>
    private static readonly Dictionary<string, string[]> PackageRooms = new(StringComparer.Ordinal)
    {
        ["Microsoft.EntityFrameworkCore"] = ["Store", "Store.Sqlite", "Store.Postgres"],
        ["Npgsql"] = ["Store.Postgres"],
        ["SkiaSharp"] = ["Drawing"],
        ["ScottPlot"] = ["Drawing"],
        ["PDFsharp"] = ["Printing"],
        ["JpegLibrary"] = ["Imaging"],
        ["BitMiracle"] = ["Imaging"],
        ["SixLabors"] = ["Imaging"],
        ["Spectre"] = ["Cli"],
        ["Microsoft.ML"] = ["Measure", "Poses"],
        ["JsonSchema.Net"] = ["Catalogue"],
        ["Markdig"] = ["Web"],
        ["CsvHelper"] = ["Records", "Store"],
        ["Parquet"] = ["Store"],
        ["MathNet"] = ["Statistics"],
        ["OpenTelemetry"] = ["Web"],
    };

    private static IEnumerable<string> RoomNames
        => Directory.EnumerateDirectories(Path.Combine(SharedData.RepositoryRoot, "src"), "Hotlight.*")
            .Select(folder => Path.GetFileName(folder)["Hotlight.".Length..])
            .Order(StringComparer.Ordinal);

    public static TheoryData<string> Rooms => new(RoomNames);

    [Theory]
    [MemberData(nameof(Rooms))]
    public void ProjectReferences_OfEveryRoom_PointOnlyWhereTheyMay(string room)
    {
        Assert.True(Allowed.ContainsKey(room), $"Hotlight.{room} is not in the list of rooms; add it with what it may use, and to docs/architecture.md.");
        IEnumerable<string> used = References(room, "ProjectReference").Select(path => Path.GetFileNameWithoutExtension(path.Replace('\\', '/'))["Hotlight.".Length..]);
        Assert.Empty(used.Except(Allowed[room]));
    }

    [Fact]
    public void AllowedRooms_WithoutAProject_DoNotExist()
        => Assert.Empty(Allowed.Keys.Except(RoomNames));

    [Theory]
    [MemberData(nameof(Rooms))]
    public void PackageReferences_OfEveryRoom_StayInTheirRoom(string room)
    {
        IEnumerable<string> strays = References(room, "PackageReference")
            .Where(package => PackageRooms.Any(rule => package.StartsWith(rule.Key, StringComparison.Ordinal) && !rule.Value.Contains(room)));
        Assert.Empty(strays);
    }

    [Fact]
    public void Core_HasNoPackages() => Assert.Empty(References("Core", "PackageReference"));

    [Fact]
    public void AspNetCore_IsKnownOnlyToTheBench()
    {
        foreach (string room in Allowed.Keys.Where(room => room != "Web"))
        {
            Assert.DoesNotContain("Microsoft.NET.Sdk.Web", File.ReadAllText(ProjectFile(room)), StringComparison.Ordinal);
            Assert.DoesNotContain("Microsoft.AspNetCore", File.ReadAllText(ProjectFile(room)), StringComparison.Ordinal);
        }
    }

    /// <summary>The simulator is the referee of the measures: they share no formula.</summary>
    [Fact]
    public void MeasureAndSimulation_NeverMeet()
    {
        foreach ((string room, string other) in new[] { ("Measure", "Simulation"), ("Simulation", "Measure") })
        {
            foreach (string file in Directory.EnumerateFiles(Path.Combine(SharedData.RepositoryRoot, "src", "Hotlight." + room), "*.cs", SearchOption.AllDirectories)
                .Where(file => !file.Contains("/obj/", StringComparison.Ordinal)))
            {
                Assert.DoesNotContain($"using Hotlight.{other}", File.ReadAllText(file), StringComparison.Ordinal);
            }
        }
    }

    [Fact]
    public void Diagram_NamesEveryRoom()
    {
        string page = File.ReadAllText(Path.Combine(SharedData.RepositoryRoot, "docs", "architecture.md"));
        foreach (string room in Allowed.Keys)
        {
            Assert.Contains(room, page, StringComparison.Ordinal);
        }
    }

    private static string ProjectFile(string room)
        => Path.Combine(SharedData.RepositoryRoot, "src", $"Hotlight.{room}", $"Hotlight.{room}.csproj");

    private static List<string> References(string room, string kind)
        => XDocument.Load(ProjectFile(room)).Descendants(kind).Select(element => (string?)element.Attribute("Include")).OfType<string>().ToList();
}
