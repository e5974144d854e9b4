using Hotlight.Core;
using Hotlight.Measure.Document;
using Hotlight.Measure.Regions;
using Hotlight.Measure.Tests.Images;
using Xunit.Abstractions;

namespace Hotlight.Measure.Tests.Field;

/// <summary>The table of docs/methods/field.md: 42 drawn fields against their closed form.</summary>
public sealed class DrawnFieldsTests(ITestOutputHelper output)
{
    [Fact]
    [Trait("evidence", "analytic")]
    public void Find_FieldsOfEveryTiltPenumbraAndPolarity_HaveFourBeamSidesInPlace()
    {
        var corners = new List<double>();
        var tilts = new List<double>();
        var wrong = new List<string>();
        foreach (double tilt in (double[])[0, 3, 10, 20, 30, 40, 45])
        {
            foreach (double penumbra in (double[])[1.5, 4, 8])
            {
                foreach (int sign in (int[])[1, -1])
                {
                    var drawn = new DrawnRadiograph
                    {
                        Width = 420,
                        Height = 560,
                        TiltDegrees = tilt,
                        PenumbraPixels = penumbra,
                        HeelShare = 0.1,
                        Sign = sign,
                        HighIsShownDark = sign > 0,
                        Shapes = [new DrawnDisc(new PixelPoint(X: 400, Y: 500), 120, 0.4)],
                    };
                    RadiographRegions regions = RegionFinder.Find(drawn.Draw(), new MeasureOptions());
                    FieldMeasurement? field = regions.Field.Value;
                    if (field is null || field.Sides.Any(side => side.Edge != FieldEdge.Beam))
                    {
                        wrong.Add($"tilt {tilt}, penumbra {penumbra}, sign {sign}");
                        continue;
                    }

                    corners.AddRange(drawn.Corners.Select(place => field.Outline.Min(found => found.DistancePixelsTo(place))));

                    // A field tilted by 45 degrees may as well be called tilted by −45.
                    tilts.AddRange(field.Sides.Select(side => Math.Abs(Math.IEEERemainder(side.TiltDegrees - tilt, 90))));
                }
            }
        }

        corners.Sort();
        tilts.Sort();
        output.WriteLine($"missed {wrong.Count}: {string.Join("; ", wrong)}");
        output.WriteLine($"corner median {corners[corners.Count / 2]:0.000}, 95th {corners[(int)(corners.Count * 0.95)]:0.000}, largest {corners[^1]:0.000} pixels");
        output.WriteLine($"tilt median {tilts[tilts.Count / 2]:0.0000}, largest {tilts[^1]:0.0000} degrees");
        Assert.Empty(wrong);
        Assert.InRange(corners[^1], 0, 3);
    }
}
