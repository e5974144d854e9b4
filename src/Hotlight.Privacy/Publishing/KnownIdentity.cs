using System.Globalization;
using Hotlight.Core;
using Hotlight.Imaging.Dicom;

namespace Hotlight.Privacy.Publishing;

/// <summary>The values that tell who a case belongs to, for the search in what is to be published. They are held in memory for the search and never written: not in a log, not in a finding.</summary>
public sealed class KnownIdentity
{
    // Shorter ones stand everywhere by chance; of digits alone 4, of a name's letters 2.
    private const int ShortestValue = 3;
    private const int ShortestNumber = 4;
    private const int ShortestName = 2;
    private readonly List<KnownValue> values = [];

    private KnownIdentity()
    {
    }

    /// <summary>Nothing is known, as of an invented case.</summary>
    public static KnownIdentity None { get; } = new();

    /// <summary>How many values are known.</summary>
    public int Count => values.Count;

    /// <summary>The values.</summary>
    internal IReadOnlyList<KnownValue> Values => values;

    /// <summary>The values of a file's header, nested items too, and of its name; a picture has none in its pixels' place.</summary>
    /// <param name="content">The file's bytes; borrowed.</param>
    /// <exception cref="UnreadableImageException">It is a DICOM file whose attributes cannot be read.</exception>
    public static KnownIdentity OfFile(ReadOnlyMemory<byte> content)
        => DicomContent.LooksLikeDicom(content.Span) ? Of(DicomContent.Read(content, "the file").Dataset) : None;

    /// <summary>The values of a data set with its nested items.</summary>
    /// <param name="dataset">The data set, before anything was taken out where it is still there.</param>
    public static KnownIdentity Of(DicomDataset dataset)
    {
        ArgumentNullException.ThrowIfNull(dataset);
        KnownIdentity known = new();
        known.Collect(dataset);
        return known;
    }

    /// <summary>The same with more values.</summary>
    /// <param name="kind">What they are.</param>
    /// <param name="more">The values; null and empty ones are passed over.</param>
    public KnownIdentity With(IdentityKind kind, params IEnumerable<string?> more)
    {
        ArgumentNullException.ThrowIfNull(more);
        KnownIdentity known = Copy();
        foreach (string? value in more)
        {
            known.Add(kind, value);
        }

        return known;
    }

    /// <summary>The same with a date, which is searched for in the ways dates are written.</summary>
    /// <param name="kind">Of what it is the date.</param>
    /// <param name="date">The date; null: none.</param>
    public KnownIdentity WithDate(IdentityKind kind, DateOnly? date)
    {
        KnownIdentity known = Copy();
        if (date is { } day)
        {
            known.AddDate(kind, day);
        }

        return known;
    }

    /// <summary>Both together.</summary>
    /// <param name="other">The others.</param>
    public KnownIdentity And(KnownIdentity other)
    {
        ArgumentNullException.ThrowIfNull(other);
        KnownIdentity known = Copy();
        foreach (KnownValue value in other.values)
        {
            known.Put(value);
        }

        return known;
    }

    /// <summary>Values that were gathered.</summary>
    internal static KnownIdentity Of(IEnumerable<KnownValue> values)
    {
        KnownIdentity known = new();
        known.values.AddRange(values);
        return known;
    }

    /// <summary>Those values for which something holds.</summary>
    internal KnownIdentity Where(Func<KnownValue, bool> holds)
    {
        KnownIdentity known = new();
        known.values.AddRange(values.Where(holds));
        return known;
    }

    /// <summary>How many values are known; never a value.</summary>
    public override string ToString() => string.Create(CultureInfo.InvariantCulture, $"{values.Count} identifying values");

    private KnownIdentity Copy()
    {
        KnownIdentity known = new();
        known.values.AddRange(values);
        return known;
    }

    private static IdentityKind? KindOf(uint tag) => tag switch
    {
        0x00100010 or 0x00101001 or 0x00101005 or 0x00101060 or 0x00102297 => IdentityKind.PatientName,
        0x00100020 or 0x00101000 or 0x00101090 or 0x00380010 => IdentityKind.PatientIdentifier,
        0x00100030 => IdentityKind.BirthDate,
        0x00101040 or 0x00102154 or 0x00102155 or 0x00080092 or 0x00080094 => IdentityKind.Address,
        0x00080050 or 0x00200010 or 0x00401001 or 0x00402016 or 0x00402017 or 0x00321033 or 0x00380060 => IdentityKind.ExaminationNumber,
        0x00080012 or 0x00080020 or 0x00080021 or 0x00080022 or 0x00080023 or 0x0008002A or 0x00400002 or 0x00400244 => IdentityKind.ExaminationDate,
        0x00080080 or 0x00080081 or 0x00081040 => IdentityKind.Institution,
        0x00081010 or 0x00181000 or 0x0018700A => IdentityKind.Device,
        0x0020000D or 0x0020000E or 0x00080018 or 0x00020003 => IdentityKind.Uid,
        _ => null,
    };

