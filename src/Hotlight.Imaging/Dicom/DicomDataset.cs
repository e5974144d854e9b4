using System.Buffers.Binary;
using System.Globalization;
using System.Text;

namespace Hotlight.Imaging.Dicom;

/// <summary>A DICOM data set: attributes by tag, in the order of their tags.</summary>
/// <remarks>The getters return null where an attribute is absent, empty, or holds something that is no value of the kind asked for; they never throw.</remarks>
public sealed class DicomDataset
{
    private readonly SortedDictionary<DicomTag, DicomElement> elements = [];
    private string[]? characterSets;

    /// <summary>All attributes, sorted by tag.</summary>
    public IReadOnlyCollection<DicomElement> Elements => elements.Values;

    /// <summary>Whether an attribute is there, empty or not.</summary>
    /// <param name="tag">Its tag.</param>
    public bool Contains(DicomTag tag) => elements.ContainsKey(tag);

    /// <summary>An attribute, or null.</summary>
    /// <param name="tag">Its tag.</param>
    public DicomElement? Find(DicomTag tag) => elements.GetValueOrDefault(tag);

    /// <summary>Adds an attribute, or replaces the one with its tag.</summary>
    /// <param name="element">The attribute.</param>
    public DicomDataset Set(DicomElement element)
    {
        ArgumentNullException.ThrowIfNull(element);
        elements[element.Tag] = element;
        if (element.Tag == Tags.SpecificCharacterSet)
        {
            characterSets = null;
        }

        return this;
    }

    /// <summary>Adds an attribute only where its tag is not there yet: of two attributes with one tag the first counts.</summary>
    internal void SetFirst(DicomElement element) => elements.TryAdd(element.Tag, element);

    /// <summary>Removes an attribute.</summary>
    /// <param name="tag">Its tag.</param>
    public DicomDataset Remove(DicomTag tag)
    {
        elements.Remove(tag);
        return this;
    }

    /// <summary>Sets a text attribute (CS, LO, SH, UI, DA, TM, PN, …), encoded as UTF-8 and padded to an even length.</summary>
    /// <param name="tag">Its tag.</param>
    /// <param name="vr">Its value representation.</param>
    /// <param name="values">Its values, joined by a backslash; none makes it empty.</param>
    public DicomDataset SetText(DicomTag tag, string vr, params string[] values)
    {
        byte[] bytes = Encoding.UTF8.GetBytes(string.Join('\\', values));
        if ((bytes.Length & 1) == 1)
        {
            Array.Resize(ref bytes, bytes.Length + 1);
            bytes[^1] = vr == "UI" ? (byte)0 : (byte)' ';
        }

        return Set(DicomElement.OfValue(tag, vr, bytes));
    }

    /// <summary>Sets a decimal attribute: DS (at most 16 characters a value), IS, FD, FL, US, SS, UL or SL.</summary>
    /// <param name="tag">Its tag.</param>
    /// <param name="vr">Its value representation.</param>
    /// <param name="values">Its values; none makes it empty.</param>
    /// <exception cref="ArgumentException">The value representation does not hold numbers.</exception>
    public DicomDataset SetNumbers(DicomTag tag, string vr, params double[] values)
    {
        switch (vr)
        {
            case "DS":
                return SetText(tag, vr, [.. values.Select(DecimalString)]);
            case "IS":
                return SetText(tag, vr, [.. values.Select(value => ((long)Math.Round(value)).ToString(CultureInfo.InvariantCulture))]);
        }

        int size = vr switch
        {
            "US" or "SS" => 2,
            "UL" or "SL" or "FL" => 4,
            "FD" => 8,
            _ => throw new ArgumentException($"'{vr}' does not hold numbers.", nameof(vr)),
        };
        byte[] bytes = new byte[size * values.Length];
        for (int i = 0; i < values.Length; i++)
        {
            Span<byte> place = bytes.AsSpan(i * size);
            switch (vr)
            {
                case "US": BinaryPrimitives.WriteUInt16LittleEndian(place, checked((ushort)values[i])); break;
                case "SS": BinaryPrimitives.WriteInt16LittleEndian(place, checked((short)values[i])); break;
                case "UL": BinaryPrimitives.WriteUInt32LittleEndian(place, checked((uint)values[i])); break;
                case "SL": BinaryPrimitives.WriteInt32LittleEndian(place, checked((int)values[i])); break;
                case "FL": BinaryPrimitives.WriteSingleLittleEndian(place, (float)values[i]); break;
                default: BinaryPrimitives.WriteDoubleLittleEndian(place, values[i]); break;
            }
        }

        return Set(DicomElement.OfValue(tag, vr, bytes));
    }

    /// <summary>Sets a sequence.</summary>
    /// <param name="tag">Its tag.</param>
    /// <param name="items">Its items; none makes it empty.</param>
    public DicomDataset SetItems(DicomTag tag, params DicomDataset[] items) => Set(DicomElement.OfItems(tag, items));

    /// <summary>All text values of an attribute, trimmed; null where it is absent or empty.</summary>
    /// <param name="tag">Its tag.</param>
    public string[]? Texts(DicomTag tag)
    {
        if (Find(tag) is not { Items: null, Fragments: null } element || element.Value.Length == 0)
        {
            return null;
        }

        string[] values = Decode(element).Split('\\');
        for (int i = 0; i < values.Length; i++)
        {
            values[i] = values[i].Trim(' ', '\0', '\t', '\r', '\n');
        }

        return values.All(value => value.Length == 0) ? null : values;
    }

