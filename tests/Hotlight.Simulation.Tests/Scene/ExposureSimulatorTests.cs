using System.Numerics;
using Hotlight.Core;
using Hotlight.Simulation.Attenuation;
using Hotlight.Simulation.Phantom;
using Hotlight.Simulation.Projection;
using Hotlight.Simulation.Scene;
using Hotlight.Simulation.Shapes;

namespace Hotlight.Simulation.Tests.Scene;

public sealed class ExposureSimulatorTests
{
    [Fact]
    [Trait("evidence", "analytic")]
    public void Expose_SlabOfSoftTissue_FollowsBeerLambert()
    {
        const double ThicknessMm = 50;
        ExposureScene scene = Slab(ThicknessMm) with { ScatterPerMm = 0, HeelPerMm = 0 };
        SimulatedExposure exposure = ExposureSimulator.Expose(scene, default);
        BeamSpectrum beam = scene.Technique.Beam();
        double[] weights = ExposureSimulator.SignalWeights(beam);
        double expected = 0;
        for (int bin = 0; bin < weights.Length; bin++)
        {
            expected += weights[bin] * Math.Exp(-Material.SoftTissue.LinearAttenuationPerMm(beam.EnergiesKev[bin]) * ThicknessMm);
        }

        expected *= scene.Technique.DirectKermaMicrogray;
        (double mean, double error) = Middle(exposure.SignalMicrogray);

        // Noise: 4 standard errors of the mean of the middle; obliquity and grid of the skin's distances: 0.3 %.
        Assert.Equal(expected, mean, (4 * error) + (0.003 * expected));
    }