    private void Collect(DicomDataset dataset)
    {
        foreach (DicomElement element in dataset.Elements)
        {
            if (element.Items is { } items)
            {
                foreach (DicomDataset item in items)
                {
                    Collect(item);
                }

                continue;
            }

            string vr = element.Vr == "UN" ? DicomDictionary.VrOf(element.Tag) ?? "UN" : element.Vr;
            IdentityKind? kind = KindOf(element.Tag.Number) ?? (vr == "PN" ? IdentityKind.Staff : null);
            if (kind is null)
            {
                continue;
            }

            foreach (string value in dataset.Texts(element.Tag) ?? [])
            {
                if (vr is "DA" or "DT")
                {
                    if (value.Length >= 8 && DateOnly.TryParseExact(value.AsSpan(0, 8), "yyyyMMdd", CultureInfo.InvariantCulture, DateTimeStyles.None, out DateOnly day) && day.Year > 1900)
                    {
                        AddDate(kind.Value, day);
                    }
                }
                else
                {
                    Add(kind.Value, value);
                }
            }
        }
    }

    private void Add(IdentityKind kind, string? value)
    {
        string text = PlainText.WellFormed(value?.Trim() ?? string.Empty);
        string folded = FoldedText.Fold(text);
        if (folded.Length == 0 || text is "REMOVED" or "ANONYMOUS" or "UNKNOWN" || text.StartsWith("REMOVED", StringComparison.Ordinal))
        {
            return;
        }

        if (kind is IdentityKind.PatientName or IdentityKind.Staff)
        {
            // A name that was made here is a label.
            if (text.StartsWith("Patient P-", StringComparison.Ordinal))
            {
                Add(IdentityKind.CaseLabel, text["Patient ".Length..]);
                return;
            }

            foreach (string word in DescriptorWords.Words(text.Normalize(System.Text.NormalizationForm.FormC)))
            {
                if (word.Length >= ShortestName && !word.All(char.IsAsciiDigit) && !IsTitle(word))
                {
                    string plain = FoldedText.Fold(word);
                    Put(new KnownValue(kind, word, plain) { IsName = true, IsTerm = DescriptorWords.IsTerm(plain) });
                    if (FoldedText.Transcribed(word) is { } other)
                    {
                        Put(new KnownValue(kind, word, other) { IsName = true });
                    }
                }
            }

            return;
        }

        string compact = folded.Replace(" ", string.Empty, StringComparison.Ordinal);
        if (compact.Length < (compact.All(char.IsAsciiDigit) ? ShortestNumber : ShortestValue))
        {
            return;
        }

        // A pseudonym may be an ordinary word: in sentences of the bench it counts only where it stands as a name.
        Put(new KnownValue(kind, text, folded) { IsName = kind == IdentityKind.ClinicPerson });
        if (compact != folded && kind is not (IdentityKind.Institution or IdentityKind.Uid or IdentityKind.ClinicPerson))
        {
            Put(new KnownValue(kind, text, compact));
        }
    }

    private void AddDate(IdentityKind kind, DateOnly day)
    {
        foreach (string written in WrittenDates.Of(day))
        {
            Put(new KnownValue(kind, written, FoldedText.Fold(written)));
        }
    }

    // What stands before or behind a name and is nobody's.
    private static bool IsTitle(string word) => word.ToUpperInvariant() is "DR" or "MR" or "MRS" or "MS" or "PROF" or "MD" or "PHD" or "SIR" or "HERR" or "FRAU" or "SR" or "SRA" or "JR" or "VON" or "VAN" or "DE" or "DER" or "LA" or "DEL";

    private void Put(KnownValue value)
    {
        if (!values.Contains(value))
        {
            values.Add(value);
        }
    }
}

/// <summary>One identifying value.</summary>
/// <param name="Kind">What it is.</param>
/// <param name="Text">As it was written.</param>
/// <param name="Folded">For the search in texts.</param>
internal sealed record KnownValue(IdentityKind Kind, string Text, string Folded)
{
    /// <summary>Whether it is a word of a name.</summary>
    public bool IsName { get; init; }

    /// <summary>Whether it is a word of a name and a technical term too, such as "Head".</summary>
    public bool IsTerm { get; init; }
}
