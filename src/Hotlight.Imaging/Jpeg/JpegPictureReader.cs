using Hotlight.Core;

namespace Hotlight.Imaging.Jpeg;

/// <summary>Reads a JPEG file (JFIF, Adobe) that holds a grey picture, or a grey picture stored as colour.</summary>
internal static class JpegPictureReader
{
    public static Radiograph Read(ReadOnlyMemory<byte> content, string fileName, CancellationToken cancellation)
    {
        JpegHeader header = JpegHeader.Read(content.Span);
        List<string> remarks = [];
        if (header.FrameMarker == 0xF7)
        {
            ushort[] words = new ushort[header.Rows * header.Columns];
            JpegLsDecoder.Outcome outcome = JpegLsDecoder.Decode(content.Span, header.Rows, header.Columns, words, cancellation);
            return PictureRadiograph.Create(fileName, ImageSource.Jpeg, new Raster<ushort>(header.Rows, header.Columns, words), outcome.Precision, highIsShownDark: false, outcome.Near > 0, "JPEG-LS", remarks);
        }

        if (header.Components == 4)
        {
            throw new ImageFormatException("it is a picture in four printing colours; a radiograph is grey.");
        }

        string process = header.FrameMarker switch
        {
            0xC2 => "JPEG progressive",
            0xC3 => "JPEG lossless",
            0xC1 => "JPEG extended",
            _ => "JPEG baseline",
        };
        bool isLossy = header.FrameMarker != 0xC3;
        cancellation.ThrowIfCancellationRequested();
        if (header.Components == 1)
        {
            ushort[] words = JpegStream.DecodeGrey(content, header);
            return PictureRadiograph.Create(fileName, ImageSource.Jpeg, new Raster<ushort>(header.Rows, header.Columns, words), header.Precision, highIsShownDark: false, isLossy, $"{process}, {header.Precision}-bit grey", remarks);
        }

        if (header.Precision != 8)
        {
            throw new ImageFormatException("it is a picture in colour of more than 8 bits; a radiograph is grey.");
        }

        ushort[][] components = JpegStream.DecodeComponents(content, header);
        cancellation.ThrowIfCancellationRequested();
        Raster<ushort> pixels = new(header.Rows, header.Columns, components[0]);
        GreyFromColour colour = new(8, isJpeg: true);
        if (header.AdobeTransform == 0 || !isLossy)
        {
            ushort[] line = new ushort[3 * header.Columns];
            for (int row = 0; row < header.Rows; row++)
            {
                int start = row * header.Columns;
                for (int column = 0; column < header.Columns; column++)
                {
                    line[3 * column] = components[0][start + column];
                    line[(3 * column) + 1] = components[1][start + column];
                    line[(3 * column) + 2] = components[2][start + column];
                }

                colour.Convert(line, 3, pixels.Row(row));
            }
        }
        else
        {
            // Luma is the grey picture itself; chroma only tells whether there is colour.
            colour.CountChroma(components[1], components[2]);
        }

        colour.Finish(remarks);
        return PictureRadiograph.Create(fileName, ImageSource.Jpeg, pixels, 8, highIsShownDark: false, isLossy, $"{process}, 8-bit colour read as grey", remarks);
    }
}
