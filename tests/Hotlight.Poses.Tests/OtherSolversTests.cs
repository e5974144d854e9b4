using System.Text.Json;
using Hotlight.Catalogue;
using Hotlight.Core;
using Hotlight.Measure.Landmarks;
using Hotlight.Positioning;
using Hotlight.Testing;

namespace Hotlight.Poses.Tests;

/// <summary>The same marks by other authors' solvers: scipy's least squares and OpenCV's perspective-n-point (tests/reference/poses).</summary>
public sealed class OtherSolversTests
{
    private const double Radian = Math.PI / 180;
    private static readonly JsonElement Cases = Read("cases.json").GetProperty("cases");
    private static readonly JsonElement Solved = Read("solved.json");

    public static TheoryData<int> Numbers => new(Enumerable.Range(0, Cases.GetArrayLength()));

    [Theory]
    [MemberData(nameof(Numbers))]
    [Trait("evidence", "independent")]
    public void Fit_TheSameFunction_HasItsLeastWhereLeastSquaresOfScipyHasIt(int number)
    {
        JsonElement given = Cases[number], solved = Solved.GetProperty("leastSquares")[number];
        PoseModel model = PoseModels.For(given.GetProperty("projection").GetString()!)!;
        PoseFit fit = PoseFitter.Fit(model, Marks(given), Geometry(given), given.GetProperty("side").GetString()).Value!;
        double[] other = [.. solved.GetProperty("parameters").EnumerateArray().Select(value => value.GetDouble())];
        Assert.False(fit.IsMirrored);

        // Both stop where a step gains less than their tolerance: a twentieth of a standard deviation is far beyond that.
        for (int index = 0; index < other.Length; index++)
        {
            double deviation = Math.Sqrt(fit.Solution.Covariance[index, index]);
            Assert.True(Math.Abs(fit.Solution.Parameters[index] - other[index]) < 0.05 * deviation, $"{fit.ParameterNames[index]}: {fit.Solution.Parameters[index]} and {other[index]}, deviation {deviation}");
        }

        Assert.Equal(solved.GetProperty("cost").GetDouble(), fit.Solution.Cost, 0.01);
    }

    [Theory]
    [MemberData(nameof(Numbers))]
    [Trait("evidence", "independent")]
    public void Fit_OfRigidPoints_IsThePoseOfOpenCv(int number)
    {
        JsonElement given = Cases[number], solved = Solved.GetProperty("perspective")[number];
        PoseModel own = PoseModels.For(given.GetProperty("projection").GetString()!)!;

        // Nobody differs and nothing bends or is in doubt: what is left is a rigid body seen from a point.
        PoseModel rigid = own with
        {
            Points = [.. own.Points.Select(point => point with { SpreadMm = 1e-4, Along = null })],
            Joints = [.. own.Joints.Select(joint => joint with { SpreadDegrees = 1e-3 })],
            Size = own.Size with { SpreadPercent = 1e-4, StretchPercent = 1e-4 },
        };
        PoseSetting setting = PoseSetting.Of(rigid, ProjectionCatalogue.BuiltIn.Get(own.ProjectionId), Geometry(given), new PoseOptions()) with
        {
            SourceHeightSpreadShare = 1e-7,
            CentralRaySpreadMm = 1e-4,
            HeightSpreadMm = 1000,
        };
        string[] ids = [.. solved.GetProperty("points").EnumerateArray().Select(id => id.GetString()!)];
        var marks = ids.Zip(solved.GetProperty("pixels").EnumerateArray()).ToDictionary(pair => pair.First, pair => LandmarkPoint.At(new PixelPoint(X: pair.Second[0].GetDouble(), Y: pair.Second[1].GetDouble()), 0.01), StringComparer.Ordinal);
        var problem = new PoseProblem(setting, marks, mirrored: false);
        PoseSolution best = new[] { -18.0, 0, 18 }.SelectMany(turn => new[] { -18.0, 0, 18 }.Select(tilt => PoseSolver.Solve(problem, problem.Start(turn * Radian, tilt * Radian)))).OfType<PoseSolution>().MinBy(solution => solution.Cost)!;
        double[] other = [.. solved.GetProperty("turnTiltLeanDegrees").EnumerateArray().Select(value => value.GetDouble())];
        double[] centre = [.. solved.GetProperty("centreMm").EnumerateArray().Select(value => value.GetDouble())];

        // Image points are rounded to 0.001 pixels, 0.00015 mm; bodies are kept in single precision, 0.00001 mm.
        for (int axis = 0; axis < 3; axis++)
        {
            Assert.Equal(other[axis], best.Parameters[axis] / Radian, 0.02);
            Assert.Equal(solved.GetProperty("setDegrees")[axis].GetDouble(), best.Parameters[axis] / Radian, 0.02);
            Assert.Equal(centre[axis], best.Parameters[PoseProblem.X + axis], axis == 2 ? 0.5 : 0.05);
        }
    }

    private static JsonElement Read(string file)
        => JsonDocument.Parse(File.ReadAllText(Path.Combine(SharedData.RepositoryRoot, "tests", "reference", "poses", file))).RootElement;

    private static MarkedLandmarks Marks(JsonElement given) => new(
        given.GetProperty("projection").GetString()!,
        given.GetProperty("marks").EnumerateArray().ToDictionary(
            mark => mark.GetProperty("id").GetString()!,
            mark => LandmarkPoint.At(new PixelPoint(X: mark.GetProperty("x").GetDouble(), Y: mark.GetProperty("y").GetDouble()), mark.GetProperty("uncertaintyPixels").GetDouble()),
            StringComparer.Ordinal));

    private static ExposureGeometry Geometry(JsonElement given)
    {
        double spacing = given.GetProperty("spacingMm").GetDouble();
        return new ExposureGeometry
        {
            Spacing = new PixelSpacing(spacing, spacing),
            Columns = given.GetProperty("columns").GetInt32(),
            Rows = given.GetProperty("rows").GetInt32(),
            SourceImageDistanceMm = given.GetProperty("sourceImageDistanceMm").GetDouble(),
            CentralRay = new PixelPoint(X: given.GetProperty("centralRay")[0].GetDouble(), Y: given.GetProperty("centralRay")[1].GetDouble()),
        };
    }
}
