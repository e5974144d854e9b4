using System.Buffers.Binary;
using System.IO.Compression;
using System.Text;

namespace Hotlight.Imaging.Dicom;

/// <summary>How a file's data set is written.</summary>
public enum DicomEncoding
{
    /// <summary>Explicit VR little endian, 1.2.840.10008.1.2.1.</summary>
    ExplicitLittleEndian,

    /// <summary>Implicit VR little endian, 1.2.840.10008.1.2.</summary>
    ImplicitLittleEndian,

    /// <summary>Explicit VR big endian (retired), 1.2.840.10008.1.2.2.</summary>
    ExplicitBigEndian,

    /// <summary>Deflated explicit VR little endian, 1.2.840.10008.1.2.1.99.</summary>
    Deflated,

    /// <summary>Explicit little endian with pixel data as the data set holds it, in fragments; the transfer syntax is given.</summary>
    Encapsulated,
}

/// <summary>Writes a data set as a DICOM file, PS3.10 chapter 7: preamble, file meta information, data set.</summary>
public static class DicomWriter
{
    /// <summary>Implementation Class UID (0002,0012): derived once from a random UUID, PS3.5 B.2.</summary>
    public const string ImplementationClassUid = "2.25.203487650021935642117985336104427719853";

    /// <summary>Writes a file.</summary>
    /// <param name="stream">Where to; stays open.</param>
    /// <param name="dataset">The data set, with SOP Class UID and SOP Instance UID, in little endian; borrowed.</param>
    /// <param name="encoding">How.</param>
    /// <param name="transferSyntaxUid">For <see cref="DicomEncoding.Encapsulated"/>: the transfer syntax of the fragments.</param>
    /// <exception cref="ArgumentException">The data set has no SOP Class UID or SOP Instance UID, or the transfer syntax is missing.</exception>
    public static void Write(Stream stream, DicomDataset dataset, DicomEncoding encoding = DicomEncoding.ExplicitLittleEndian, string? transferSyntaxUid = null)
    {
        ArgumentNullException.ThrowIfNull(stream);
        ArgumentNullException.ThrowIfNull(dataset);
        string sopClass = dataset.Text(Tags.SopClassUid) ?? throw new ArgumentException("The data set has no SOP Class UID.", nameof(dataset));
        string sopInstance = dataset.Text(Tags.SopInstanceUid) ?? throw new ArgumentException("The data set has no SOP Instance UID.", nameof(dataset));
        string syntax = encoding switch
        {
            DicomEncoding.ExplicitLittleEndian => TransferSyntax.ExplicitUid,
            DicomEncoding.ImplicitLittleEndian => TransferSyntax.ImplicitUid,
            DicomEncoding.ExplicitBigEndian => TransferSyntax.BigEndianUid,
            DicomEncoding.Deflated => TransferSyntax.DeflatedUid,
            _ => transferSyntaxUid ?? throw new ArgumentException("Encapsulated pixel data needs its transfer syntax.", nameof(transferSyntaxUid)),
        };

        WriteMeta(stream, sopClass, sopInstance, syntax);
        if (encoding == DicomEncoding.Deflated)
        {
            using MemoryStream deflated = new();
            using (DeflateStream deflater = new(deflated, CompressionLevel.Optimal, leaveOpen: true))
            {
                WriteElements(deflater, dataset, isExplicit: true, isBigEndian: false);
            }

            deflated.WriteTo(stream);
            if ((deflated.Length & 1) == 1)
            {
                stream.WriteByte(0);
            }
        }
        else
        {
            WriteElements(stream, dataset, encoding != DicomEncoding.ImplicitLittleEndian, encoding == DicomEncoding.ExplicitBigEndian);
        }
    }

    /// <summary>Writes a data set that was received in a transfer syntax as a file, byte for byte.</summary>
    /// <param name="stream">Where to; stays open.</param>
    /// <param name="sopClassUid">Its SOP class.</param>
    /// <param name="sopInstanceUid">Its SOP instance.</param>
    /// <param name="transferSyntaxUid">How the bytes are coded.</param>
    /// <param name="dataset">The bytes.</param>
    public static void WriteReceived(Stream stream, string sopClassUid, string sopInstanceUid, string transferSyntaxUid, ReadOnlySpan<byte> dataset)
    {
        ArgumentNullException.ThrowIfNull(stream);
        WriteMeta(stream, sopClassUid, sopInstanceUid, transferSyntaxUid);
        stream.Write(dataset);
    }

    private static void WriteMeta(Stream stream, string sopClass, string sopInstance, string syntax)
    {
        DicomDataset meta = new DicomDataset()
            .Set(DicomElement.OfValue(Tags.FileMetaInformationVersion, "OB", new byte[] { 0, 1 }))
            .SetText(Tags.MediaStorageSopClassUid, "UI", sopClass)
            .SetText(Tags.MediaStorageSopInstanceUid, "UI", sopInstance)
            .SetText(Tags.TransferSyntaxUid, "UI", syntax)
            .SetText(Tags.ImplementationClassUid, "UI", ImplementationClassUid)
            .SetText(Tags.ImplementationVersionName, "SH", "HOTLIGHT");
        using MemoryStream metaBytes = new();
        WriteElements(metaBytes, meta, isExplicit: true, isBigEndian: false);

        stream.Write(new byte[128]);
        stream.Write("DICM"u8);
        WriteElements(stream, new DicomDataset().SetNumbers(Tags.FileMetaInformationGroupLength, "UL", metaBytes.Length), isExplicit: true, isBigEndian: false);
        metaBytes.WriteTo(stream);
    }

