namespace Hotlight.Imaging.Dicom;

/// <summary>How pixel data is coded.</summary>
internal enum PixelCoding
{
    Native,
    Rle,
    JpegBaseline,
    JpegExtended,
    JpegLossless,
    JpegLs,
    Jpeg2000,
    Unsupported,
}

/// <summary>A transfer syntax, PS3.5 chapter 10 and annex A.</summary>
/// <param name="Uid">Its unique identifier.</param>
/// <param name="Name">Its name for the reader.</param>
/// <param name="Coding">How pixel data is coded.</param>
/// <param name="IsExplicit">Whether value representations are spelled out.</param>
/// <param name="IsBigEndian">Whether numbers have their high byte first.</param>
/// <param name="IsDeflated">Whether the data set is deflated as a whole.</param>
internal sealed record TransferSyntax(string Uid, string Name, PixelCoding Coding, bool IsExplicit = true, bool IsBigEndian = false, bool IsDeflated = false)
{
    public const string ImplicitUid = "1.2.840.10008.1.2";
    public const string ExplicitUid = "1.2.840.10008.1.2.1";
    public const string DeflatedUid = "1.2.840.10008.1.2.1.99";
    public const string BigEndianUid = "1.2.840.10008.1.2.2";
    public const string RleUid = "1.2.840.10008.1.2.5";

    /// <summary>A private syntax of one maker: an implicit little endian data set whose 16-bit pixels have their high byte first.</summary>
    public const string ImplicitWithBigEndianPixelsUid = "1.2.840.113619.5.2";

    public static TransferSyntax Implicit { get; } = new(ImplicitUid, "uncompressed, implicit little endian", PixelCoding.Native, IsExplicit: false);

    public static TransferSyntax Explicit { get; } = new(ExplicitUid, "uncompressed, explicit little endian", PixelCoding.Native);

    public static TransferSyntax BigEndian { get; } = new(BigEndianUid, "uncompressed, explicit big endian", PixelCoding.Native, IsBigEndian: true);

    public bool IsEncapsulated => Coding != PixelCoding.Native;

    public static TransferSyntax Of(string uid) => uid switch
    {
        ImplicitUid => Implicit,
        ExplicitUid => Explicit,
        BigEndianUid => BigEndian,
        DeflatedUid => new(uid, "deflated", PixelCoding.Native, IsDeflated: true),
        ImplicitWithBigEndianPixelsUid => new(uid, "uncompressed, implicit little endian with big endian pixels", PixelCoding.Native, IsExplicit: false),
        RleUid => new(uid, "RLE lossless", PixelCoding.Rle),
        "1.2.840.10008.1.2.4.50" => new(uid, "JPEG baseline", PixelCoding.JpegBaseline),
        "1.2.840.10008.1.2.4.51" => new(uid, "JPEG extended", PixelCoding.JpegExtended),
        "1.2.840.10008.1.2.4.57" or "1.2.840.10008.1.2.4.70" => new(uid, "JPEG lossless", PixelCoding.JpegLossless),
        "1.2.840.10008.1.2.4.80" => new(uid, "JPEG-LS lossless", PixelCoding.JpegLs),
        "1.2.840.10008.1.2.4.81" => new(uid, "JPEG-LS near-lossless", PixelCoding.JpegLs),
        "1.2.840.10008.1.2.4.90" => new(uid, "JPEG 2000 lossless", PixelCoding.Jpeg2000),
        "1.2.840.10008.1.2.4.91" => new(uid, "JPEG 2000", PixelCoding.Jpeg2000),
        _ => new(uid, uid, PixelCoding.Unsupported),
    };
}
