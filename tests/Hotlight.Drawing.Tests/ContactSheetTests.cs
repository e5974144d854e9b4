using Hotlight.Imaging;
using Hotlight.Measure.Document;
using SkiaSharp;

namespace Hotlight.Drawing.Tests;

public sealed class ContactSheetTests
{
    [Theory]
    [InlineData(1)]
    [InlineData(5)]
    [InlineData(12)]
    public void Draw_SeveralRadiographs_EveryTileIsOnTheSheetOnce(int count)
    {
        var sheet = new ContactSheet(new ContactSheetOptions { TilePixels = 160, Title = "specimens" });
        Radiograph radiograph = Specimen.Radiograph(columns: 90, rows: 100);
        MeasurementDocument document = Specimen.CannotTell(radiograph);
        for (int tile = 0; tile < count; tile++)
        {
            sheet.Add(radiograph, document);
        }

        Assert.Equal(count, sheet.Count);
        var shown = new Shown(sheet.Draw());

        // At 90 × 100 it is drawn as it is stored, so each tile keeps a rim of frame: rows of frame colour, each as long as a tile is wide.
        SKColor frame = SKColor.Parse(SheetColors.Frame);
        int tilesFound = 0;
        for (int y = 1; y < shown.Height; y++)
        {
            for (int x = 1; x < shown.Width; x++)
            {
                bool begins = shown.At(x, y) == frame && shown.At(x - 1, y) != frame && shown.At(x, y - 1) != frame && shown.At(x + 159, y) == frame && shown.At(x, y + 159) == frame;
                tilesFound += begins ? 1 : 0;
            }
        }

        Assert.Equal(count, tilesFound);
    }

    [Fact]
    public void Draw_MarkedAndUnmarked_DifferOnlyWhereMarksAre()
    {
        Radiograph radiograph = Specimen.Radiograph(columns: 300, rows: 360);
        MeasurementDocument document = Specimen.Measured(radiograph);
        Assert.True(Coloured(new ContactSheetOptions()) > 500);
        Assert.Equal(0, Coloured(new ContactSheetOptions { ShowsMarks = false }));

        int Coloured(ContactSheetOptions options)
        {
            var sheet = new ContactSheet(options);
            sheet.Add(radiograph, document);
            var shown = new Shown(sheet.Draw());
            int coloured = 0;
            for (int y = 0; y < shown.Height; y++)
            {
                for (int x = 0; x < shown.Width; x++)
                {
                    SKColor color = shown.At(x, y);
                    coloured += Math.Max(color.Red, Math.Max(color.Green, color.Blue)) - Math.Min(color.Red, Math.Min(color.Green, color.Blue)) > 60 ? 1 : 0;
                }
            }

            return coloured;
        }
    }

    [Fact]
    public void Add_PastTheLimit_IsRefusedAndTheSheetStaysWhole()
    {
        var sheet = new ContactSheet();
        for (int tile = 0; tile < ContactSheet.MostTiles; tile++)
        {
            Assert.False(sheet.IsFull);
            sheet.AddUnreadable($"file-{tile}.txt", "it is text, not an image.");
        }

        Assert.True(sheet.IsFull);
        Assert.Throws<InvalidOperationException>(() => sheet.AddUnreadable("one-more.txt", "it is text, not an image."));
        Assert.Equal(ContactSheet.MostTiles, sheet.Count);
    }

    [Fact]
    public void Draw_NothingAdded_IsRefused() => Assert.Throws<InvalidOperationException>(() => new ContactSheet().Draw());

    [Fact]
    public void Save_FolderThatIsNotThere_SaysSoInOneSentence()
    {
        using var folder = new TemporaryFolder();
        var sheet = new ContactSheet();
        sheet.AddUnreadable("notes.txt", "it is text, not an image.");
        string path = Path.Combine(folder.Path, "absent", "sheet.png");
        IOException refused = Assert.Throws<IOException>(() => sheet.Save(path));
        Assert.Contains("there is no folder", refused.Message, StringComparison.Ordinal);
        Assert.Empty(Directory.GetFileSystemEntries(folder.Path));
    }
}
