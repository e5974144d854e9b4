using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Artifacts;
using Hotlight.Measure.Document;
using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Tests.Artifacts;

/// <summary>Two beams on one receptor: a limb that leaves the field at the top and bottom, and a second exposure whose beam ends inside the first's.</summary>
public class DoubleExposureTests
{
    private const int Rows = 1000;

    private const int Columns = 800;

    private const double SpacingMm = 0.2;

    private const double Direct = 30_000;

    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(0.3, 0)]
    [InlineData(0.8, 0)]
    [InlineData(0.5, 4)]
    public void Measure_SecondBeamEndsInTheField_IsFoundWhereItEnds(double share, double turnDegrees)
    {
        // The second beam ends at row 700 in the middle of the picture.
        FoundArtifact found = Assert.Single(Found(share, turnDegrees), artifact => artifact.Kind == ArtifactKind.DoubleExposure);

        // 2 mm: two cells of a millimetre.
        Assert.Equal(700, found.Center.Y + ((399.5 - found.Center.X) * Math.Tan(turnDegrees * Math.PI / 180)), 2 / SpacingMm);
        Assert.NotNull(found.LineFrom);

        // From (1 + share) to 1: share / (1 + share) of the signal is missing beyond; a fifth of it for the blur and the levels beside.
        double missing = 100 * share / (1 + share);
        Assert.Equal(missing, found.ContrastPercent!.Value, 0.2 * missing);
    }

    [Fact]
    public void Measure_OneExposure_ClaimsNone() => Assert.DoesNotContain(Found(0, 0), artifact => artifact.Kind == ArtifactKind.DoubleExposure);

    [Fact]
    public void Measure_AfterImageOfTwoPercent_IsNone() => Assert.DoesNotContain(Found(0.02, 0), artifact => artifact.Kind == ArtifactKind.DoubleExposure);

    private static IReadOnlyList<FoundArtifact> Found(double share, double turnDegrees)
    {
        var random = new Random(3);
        var pixels = new Raster<ushort>(Rows, Columns);
        double tan = Math.Tan(turnDegrees * Math.PI / 180);
        for (int row = 0; row < Rows; row++)
        {
            for (int column = 0; column < Columns; column++)
            {
                // The first beam: 60 pixels off every side; edges over 4 pixels.
                double first = Edge(row - 60) * Edge(Rows - 61 - row) * Edge(column - 60) * Edge(Columns - 61 - column);
                double second = share * Edge(700 + ((column - 399.5) * tan) - row) * Edge(row - 60) * Edge(column - 60) * Edge(Columns - 61 - column);

                // A limb from top to bottom, 40 mm thick in its middle, with a bone in it.
                double across = (column - 400) / 150.0, bone = (column - 420) / 40.0;
                double thick = (Math.Abs(across) < 1 ? 1.6 * Math.Sqrt(1 - (across * across)) : 0) + (Math.Abs(bone) < 1 ? 0.7 * Math.Sqrt(1 - (bone * bone)) : 0);
                double signal = Direct * ((first + second) * Math.Exp(-thick) + 0.002);
                double noise = (random.NextDouble() + random.NextDouble() + random.NextDouble() - 1.5) * 2 * Math.Sqrt(signal * 3);
                pixels[row, column] = (ushort)Math.Clamp(Math.Round(signal + noise), 0, 65535);
            }
        }

        var radiograph = new Radiograph
        {
            FileName = "drawn.dcm",
            Source = ImageSource.Dicom,
            Pixels = pixels,
            BitsStored = 16,
            Encoding = "uncompressed",
            ReceptorSpacing = new PixelSpacing(rowSpacingMm: SpacingMm, columnSpacingMm: SpacingMm),
            HighIsShownDark = true,
            PresentationIntent = PresentationIntent.ForProcessing,
            Relationship = PixelRelationship.Linear,
            RelationshipSign = 1,
        };
        var options = new MeasureOptions();
        return ArtifactMeasure.Measure(radiograph, RegionFinder.Find(radiograph, options), options, []).Value!.Found;
    }

    private static double Edge(double pixels) => Math.Clamp(0.5 + (pixels / 4), 0, 1);
}
