using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Imaging.Display;
using Hotlight.Measure.Document;
using SkiaSharp;

namespace Hotlight.Drawing.Tests;

public sealed class RadiographPictureTests
{
    [Fact]
    [Trait("evidence", "analytic")]
    public void Draw_WithoutMarksAtStoredSize_EveryPixelIsTheDisplaysOwnGrey()
    {
        Radiograph radiograph = Specimen.Radiograph(columns: 820, rows: 1010);
        var options = new PictureOptions { ShowsMarks = false };
        MeasurementDocument document = Specimen.CannotTell(radiograph);
        PictureLayout layout = Layout(radiograph, document, options);
        Assert.Equal((820, 1010), (layout.Image.Width, layout.Image.Height));
        var shown = new Shown(RadiographPicture.Draw(radiograph, document, options));
        float[] table = DisplayTable.Create(radiograph);
        for (int row = 0; row < radiograph.Rows; row++)
        {
            for (int column = 0; column < radiograph.Columns; column++)
            {
                byte expected = (byte)Math.Round(table[radiograph.Pixels[row, column]] * 255f);
                SKColor color = shown.At(layout.Image.Left + column, layout.Image.Top + row);
                if (color != new SKColor(expected, expected, expected))
                {
                    Assert.Fail($"Row {row}, column {column}: {color}, not {expected} in all three channels.");
                }
            }
        }
    }

    [Theory]
    [InlineData(820, 1010)]
    [InlineData(2400, 1500)]
    [InlineData(300, 240)]
    [Trait("evidence", "analytic")]
    public void Draw_FieldOfTheDocument_LinesLieWhereItSays(int columns, int rows)
    {
        Radiograph radiograph = Specimen.Radiograph(columns, rows);
        MeasurementDocument document = Specimen.CannotTell(radiograph) with { Field = Specimen.Measured(radiograph).Field };
        PictureLayout layout = Layout(radiograph, document, new PictureOptions());
        var shown = new Shown(RadiographPicture.Draw(radiograph, document));
        IReadOnlyList<PixelPoint> outline = document.Field.Value!.Outline;
        SKColor field = SKColor.Parse(MarkStyles.Of(MarkKind.FieldBeamEdge).Color);

        // The top is an unbroken line from outline[0] to outline[1], the left side one from outline[3] to outline[0].
        // The centre of a stored pixel (x, y) is drawn (x + 0.5, y + 0.5) stored pixels from the image's corner.
        foreach (double share in new[] { 0.1, 0.25, 0.4, 0.7, 0.9 })
        {
            foreach ((PixelPoint from, PixelPoint to, bool isTop) in new[] { (outline[0], outline[1], true), (outline[3], outline[0], false) })
            {
                double x = layout.Image.Left + ((from.X + (share * (to.X - from.X)) + 0.5) * layout.Image.Width / columns);
                double y = layout.Image.Top + ((from.Y + (share * (to.Y - from.Y)) + 0.5) * layout.Image.Height / rows);
                Assert.Equal(field, shown.At(x, y));

                // Half the line is 1.7 pixels, its casing 1.6: 5 pixels away there is only the radiograph, which is grey.
                foreach (int away in new[] { -5, 5 })
                {
                    SKColor beside = isTop ? shown.At(x, y + away) : shown.At(x + away, y);
                    Assert.True(beside.Red == beside.Green && beside.Green == beside.Blue, $"{beside} beside the line at ({x:0}, {y:0})");
                }
            }
        }
    }

    [Fact]
    public void Draw_BrightAndDarkGround_EveryLineHasItsDarkCasing()
    {
        Radiograph radiograph = Specimen.Radiograph(columns: 820, rows: 1010);
        MeasurementDocument document = Specimen.CannotTell(radiograph) with { Field = Specimen.Measured(radiograph).Field };
        PictureLayout layout = Layout(radiograph, document, new PictureOptions());
        var shown = new Shown(RadiographPicture.Draw(radiograph, document));
        PixelPoint corner = document.Field.Value!.Outline[0];

        // The left side of the field has white surround on its left: 2.5 pixels outwards lies the middle of its casing, half way to black and darker.
        SKColor casing = shown.At(layout.Image.Left + corner.X + 0.5 - 2.5, layout.Image.Top + (radiograph.Rows * 0.4));
        SKColor ground = shown.At(layout.Image.Left + corner.X + 0.5 - 8, layout.Image.Top + (radiograph.Rows * 0.4));
        Assert.True(ground.Green > 200, $"ground {ground}");
        Assert.True(casing.Green < ground.Green / 2, $"casing {casing} on {ground}");
    }

    [Fact]
    public void Draw_FileWithoutUsableWindow_ShowsTheWindowThatTheDocumentNames()
    {
        Radiograph radiograph = Specimen.Radiograph(columns: 820, rows: 1010) with { Windows = [] };
        MeasurementDocument document = Specimen.CannotTell(radiograph) with
        {
            Display = Figure<DisplayMeasurement>.Measured(new DisplayMeasurement { WindowCenter = 2000, WindowWidth = 2000, ContrastPercent = 50, MeanBrightnessPercent = 50, WindowBasis = "anatomy" }),
        };
        PictureLayout layout = Layout(radiograph, document, new PictureOptions());
        var shown = new Shown(RadiographPicture.Draw(radiograph, document));

        // Linear exact, PS3.3 C.11.2.1.3.2: (value - 2000) / 2000 + 0.5, then dark for high. Row 505 lies in the field; column 410 on soft tissue.
        double expected = 255 * (1 - Math.Clamp(((radiograph.Pixels[505, 410] - 2000) / 2000.0) + 0.5, 0, 1));
        Assert.Equal(expected, shown.At(layout.Image.Left + 410, layout.Image.Top + 505).Red, 1.0);
    }