    [Fact]
    [Trait("evidence", "published")]
    public void DirectKerma_FromOneMetreTo180Centimetres_FallsBySquareOfDistance()
    {
        // Exposure maintenance of the geometry sheet: 10 mAs at 100 cm become 32.4 mAs at 180 cm.
        Technique near = Slab(10).Technique with { ExposureMas = 10 };
        Technique far = near with { ExposureMas = 32.4, SourceImageDistanceMm = 1800 };
        Assert.Equal(near.DirectKermaMicrogray, far.DirectKermaMicrogray, 1e-9);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void KermaAreaProduct_SmallFieldUnderTheSource_IsKermaTimesArea()
    {
        ExposureScene scene = Slab(10) with { HeelPerMm = 0 };
        scene = scene with
        {
            Technique = scene.Technique with { Grid = true },
            Collimation = new Collimation(scene.Geometry.CentralRay, WidthMm: 20, HeightMm: 10, TiltDegrees: 0),
        };
        double kermaDgy = scene.Technique.IncidentKermaMicrogray / 1e5;
        double squareReach = (10.0 * 10) + (5 * 5);
        double allowed = squareReach / (scene.Geometry.SourceImageDistanceMm * scene.Geometry.SourceImageDistanceMm);

        // 2 cm by 1 cm; the kerma falls by at most (ρ/SID)² to the corners. The grid stands behind the patient and takes nothing.
        double product = ExposureSimulator.KermaAreaProductDgyCm2(scene);
        Assert.InRange(product / (kermaDgy * 2), 1 - allowed, 1 + 1e-6);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void KermaAreaProduct_SameBeamAtTwiceTheDistance_IsTheSame()
    {
        ExposureScene near = Slab(10) with { HeelPerMm = 0 };
        BeamGeometry geometry = near.Geometry with { SourceImageDistanceMm = 2 * near.Geometry.SourceImageDistanceMm };
        ExposureScene far = near with
        {
            Geometry = geometry,
            Technique = near.Technique with { SourceImageDistanceMm = geometry.SourceImageDistanceMm },
            Collimation = near.Collimation with { CentrePixels = geometry.CentralRay, WidthMm = 2 * near.Collimation.WidthMm, HeightMm = 2 * near.Collimation.HeightMm },
        };
        near = near with { Collimation = near.Collimation with { CentrePixels = near.Geometry.CentralRay } };
        double expected = ExposureSimulator.KermaAreaProductDgyCm2(near);

        // Places are kept in single precision: 7 digits.
        Assert.Equal(expected, ExposureSimulator.KermaAreaProductDgyCm2(far), 1e-6 * expected);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Truth_ExposureIndex_IsHundredTimesKermaAndDeviationIsItsDecibels()
    {
        SceneTruth truth = ExposureSimulator.Expose(Slab(50), default).Truth;
        Assert.Equal(100 * truth.MeanKermaMicrogray, truth.ExposureIndex, 1e-9);
        Assert.Equal(10 * Math.Log10(truth.ExposureIndex / truth.TargetExposureIndex), truth.DeviationIndex, 1e-12);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Truth_AnatomyOfField_IsTheShareOfASlabThatCoversHalf()
    {
        // The slab ends under the central ray's column, upright to it: half of the field lies under it.
        ExposureScene scene = Slab(20);
        Body half = new() { Skin = Block(-200, 0, 20), Muscle = Block(-200, 0, 20), FatPlanes = 0 };
        SceneTruth truth = ExposureSimulator.Expose(scene with { Body = half }, default).Truth;

        // One column of 100 either way, and the 1 mm threshold at the slab's rim.
        Assert.Equal(50, truth.AnatomyPercentOfField, 1.5);
        Assert.Equal(4, truth.FieldOutline.Count);
        Assert.All(truth.Sides, side => Assert.Equal(TrueEdge.Beam, side.Edge));
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Truth_RelativeNoise_IsThatOfTheQuantaAfterTheBlur()
    {
        ExposureScene scene = Slab(50) with { ScatterPerMm = 0, HeelPerMm = 0, ReceptorBlurMm = 0 };
        SimulatedExposure exposure = ExposureSimulator.Expose(scene, default);
        (double mean, _) = Middle(exposure.SignalMicrogray);
        double quanta = mean * 30174 * scene.Geometry.SpacingMm * scene.Geometry.SpacingMm * scene.DetectedShare;
        double expected = 100 * Math.Sqrt((1 / quanta) + (0.006 * 0.006 / (mean * mean)));

        // About 2,000 samples in the field: 4 standard errors of a standard deviation, 4/√(2n) = 6 %; the field's own fall-off 1 %.
        Assert.Equal(expected, exposure.Truth.RelativeNoisePercent, 0.07 * expected);
    }

    private static ExposureScene Slab(double thicknessMm)
    {
        BeamGeometry geometry = new(140, 140, 1, 1000);
        return new ExposureScene
        {
            Body = new Body { Skin = Block(-300, 300, thicknessMm), Muscle = Block(-300, 300, thicknessMm), FatPlanes = 0, SoftCellMm = 4 },
            Geometry = geometry,
            Technique = new Technique { TubeVoltageKvp = 60, ExposureMas = 2, ExposureTimeMs = 10, SourceImageDistanceMm = 1000, FocalSpotMm = 0.6, FiltrationMmAluminium = 3 },
            Collimation = new Collimation(geometry.CentralRay, 100, 100, 0),
            TargetExposureIndex = 400,
            Coarsening = 1,
            Seed = 3,
        };
    }

    private static Shape Block(double left, double right, double thicknessMm) => new Slice((float)left, (float)right, (float)thicknessMm);

    private static (double Mean, double Error) Middle(Raster<float> signal)
    {
        double sum = 0;
        double squares = 0;
        int count = 0;
        for (int row = 60; row < 80; row++)
        {
            foreach (float value in signal.Row(row)[60..80])
            {
                sum += value;
                squares += value * (double)value;
                count++;
            }
        }

        double mean = sum / count;
        return (mean, Math.Sqrt(Math.Max(0, (squares / count) - (mean * mean)) / count));
    }

    /// <summary>A flat slab, 10 mm above the receptor.</summary>
    private sealed class Slice(float left, float right, float thickness) : Shape
    {
        public override Box Bounds => new(new Vector3(left, -300, 10), new Vector3(right, 300, 10 + thickness));

        public override float Distance(Vector3 point)
            => MathF.Max(MathF.Max(left - point.X, point.X - right), MathF.Max(10 - point.Z, point.Z - (10 + thickness)));
    }
}
