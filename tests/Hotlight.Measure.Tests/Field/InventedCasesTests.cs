using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Document;
using Hotlight.Simulation;
using Xunit.Abstractions;

namespace Hotlight.Measure.Tests.Field;

/// <summary>Field, edge kinds and anatomy of the invented cases, whose truth the simulator knows and the measure does not.</summary>
public sealed class InventedCasesTests(ITestOutputHelper output)
{
    public static TheoryData<string> Cases => new(DemoCases.All.Select(invented => invented.Id));

    /// <summary>
    /// Edge kinds right, overlap (intersection over union) of at least 0.95, corners within 4 mm (where the penumbra's fit does not hold, a chest's side stays
    /// up to half of its 6 mm outside half intensity), anatomy share within 5 points.
    /// </summary>
    [Theory]
    [MemberData(nameof(Cases))]
    [Trait("evidence", "analytic")]
    public void Measure_AnInventedCase_FindsItsFieldAndAnatomy(string id)
    {
        DemoExposure exposure = DemoCases.All.Single(invented => invented.Id == id).Expose();
        Radiograph radiograph = RadiographReader.Read(exposure.Dicom, id + ".dcm");
        MeasurementDocument document = RadiographMeasure.Measure(radiograph);
        SceneTruth truth = exposure.Truth;
        Assert.True(document.Field.IsMeasured && document.Anatomy.IsMeasured);
        FieldMeasurement field = document.Field.Value;
        double mm = radiograph.ReceptorSpacing!.Value.ColumnSpacingMm;
        double corner = truth.FieldOutline.Max(place => field.Outline.Min(found => found.DistancePixelsTo(place))) * mm;
        double overlap = Overlap(truth.FieldOutline, field.Outline, radiograph.Rows, radiograph.Columns);
        double anatomy = document.Anatomy.Value.PercentOfField - truth.AnatomyPercentOfField;
        output.WriteLine($"{id}: corner {corner:0.00} mm, overlap {overlap:0.0000}, anatomy {anatomy:+0.00;-0.00} points of {truth.AnatomyPercentOfField:0.0}");
        Assert.Equal(
            truth.Sides.OrderBy(side => side.Side).Select(side => side.Edge.ToString()),
            field.Sides.OrderBy(side => side.Side).Select(side => side.Edge.ToString()));
        Assert.InRange(corner, 0, 4);
        Assert.InRange(overlap, 0.95, 1);
        Assert.InRange(anatomy, -5, 5);
    }

    // Counted on a grid of every fourth pixel.
    private static double Overlap(IReadOnlyList<PixelPoint> one, IReadOnlyList<PixelPoint> other, int rows, int columns)
    {
        int both = 0, either = 0;
        for (int row = 0; row < rows; row += 4)
        {
            for (int column = 0; column < columns; column += 4)
            {
                bool inOne = Holds(one, column, row), inOther = Holds(other, column, row);
                both += inOne && inOther ? 1 : 0;
                either += inOne || inOther ? 1 : 0;
            }
        }

        return (double)both / either;
    }

    private static bool Holds(IReadOnlyList<PixelPoint> polygon, double x, double y)
    {
        bool inside = false;
        for (int i = 0, j = polygon.Count - 1; i < polygon.Count; j = i++)
        {
            PixelPoint a = polygon[i], b = polygon[j];
            if (a.Y > y != b.Y > y && x < a.X + ((y - a.Y) / (b.Y - a.Y) * (b.X - a.X)))
            {
                inside = !inside;
            }
        }

        return inside;
    }
}