    private static void WriteElements(Stream stream, DicomDataset dataset, bool isExplicit, bool isBigEndian)
    {
        foreach (DicomElement element in dataset.Elements)
        {
            if (element.Items is { } items)
            {
                WriteHeader(stream, element.Tag, "SQ", 0xFFFFFFFF, isExplicit, isBigEndian);
                foreach (DicomDataset item in items)
                {
                    WriteMark(stream, Tags.Item, 0xFFFFFFFF, isBigEndian);
                    WriteElements(stream, item, isExplicit, isBigEndian);
                    WriteMark(stream, Tags.ItemDelimitation, 0, isBigEndian);
                }

                WriteMark(stream, Tags.SequenceDelimitation, 0, isBigEndian);
            }
            else if (element.Fragments is { } fragments)
            {
                WriteHeader(stream, element.Tag, "OB", 0xFFFFFFFF, isExplicit, isBigEndian);
                foreach (ReadOnlyMemory<byte> fragment in fragments)
                {
                    WriteMark(stream, Tags.Item, (uint)(fragment.Length + (fragment.Length & 1)), isBigEndian);
                    stream.Write(fragment.Span);
                    if ((fragment.Length & 1) == 1)
                    {
                        stream.WriteByte(0);
                    }
                }

                WriteMark(stream, Tags.SequenceDelimitation, 0, isBigEndian);
            }
            else
            {
                int padding = element.Value.Length & 1;
                WriteHeader(stream, element.Tag, element.Vr, (uint)(element.Value.Length + padding), isExplicit, isBigEndian);
                if (isBigEndian != element.IsBigEndian && NumberSize(element.Vr) is > 1 and int size)
                {
                    byte[] swapped = element.Value.ToArray();
                    for (int i = 0; i + size <= swapped.Length; i += size)
                    {
                        swapped.AsSpan(i, size).Reverse();
                    }

                    stream.Write(swapped);
                }
                else
                {
                    stream.Write(element.Value.Span);
                }

                if (padding == 1)
                {
                    stream.WriteByte(0);
                }
            }
        }
    }

    private static void WriteHeader(Stream stream, DicomTag tag, string vr, uint length, bool isExplicit, bool isBigEndian)
    {
        Span<byte> header = stackalloc byte[12];
        WriteTag(header, tag, isBigEndian);
        int size = 8;
        if (!isExplicit)
        {
            WriteUInt32(header[4..], length, isBigEndian);
        }
        else
        {
            Encoding.ASCII.GetBytes(vr, header[4..]);
            if (vr is "OB" or "OW" or "OF" or "OD" or "OL" or "OV" or "SQ" or "UC" or "UR" or "UT" or "UN" or "SV" or "UV")
            {
                header[6..8].Clear();
                WriteUInt32(header[8..], length, isBigEndian);
                size = 12;
            }
            else if (length > ushort.MaxValue)
            {
                throw new ArgumentException($"The value of {tag} is {length} bytes long; one of {vr} has at most {ushort.MaxValue}.");
            }
            else if (isBigEndian)
            {
                BinaryPrimitives.WriteUInt16BigEndian(header[6..], (ushort)length);
            }
            else
            {
                BinaryPrimitives.WriteUInt16LittleEndian(header[6..], (ushort)length);
            }
        }

        stream.Write(header[..size]);
    }

    private static void WriteMark(Stream stream, DicomTag tag, uint length, bool isBigEndian)
    {
        Span<byte> header = stackalloc byte[8];
        WriteTag(header, tag, isBigEndian);
        WriteUInt32(header[4..], length, isBigEndian);
        stream.Write(header);
    }

    private static void WriteTag(Span<byte> place, DicomTag tag, bool isBigEndian)
    {
        if (isBigEndian)
        {
            BinaryPrimitives.WriteUInt16BigEndian(place, tag.Group);
            BinaryPrimitives.WriteUInt16BigEndian(place[2..], tag.Element);
        }
        else
        {
            BinaryPrimitives.WriteUInt16LittleEndian(place, tag.Group);
            BinaryPrimitives.WriteUInt16LittleEndian(place[2..], tag.Element);
        }
    }

    private static void WriteUInt32(Span<byte> place, uint value, bool isBigEndian)
    {
        if (isBigEndian)
        {
            BinaryPrimitives.WriteUInt32BigEndian(place, value);
        }
        else
        {
            BinaryPrimitives.WriteUInt32LittleEndian(place, value);
        }
    }

    private static int NumberSize(string vr) => vr switch
    {
        "US" or "SS" or "OW" or "AT" => 2,
        "UL" or "SL" or "FL" or "OF" or "OL" => 4,
        "FD" or "OD" or "SV" or "UV" or "OV" => 8,
        _ => 1,
    };
}