    [Fact]
    public void Draw_FileWithSeveralWindows_ShowsTheOneThatWasMeasured()
    {
        Radiograph radiograph = Specimen.Radiograph(columns: 820, rows: 1010) with
        {
            Windows = [new VoiTransform { Center = 9000, Width = 10 }, new VoiTransform { Center = 2000, Width = 2000, Function = WindowFunction.LinearExact }],
        };
        MeasurementDocument document = Specimen.CannotTell(radiograph) with
        {
            Display = Figure<DisplayMeasurement>.Measured(new DisplayMeasurement { WindowCenter = 2000, WindowWidth = 2000, ContrastPercent = 50, MeanBrightnessPercent = 50, WindowBasis = "file" }),
        };
        PictureLayout layout = Layout(radiograph, document, new PictureOptions());
        var shown = new Shown(RadiographPicture.Draw(radiograph, document));
        double expected = 255 * (1 - Math.Clamp(((radiograph.Pixels[505, 410] - 2000) / 2000.0) + 0.5, 0, 1));
        Assert.InRange(expected, 1, 254);
        Assert.Equal(expected, shown.At(layout.Image.Left + 410, layout.Image.Top + 505).Red, 1.0);
    }

    [Fact]
    public void Draw_Text_IsDrawnWithTheEmbeddedFont()
    {
        Radiograph radiograph = Specimen.Radiograph(columns: 400, rows: 500);
        MeasurementDocument document = Specimen.CannotTell(radiograph);
        PictureLayout layout = Layout(radiograph, document, new PictureOptions());
        var shown = new Shown(RadiographPicture.Draw(radiograph, document));
        foreach (PlacedText text in layout.Texts)
        {
            int ink = 0;
            SKColor ground = shown.At(text.Bounds.Left - 2, text.Bounds.MidY);
            for (int y = (int)text.Bounds.Top; y < text.Bounds.Bottom; y++)
            {
                for (int x = (int)text.Bounds.Left; x < text.Bounds.Right; x++)
                {
                    ink += Math.Abs(shown.At(x, y).Green - ground.Green) > 60 ? 1 : 0;
                }
            }

            // The thinnest text of these is a line of words: at least 3 % of its box is ink.
            Assert.True(ink > 0.03 * text.Bounds.Width * text.Bounds.Height, $"'{text.Text}' has {ink} pixels of ink.");
        }
    }

    [Fact]
    public void Draw_DocumentOfAnotherImage_IsRefused()
    {
        MeasurementDocument other = Specimen.CannotTell(Specimen.Radiograph(columns: 100, rows: 100));
        Assert.Throws<ArgumentException>(() => RadiographPicture.Draw(Specimen.Radiograph(columns: 120, rows: 100), other));
    }

    [Fact]
    public void Save_OlderFileThere_ReplacesItAndLeavesNothingElse()
    {
        using var folder = new TemporaryFolder();
        string path = Path.Combine(folder.Path, "picture.png");
        File.WriteAllText(path, "older");
        Radiograph radiograph = Specimen.Radiograph(columns: 120, rows: 100);
        RadiographPicture.Save(path, radiograph, Specimen.Measured(radiograph));
        Assert.Equal([path], Directory.GetFiles(folder.Path));
        var shown = new Shown(File.ReadAllBytes(path));
        Assert.True(shown.Width > 100);
    }

    [Fact]
    public void Save_FolderThatIsNotThere_SaysSoInOneSentenceAndWritesNothing()
    {
        using var folder = new TemporaryFolder();
        string path = Path.Combine(folder.Path, "absent", "picture.png");
        AssertRefused(path, "there is no folder");
        Assert.Empty(Directory.GetFileSystemEntries(folder.Path));
    }

    [Fact]
    public void Save_PathIsAFolder_SaysSoInOneSentenceAndWritesNothing()
    {
        using var folder = new TemporaryFolder();
        AssertRefused(folder.Path, "this is a folder");
        Assert.Empty(Directory.GetFileSystemEntries(folder.Path));
    }

    [Fact]
    public void Save_FolderThatTakesNoFiles_SaysSoInOneSentence()
    {
        // Nobody, not even the system's own user, can make a file here.
        if (Directory.Exists("/proc/self"))
        {
            AssertRefused("/proc/self/picture.png", "cannot be written");
        }
    }

    [Fact]
    public void Save_FullDisk_SaysSoAndRemovesWhatWasBegun()
    {
        using var folder = new TemporaryFolder();
        string path = Path.Combine(folder.Path, "picture.png");
        IOException full = new("No space left on device", 28);
        IOException refused = Assert.Throws<IOException>(() => PictureFile.Write(path, stream =>
        {
            stream.Write([137, 80, 78, 71]);
            throw full;
        }));
        Assert.Equal($"{path}: the picture cannot be written (the disk is full).", refused.Message);
        Assert.Empty(Directory.GetFileSystemEntries(folder.Path));
    }

    private static void AssertRefused(string path, string reason)
    {
        Radiograph radiograph = Specimen.Radiograph(columns: 60, rows: 50);
        IOException refused = Assert.Throws<IOException>(() => RadiographPicture.Save(path, radiograph, Specimen.CannotTell(radiograph)));
        Assert.StartsWith(path + ": the picture cannot be written", refused.Message, StringComparison.Ordinal);
        Assert.Contains(reason, refused.Message, StringComparison.Ordinal);
        Assert.DoesNotContain('\n', refused.Message);
        Assert.EndsWith(".", refused.Message, StringComparison.Ordinal);
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
