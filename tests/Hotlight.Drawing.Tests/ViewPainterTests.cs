using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Testing;

namespace Hotlight.Drawing.Tests;

/// <summary>What lies outside the exposed field is shaded on the pictures of a film, and nothing inside it is.</summary>
public sealed class ViewPainterTests
{
    private const int Width = 640;
    private const int Height = 360;

    private static byte[] Luma(Radiograph radiograph, IReadOnlyList<PixelPoint>? field)
    {
        using var painter = new ViewPainter(radiograph, Width, Height, hasCaption: false, field);
        painter.Paint(new PaintedView { X = -0.5, Y = -0.5, Width = radiograph.Columns, Height = radiograph.Rows, Heading = "wrist", Footer = "caution" });
        byte[] planes = new byte[Width * Height * 3 / 2];
        painter.ToPlanes(planes);
        return planes[..(Width * Height)];
    }

    [Fact]
    public void Paint_WithAField_ShadesWhatLiesOutsideAndLeavesWhatLiesInside()
    {
        Radiograph radiograph = InventedExposure.Limb(rows: 600, columns: 600);
        double middle = 300;
        PixelPoint[] field = [new(150, 150), new(450, 150), new(450, 450), new(150, 450)];

        byte[] plain = Luma(radiograph, null), shaded = Luma(radiograph, field);

        // The stage is 322 pixels high (360 less head and foot) and so is the image, in the middle of the width.
        const double Scale = 322.0 / 600;
        int changedInside = 0, changedOutside = 0, notAsMixed = 0;
        for (int row = 30; row < 330; row++)
        {
            for (int column = 170; column < 470; column++)
            {
                double x = ((column - (Width / 2)) / Scale) + middle, y = ((row - 184) / Scale) + middle;
                int at = (row * Width) + column;
                if (x is > 155 and < 445 && y is > 155 and < 445)
                {
                    changedInside += plain[at] != shaded[at] ? 1 : 0;
                }
                else if (x is < 145 or > 455 || y is < 145 or > 455)
                {
                    // The ground #0E0F11 has a luma of 16 + 219·(0.2126·14 + 0.7152·15 + 0.0722·17)/255 = 28.8 (BT.709); 199 of 255 parts of it are mixed in.
                    double mixed = ((56 * plain[at]) + (199 * 28.8)) / 255;
                    notAsMixed += Math.Abs(shaded[at] - mixed) > 2 ? 1 : 0;
                    changedOutside += Math.Abs(shaded[at] - plain[at]) > 2 ? 1 : 0;
                }
            }
        }

        Assert.Equal(0, changedInside);
        Assert.Equal(0, notAsMixed);
        Assert.True(changedOutside > 1000, $"{changedOutside} pixels outside are shaded.");
    }
}
