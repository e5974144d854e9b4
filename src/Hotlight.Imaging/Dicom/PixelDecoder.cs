using System.Buffers.Binary;
using System.Globalization;
using System.Runtime.InteropServices;
using Hotlight.Core;
using Hotlight.Imaging.Jpeg;

namespace Hotlight.Imaging.Dicom;

/// <summary>Decodes Pixel Data (7FE0,0010) of one frame into stored values, whatever kind of object it is in.</summary>
internal static class PixelDecoder
{
    /// <summary>Decodes the first frame.</summary>
    public static StoredImage Decode(DicomFile file, CancellationToken cancellation)
    {
        DicomDataset dataset = file.Dataset;
        DicomElement pixelData = dataset.Find(Tags.PixelData) ?? throw new ImageFormatException("it holds no pixel data.");
        int rows = dataset.Integer(Tags.Rows) ?? throw new ImageFormatException("it does not say how many rows it has.");
        int columns = dataset.Integer(Tags.Columns) ?? throw new ImageFormatException("it does not say how many columns it has.");
        ImageLimits.CheckSize(rows, columns);
        int bitsAllocated = dataset.Integer(Tags.BitsAllocated) ?? throw new ImageFormatException("it does not say how many bits a pixel has.");
        int bitsStored = dataset.Integer(Tags.BitsStored) ?? bitsAllocated;
        int highBit = dataset.Integer(Tags.HighBit) ?? bitsStored - 1;
        int samples = dataset.Integer(Tags.SamplesPerPixel) ?? 1;
        bool isSigned = dataset.Integer(Tags.PixelRepresentation) == 1;
        if (bitsAllocated is not (8 or 16))
        {
            throw new ImageFormatException(string.Create(CultureInfo.InvariantCulture, $"its pixels have {bitsAllocated} bits allocated; Hotlight reads 8 and 16."));
        }

        if (bitsStored < 1 || bitsStored > bitsAllocated || highBit < bitsStored - 1 || highBit >= bitsAllocated)
        {
            throw new ImageFormatException(string.Create(CultureInfo.InvariantCulture, $"its pixel layout makes no sense: {bitsStored} bits stored up to bit {highBit} in {bitsAllocated} bits allocated."));
        }

        List<string> remarks = [];
        PixelLayout layout = new(rows, columns, bitsAllocated, bitsStored, highBit, samples, isSigned);
        TransferSyntax syntax = file.Syntax;
        if (syntax.IsEncapsulated && pixelData.Fragments is null && pixelData.Value.Length == layout.NativeBytes + (layout.NativeBytes & 1))
        {
            remarks.Add($"The file says its pixels are {syntax.Name}, but they are not compressed.");
            syntax = TransferSyntax.Explicit;
        }

        if (samples != 1)
        {
            return DecodeColour(dataset, pixelData, layout, syntax, remarks);
        }

        string? photometric = dataset.Text(Tags.PhotometricInterpretation);
        if (photometric is null)
        {
            remarks.Add("The file does not say whether its highest value is white or black; white was taken.");
        }
        else if (photometric is not ("MONOCHROME1" or "MONOCHROME2"))
        {
            throw new ImageFormatException($"it is a colour image ({photometric}); a radiograph is grey.");
        }

        ushort[] raw;
        bool? isLossy = null;
        string encoding = syntax.Name;
        if (!syntax.IsEncapsulated)
        {
            if (pixelData.Fragments is not null)
            {
                throw new ImageFormatException($"its pixel data is compressed, but the file says it is {syntax.Name}.");
            }

            bool swapWords = file.Syntax.Uid == TransferSyntax.ImplicitWithBigEndianPixelsUid;
            raw = ReadNative(pixelData, layout, pixelData.IsBigEndian || swapWords, remarks);
        }
        else
        {
            ReadOnlyMemory<byte> frame = JoinFragments(pixelData, syntax);
            switch (syntax.Coding)
            {
                case PixelCoding.Rle:
                    raw = RleDecoder.Decode(frame.Span, layout, cancellation);
                    break;
                case PixelCoding.JpegBaseline or PixelCoding.JpegExtended or PixelCoding.JpegLossless or PixelCoding.JpegLs or PixelCoding.Jpeg2000:
                    (raw, encoding, isLossy) = DecodeByContent(frame, layout, syntax, remarks, cancellation);
                    break;
                default:
                    throw new ImageFormatException($"its pixel data is coded by {syntax.Name}, which Hotlight does not read.");
            }
        }

        return Finish(dataset, layout, raw, encoding, isLossy, remarks);
    }

