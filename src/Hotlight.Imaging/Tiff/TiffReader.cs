using System.Globalization;
using System.Runtime.InteropServices;
using BitMiracle.LibTiff.Classic;
using Hotlight.Core;
using LibTiff = BitMiracle.LibTiff.Classic.Tiff;

namespace Hotlight.Imaging.Tiff;

/// <summary>Reads TIFF files of 1 to 16 bits grey, in strips or tiles, by the BitMiracle.LibTiff.NET package; sizes are checked before it allocates.</summary>
internal static class TiffReader
{
    private static readonly object Silence = new();
    private static bool isSilent;

    public static bool LooksLikeTiff(ReadOnlySpan<byte> bytes)
        => bytes.StartsWith("II*\0"u8) || bytes.StartsWith("MM\0*"u8) || bytes.StartsWith("II+\0"u8) || bytes.StartsWith("MM\0+"u8);

    public static Radiograph Read(ReadOnlyMemory<byte> content, string fileName, CancellationToken cancellation)
    {
        TiffStructure.Check(content.Span);
        Quiet();
        using MemoryStream stream = MemoryMarshal.TryGetArray(content, out ArraySegment<byte> whole)
            ? new MemoryStream(whole.Array!, whole.Offset, whole.Count, writable: false)
            : new MemoryStream(content.ToArray(), writable: false);
        using LibTiff tiff = LibTiff.ClientOpen("image", "r", stream, new TiffStream()) ?? throw new ImageFormatException("it is a damaged TIFF picture.");
        Layout layout = ReadLayout(tiff);
        List<string> remarks = [];
        if (tiff.ReadDirectory())
        {
            tiff.SetDirectory(0);
            if (FieldOr(tiff, TiffTag.SUBFILETYPE, 0) != (int)FileType.REDUCEDIMAGE && HasOtherFullImage(tiff, layout))
            {
                throw new ImageFormatException("it is a TIFF file with several pictures; give one exposure a file.");
            }
        }

        tiff.SetDirectory(0);
        Raster<ushort> pixels = new(layout.Rows, layout.Columns);
        GreyFromColour? colour = layout.IsColour ? new GreyFromColour(layout.Bits, isJpeg: false) : null;
        if (tiff.IsTiled())
        {
            ReadTiles(tiff, layout, pixels, colour, cancellation);
        }
        else
        {
            ReadStrips(tiff, layout, pixels, colour, cancellation);
        }

        colour?.Finish(remarks);
        return PictureRadiograph.Create(fileName, ImageSource.Tiff, pixels, layout.Bits, layout.WhiteIsZero, isLossy: null,
            string.Create(CultureInfo.InvariantCulture, $"TIFF, {layout.Bits}-bit{(layout.IsColour ? " colour read as grey" : " grey")}"), remarks);
    }

