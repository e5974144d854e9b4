using System.Globalization;
using System.Security.Cryptography;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Poses.Proposal;
using Hotlight.Positioning;
using Hotlight.Simulation;
using Hotlight.Simulation.Scene;
using Hotlight.Testing;

namespace Hotlight.Poses.Tests.Proposal;

/// <summary>Proposed points on exposures of the lab, on marked radiographs where they are there, and what is refused.</summary>
public sealed class LandmarkProposerTests
{
    // analytic: the truth is the lab's own. The limits are about twice the medians of 20 other poses (1.4, 2.0, 1.5, 1.1, 1.1 mm; docs/methods/landmark-proposal.md);
    // the chest's three times: the median of this one picture's twelve points is 3.2 mm.
    [Theory]
    [InlineData("chest-pa", 5, -4, 4.2)]
    [InlineData("elbow-lateral", 6, -5, 4.0)]
    [InlineData("ankle-ap", -7, 4, 3.0)]
    [InlineData("ankle-mortise", 5, 5, 2.5)]
    [InlineData("knee-ap", 8, -4, 2.5)]
    public void Propose_LabExposure_PointsLieNearTheirPlaces(string projection, double turn, double tilt, double medianMm)
    {
        PoseModel model = PoseModels.For(projection)!;
        List<double> distances = [];
        int asked = 0;
        foreach (string side in LabPoses.Sides(model))
        {
            SceneDocument scene = Coarse(LabPoses.Scene(model, turn, tilt, 4, side));
            Radiograph radiograph = Exposed(scene);
            LandmarkProposal proposal = LandmarkProposer.Propose(radiograph, projection).Value!;
            Assert.Equal(model.Points.Select(point => point.Id), proposal.Points.Select(point => point.Id));
            foreach ((string id, PixelPoint place) in model.Places(scene))
            {
                if (place.X < 0 || place.Y < 0 || place.X > radiograph.Columns - 1 || place.Y > radiograph.Rows - 1)
                {
                    continue;
                }

                asked++;
                if (proposal.Points.First(point => point.Id == id).Place.Value is { } found)
                {
                    Assert.InRange(found.Probability, 0, 1);
                    Assert.True(found.UncertaintyPixels > 0);
                    distances.Add(Math.Sqrt(Square(found.At.X - place.X) + Square(found.At.Y - place.Y)) * scene.Receptor.SpacingMm);
                }
            }
        }

        Assert.True(distances.Count >= 0.8 * asked, $"{distances.Count} of {asked} found");
        distances.Sort();
        Assert.True(distances[distances.Count / 2] <= medianMm, $"median {distances[distances.Count / 2]:0.0} mm");
    }

    // invariant: a picture of twice the pixels shows the same points, at twice the place.
    [Fact]
    public void Propose_LargerPixels_SamePlacesInMm()
    {
        PoseModel model = PoseModels.For("knee-ap")!;
        SceneDocument coarse = Coarse(LabPoses.Scene(model, 4, 3, 2));
        SceneDocument fine = coarse with { Receptor = coarse.Receptor with { SpacingMm = coarse.Receptor.SpacingMm / 2 } };
        LandmarkProposal one = LandmarkProposer.Propose(Exposed(coarse), "knee-ap").Value!;
        LandmarkProposal two = LandmarkProposer.Propose(Exposed(fine), "knee-ap").Value!;
        double[] apart = [.. one.Points.Zip(two.Points).Where(pair => pair.First.Place.IsMeasured && pair.Second.Place.IsMeasured).Select(pair =>
            Math.Abs((pair.First.Place.Value!.At.X + 0.5) - (0.5 * (pair.Second.Place.Value!.At.X + 0.5))) * coarse.Receptor.SpacingMm)];
        Assert.True(apart.Length >= 10);
        Assert.True(apart.Order().ElementAt(apart.Length / 2) < 1.5, "the median moved by more than 1.5 mm");
    }

