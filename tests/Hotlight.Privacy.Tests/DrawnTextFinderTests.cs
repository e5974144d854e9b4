using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Imaging.Dicom;
using Hotlight.Privacy.Publishing;
using Hotlight.Simulation;
using Hotlight.Testing;
using SkiaSharp;

namespace Hotlight.Privacy.Tests;

public sealed class DrawnTextFinderTests
{
    private static readonly KnownIdentity Known = KnownIdentity.None.With(IdentityKind.PatientName, "Quillfeather^Ottoline").With(IdentityKind.PatientIdentifier, "QF-88231");
    private static readonly DrawnTextHints NoHints = new(SaysDrawnText: false, []);

    [Theory]
    [InlineData(30, false)]
    [InlineData(18, false)]
    [InlineData(30, true)]
    public async Task Find_NameDrawnIntoThePixels_IsFoundCoveredAndGone(int height, bool isDark)
    {
        Radiograph drawn = WithText(InventedExposure.Limb(rows: 900, columns: 800), "QUILLFEATHER QF-88231", x: 90, y: 140, height, isDark);

        DrawnText found = await DrawnTextFinder.FindAsync(drawn, Known, NoHints);

        Assert.NotEmpty(found.Places);
        PublishedPicture picture = new("the radiograph", found, [], [], LookedOver: false);
        PublicationFinding finding = PublicationGate.Check(Known, [picture]).Findings[0];
        Assert.NotNull(finding.Box);
        Assert.DoesNotContain("Quill", finding.Sentence, StringComparison.OrdinalIgnoreCase);

        PixelBox[] boxes = [.. found.Places.Select(place => place.Box)];
        Assert.Empty(PublicationGate.Check(Known, [picture with { Covered = boxes }]).Findings);
        Radiograph covered = PixelCover.Cover(drawn, boxes);

        // Every pixel that was drawn is black now, and a second look finds nothing.
        Radiograph before = InventedExposure.Limb(rows: 900, columns: 800);
        ushort black = (ushort)drawn.PixelMaximum;
        for (int row = 0; row < drawn.Rows; row++)
        {
            for (int column = 0; column < drawn.Columns; column++)
            {
                if (drawn.Pixels[row, column] != before.Pixels[row, column])
                {
                    Assert.True(black == covered.Pixels[row, column], $"column {column}, row {row} is not covered by {string.Join("; ", boxes)}");
                }
            }
        }

        Assert.DoesNotContain((await DrawnTextFinder.FindAsync(covered, Known, NoHints)).Places, place => place.Kind != IdentityKind.DrawnText);
    }

    [Fact]
    public async Task Find_SideMarkerThatWasRead_MayStay()
    {
        Radiograph drawn = WithText(InventedExposure.Limb(rows: 900, columns: 800), "R", x: 110, y: 190, height: 70, isDark: false);
        PixelBox marker = new(105, 115, 60, 80);

        Assert.NotEmpty((await DrawnTextFinder.FindAsync(drawn, Known, NoHints)).Places);
        Assert.Empty((await DrawnTextFinder.FindAsync(drawn, Known, new DrawnTextHints(SaysDrawnText: false, [marker]))).Places);
    }

    [Fact]
    public async Task Find_TextThatIsSaidToBeThereAndIsNotFound_AsksAPerson()
    {
        DrawnText found = await DrawnTextFinder.FindAsync(InventedExposure.Limb(rows: 300, columns: 250), Known, new DrawnTextHints(SaysDrawnText: true, []));

        Assert.Empty(found.Places);
        PublishedPicture picture = new("the radiograph", found, [], [], LookedOver: false);
        Assert.Single(PublicationGate.Check(Known, [picture]).Findings);
        Assert.Empty(PublicationGate.Check(Known, [picture with { LookedOver = true }]).Findings);
    }

    [Theory]
    [InlineData("wrist-pa-good")]
    [InlineData("chest-pa-rotated")]
    public async Task Find_RadiographsWithoutText_FindsNone(string id)
    {
        DemoCase demo = DemoCases.All.FirstOrDefault(each => each.Id == id) ?? DemoCases.All[0];
        Radiograph radiograph = RadiographReader.Read(demo.Expose().Dicom, demo.FileName);

        Assert.Empty(DrawnTextFinder.Strokes(radiograph));
        Assert.Empty((await DrawnTextFinder.FindAsync(radiograph, Known, NoHints)).Places);
    }

    [Theory]
    [InlineData(DicomEncoding.ExplicitLittleEndian)]
    [InlineData(DicomEncoding.ExplicitBigEndian)]
    public void Dicom_WithPlacesToCover_HasBlackThereAndItsPixelsElsewhere(DicomEncoding encoding)
    {
        Radiograph limb = InventedExposure.Limb(rows: 120, columns: 100);
        DicomDataset dataset = DxObject.Create(limb, new DxDescription { PatientName = "Quillfeather^Ottoline", PatientId = "QF-88231", Seed = "cover" });
        using MemoryStream stream = new();
        DicomWriter.Write(stream, dataset, encoding);
        PixelBox place = new(10, 20, 30, 12);

        byte[] published = PixelCover.Dicom(stream.ToArray(), "limb.dcm", [place], PrivacyKey.Fresh());

        Radiograph before = RadiographReader.Read(stream.ToArray(), "limb.dcm");
        Radiograph after = RadiographReader.Read(published, "limb.dcm");
        for (int row = 0; row < 120; row++)
        {
            for (int column = 0; column < 100; column++)
            {
                bool inside = row >= 20 && row < 32 && column >= 10 && column < 40;
                Assert.Equal(inside ? after.PixelMaximum : before.Pixels[row, column], after.Pixels[row, column]);
            }
        }

        Assert.Empty(PublicationGate.CheckOutputs(Known, [("limb.dcm", published)]).Findings);
    }

    private static Radiograph WithText(Radiograph radiograph, string text, int x, int y, int height, bool isDark)
    {
        using SKBitmap bitmap = new(new SKImageInfo(radiograph.Columns, radiograph.Rows, SKColorType.Gray8, SKAlphaType.Opaque));
        using (SKCanvas canvas = new(bitmap))
        {
            canvas.Clear(SKColors.Black);
            using SKTypeface face = SKTypeface.FromFile(Path.Combine(SharedData.RepositoryRoot, "src", "Hotlight.Drawing", "Fonts", "Inter-SemiBold.otf"));
            using SKFont font = new(face, height) { Edging = SKFontEdging.Alias };
            using SKPaint paint = new() { Color = SKColors.White };
            canvas.DrawText(text, x, y, SKTextAlign.Left, font, paint);
        }

        Raster<ushort> pixels = new(radiograph.Rows, radiograph.Columns, radiograph.Pixels.Samples.ToArray());
        for (int row = 0; row < radiograph.Rows; row++)
        {
            for (int column = 0; column < radiograph.Columns; column++)
            {
                if (bitmap.GetPixel(column, row).Red > 127)
                {
                    // High values are shown dark.
                    pixels[row, column] = (ushort)(isDark ? radiograph.PixelMaximum : 0);
                }
            }
        }

        return radiograph with { Pixels = pixels };
    }
}