    private static Layout ReadLayout(LibTiff tiff)
    {
        long rows = (uint)FieldOr(tiff, TiffTag.IMAGELENGTH, 0);
        long columns = (uint)FieldOr(tiff, TiffTag.IMAGEWIDTH, 0);
        ImageLimits.CheckSize(rows, columns);
        int bits = FieldOr(tiff, TiffTag.BITSPERSAMPLE, 1);
        int samples = FieldOr(tiff, TiffTag.SAMPLESPERPIXEL, 1);
        Photometric photometric = (Photometric)FieldOr(tiff, TiffTag.PHOTOMETRIC, (int)Photometric.MINISBLACK);
        SampleFormat format = (SampleFormat)FieldOr(tiff, TiffTag.SAMPLEFORMAT, (int)SampleFormat.UINT);
        Compression compression = (Compression)FieldOr(tiff, TiffTag.COMPRESSION, (int)Compression.NONE);
        if (compression is not (Compression.NONE or Compression.LZW or Compression.ADOBE_DEFLATE or Compression.DEFLATE or Compression.PACKBITS))
        {
            throw new ImageFormatException($"it is a TIFF picture compressed by {compression}; Hotlight reads uncompressed, LZW, deflate and PackBits.");
        }

        if (format != SampleFormat.UINT && format != SampleFormat.VOID)
        {
            throw new ImageFormatException("it is a TIFF picture with signed or floating-point pixels; Hotlight reads unsigned whole ones.");
        }

        if (FieldOr(tiff, TiffTag.ORIENTATION, 1) != 1)
        {
            throw new ImageFormatException("it is a TIFF picture stored turned or mirrored; save it upright.");
        }

        if ((PlanarConfig)FieldOr(tiff, TiffTag.PLANARCONFIG, (int)PlanarConfig.CONTIG) != PlanarConfig.CONTIG && samples > 1)
        {
            throw new ImageFormatException("it is a TIFF picture in separate colour planes; a radiograph is grey.");
        }

        bool isColour = photometric == Photometric.RGB && samples >= 3;
        bool isGrey = photometric is Photometric.MINISBLACK or Photometric.MINISWHITE;
        if (!isColour && !isGrey)
        {
            throw new ImageFormatException("it is a TIFF picture in colour; a radiograph is grey.");
        }

        if (bits is not (1 or 2 or 4 or 8 or 10 or 12 or 14 or 16) || (isColour && bits is not (8 or 16)) || samples > 8)
        {
            throw new ImageFormatException(string.Create(CultureInfo.InvariantCulture, $"it is a TIFF picture of {bits} bits and {samples} samples a pixel; Hotlight reads grey of 1 to 16 bits."));
        }

        return new Layout((int)rows, (int)columns, bits, samples, isColour, photometric == Photometric.MINISWHITE);
    }

    /// <summary>Whether a further directory holds a picture of its own, not a preview of the first.</summary>
    private static bool HasOtherFullImage(LibTiff tiff, Layout first)
    {
        for (short directory = 1; directory < 64 && tiff.SetDirectory(directory); directory++)
        {
            bool isReduced = (FieldOr(tiff, TiffTag.SUBFILETYPE, 0) & (int)FileType.REDUCEDIMAGE) != 0;
            if (!isReduced && (uint)FieldOr(tiff, TiffTag.IMAGELENGTH, 0) >= first.Rows && (uint)FieldOr(tiff, TiffTag.IMAGEWIDTH, 0) >= first.Columns)
            {
                return true;
            }
        }

        return false;
    }

    private static void ReadStrips(LibTiff tiff, Layout layout, Raster<ushort> pixels, GreyFromColour? colour, CancellationToken cancellation)
    {
        int lineBytes = tiff.ScanlineSize();
        int needed = (int)((((long)layout.Columns * layout.Samples * layout.Bits) + 7) / 8);
        if (lineBytes < needed)
        {
            throw new ImageFormatException("it is a damaged TIFF picture: its rows are too short.");
        }

        byte[] line = new byte[lineBytes];
        ushort[] samples = new ushort[layout.Columns * layout.Samples];
        for (int row = 0; row < layout.Rows; row++)
        {
            if ((row & 63) == 0)
            {
                cancellation.ThrowIfCancellationRequested();
            }

            if (!tiff.ReadScanline(line, row))
            {
                throw new ImageFormatException("it is a damaged TIFF picture: its pixel data ends early or cannot be decoded.");
            }

            Store(line, samples, layout, colour, pixels.Row(row));
        }
    }