    [Fact]
    public void Propose_FieldThatEndsAboveTheDiaphragm_DoesNotProposeTheLungCorners()
    {
        PoseModel model = PoseModels.For("chest-pa")!;
        SceneDocument whole = Coarse(LabPoses.Scene(model, 0, 0, 0));
        SceneDocument upper = whole with { Collimator = whole.Collimator with { HeightMm = 200, CentreMm = [0, -90] } };
        LandmarkProposal proposal = LandmarkProposer.Propose(Exposed(upper), "chest-pa").Value!;
        foreach (string id in new[] { "left-lung-corner", "right-lung-corner" })
        {
            Figure<ProposedPlace> place = proposal.Points.First(point => point.Id == id).Place;
            Assert.False(place.IsMeasured, $"{id} was proposed");
            Assert.NotEmpty(place.Why!);
        }

        Assert.True(proposal.Points.First(point => point.Id == "right-apex").Place.IsMeasured);
    }

    [Fact]
    public void Propose_ProjectionWithoutANetwork_SaysForWhichThereIsOne()
    {
        Radiograph radiograph = Flat(50, 60);
        Figure<LandmarkProposal> proposal = LandmarkProposer.Propose(radiograph, "wrist-pa");
        Assert.False(proposal.IsMeasured);
        Assert.Contains("wrist-pa", proposal.Why, StringComparison.Ordinal);
        Assert.All(LandmarkProposer.Projections, known => Assert.Contains(known, proposal.Why!, StringComparison.Ordinal));
    }

    [Fact]
    public void Propose_OneValue_CannotTell()
        => Assert.Equal("The picture shows one value only.", LandmarkProposer.Propose(Flat(50, 60), "chest-pa").Why);

    [Fact]
    public void Accept_SomePoints_GivesMarksOfThoseAlone()
    {
        PixelPoint at = new(X: 10, Y: 20);
        LandmarkProposal proposal = new("chest-pa",
        [
            new ProposedLandmark("right-apex", "right apex", Figure<ProposedPlace>.Measured(new ProposedPlace(at, 3, 0.9))),
            new ProposedLandmark("left-apex", "left apex", Figure<ProposedPlace>.Measured(new ProposedPlace(at, 3, 0.9))),
            new ProposedLandmark("carina", "carina", Figure<ProposedPlace>.CannotTell("It seems not to lie in the picture.")),
        ]);
        MarkedLandmarks marks = proposal.Accept(["right-apex"]);
        Assert.Equal("chest-pa", marks.ProjectionId);
        Assert.Equal(at, Assert.Single(marks.Points).Value.Point);
        Assert.Equal(9, marks.Points["right-apex"].VarianceX, 1e-9);
        Assert.Throws<ArgumentException>(() => proposal.Accept(["carina"]));
        Assert.Throws<ArgumentException>(() => proposal.Accept(["nothing"]));
    }

    // analytic: 400 columns become 192 samples of 400/192 pixels, 200 rows the middle 96 of the square.
    [Fact]
    public void Picture_BrightBlock_LiesWhereItsPixelsSay()
    {
        const int Rows = 200, Columns = 400;
        var pixels = new ushort[Rows * Columns];
        for (int row = 120; row < 130; row++)
        {
            for (int column = 300; column < 310; column++)
            {
                pixels[(row * Columns) + column] = 4000;
            }
        }

        ProposalPicture picture = ProposalPicture.Of(Plain(Rows, Columns, pixels))!;
        double sum = 0, x = 0, y = 0;
        float dark = picture.Samples[(48 * ProposalNetwork.Side) + 1];
        for (int row = 48; row < 144; row++)
        {
            for (int column = 0; column < ProposalNetwork.Side; column++)
            {
                double weight = picture.Samples[(row * ProposalNetwork.Side) + column] - dark;
                sum += weight;
                x += weight * column;
                y += weight * row;
            }
        }

        PixelPoint place = picture.ToRadiograph(x / sum, y / sum);
        Assert.Equal(304.5, place.X, 0.05);
        Assert.Equal(124.5, place.Y, 0.05);
        Assert.All(Enumerable.Range(0, 48 * ProposalNetwork.Side), at => Assert.Equal(0, picture.Samples[at]));
        Assert.Equal(0, picture.Samples.Average(), 1e-4);
    }

