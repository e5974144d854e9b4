using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Document;
using SkiaSharp;

namespace Hotlight.Drawing.Tests;

public sealed class PictureLayoutTests
{
    public static TheoryData<int, int, bool, int> Sizes()
    {
        var sizes = new TheoryData<int, int, bool, int>();
        foreach ((int columns, int rows) in new[] { (2000, 2400), (2400, 1500), (3000, 3000), (300, 240), (60, 40), (4000, 300), (200, 3600), (3, 3000), (3000, 1) })
        {
            foreach (bool isMeasured in new[] { true, false })
            {
                sizes.Add(columns, rows, isMeasured, 1600);
                sizes.Add(columns, rows, isMeasured, 400);
            }
        }

        return sizes;
    }

    [Theory]
    [MemberData(nameof(Sizes))]
    public void Of_AnySize_TextsKeepOffTheRadiographAndOffEachOther(int columns, int rows, bool isMeasured, int longSidePixels)
    {
        PictureLayout layout = Layout(columns, rows, isMeasured, new PictureOptions { LongSidePixels = longSidePixels, Projection = "Forearm AP" });
        Assert.True(layout.Texts.Count > 5);
        var sheet = new SKRect(0, 0, layout.Width, layout.Height);
        Assert.True(sheet.Contains(layout.Image));
        Assert.True(layout.Frame.Contains(layout.Image));
        for (int first = 0; first < layout.Texts.Count; first++)
        {
            PlacedText text = layout.Texts[first];
            Assert.True(sheet.Contains(text.Bounds), $"'{text.Text}' leaves the sheet");
            Assert.False(text.Bounds.IntersectsWith(layout.Image), $"'{text.Text}' lies on the radiograph");
            Assert.All(layout.Keys, key => Assert.False(key.Bounds.IntersectsWith(text.Bounds), $"'{text.Text}' lies on a sample"));
            if (layout.ScaleBar is { } bar)
            {
                Assert.False(new SKRect(bar.From.X, bar.From.Y - 9, bar.To.X, bar.To.Y + 9).IntersectsWith(text.Bounds), $"'{text.Text}' lies on the scale bar");
            }

            for (int second = first + 1; second < layout.Texts.Count; second++)
            {
                Assert.False(layout.Texts[second].Bounds.IntersectsWith(text.Bounds), $"'{text.Text}' and '{layout.Texts[second].Text}' overlap");
            }
        }
    }

