using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure;
using Hotlight.Measure.Document;
using Hotlight.Testing;
using SkiaSharp;

namespace Hotlight.Drawing.Tests;

/// <summary>A slide has its size, its text beside the radiograph and never on it, and leaves nothing out silently.</summary>
public sealed class SlidePictureTests
{
    private static readonly Radiograph Limb = InventedExposure.Limb();
    private static readonly MeasurementDocument Measured = RadiographMeasure.Measure(Limb, new MeasureOptions(), 0);

    private static SKBitmap Drawn(IReadOnlyList<string> lines, bool showsMarks = true)
        => SKBitmap.Decode(SlidePicture.Draw(Limb, Measured, new SlideText("Wrist PA, as it should be", lines, IsInvented: true), showsMarks));

    private static int Different(SKBitmap one, SKBitmap other, int fromColumn, int beforeColumn)
    {
        int different = 0;
        for (int row = 0; row < SlidePicture.Height; row++)
        {
            for (int column = fromColumn; column < beforeColumn; column++)
            {
                different += one.GetPixel(column, row) == other.GetPixel(column, row) ? 0 : 1;
            }
        }

        return different;
    }

    [Fact]
    public void Draw_OtherWords_ChangeTheTextBesideTheRadiographAlone()
    {
        using SKBitmap one = Drawn(["Nothing is decided yet."]), other = Drawn(["Centre 12 mm lower.", "Turn the hand inwards."]);

        Assert.Equal((1920, 1080), (one.Width, one.Height));
        Assert.Equal(0, Different(one, other, 0, 1220));
        Assert.True(Different(one, other, 1220, SlidePicture.Width) > 1000);
    }

    [Fact]
    public void Draw_WithoutMarks_ChangesTheRadiographAlone()
    {
        using SKBitmap marked = Drawn(["A line."]), plain = Drawn(["A line."], showsMarks: false);

        Assert.True(Different(marked, plain, 0, 1220) > 100);
        Assert.Equal(0, Different(marked, plain, 1220, SlidePicture.Width));
    }

    [Fact]
    public void Draw_WhatWasNotExposed_DoesNotGlare()
    {
        // The limb leaves a bright border outside its field; a slide of the same picture whose field nobody knows shows it as it is.
        using SKBitmap dimmed = SKBitmap.Decode(SlidePicture.Draw(Limb, Measured, new SlideText("Title", [], IsInvented: true), showsMarks: false));
        using SKBitmap whole = SKBitmap.Decode(SlidePicture.Draw(Limb, Measured with { Field = Figure<FieldMeasurement>.CannotTell("no edge") }, new SlideText("Title", [], IsInvented: true), showsMarks: false));
        int bright = 0, darker = 0;
        for (int row = 0; row < SlidePicture.Height; row++)
        {
            for (int column = 0; column < 1220; column++)
            {
                byte before = whole.GetPixel(column, row).Green, now = dimmed.GetPixel(column, row).Green;
                Assert.True(now <= before + 1 || before < 20, $"column {column}, row {row} became brighter");
                bright += before > 200 && now < before ? 1 : 0;
                darker += before > 200 && now < before && now > 80 ? 1 : 0;
            }
        }

        // A fifth of the brightness is left, at most 255/5 and the ground's own; only the edge of the shade lies between.
        Assert.True(bright > 1000, $"{bright} pixels were dimmed");
        Assert.True(darker < bright / 50, $"{darker} of {bright} still glare");
    }

    [Fact]
    public void Draw_MoreThanHasRoom_SaysHowManyAreLeftOutAndKeepsTheCautionFree()
    {
        // The same number of lines left out is the same slide, whatever they say; one more is another.
        string[] Lines(int count, string last) => [.. Enumerable.Range(1, count - 1).Select(number => $"Line {number} says what the reader must know."), last];
        using SKBitmap many = Drawn(Lines(40, "one")), same = Drawn(Lines(40, "other")), more = Drawn(Lines(41, "one"));

        Assert.Equal(0, Different(many, same, 0, SlidePicture.Width));
        Assert.True(Different(many, more, 0, SlidePicture.Width) > 10);
        using SKBitmap few = Drawn(["one"]);
        for (int row = SlidePicture.Height - 90; row < SlidePicture.Height; row++)
        {
            for (int column = 1220; column < SlidePicture.Width; column++)
            {
                Assert.Equal(few.GetPixel(column, row), many.GetPixel(column, row));
            }
        }
    }

    [Fact]
    public void Draw_ImageOfAnyShape_FitsItsFrame()
    {
        foreach (Radiograph radiograph in new[] { InventedExposure.Limb(rows: 900, columns: 300), InventedExposure.Limb(rows: 300, columns: 900) })
        {
            MeasurementDocument document = RadiographMeasure.Measure(radiograph, new MeasureOptions(), 0);
            using SKBitmap slide = SKBitmap.Decode(SlidePicture.Draw(radiograph, document, new SlideText("Limb", [], IsInvented: false), showsMarks: false));

            // The sheet around the frame is one colour.
            SKColor sheet = slide.GetPixel(2, 2);
            Assert.All(Enumerable.Range(0, SlidePicture.Height), row => Assert.Equal((sheet, sheet), (slide.GetPixel(20, row), slide.GetPixel(1210, row))));
            Assert.All(Enumerable.Range(0, 1220), column => Assert.Equal((sheet, sheet), (slide.GetPixel(column, 20), slide.GetPixel(column, 1060))));
        }
    }
}
