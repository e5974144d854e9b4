namespace Hotlight.Imaging;

/// <summary>Names a file that is no image Hotlight reads, so that the refusal says what it is.</summary>
internal static class ContentKind
{
    public static string? Describe(ReadOnlySpan<byte> bytes)
    {
        if (bytes.StartsWith("GIF8"u8))
        {
            return "a GIF picture";
        }

        if (bytes.StartsWith("BM"u8) && bytes.Length > 14 && bytes[6..10].IndexOfAnyExcept((byte)0) < 0)
        {
            return "a BMP picture";
        }

        if (bytes.StartsWith("%PDF"u8))
        {
            return "a PDF document";
        }

        if (bytes.StartsWith("PK\u0003\u0004"u8))
        {
            return "a ZIP archive";
        }

        if (bytes.Length >= 12 && bytes.StartsWith("RIFF"u8) && bytes.Slice(8, 4).SequenceEqual("WEBP"u8))
        {
            return "a WebP picture";
        }

        if (bytes.Length >= 12 && (bytes.Slice(4, 4).SequenceEqual("jP  "u8) || bytes.StartsWith((ReadOnlySpan<byte>)[0xFF, 0x4F, 0xFF, 0x51])))
        {
            return "a JPEG 2000 picture outside DICOM";
        }

        ReadOnlySpan<byte> head = bytes[..Math.Min(bytes.Length, 4096)];
        if (head.IndexOf((byte)0) >= 0)
        {
            return null;
        }

        int controls = 0;
        foreach (byte value in head)
        {
            if (value < 0x20 && value is not ((byte)'\t' or (byte)'\n' or (byte)'\r' or (byte)'\f'))
            {
                controls++;
            }
        }

        return controls * 50 <= head.Length ? "a text file" : null;
    }
}
