using Hotlight.Core;
using Hotlight.Simulation.Attenuation;
using Hotlight.Simulation.Scene;

namespace Hotlight.Simulation.Tests.Scene;

public sealed class SceneSimulatorTests
{
    private static readonly SceneDocument Slab = new()
    {
        Schema = SceneDocument.SchemaName,
        Id = "slab",
        Objects = [new SceneObject { Kind = "slab", Material = "soft tissue", LengthMm = 160, WidthMm = 160, ThicknessMm = 50, CentreMm = [0, 0, 35] }],
        Tube = new SceneTube { TubeVoltageKvp = 70, ExposureMas = 4 },
        Collimator = new SceneCollimator { WidthMm = 100, HeightMm = 100 },
        Receptor = new SceneReceptor { WidthMm = 140, HeightMm = 140, SpacingMm = 1, GapMm = 5 },
    };

    [Fact]
    [Trait("evidence", "analytic")]
    public void Primary_BehindASlab_FollowsBeerLambert()
    {
        XRayBeam beam = Beam(Slab);
        Raster<float> primary = Primary(Slab);
        double expected = 0;
        double open = 0;
        for (int k = 0; k < beam.Quality.EnergiesKev.Length; k++)
        {
            open += beam.Quality.Signal[k];
            expected += beam.Quality.Signal[k] * Math.Exp(-Material.SoftTissue.LinearAttenuationPerMm(beam.Quality.EnergiesKev[k]) * 50);
        }

        // Under the central ray, where the ray's length is the slab's thickness to 1 part in 10⁶.
        Raster<float> empty = Primary(Slab with { Objects = [new SceneObject { Kind = "button", CentreMm = [60, 60, 10] }] });
        Assert.Equal(expected / open, primary[70, 70] / empty[70, 70], 1e-4 * expected / open);
    }

    [Theory]
    [Trait("evidence", "published")]