    /// <summary>A secondary capture stored as colour: read as grey when it is grey, by the rule for pictures.</summary>
    private static StoredImage DecodeColour(DicomDataset dataset, DicomElement pixelData, PixelLayout layout, TransferSyntax syntax, List<string> remarks)
    {
        string photometric = dataset.Text(Tags.PhotometricInterpretation) ?? "";
        bool isJpeg = syntax.Coding is PixelCoding.JpegBaseline or PixelCoding.JpegExtended;
        bool isLuma = photometric.StartsWith("YBR_FULL", StringComparison.Ordinal);
        if (layout.Samples != 3 || layout.BitsAllocated != 8 || layout.BitsStored != 8 || !(isLuma || photometric == "RGB")
            || !(isJpeg || (!syntax.IsEncapsulated && photometric != "YBR_FULL_422")))
        {
            throw new ImageFormatException(string.Create(CultureInfo.InvariantCulture, $"it is a colour image ({photometric}, {layout.Samples} samples a pixel, {syntax.Name}); a radiograph is grey."));
        }

        int count = layout.Rows * layout.Columns;
        ushort[][] planes;
        if (isJpeg)
        {
            ReadOnlyMemory<byte> frame = JoinFragments(pixelData, syntax);
            JpegHeader header = JpegHeader.Read(frame.Span);
            if (header.Rows != layout.Rows || header.Columns != layout.Columns || header.Components != 3 || header.Precision != 8)
            {
                throw new ImageFormatException("its JPEG stream contradicts what the file says of its size and colours.");
            }

            planes = JpegStream.DecodeComponents(frame, header);
        }
        else
        {
            ReadOnlySpan<byte> bytes = pixelData.Value.Span;
            if (pixelData.Fragments is not null || bytes.Length < layout.NativeBytes)
            {
                throw new ImageFormatException(string.Create(CultureInfo.InvariantCulture, $"its pixel data ends early: {bytes.Length} bytes of {layout.NativeBytes}."));
            }

            bool isPlanar = dataset.Integer(Tags.PlanarConfiguration) == 1;
            int swap = pixelData.IsBigEndian && pixelData.Vr == "OW" ? 1 : 0;
            planes = [new ushort[count], new ushort[count], new ushort[count]];
            for (int sample = 0; sample < 3; sample++)
            {
                for (int i = 0; i < count; i++)
                {
                    int place = isPlanar ? (sample * count) + i : (3 * i) + sample;
                    planes[sample][i] = bytes[Math.Min(place ^ swap, bytes.Length - 1)];
                }
            }
        }

        Raster<ushort> pixels = new(layout.Rows, layout.Columns, planes[0]);
        GreyFromColour colour = new(8, isJpeg);
        if (isLuma)
        {
            colour.CountChroma(planes[1], planes[2]);
        }
        else
        {
            ushort[] line = new ushort[3 * layout.Columns];
            for (int row = 0; row < layout.Rows; row++)
            {
                for (int column = 0; column < layout.Columns; column++)
                {
                    int place = (row * layout.Columns) + column;
                    line[3 * column] = planes[0][place];
                    line[(3 * column) + 1] = planes[1][place];
                    line[(3 * column) + 2] = planes[2][place];
                }

                colour.Convert(line, 3, pixels.Row(row));
            }
        }

        colour.Finish(remarks);
        return new StoredImage(pixels, 0, 8, new Dictionary<int, Raster<byte>>(), syntax.Name, isJpeg ? true : null, remarks);
    }

