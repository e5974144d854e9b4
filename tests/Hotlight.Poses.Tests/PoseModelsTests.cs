using System.Globalization;
using System.Text.Json;
using Hotlight.Catalogue;
using Hotlight.Core;
using Hotlight.Testing;
using Json.Schema;

namespace Hotlight.Poses.Tests;

public sealed class PoseModelsTests
{
    private static readonly string Folder = Path.Combine(SharedData.RepositoryRoot, "data", "poses");

    public static TheoryData<string> Files => new(Directory.EnumerateFiles(Folder, "*.json").Select(file => Path.GetFileName(file)!).Where(file => file != "pose.schema.json").Order(StringComparer.Ordinal));

    [Fact]
    public void All_HasTheProjectionsOfSixRegions()
    {
        Assert.True(PoseModels.All.Count >= 8);
        Assert.Superset(
            new HashSet<string> { "wrist", "elbow", "shoulder", "knee", "ankle", "chest" },
            PoseModels.All.Select(model => ProjectionCatalogue.BuiltIn.Get(model.ProjectionId).Region).ToHashSet());
        Assert.All(PoseModels.All, model => Assert.All(model.Points, point => Assert.False(string.IsNullOrWhiteSpace(point.Name) || string.IsNullOrWhiteSpace(point.Where))));
    }

    [Theory]
    [MemberData(nameof(Files))]
    public void EveryFile_KeepsTheSchemaAndIsNamedByItsProjection(string file)
    {
        string text = File.ReadAllText(Path.Combine(Folder, file));
        JsonSchema schema = JsonSchema.FromText(File.ReadAllText(Path.Combine(Folder, "pose.schema.json")));
        Assert.True(schema.Evaluate(JsonDocument.Parse(text).RootElement).IsValid, file);
        Assert.Equal(Path.GetFileNameWithoutExtension(file), PoseModels.Parse(text, file).ProjectionId);
    }

    [Theory]
    [InlineData("\"medialFemoralCondyleDistal\"", "\"medialFemoralCondyle\"", "$.points[3].anatomy", "no landmark 'medialFemoralCondyle'")]
    [InlineData("\"bone\": \"patella\"", "\"bone\": \"kneecap\"", "$.points[6].bone", "no bone 'kneecap'")]
    [InlineData("\"id\": \"shaft-near\"", "\"id\": \"shaft-far\"", "$.points[5].id", "stands twice")]
    [InlineData("\"name\": \"kneeFlexion\"", "\"name\": \"kneeBend\"", "$.joints[0].name", "no joint of the knee")]
    [InlineData("\"basis\": \"condyle-depth-2012\"", "\"basis\": \"nobody\"", "$.size.basis", "not a key of data/sources.json")]
    [InlineData("\"view\": \"lateral\"", "\"view\": \"skyline\"", "$.view", "no part 'knee' with a view 'skyline'")]
    [InlineData("\"expectedDegrees\": 28", "\"expectedDegrees\": 280", "$.joints[0]", "expected within 0 and 100 degrees")]
    [InlineData("\"projection\": \"knee-lateral\"", "\"projection\": \"knee-sideways\"", "$.projection", "no projection 'knee-sideways'")]
    public void Parse_AWrongMember_NamesIt(string right, string wrong, string member, string reason)
    {
        string text = File.ReadAllText(Path.Combine(Folder, "knee-lateral.json"));
        Assert.Contains(right, text, StringComparison.Ordinal);
        UnreadableCatalogueException error = Assert.Throws<UnreadableCatalogueException>(() => PoseModels.Parse(text.Replace(right, wrong, StringComparison.Ordinal), "knee-lateral.json"));
        Assert.Contains(error.Errors, each => each.Member == member && each.Reason.Contains(reason, StringComparison.Ordinal));
    }

    [Fact]
    public void Points_BeyondTheCatalogues_HaveNameAndPlaceInEveryLanguage()
    {
        foreach (PoseModel model in PoseModels.All)
        {
            Projection projection = ProjectionCatalogue.BuiltIn.Get(model.ProjectionId);
            foreach (PosePoint point in model.Points.Where(point => projection.Landmarks.All(landmark => landmark.Id != point.Id)))
            {
                string key = $"pose.point.{model.ProjectionId}.{point.Id}";
                Assert.Equal(point.Name, Texts.BuiltIn.Of("en")[key + ".name"]);
                Assert.Equal(point.Where, Texts.BuiltIn.Of("en")[key + ".where"]);
                foreach (string language in new[] { "de", "es" })
                {
                    Assert.NotEqual(point.Where, Texts.BuiltIn.Of(language)[key + ".where"]);
                }
            }
        }

        int known = PoseModels.All.Sum(model => model.Points.Count(point => Texts.Find($"pose.point.{model.ProjectionId}.{point.Id}.name") is not null));
        Assert.Equal(known, Texts.BuiltIn.Keys.Count(key => key.StartsWith("pose.point.", StringComparison.Ordinal) && key.EndsWith(".name", StringComparison.Ordinal)));
    }

    [Fact]
    public void WithPosePoints_InGerman_NamesThemInGerman()
    {
        CultureInfo before = CultureInfo.CurrentUICulture;
        try
        {
            CultureInfo.CurrentUICulture = CultureInfo.GetCultureInfo("de");
            Projection projection = PoseModels.WithPosePoints(ProjectionCatalogue.BuiltIn.Get("chest-pa"));
            Assert.Equal("Teilung der Luftröhre", projection.Landmarks.Single(landmark => landmark.Id == "carina").Name);
        }
        finally
        {
            CultureInfo.CurrentUICulture = before;
        }
    }
}