    // Exposure maintenance of the geometry sheet: 10 mAs at 100 cm are 32.4 mAs at 180 cm, and 13.225 at 115 cm.
    [InlineData(1800, 32.4)]
    [InlineData(1150, 13.225)]
    public void Illumination_FartherWithTheMasOfTheSquareLaw_IsTheSame(double distanceMm, double mas)
    {
        double near = Illumination(Slab with { Tube = Slab.Tube with { ExposureMas = 10 } })[70, 70];
        double far = Illumination(Slab with { Tube = Slab.Tube with { ExposureMas = mas, SourceImageDistanceMm = distanceMm } })[70, 70];

        // The pixel lies half a millimetre from the central ray: obliquity and heel below 1e-3.
        Assert.Equal(near, far, 1e-3 * near);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Dose_SmallFieldUnderTheSource_IsKermaTimesArea()
    {
        SceneDocument scene = Slab with { Collimator = new SceneCollimator { WidthMm = 20, HeightMm = 10 } };
        XRayBeam beam = Beam(scene);
        DoseTruth dose = beam.Dose();

        // Without a part the incident kerma is that at the receptor; 2 cm by 1 cm, 1 µGy = 1e-5 dGy. To the corners, 11 mm off at 1 m, inverse square and heel change it by less than 1 %.
        Assert.Equal(dose.IncidentAirKermaMicrogray * 1e-5 * 2, dose.KermaAreaProductDgyCm2, 0.01 * dose.KermaAreaProductDgyCm2);
        Assert.Equal(dose.IncidentAirKermaMicrogray, dose.EntranceSurfaceKermaMicrogray);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Dose_SameBeamAtTwiceTheDistance_HasTheSameProductAndAQuarterOfTheKerma()
    {
        DoseTruth near = Beam(Slab).Dose();
        DoseTruth far = Beam(Slab with
        {
            Tube = Slab.Tube with { SourceImageDistanceMm = 2000 },
            Collimator = new SceneCollimator { WidthMm = 200, HeightMm = 200 },
        }).Dose();
        Assert.Equal(near.KermaAreaProductDgyCm2, far.KermaAreaProductDgyCm2, 1e-5 * near.KermaAreaProductDgyCm2);
        Assert.Equal(near.IncidentAirKermaMicrogray / 4, far.IncidentAirKermaMicrogray, 1e-9);
    }

    [Fact]
    [Trait("evidence", "published")]
    public void Dose_AtTheSkin_FollowsTheInverseSquareAndCountsASecondExposure()
    {
        // Inverse square of the geometry sheet, as a ratio: (d1/d2)², from the receptor's distance to the skin's.
        SceneDocument scene = Coarse("knee", "ap");
        SceneSetup setup = new(scene, null);
        DoseTruth dose = new XRayBeam(setup).Dose();
        DoseTruth open = Beam(Slab with { Tube = scene.Tube }).Dose();
        double ratio = scene.Tube.SourceImageDistanceMm / (scene.Tube.SourceImageDistanceMm - setup.HighestZ());
        Assert.Equal(open.IncidentAirKermaMicrogray * ratio * ratio, dose.IncidentAirKermaMicrogray, 1e-4 * dose.IncidentAirKermaMicrogray);
        DoseTruth twice = new XRayBeam(new SceneSetup(scene with { SecondExposure = new SceneSecondExposure { ExposureShare = 0.5 } }, null)).Dose();
        Assert.Equal(1.5 * dose.KermaAreaProductDgyCm2, twice.KermaAreaProductDgyCm2, 1e-9);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Truth_GridOffCentre_LosesWhatTheHandbooksFormulaSays()
    {
        // Strips of lead let nothing through: the loss of a focused grid off centre by b is r·b/f of the aligned transmission
        // (ratio 8, b 30 mm, f 1000 mm: 24 %), evenly over the field. The strips' own slope and translucency: 3 points.
        SceneDocument scene = Coarse("knee", "ap");
        scene = scene with { Grid = new SceneGrid { Ratio = 8, FocalDistanceMm = 1000, OffCentreMm = 30 } };
        Assert.Equal(1 - (8 * 30 / 1000.0), Lab.Expose(scene).Truth.GridCutOffShare, 0.03);
        SceneDocument centred = scene with { Grid = scene.Grid with { OffCentreMm = 0 } };
        Assert.Equal(1, Lab.Expose(centred).Truth.GridCutOffShare, 0.03);
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Truth_DeadElements_AreThoseThatReadNothing()
    {
        SceneDocument scene = Coarse("knee", "ap");
        scene = scene with { Receptor = scene.Receptor with { DeadElements = 60, DeadLines = 2 } };
        LabExposure exposure = Lab.Expose(scene);
        double elements = exposure.Truth.Artifacts.Single(artifact => artifact.Kind == "dead-pixels").AreaMm2!.Value;
        int lines = exposure.Truth.Artifacts.Count(artifact => artifact.Kind == "dead-line");
        Assert.Equal(2, lines);

        // By chance: 60 ± 4·√60, elements of 1 mm².
        Assert.InRange(elements, 29, 91);
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Expose_SomethingHigherThanTheFocalSpot_IsRefusedInOneSentence()
    {
        SceneDocument scene = Slab with { Objects = [new SceneObject { Kind = "slab", CentreMm = [0, 0, 600], ThicknessMm = 400 }, new SceneObject { Kind = "slab", CentreMm = [0, 0, 590], ThicknessMm = 400 }], Tube = Slab.Tube with { SourceImageDistanceMm = 700 } };
        UnreadableSceneException error = Assert.Throws<UnreadableSceneException>(() => Lab.Expose(scene));
        Assert.Contains("above the receptor, but the focal spot is at 700 mm", error.Message, StringComparison.Ordinal);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Expose_Motion_BlursAnEdgeByTheWay()
    {
        // A bone moved by 4 mm along x: the mean of its path lengths' shadow is unchanged along y and smeared along x. Seen on the truth: L²/12.
        SceneDocument still = SceneStarts.For("wrist", "pa") with { Receptor = SceneStarts.For("wrist", "pa").Receptor with { SpacingMm = 0.8 } };
        SharpnessTruth sharp = Lab.Expose(still).Truth.Sharpness!;
        SharpnessTruth moved = Lab.Expose(still with { Motion = new SceneMotion { ShiftMm = [4, 0] } }).Truth.Sharpness!;
        double magnification = moved.MotionMm / 4;
        Assert.InRange(magnification, 1.01, 1.06);
        Assert.Equal(0, moved.DirectionDegrees, 0.5);
        Assert.Equal(sharp.EdgeBlurMm, moved.EdgeBlurMm, 1e-6);
        Assert.Equal(Math.Sqrt((sharp.EdgeBlurMm * sharp.EdgeBlurMm) + (moved.MotionMm * moved.MotionMm / 12)) / sharp.EdgeBlurMm, moved.DirectionRatio, 1e-3);
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Expose_Twice_GivesTheSameBytes()
    {
        SceneDocument scene = Coarse("knee", "ap");
        Assert.Equal(Lab.Expose(scene).ForPresentation(), Lab.Expose(scene).ForPresentation());
        Assert.NotEqual(Lab.Expose(scene).ForProcessing(), Lab.Expose(scene with { Seed = 2 }).ForProcessing());
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Expose_AnotherSeedOfTheSamePerson_ShowsTheSameBoneWithOtherNoise()
    {
        SceneDocument scene = Coarse("knee", "ap");
        SceneDocument one = scene with { Part = scene.Part! with { Person = 7 } };
        SceneDocument repeat = one with { Seed = 99 };
        SceneDocument other = repeat with { Part = repeat.Part! with { Person = 8 } };
        Raster<float> bone = Lab.Expose(one).Simulated.Paths.Bone;
        Assert.True(bone.Samples.SequenceEqual(Lab.Expose(repeat).Simulated.Paths.Bone.Samples));
        Assert.False(bone.Samples.SequenceEqual(Lab.Expose(other).Simulated.Paths.Bone.Samples));
        Assert.False(Lab.Expose(one).Simulated.SignalMicrogray.Samples.SequenceEqual(Lab.Expose(repeat).Simulated.SignalMicrogray.Samples));
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Expose_LeftSide_IsTheMirrorImageOfTheRight()
    {
        SceneDocument right = Coarse("knee", "ap") with { Marker = null };
        SceneDocument left = right with { Part = right.Part! with { Side = "L" } };
        Raster<float> one = Lab.Expose(right).Simulated.Paths.Bone;
        Raster<float> other = Lab.Expose(left).Simulated.Paths.Bone;
        double sum = 0;
        double difference = 0;
        for (int row = 0; row < one.Rows; row++)
        {
            for (int column = 0; column < one.Columns; column++)
            {
                sum += one[row, column];
                difference += Math.Abs(one[row, column] - other[row, one.Columns - 1 - column]);
            }
        }

        // The trabeculae are sampled in the bone's own frame, so that they are mirrored too; rounding of places only.
        Assert.InRange(difference / sum, 0, 0.01);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Truth_LandmarkOnTheCentralRay_LiesWhereTheSceneShiftedIt()
    {
        SceneDocument scene = Coarse("knee", "ap");
        scene = scene with { Part = scene.Part! with { ShiftMm = [0, 0] } };
        SceneTruth truth = Lab.Expose(scene).Truth;
        LandmarkTruth centre = truth.Landmarks.Single(landmark => landmark.Name == "jointCentre");

        // Shifted by nothing, it lies on the central ray whatever its height: in the middle of 180 columns.
        Assert.Equal(89.5, centre.Pixel.X, 1e-3);
        Assert.True(centre.InsideField);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Truth_ExposureIndex_IsHundredTimesMedianKermaAndDeviationIsItsDecibels()
    {
        SceneTruth truth = Lab.Expose(Coarse("knee", "ap")).Truth;
        Assert.Equal(100 * truth.MedianKermaMicrogray, truth.ExposureIndex, 1e-9);
        Assert.Equal(10 * Math.Log10(truth.ExposureIndex / truth.TargetExposureIndex), truth.DeviationIndex, 1e-12);
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Expose_BoneThatIsNotThere_IsRefusedInOneSentence()
    {
        SceneDocument scene = Coarse("knee", "ap") with { Objects = [new SceneObject { Kind = "ring", Bone = "wing" }] };
        UnreadableSceneException error = Assert.Throws<UnreadableSceneException>(() => Lab.Expose(scene));
        Assert.Contains("no bone 'wing'", error.Message, StringComparison.Ordinal);
    }

    private static SceneDocument Coarse(string part, string view)
    {
        SceneDocument scene = SceneStarts.For(part, view);
        return scene with { Receptor = scene.Receptor with { SpacingMm = 1 } };
    }

    private static XRayBeam Beam(SceneDocument scene)
    {
        SceneSetup setup = new(scene, null);
        return new XRayBeam(setup);
    }

    private static Raster<float> Illumination(SceneDocument scene) => Beam(scene).Illumination();

    private static Raster<float> Primary(SceneDocument scene)
    {
        SceneSetup setup = new(scene, null);
        XRayBeam beam = new(setup);
        PrimaryBeam primary = new(setup.Geometry, beam.Quality, default);
        Raster<float> sum = new(setup.Geometry.Rows, setup.Geometry.Columns);
        primary.Add(
            new BeamPaths(new Hotlight.Simulation.Projection.PathLengths(sum.Rows, sum.Columns), primary.Others(setup.Items, Hotlight.Simulation.Shapes.Pose.Identity)),
            beam.Illumination(),
            1,
            sum);
        return sum;
    }
}