    /// <summary>Splits words into pixels and embedded overlays; in place where the pixel is the whole word.</summary>
    private static StoredImage Finish(DicomDataset dataset, PixelLayout layout, ushort[] raw, string encoding, bool? isLossy, List<string> remarks)
    {
        Dictionary<int, Raster<byte>> overlays = [];
        if (layout.BitsAllocated == 16)
        {
            for (ushort group = 0x6000; group <= 0x601E; group += 2)
            {
                if (!dataset.Contains(new DicomTag(group, 0x3000)) && dataset.Integer(new DicomTag(group, 0x0102)) is int bit and >= 0 and < 16
                    && dataset.Integer(new DicomTag(group, 0x0100)) == 16 && (bit > layout.HighBit || bit <= layout.HighBit - layout.BitsStored))
                {
                    Raster<byte> bits = new(layout.Rows, layout.Columns);
                    Span<byte> places = bits.Samples;
                    for (int i = 0; i < places.Length; i++)
                    {
                        places[i] = (byte)((raw[i] >> bit) & 1);
                    }

                    overlays[group] = bits;
                }
            }
        }

        int shift = layout.HighBit - layout.BitsStored + 1;
        int mask = (1 << layout.BitsStored) - 1;
        int flip = layout.IsSigned ? 1 << (layout.BitsStored - 1) : 0;
        if (shift != 0 || flip != 0 || layout.BitsStored < 16)
        {
            Span<ushort> words = raw.AsSpan(0, layout.Rows * layout.Columns);
            for (int i = 0; i < words.Length; i++)
            {
                words[i] = (ushort)(((words[i] >> shift) & mask) ^ flip);
            }
        }

        return new StoredImage(new Raster<ushort>(layout.Rows, layout.Columns, raw), -flip, layout.BitsStored, overlays, encoding, isLossy, remarks);
    }

    /// <summary>Decodes by what the stream says it is: the transfer syntax is wrong often enough, the stream's own marker never.</summary>
    private static (ushort[] Words, string Encoding, bool? IsLossy) DecodeByContent(ReadOnlyMemory<byte> frame, PixelLayout layout, TransferSyntax syntax, List<string> remarks, CancellationToken cancellation)
    {
        ReadOnlySpan<byte> stream = frame.Span;
        if (Jpeg2000.LooksLikeJpeg2000(stream))
        {
            if (syntax.Coding != PixelCoding.Jpeg2000)
            {
                remarks.Add($"The file says its pixels are {syntax.Name}, but they are JPEG 2000.");
            }

            Jpeg2000Outcome outcome = Jpeg2000.Decode(frame, layout.Rows, layout.Columns, cancellation);
            CheckPrecision(outcome.Precision, layout, remarks);
            return (outcome.Words, outcome.IsReversible ? "JPEG 2000 lossless" : "JPEG 2000", outcome.IsReversible ? null : true);
        }

        JpegHeader header = JpegHeader.Read(stream);
        if (header.Rows != layout.Rows || header.Columns != layout.Columns)
        {
            throw new ImageFormatException(string.Create(CultureInfo.InvariantCulture, $"its JPEG stream has {header.Rows} rows and {header.Columns} columns, the file says {layout.Rows} and {layout.Columns}."));
        }

        if (header.Components != 1)
        {
            throw new ImageFormatException("its JPEG stream is in colour, though the file says it is grey.");
        }

        (PixelCoding coding, string name) = header.FrameMarker switch
        {
            0xF7 => (PixelCoding.JpegLs, "JPEG-LS"),
            0xC3 => (PixelCoding.JpegLossless, "JPEG lossless"),
            0xC0 => (PixelCoding.JpegBaseline, "JPEG baseline"),
            _ => (PixelCoding.JpegExtended, "JPEG extended"),
        };
        if (coding != syntax.Coding && !(coding == PixelCoding.JpegBaseline && syntax.Coding == PixelCoding.JpegExtended))
        {
            remarks.Add($"The file says its pixels are {syntax.Name}, but they are {name}.");
        }

        CheckPrecision(header.Precision, layout, remarks);
        if (coding == PixelCoding.JpegLs)
        {
            ushort[] words = GC.AllocateUninitializedArray<ushort>(layout.Rows * layout.Columns);
            JpegLsDecoder.Outcome outcome = JpegLsDecoder.Decode(stream, layout.Rows, layout.Columns, words, cancellation);
            return outcome.Near == 0
                ? (words, "JPEG-LS lossless", null)
                : (words, string.Create(CultureInfo.InvariantCulture, $"JPEG-LS near-lossless (each pixel within {outcome.Near})"), true);
        }

        cancellation.ThrowIfCancellationRequested();
        return (JpegStream.DecodeGrey(frame, header), name, coding == PixelCoding.JpegLossless ? null : true);
    }

