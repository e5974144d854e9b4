using System.Reflection;
using Hotlight.Catalogue;
using Hotlight.Core;
using Hotlight.Simulation;
using Hotlight.Simulation.Phantom;
using Hotlight.Simulation.Scene;

namespace Hotlight.Poses;

/// <summary>The pose models: the files of <c>data/poses</c>, built into the program.</summary>
public static class PoseModels
{
    private const string ResourcePrefix = "poses/";
    private static readonly Lazy<IReadOnlyList<PoseModel>> BuiltIn = new(LoadBuiltIn);

    /// <summary>All models, by projection.</summary>
    public static IReadOnlyList<PoseModel> All => BuiltIn.Value;

    /// <summary>The model of a projection, or null where its pose cannot be fitted.</summary>
    /// <param name="projectionId">Identifier of the projection, such as "knee-lateral".</param>
    public static PoseModel? For(string projectionId) => All.FirstOrDefault(model => model.ProjectionId == projectionId);

    /// <summary>A projection with the points of its pose model beside its own landmarks, named in the language in use, so that one file of marks serves both; the projection itself where it has no model.</summary>
    /// <param name="projection">The catalogue's entry.</param>
    public static Projection WithPosePoints(Projection projection)
    {
        ArgumentNullException.ThrowIfNull(projection);
        return For(projection.Id) is { } model
            ? projection with
            {
                Landmarks = [.. projection.Landmarks, .. model.Points.Where(point => projection.Landmarks.All(landmark => landmark.Id != point.Id)).Select(point => new Landmark(point.Id, PoseText.Name(model, point), PoseText.Where(model, point), point.OnEdge))],
            }
            : projection;
    }

    /// <summary>Reads a model and checks it against the catalogue, the phantom and the register of sources.</summary>
    /// <param name="json">The file's text.</param>
    /// <param name="file">The file's name, for messages.</param>
    /// <exception cref="UnreadableCatalogueException">The text is not such a model; every fault is named.</exception>
    public static PoseModel Parse(string json, string file)
    {
        PoseModel model = Read(json, file);
        List<CatalogueError> errors = [.. PoseModelCheck.Errors(model, file)];
        if (errors.Count > 0)
        {
            throw new UnreadableCatalogueException(errors);
        }

        return Named(model);
    }

    /// <summary>Where a scene's phantom has the points of a model, in pixels of the scene's receptor: marks without error. A child lacks the points that are cartilage yet.</summary>
    /// <param name="model">The model.</param>
    /// <param name="scene">A scene of the model's part and view.</param>
    /// <exception cref="ArgumentException">The scene is of another part or view.</exception>
    /// <exception cref="UnreadableSceneException">The scene cannot be built.</exception>
    public static IReadOnlyDictionary<string, PixelPoint> Places(this PoseModel model, SceneDocument scene)
    {
        ArgumentNullException.ThrowIfNull(model);
        ArgumentNullException.ThrowIfNull(scene);
        if (scene.Part is not { } part || part.Name != model.Part || part.View != model.View)
        {
            throw new ArgumentException($"The scene is not one of {model.Part} in the view {model.View}.", nameof(scene));
        }

        SceneChecks.Check(scene, scene.Id);
        var setup = new SceneSetup(scene, null);
        Body body = setup.Body!;
        return model.Points.Where(point => PlaceTable.IsIn(point, body)).ToDictionary(point => point.Id, point => setup.Geometry.Project(body.Placement.ToOuter(PlaceTable.PlaceOf(point, body, PlaceTable.SizeShare(part.Name, part.Size == "child")))), StringComparer.Ordinal);
    }

    private static PoseModel Read(string json, string file) => CatalogueJson.Parse<PoseModel>(json, file);

    private static PoseModel Named(PoseModel model)
    {
        Projection projection = ProjectionCatalogue.BuiltIn.Get(model.ProjectionId);
        return model with
        {
            Points = [.. model.Points.Select(point => projection.Landmarks.FirstOrDefault(landmark => landmark.Id == point.Id) is { } known
                ? point with { Name = known.Name, Where = known.Where, OnEdge = known.OnEdge }
                : point)],
        };
    }

    private static List<PoseModel> LoadBuiltIn()
    {
        Assembly assembly = Assembly.GetExecutingAssembly();
        var models = new List<PoseModel>();
        foreach (string name in assembly.GetManifestResourceNames().Where(name => name.StartsWith(ResourcePrefix, StringComparison.Ordinal)).Order(StringComparer.Ordinal))
        {
            using var reader = new StreamReader(assembly.GetManifestResourceStream(name)!);

            // Their check builds every phantom; a test does it once for all.
            models.Add(Named(Read(reader.ReadToEnd(), name[ResourcePrefix.Length..])));
        }

        return models;
    }
}