    /// <summary>The text of an attribute that has one long text as its value (ST, LT, UT, UR), in which a backslash is a letter; without spaces at the end; null where it is absent or empty.</summary>
    /// <param name="tag">Its tag.</param>
    public string? LongText(DicomTag tag)
        => Find(tag) is { Items: null, Fragments: null, Value.Length: > 0 } element && Decode(element).TrimEnd(' ', '\0') is { Length: > 0 } text ? text : null;

    /// <summary>The first text value of an attribute, trimmed; null where it is absent or empty.</summary>
    /// <param name="tag">Its tag.</param>
    public string? Text(DicomTag tag) => Texts(tag) is [{ Length: > 0 } first, ..] ? first : null;

    /// <summary>All numbers of an attribute, text or binary; null where it is absent, empty, or one of its values is no finite number.</summary>
    /// <param name="tag">Its tag.</param>
    public double[]? Numbers(DicomTag tag)
    {
        if (Find(tag) is not { Items: null, Fragments: null } element || element.Value.Length == 0)
        {
            return null;
        }

        ReadOnlySpan<byte> bytes = element.Value.Span;
        bool big = element.IsBigEndian;
        int size = element.Vr switch
        {
            "US" or "SS" or "OW" => 2,
            "UL" or "SL" or "FL" or "OF" => 4,
            "FD" => 8,
            _ => 0,
        };
        if (size == 0)
        {
            string[] texts = Encoding.Latin1.GetString(bytes[..Math.Min(bytes.Length, 4096)]).Split('\\');
            double[] parsed = new double[texts.Length];
            for (int i = 0; i < texts.Length; i++)
            {
                // A decimal string may carry a sign, an exponent and padding, nothing else (PS3.5 table 6.2-1).
                if (!double.TryParse(texts[i].Trim(' ', '\0', '\t', '\r', '\n'), NumberStyles.AllowLeadingSign | NumberStyles.AllowDecimalPoint | NumberStyles.AllowExponent, CultureInfo.InvariantCulture, out parsed[i]) || !double.IsFinite(parsed[i]))
                {
                    return null;
                }
            }

            return parsed;
        }

        if (bytes.Length < size)
        {
            return null;
        }

        double[] values = new double[Math.Min(bytes.Length / size, 65_536)];
        for (int i = 0; i < values.Length; i++)
        {
            ReadOnlySpan<byte> place = bytes[(i * size)..];
            values[i] = element.Vr switch
            {
                "US" or "OW" => big ? BinaryPrimitives.ReadUInt16BigEndian(place) : BinaryPrimitives.ReadUInt16LittleEndian(place),
                "SS" => big ? BinaryPrimitives.ReadInt16BigEndian(place) : BinaryPrimitives.ReadInt16LittleEndian(place),
                "UL" => big ? BinaryPrimitives.ReadUInt32BigEndian(place) : BinaryPrimitives.ReadUInt32LittleEndian(place),
                "SL" => big ? BinaryPrimitives.ReadInt32BigEndian(place) : BinaryPrimitives.ReadInt32LittleEndian(place),
                "FD" => big ? BinaryPrimitives.ReadDoubleBigEndian(place) : BinaryPrimitives.ReadDoubleLittleEndian(place),
                _ => big ? BinaryPrimitives.ReadSingleBigEndian(place) : BinaryPrimitives.ReadSingleLittleEndian(place),
            };
            if (!double.IsFinite(values[i]))
            {
                return null;
            }
        }

        return values;
    }

    /// <summary>The first number of an attribute, text or binary; null where there is none.</summary>
    /// <param name="tag">Its tag.</param>
    public double? Number(DicomTag tag) => Numbers(tag) is [double first, ..] ? first : null;

    /// <summary>The first number of an attribute as a whole number; null where there is none or it is not whole.</summary>
    /// <param name="tag">Its tag.</param>
    public int? Integer(DicomTag tag) => Number(tag) is double value && value == Math.Floor(value) && Math.Abs(value) <= int.MaxValue ? (int)value : null;

    /// <summary>Items of a sequence; empty where it is absent.</summary>
    /// <param name="tag">Its tag.</param>
    public IReadOnlyList<DicomDataset> Items(DicomTag tag) => Find(tag)?.Items ?? [];

    private string Decode(DicomElement element)
        => IsDefaultRepertoire(element) ? Encoding.Latin1.GetString(element.Value.Span) : CharacterSets.Decode(element.Value.Span, characterSets ??= Texts(Tags.SpecificCharacterSet) ?? []);

    // The attribute that names the character sets is in none of them (PS3.5, 6.1.2.2), whatever representation a file gives it.
    private static bool IsDefaultRepertoire(DicomElement element)
        => element.Tag == Tags.SpecificCharacterSet || element.Vr is not ("LO" or "SH" or "PN" or "LT" or "ST" or "UT" or "UC" or "UN");

    /// <summary>A number in at most 16 characters (PS3.5 table 6.2-1, DS), with as many digits as fit.</summary>
    private static string DecimalString(double value)
    {
        string text = value.ToString("R", CultureInfo.InvariantCulture);
        for (int digits = 15; text.Length > 16; digits--)
        {
            text = value.ToString("G" + digits.ToString(CultureInfo.InvariantCulture), CultureInfo.InvariantCulture);
        }

        return text;
    }
}