    [SharedDataTheory("radiographs-photo")]
    [InlineData("chest-pa", 0.9, 3.0)]
    [InlineData("elbow-lateral", 0.8, 6.0)]
    [InlineData("ankle", 0.8, 8.0)]
    [InlineData("knee-ap", 0.8, 6.0)]
    public void Propose_MarkedRadiographsKeptApart_MedianWithinAShareOfTheWidth(string projections, double leastFound, double medianPercent)
    {
        string[][] marks = [.. File.ReadLines(Path.Combine(SharedData.RepositoryRoot, "training", "landmarks", "real-marks.tsv")).Skip(1).Select(row => row.Split('\t'))
            .Where(row => row[1].StartsWith(projections, StringComparison.Ordinal) && !IsLearnt(row[0], row[1]))];
        List<double> distances = [];
        foreach (IGrouping<(string, string), string[]> image in marks.GroupBy(row => (row[0], row[1])))
        {
            Radiograph radiograph = RadiographReader.Read(Path.Combine(SharedData.Folder("radiographs-photo"), image.Key.Item1));
            LandmarkProposal proposal = LandmarkProposer.Propose(radiograph, image.Key.Item2).Value!;
            foreach (string[] mark in image)
            {
                if (proposal.Points.First(point => point.Id == mark[2]).Place.Value is { } found)
                {
                    double right = found.At.X - double.Parse(mark[3], CultureInfo.InvariantCulture);
                    double down = found.At.Y - double.Parse(mark[4], CultureInfo.InvariantCulture);
                    distances.Add(100 * Math.Sqrt((right * right) + (down * down)) / radiograph.Columns);
                }
            }
        }

        Assert.True(marks.Length >= 15);
        Assert.True(distances.Count >= leastFound * marks.Length, $"{distances.Count} of {marks.Length} found");
        distances.Sort();
        Assert.True(distances[distances.Count / 2] <= medianPercent, $"median {distances[distances.Count / 2]:0.0} % of the width");
    }

    [Fact]
    public void Weights_AreThoseTheRecipeNames()
    {
        string folder = Path.Combine(SharedData.RepositoryRoot, "training", "landmarks");
        Dictionary<string, string> named = File.ReadAllLines(Path.Combine(folder, "weights.sha256")).Where(line => line.Length > 0).ToDictionary(line => line.Split("  ")[1], line => line.Split("  ")[0], StringComparer.Ordinal);
        Assert.Equal(Convert.ToHexStringLower(SHA256.HashData(ProposalNetwork.Resource(ProposalNetwork.WeightsName))), named[ProposalNetwork.WeightsName]);
        foreach (string file in new[] { "train.py", "prepare_real.py", "real-marks.tsv" })
        {
            Assert.Equal(Convert.ToHexStringLower(SHA256.HashData(File.ReadAllBytes(Path.Combine(folder, file)))), named[file]);
        }
    }

    private static double Square(double value) => value * value;

    /// <summary>A receptor of larger elements: the network sees no more.</summary>
    private static SceneDocument Coarse(SceneDocument scene) => scene with { Receptor = scene.Receptor with { SpacingMm = scene.Part!.Name == "chest" ? 0.8 : 0.4 } };

    private static Radiograph Exposed(SceneDocument scene) => RadiographReader.Read(Lab.Expose(scene).ForPresentation(), "proposal.dcm");

    private static Radiograph Flat(int rows, int columns) => Plain(rows, columns, new ushort[rows * columns]);

    private static Radiograph Plain(int rows, int columns, ushort[] pixels) => new()
    {
        FileName = "drawn.png",
        Source = ImageSource.Png,
        Pixels = new Raster<ushort>(rows, columns, pixels).AsReadOnly(),
        BitsStored = 12,
        Encoding = "drawn",
    };

    /// <summary>As training/landmarks/prepare_real.py divides them.</summary>
    private static bool IsLearnt(string file, string projection)
    {
        string patient = file.Contains("nih", StringComparison.Ordinal) ? file[..file.LastIndexOf('_')] : file;
#pragma warning disable CA5350 // A name is put into one of two halves; nothing is kept secret.
        return projection == "chest-pa" && SHA1.HashData(System.Text.Encoding.UTF8.GetBytes(patient))[0] < 0x80;
#pragma warning restore CA5350
    }
}
