using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Document;
using Hotlight.Measure.Exposure;
using Hotlight.Measure.Mottle;
using Hotlight.Measure.Regions;
using Hotlight.Measure.Tests.Document;
using Hotlight.Simulation;
using Hotlight.Simulation.Scene;

namespace Hotlight.Measure.Tests.Mottle;

/// <summary>Exposures of the phantom lab, which shares no formula with the measures, with the regions taken from its truth: the measures apart from the finding of regions.</summary>
public class MottleOfLabExposuresTests
{
    // The lab's pixels for processing are 125 steps a µGy (docs/methods/scenes.md).
    private static readonly Calibration LabPixels = new() { Relationship = PixelRelationship.Linear, Gain = 125, KermaUncertaintyPercent = 1 };

    [Theory]
    [Trait("evidence", "independent")]
    [InlineData("wrist", "pa", 901)]
    [InlineData("knee", "ap", 902)]
    public void NoiseAndExposure_OfALimb_AreThoseOfTheTruth(string part, string view, int seed)
    {
        SceneDocument start = SceneStarts.For(part, view);
        LabExposure exposure = Lab.Expose(start with { Seed = (ulong)seed, Receptor = start.Receptor with { SpacingMm = 0.2 } });
        SceneTruth truth = exposure.Truth;
        Radiograph radiograph = RadiographReader.Read(exposure.ForProcessing(), "lab.dcm");
        RadiographRegions regions = TrueRegions(radiograph, truth);
        var options = new MeasureOptions { Calibration = LabPixels };

        Figure<MottleMeasurement> mottle = MottleMeasure.Measure(radiograph, regions, options);
        ExposureMeasurement fromPixels = ExposureMeasure.Measure(radiograph with { Exposure = new ExposureRecord() }, regions, options).Value!;

        // The goal is 10 % for the median of many exposures; for one, two of the stated deviations.
        Assert.True(mottle.IsMeasured, mottle.Why);
        Assert.Equal("soft tissue by its signal", mottle.Value.Over);
        Assert.Equal(truth.RelativeNoisePercent, mottle.Value.RelativeNoisePercent, 2 * mottle.Value.RelativeNoisePercentUncertainty!.Value);
        Assert.InRange(mottle.Value.RelativeNoisePercentUncertainty.Value / truth.RelativeNoisePercent, 0.02, 0.2);

        // Low-frequency quantum efficiency: 0.57 measured, 0.61 in the lab for caesium iodide in RQA5 (docs/methods/receptor.md); a softer beam brings up to 1.5 times as many photons for one signal. Two deviations to either side.
        double atMedian = mottle.Value.BySignal!.OrderBy(place => place.Signal).ElementAt(1).RelativeNoisePercent;
        double open = 2 * mottle.Value.IdealReceptorKermaMicrograyUncertainty!.Value / mottle.Value.IdealReceptorKermaMicrogray!.Value;
        Assert.InRange(Math.Pow(mottle.Value.QuantumLimitPercent!.Value / atMedian, 2), 0.57 * (1 - open), 0.61 * 1.5 * (1 + open));

        // The median over the same cells, of pixels instead of the noise-free signal: one step of 125 a µGy and the outline's rim of 4 pixels.
        Assert.Equal(truth.MedianKermaMicrogray, fromPixels.ReceptorAirKermaMicrogray, 0.05 * truth.MedianKermaMicrogray);

        // Header and pixels are of one value of interest: the header's index, rounded to a whole number, is that of the pixels.
        Assert.Equal(radiograph.Exposure.ExposureIndex!.Value, fromPixels.ExposureIndex, (0.05 * truth.ExposureIndex) + 0.5);
        Assert.NotNull(fromPixels.ValueOfInterestPixelValue);
    }

    private static RadiographRegions TrueRegions(Radiograph radiograph, SceneTruth truth)
    {
        int step = truth.AnatomyMaskStep;
        bool IsAnatomy(int row, int column)
            => truth.AnatomyMask[Math.Min(row / step, truth.AnatomyMask.Rows - 1), Math.Min(column / step, truth.AnatomyMask.Columns - 1)] != 0;
        double left = truth.FieldOutline.Min(corner => corner.X) + 8;
        double right = truth.FieldOutline.Max(corner => corner.X) - 8;
        double top = truth.FieldOutline.Min(corner => corner.Y) + 8;
        double bottom = truth.FieldOutline.Max(corner => corner.Y) - 8;
        bool IsInside(int row, int column) => column > left && column < right && row > top && row < bottom;
        RadiographRegions regions = HandDrawn.Regions(
            radiograph,
            (row, column) => IsAnatomy(row, column) ? RegionLabel.SoftTissue : IsInside(row, column) ? RegionLabel.Direct : RegionLabel.Outside,
            step: step);
        var direct = new List<int>();
        for (int row = 0; row < radiograph.Rows; row += 8)
        {
            for (int column = 0; column < radiograph.Columns; column += 8)
            {
                if (regions.Map.At(row, column) == RegionLabel.Direct)
                {
                    direct.Add(radiograph.Pixels[row, column]);
                }
            }
        }

        direct.Sort();
        return regions with { DirectPixelValue = direct[direct.Count / 2] };
    }
}
