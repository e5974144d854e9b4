using System.Globalization;
using System.Text;
using Microsoft.AspNetCore.Components;
using QRCoder;

namespace Hotlight.Web.People;

/// <summary>Draws a QR code (ISO/IEC 18004) as SVG.</summary>
internal static class CodePicture
{
    /// <summary>The picture of a text, dark on white in every theme: cameras need it so.</summary>
    /// <param name="text">The text.</param>
    public static MarkupString Of(string text)
    {
        using var generator = new QRCodeGenerator();
        using QRCodeData data = generator.CreateQrCode(text, QRCodeGenerator.ECCLevel.M);

        // The quiet zone of 4 modules is part of the matrix.
        int side = data.ModuleMatrix.Count;
        var path = new StringBuilder();
        for (int row = 0; row < side; row++)
        {
            for (int column = 0; column < side; column++)
            {
                if (data.ModuleMatrix[row][column])
                {
                    path.Append(CultureInfo.InvariantCulture, $"M{column} {row}h1v1h-1z");
                }
            }
        }

        return new MarkupString(string.Create(CultureInfo.InvariantCulture, $"<svg viewBox=\"0 0 {side} {side}\" role=\"img\" aria-label=\"QR code with the key; the key stands below as text\" shape-rendering=\"crispEdges\"><path fill=\"#fff\" d=\"M0 0h{side}v{side}h-{side}z\"/><path fill=\"#000\" d=\"{path}\"/></svg>"));
    }
}