    private static void CheckPrecision(int precision, PixelLayout layout, List<string> remarks)
    {
        if (precision > layout.BitsAllocated)
        {
            throw new ImageFormatException(string.Create(CultureInfo.InvariantCulture, $"its compressed pixels have {precision} bits, the file says at most {layout.BitsAllocated}."));
        }

        if (precision < layout.BitsStored)
        {
            remarks.Add(string.Create(CultureInfo.InvariantCulture, $"The compressed pixels have {precision} bits, the file says {layout.BitsStored}."));
        }
    }

    /// <summary>The fragments of the one frame, joined; the first is the offset table.</summary>
    private static ReadOnlyMemory<byte> JoinFragments(DicomElement element, TransferSyntax syntax)
    {
        if (element.Fragments is not { } fragments)
        {
            throw new ImageFormatException($"the file says its pixels are {syntax.Name}, but they are not in fragments.");
        }

        if (element.IsCut)
        {
            throw new ImageFormatException("its compressed pixel data ends early.");
        }

        if (fragments.Count < 2)
        {
            throw new ImageFormatException("its compressed pixel data is empty.");
        }

        if (fragments.Count == 2)
        {
            return fragments[1];
        }

        byte[] joined = new byte[fragments.Skip(1).Sum(fragment => (long)fragment.Length)];
        int position = 0;
        foreach (ReadOnlyMemory<byte> fragment in fragments.Skip(1))
        {
            fragment.CopyTo(joined.AsMemory(position));
            position += fragment.Length;
        }

        return joined;
    }

    private static ushort[] ReadNative(DicomElement element, PixelLayout layout, bool isBigEndian, List<string> remarks)
    {
        ReadOnlySpan<byte> bytes = element.Value.Span;
        if (bytes.Length < layout.NativeBytes)
        {
            // Half a picture must not be judged as a whole one, so nothing is filled in.
            throw new ImageFormatException(string.Create(CultureInfo.InvariantCulture, $"its pixel data ends early: {bytes.Length} bytes of {layout.NativeBytes}."));
        }

        if (element.IsCut)
        {
            remarks.Add("The file ends before its pixel data says it does, but the image is whole.");
        }

        int count = layout.Rows * layout.Columns;
        ushort[] raw = GC.AllocateUninitializedArray<ushort>(count);
        if (layout.BitsAllocated == 16)
        {
            MemoryMarshal.Cast<byte, ushort>(bytes[..(count * 2)]).CopyTo(raw);
            if (isBigEndian == BitConverter.IsLittleEndian)
            {
                BinaryPrimitives.ReverseEndianness(raw, raw);
            }
        }
        else
        {
            // Bytes in big endian words stand in pairs, high byte first (PS3.5 A.3 with OW).
            int swap = isBigEndian && element.Vr == "OW" ? 1 : 0;
            for (int i = 0; i < raw.Length; i++)
            {
                raw[i] = bytes[Math.Min(i ^ swap, bytes.Length - 1)];
            }
        }

        return raw;
    }
}

/// <summary>How a pixel sits in its words, PS3.5 chapter 8.</summary>
internal sealed record PixelLayout(int Rows, int Columns, int BitsAllocated, int BitsStored, int HighBit, int Samples, bool IsSigned)
{
    /// <summary>Bytes of one uncompressed frame.</summary>
    public long NativeBytes => (long)Rows * Columns * Samples * (BitsAllocated / 8);
}
