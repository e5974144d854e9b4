namespace Hotlight.Imaging.Dicom;

/// <summary>One attribute of a data set: a value, or items, or fragments of encapsulated pixel data. Immutable.</summary>
public sealed class DicomElement
{
    private DicomElement(DicomTag tag, string vr, ReadOnlyMemory<byte> value, bool isBigEndian, IReadOnlyList<DicomDataset>? items, IReadOnlyList<ReadOnlyMemory<byte>>? fragments, bool isCut)
    {
        Tag = tag;
        Vr = vr;
        Value = value;
        IsBigEndian = isBigEndian;
        Items = items;
        Fragments = fragments;
        IsCut = isCut;
    }

    /// <summary>The attribute's tag.</summary>
    public DicomTag Tag { get; }

    /// <summary>Value representation, two letters.</summary>
    public string Vr { get; }

    /// <summary>The value's bytes as they stand in the file (borrowed); empty for a sequence and for encapsulated pixel data.</summary>
    public ReadOnlyMemory<byte> Value { get; }

    /// <summary>Whether numbers in <see cref="Value"/> have their high byte first.</summary>
    public bool IsBigEndian { get; }

    /// <summary>Items of a sequence; null for anything else.</summary>
    public IReadOnlyList<DicomDataset>? Items { get; }

    /// <summary>Fragments of encapsulated pixel data, the first being the offset table (PS3.5 A.4); null for anything else.</summary>
    public IReadOnlyList<ReadOnlyMemory<byte>>? Fragments { get; }

    /// <summary>Whether the file ended before the value did.</summary>
    public bool IsCut { get; }

    /// <summary>An attribute with a value.</summary>
    /// <param name="tag">Its tag.</param>
    /// <param name="vr">Its value representation.</param>
    /// <param name="value">The bytes; borrowed.</param>
    /// <param name="isBigEndian">Whether numbers have their high byte first.</param>
    /// <param name="isCut">Whether the file ended before the value did.</param>
    public static DicomElement OfValue(DicomTag tag, string vr, ReadOnlyMemory<byte> value, bool isBigEndian = false, bool isCut = false)
        => new(tag, vr, value, isBigEndian, null, null, isCut);

    /// <summary>A sequence.</summary>
    /// <param name="tag">Its tag.</param>
    /// <param name="items">Its items.</param>
    public static DicomElement OfItems(DicomTag tag, IReadOnlyList<DicomDataset> items) => new(tag, "SQ", default, false, items, null, false);

    /// <summary>Encapsulated pixel data.</summary>
    /// <param name="tag">Its tag.</param>
    /// <param name="fragments">Fragments, the first being the offset table.</param>
    /// <param name="isCut">Whether the file ended before the sequence did.</param>
    public static DicomElement OfFragments(DicomTag tag, IReadOnlyList<ReadOnlyMemory<byte>> fragments, bool isCut = false)
        => new(tag, "OB", default, false, null, fragments, isCut);
}
