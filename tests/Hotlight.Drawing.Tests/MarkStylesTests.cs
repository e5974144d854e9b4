using System.Globalization;
using Hotlight.Testing;

namespace Hotlight.Drawing.Tests;

public sealed class MarkStylesTests
{
    [Theory]
    [InlineData("normal")]
    [InlineData("protanopia")]
    [InlineData("deuteranopia")]
    [InlineData("tritanopia")]
    [Trait("evidence", "published")]
    public void All_SeenWithAColorVisionDeficiency_ColorsStayTenNoticeableDifferencesApart(string vision)
    {
        // M. Mahy, L. Van Eycken, A. Oosterlinck, Color Res. Appl. 19(2), 1994: 2.3 units of CIE 1976 difference are just noticeable (printed to 0.1).
        // Ten of them for lines that are told apart at a glance: our own choice.
        const double Least = 10 * 2.3;
        string[] colors = [.. MarkStyles.All.Select(style => style.Color).Distinct()];
        Assert.Equal(6, colors.Length);
        for (int first = 0; first < colors.Length; first++)
        {
            for (int second = first + 1; second < colors.Length; second++)
            {
                double difference = ColorVision.Difference(LabSeen(colors[first]), LabSeen(colors[second]));
                Assert.True(difference >= Least, $"{colors[first]} and {colors[second]} differ by {difference:0.0} with {vision}; {Least:0.0} are wanted.");
            }
        }

        double[] LabSeen(string color) => ColorVision.Lab(ColorVision.Seen(ColorVision.Linear(color), ColorVision.Simulations[vision]));
    }

    [Fact]
    [Trait("evidence", "independent")]
    public void Lab_OfTheTablesColors_AgreesWithAnotherLibrary()
    {
        // tests/reference/skimage-lab/lab.tsv, printed to 0.001; both round the matrix of IEC 61966-2-1 to six or seven digits: tolerance 0.005.
        string[] lines = File.ReadAllLines(Path.Combine(SharedData.RepositoryRoot, "tests", "reference", "skimage-lab", "lab.tsv"));
        var reference = lines.Where(line => !line.StartsWith("# ", StringComparison.Ordinal)).Select(line => line.Split('\t')).ToDictionary(
            cells => cells[0],
            cells => cells[1..].Select(cell => double.Parse(cell, CultureInfo.InvariantCulture)).ToArray());
        Assert.All(MarkStyles.All.Select(style => style.Color).Append(MarkStyles.CasingColor), color =>
        {
            double[] lab = ColorVision.Lab(ColorVision.Linear(color));
            for (int part = 0; part < 3; part++)
            {
                Assert.Equal(reference[color][part], lab[part], 0.005);
            }
        });
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Seen_OfWhite_IsWhite()
    {
        foreach (double[,] simulation in ColorVision.Simulations.Values)
        {
            // The matrices are printed to six digits: three of them add up to 1 within 1.5e-6.
            Assert.All(ColorVision.Seen([1, 1, 1], simulation), part => Assert.Equal(1, part, 2e-6));
        }
    }

    [Fact]
    [Trait("evidence", "published")]
    public void All_AgainstTheirCasing_ReachTheContrastOfGraphicalObjects()
    {
        // WCAG 2.2, success criterion 1.4.11: at least 3:1. Luminance alone decides it, so it holds in a grey print too.
        Assert.All(MarkStyles.All, style => Assert.True(ColorVision.Contrast(style.Color, MarkStyles.CasingColor) >= 3, style.Label));
    }

    [Theory]
    [InlineData(PictureSurround.Paper)]
    [InlineData(PictureSurround.Dim)]
    [Trait("evidence", "published")]
    public void SheetColors_OfText_ReachEnhancedContrast(PictureSurround surround)
    {
        // WCAG 2.2, success criterion 1.4.6: at least 7:1.
        SheetColors colors = SheetColors.Of(surround);
        Assert.True(ColorVision.Contrast(colors.Text, colors.Sheet) >= 7);
        Assert.True(ColorVision.Contrast(colors.Quiet, colors.Sheet) >= 7);
        Assert.True(ColorVision.Contrast(SheetColors.FrameText, SheetColors.Frame) >= 7);
    }

    [Fact]
    public void All_AnyTwoKinds_DifferBesidesTheirColor()
    {
        foreach (MarkStyle first in MarkStyles.All)
        {
            foreach (MarkStyle second in MarkStyles.All.Where(second => second.Kind != first.Kind))
            {
                Assert.True(
                    first.Shape != second.Shape || !first.DashPixels.SequenceEqual(second.DashPixels),
                    $"{first.Kind} and {second.Kind} would look the same in a grey print.");
            }
        }
    }

    [Fact]
    public void Of_EveryKind_IsItsOwnStyle()
        => Assert.All(Enum.GetValues<MarkKind>(), kind => Assert.Equal(kind, MarkStyles.Of(kind).Kind));

    [Fact]
    public void CasingDashPixels_OfADashedStyle_KeepThePeriodAndLeaveGaps()
    {
        foreach (MarkStyle style in MarkStyles.All.Where(style => style.DashPixels.Count > 0))
        {
            Assert.Equal(style.DashPixels.Sum(), style.CasingDashPixels.Sum(), 1e-9);
            Assert.All(style.CasingDashPixels, length => Assert.True(length > 0));
        }
    }
}
