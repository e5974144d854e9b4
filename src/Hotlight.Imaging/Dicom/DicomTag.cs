namespace Hotlight.Imaging.Dicom;

/// <summary>The tag of a DICOM attribute, group and element; sorted as a data set is.</summary>
/// <param name="Group">Group number.</param>
/// <param name="Element">Element number.</param>
public readonly record struct DicomTag(ushort Group, ushort Element) : IComparable<DicomTag>
{
    /// <summary>A tag from one number, such as <c>0x00280010</c> for Rows.</summary>
    /// <param name="number">Group in the upper 16 bits, element in the lower.</param>
    public static implicit operator DicomTag(uint number) => new((ushort)(number >> 16), (ushort)number);

    /// <summary>Group in the upper 16 bits, element in the lower.</summary>
    public uint Number => ((uint)Group << 16) | Element;

    /// <inheritdoc/>
    public int CompareTo(DicomTag other) => Number.CompareTo(other.Number);

    /// <summary>Whether one tag comes before another in a data set.</summary>
    public static bool operator <(DicomTag left, DicomTag right) => left.Number < right.Number;

    /// <summary>Whether one tag comes after another in a data set.</summary>
    public static bool operator >(DicomTag left, DicomTag right) => left.Number > right.Number;

    /// <summary>Whether one tag comes before another in a data set, or is the same.</summary>
    public static bool operator <=(DicomTag left, DicomTag right) => left.Number <= right.Number;

    /// <summary>Whether one tag comes after another in a data set, or is the same.</summary>
    public static bool operator >=(DicomTag left, DicomTag right) => left.Number >= right.Number;

    /// <summary>The tag as the standard prints it: (gggg,eeee).</summary>
    public override string ToString() => $"({Group:X4},{Element:X4})";
}