    [Theory]
    [InlineData(2000, 2400, 1333, 1600)]
    [InlineData(1600, 900, 1600, 900)]
    [InlineData(800, 640, 800, 640)]
    [InlineData(300, 240, 900, 720)] // three times: the least whole factor that reaches 800
    [InlineData(600, 500, 1200, 1000)]
    [InlineData(4000, 300, 2400, 180)] // 1.5 times longer than asked, so that 180 rows can be seen
    public void Of_DrawnSize_IsAtMostTheLongSideOrAWholeFactor(int columns, int rows, int drawnColumns, int drawnRows)
    {
        DrawnSize size = DrawnSize.Of(columns, rows, null, 1600, 800);
        Assert.Equal((drawnColumns, drawnRows), (size.Columns, size.Rows));
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Of_PixelsThatAreNotSquare_AreDrawnInTrueProportion()
    {
        // 1000 columns of 0.1 mm and 1000 rows of 0.2 mm: 100 mm across, 200 mm down.
        DrawnSize size = DrawnSize.Of(1000, 1000, new PixelSpacing(rowSpacingMm: 0.2, columnSpacingMm: 0.1), 1600, 800);
        Assert.Equal((800, 1600), (size.Columns, size.Rows));
        DrawnSize turned = DrawnSize.Of(1000, 1000, new PixelSpacing(rowSpacingMm: 0.1, columnSpacingMm: 0.2), 1600, 800);
        Assert.Equal((1600, 800), (turned.Columns, turned.Rows));
    }

    [Theory]
    [InlineData(0.15, 2000, 2400)]
    [InlineData(0.4, 300, 240)]
    [Trait("evidence", "analytic")]
    public void Of_ScaleBar_IsAsLongAsItsLabelSays(double spacingMm, int columns, int rows)
    {
        Radiograph radiograph = Specimen.Radiograph(columns, rows, spacingMm);
        PictureLayout layout = Layout(radiograph, Specimen.CannotTell(radiograph), new PictureOptions());
        PlacedScaleBar bar = layout.ScaleBar!;

        // The whole image is columns × spacing mm wide; single precision of the sheet's places leaves 1e-3 pixel.
        double expected = bar.LengthMm / (columns * spacingMm) * layout.Image.Width;
        Assert.Equal(expected, bar.To.X - bar.From.X, 1e-3);
        Assert.Contains(layout.Texts, text => text.Text == FormattableString.Invariant($"{bar.LengthMm} mm at the receptor"));
    }

    [Theory]
    [InlineData(73.2, 50)]
    [InlineData(20.0, 20)]
    [InlineData(19.9, 10)]
    [InlineData(0.7, 0.5)]
    public void RoundLength_AnyLength_IsOneTwoOrFiveTimesAPowerOfTen(double wantedMm, double expectedMm)
        => Assert.Equal(expectedMm, PictureLayout.RoundLength(wantedMm), 1e-12);

    [Fact]
    public void Of_SpacingUnknown_GivesNoScaleBarAndSaysWhy()
    {
        Radiograph radiograph = Specimen.Radiograph(400, 500, spacingMm: null);
        PictureLayout layout = Layout(radiograph, Specimen.CannotTell(radiograph), new PictureOptions());
        Assert.Null(layout.ScaleBar);
        Assert.Contains(layout.Texts, text => text.Text == "No scale: the file gives no pixel spacing");
        Assert.DoesNotContain(layout.Texts, text => text.Text.Contains(" mm", StringComparison.Ordinal));
    }

    [Fact]
    public void Of_MeasuredDocument_GivesEveryFigureWithItsUncertainty()
    {
        string[] texts = [.. Layout(2000, 2400, isMeasured: true, new PictureOptions()).Texts.Select(text => text.Text)];
        Assert.All(
            ["71.8 ± 0.4 %", "77,500 ± 200 mm²", "53.2 ± 1.3 %", "22 ± 3 %", "46.8 ± 1.3 %", "smaller by 23 %", "312", "250", "+0.96", "3.12 µGy", "0.3 %", "8.2 %", "2.43 ± 0.18 %", "61 %", "48 %"],
            figure => Assert.Contains(figure, texts));
    }

    [Fact]
    public void Of_FieldWithThreeKindsOfEdge_NamesEachAtItsSide()
    {
        PictureLayout layout = Layout(2000, 2400, isMeasured: true, new PictureOptions());
        Assert.True(Label("beam edge, tilt 0.4 ± 0.1°").Bounds.Bottom <= layout.Image.Top);
        Assert.True(Label("mask edge, tilt 0.0 ± <0.1°").Bounds.Left >= layout.Image.Right);
        Assert.True(layout.Texts.Single(text => text.Text == "receptor edge" && text.Tone == TextTone.Frame).Bounds.Top >= layout.Image.Bottom);
        Assert.True(Label("beam edge, tilt −0.3 ± 0.1°").Bounds.Right <= layout.Image.Left);
        Assert.Equal(7, layout.Keys.Select(key => key.Kind).Distinct().Count());

        PlacedText Label(string words) => layout.Texts.Single(text => text.Text == words);
    }

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public void Of_AnyDocument_CarriesTheCautionAndEveryReason(bool isMeasured)
    {
        Radiograph radiograph = Specimen.Radiograph(2000, 2400);
        MeasurementDocument document = isMeasured ? Specimen.Measured(radiograph) : Specimen.CannotTell(radiograph);
        string all = string.Join(' ', Layout(radiograph, document, new PictureOptions()).Texts.Select(text => text.Text));
        Assert.Contains(Legend.Caution, all, StringComparison.Ordinal);
        Assert.Contains("Not a diagnostic device", Legend.Caution, StringComparison.Ordinal);
        Assert.Contains("Markers: " + document.Markers.Why, all, StringComparison.Ordinal);
        if (!isMeasured)
        {
            Assert.Contains("Field: " + document.Field.Why, all, StringComparison.Ordinal);
            Assert.Contains("Exposure: " + document.Exposure.Why, all, StringComparison.Ordinal);
        }

        string bare = string.Join(' ', Layout(radiograph, document, new PictureOptions { ShowsLegend = false, ShowsMarks = false }).Texts.Select(text => text.Text));
        Assert.Contains(Legend.Caution, bare, StringComparison.Ordinal);
    }

    [Fact]
    public void Of_FileNameLongerThanTheSheet_IsBrokenAndWhole()
    {
        string name = string.Concat(Enumerable.Repeat("exported-copy-", 40)) + "患.png";
        Radiograph radiograph = Specimen.Radiograph(300, 240, fileName: name);
        PictureLayout layout = Layout(radiograph, Specimen.CannotTell(radiograph), new PictureOptions());
        string caption = string.Concat(layout.Texts.Where(text => text.SizePixels > 30).Select(text => text.Text));
        Assert.Equal(name.Replace('患', '?'), caption);
    }

    private static PictureLayout Layout(int columns, int rows, bool isMeasured, PictureOptions options)
    {
        Radiograph radiograph = Specimen.Radiograph(columns, rows);
        return Layout(radiograph, isMeasured ? Specimen.Measured(radiograph) : Specimen.CannotTell(radiograph), options);
    }

    private static PictureLayout Layout(Radiograph radiograph, MeasurementDocument document, PictureOptions options)
    {
        using var setting = new TextSetting();
        return PictureLayout.Of(
            radiograph,
            document,
            DrawnSize.Of(radiograph.Columns, radiograph.Rows, radiograph.ReceptorSpacing, options.LongSidePixels, options.LongSidePixels / 2),
            options,
            setting);
    }
}