    private static void ReadTiles(LibTiff tiff, Layout layout, Raster<ushort> pixels, GreyFromColour? colour, CancellationToken cancellation)
    {
        int tileColumns = FieldOr(tiff, TiffTag.TILEWIDTH, 0);
        int tileRows = FieldOr(tiff, TiffTag.TILELENGTH, 0);
        if (tileColumns is < 1 or > 65_536 || tileRows is < 1 or > 65_536 || (long)tileColumns * tileRows > ImageLimits.MaximumPixels)
        {
            throw new ImageFormatException("it is a damaged TIFF picture: its tiles make no sense.");
        }

        byte[] tile = new byte[tiff.TileSize()];
        int lineBytes = (int)((((long)tileColumns * layout.Samples * layout.Bits) + 7) / 8);
        if (tile.Length < (long)lineBytes * tileRows)
        {
            throw new ImageFormatException("it is a damaged TIFF picture: its tiles make no sense.");
        }

        ushort[] samples = new ushort[tileColumns * layout.Samples];
        ushort[] grey = new ushort[tileColumns];
        for (int top = 0; top < layout.Rows; top += tileRows)
        {
            for (int left = 0; left < layout.Columns; left += tileColumns)
            {
                cancellation.ThrowIfCancellationRequested();
                if (tiff.ReadTile(tile, 0, left, top, 0, 0) < 0)
                {
                    throw new ImageFormatException("it is a damaged TIFF picture: its pixel data ends early or cannot be decoded.");
                }

                int width = Math.Min(tileColumns, layout.Columns - left);
                for (int row = 0; row < Math.Min(tileRows, layout.Rows - top); row++)
                {
                    ReadOnlySpan<byte> line = tile.AsSpan(row * lineBytes, lineBytes);
                    Store(line, samples.AsSpan(0, width * layout.Samples), layout, colour, grey.AsSpan(0, width));
                    grey.AsSpan(0, width).CopyTo(pixels.Row(top + row)[left..]);
                }
            }
        }
    }

    private static void Store(ReadOnlySpan<byte> line, Span<ushort> samples, Layout layout, GreyFromColour? colour, Span<ushort> target)
    {
        Unpack(line, samples, layout.Bits);
        if (colour is not null)
        {
            colour.Convert(samples, layout.Samples, target);
        }
        else if (layout.Samples == 1)
        {
            samples.CopyTo(target);
        }
        else
        {
            for (int column = 0; column < target.Length; column++)
            {
                target[column] = samples[column * layout.Samples];
            }
        }
    }

    /// <summary>Samples of any depth; the library has put 16-bit ones into the machine's byte order, the others stand high bits first.</summary>
    private static void Unpack(ReadOnlySpan<byte> line, Span<ushort> samples, int bits)
    {
        switch (bits)
        {
            case 16:
                for (int i = 0; i < samples.Length; i++)
                {
                    samples[i] = BitConverter.ToUInt16(line[(2 * i)..]);
                }

                break;
            case 8:
                for (int i = 0; i < samples.Length; i++)
                {
                    samples[i] = line[i];
                }

                break;
            default:
                int mask = (1 << bits) - 1;
                int cache = 0;
                int valid = 0;
                int position = 0;
                for (int i = 0; i < samples.Length; i++)
                {
                    while (valid < bits)
                    {
                        cache = ((cache << 8) | line[position++]) & 0xFFFFFF;
                        valid += 8;
                    }

                    valid -= bits;
                    samples[i] = (ushort)((cache >> valid) & mask);
                }

                break;
        }
    }

    private static int FieldOr(LibTiff tiff, TiffTag tag, int otherwise)
        => tiff.GetField(tag) is { Length: > 0 } values ? values[0].ToInt() : otherwise;

    /// <summary>The library writes errors and warnings to the console unless it is given a handler; its handler is one for all.</summary>
    private static void Quiet()
    {
        lock (Silence)
        {
            if (!isSilent)
            {
                LibTiff.SetErrorHandler(new SilentHandler());
                isSilent = true;
            }
        }
    }

    private sealed record Layout(int Rows, int Columns, int Bits, int Samples, bool IsColour, bool WhiteIsZero);

    private sealed class SilentHandler : TiffErrorHandler
    {
        public override void ErrorHandler(LibTiff tif, string module, string fmt, params object[] ap)
        {
        }

        public override void ErrorHandlerExt(LibTiff tif, object clientData, string module, string fmt, params object[] ap)
        {
        }

        public override void WarningHandler(LibTiff tif, string module, string fmt, params object[] ap)
        {
        }

        public override void WarningHandlerExt(LibTiff tif, object clientData, string module, string fmt, params object[] ap)
        {
        }
    }
}
