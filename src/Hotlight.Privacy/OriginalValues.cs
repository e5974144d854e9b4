using System.Globalization;
using System.Text;
using Hotlight.Imaging.Dicom;
using Hotlight.Privacy.Publishing;

namespace Hotlight.Privacy;

/// <summary>Every text of a data set that was taken out of it, for the search in what is written. Never written anywhere.</summary>
internal sealed class OriginalValues
{
    // Shorter ones stand everywhere by chance.
    private const int ShortestText = 4;
    private const int ShortestNumber = 6;
    private const int LongestText = 120;
    private const int LongestBinary = 1024;
    private readonly HashSet<string> taken = new(StringComparer.OrdinalIgnoreCase);

    /// <summary>Takes note of an attribute that does not stay as it is, with its nested items.</summary>
    /// <param name="dataset">The data set it stands in.</param>
    /// <param name="element">The attribute.</param>
    public void Take(DicomDataset dataset, DicomElement element)
    {
        if (element.Items is { } items)
        {
            foreach (DicomDataset item in items)
            {
                foreach (DicomElement nested in item.Elements)
                {
                    Take(item, nested);
                }
            }

            return;
        }

        string vr = element.Vr == "UN" ? DicomDictionary.VrOf(element.Tag) ?? "UN" : element.Vr;
        if (vr is "LO" or "SH" or "ST" or "LT" or "UT" or "UC" or "UR" or "AE" or "UI" or "DA" or "DT" or "TM" or "CS")
        {
            foreach (string text in dataset.Texts(element.Tag) ?? [])
            {
                Add(text);
            }
        }
        else if (vr is "UN" or "OB" && element.Value.Length is >= ShortestNumber and <= LongestBinary && element.Value.Span.IndexOfAnyExceptInRange((byte)0x20, (byte)0x7E) is var first
            && (first < 0 || element.Value.Span[first..].IndexOfAnyExcept((byte)0) < 0))
        {
            Add(Encoding.ASCII.GetString(element.Value.Span).TrimEnd('\0'));
        }
    }

    /// <summary>The values to search for, and how many are left out because what is kept holds the same words.</summary>
    /// <param name="source">The data set before anything was taken out.</param>
    /// <param name="cleaned">The data set as it is written.</param>
    /// <param name="retained">The options.</param>
    /// <param name="own">Texts that Hotlight writes itself.</param>
    public (KnownIdentity Known, int AlsoKept) Known(DicomDataset source, DicomDataset cleaned, Retained retained, string own)
    {
        List<string> kept = [own];
        HashSet<string> keptDates = new(StringComparer.Ordinal);
        Collect(cleaned, kept, keptDates);
        HashSet<string> keptValues = new(kept, StringComparer.OrdinalIgnoreCase);
        FoldedText maker = new($"{cleaned.Text(0x00080070)}\n{cleaned.Text(0x00081090)}");
        int alsoKept = 0;
        bool Stays(KnownValue value)
        {
            // A maker's name that somebody wrote as the institution's; a device called by a term.
            bool isSaid = (value.Kind is IdentityKind.Institution or IdentityKind.Device && maker.PlacesOf(value.Folded).Any())
                || DescriptorWords.Words(value.Text).All(word => DescriptorWords.IsTerm(word.ToLowerInvariant()));
            alsoKept += isSaid ? 1 : 0;
            return isSaid || value.Kind switch
            {
                IdentityKind.Uid => retained.HasFlag(Retained.Uids),
                IdentityKind.ExaminationDate => retained.HasFlag(Retained.FullDates) || keptDates.Contains(value.Text),
                IdentityKind.Device => retained.HasFlag(Retained.DeviceIdentity) && keptValues.Contains(value.Text),
                IdentityKind.Institution => retained.HasFlag(Retained.InstitutionIdentity) && keptValues.Contains(value.Text),
                _ => false,
            };
        }

        KnownIdentity known = KnownIdentity.Of(source).Where(value => !Stays(value));

        // What a longer text holds as whole words is held by the file for a reason of its own, such as the part that was exposed.
        FoldedText all = new(string.Join('\n', kept));
        List<string> others = [];
        foreach (string text in taken)
        {
            if (all.PlacesOf(FoldedText.Fold(text)).Any())
            {
                alsoKept++;
            }
            else
            {
                others.Add(text);
            }
        }

        return (known.With(IdentityKind.OtherValue, others), alsoKept);
    }

    private void Add(string text)
    {
        bool isNumber = text.All(letter => char.IsAsciiDigit(letter) || letter is '.' or '-' or '+' or ' ' or ':' or '/');
        if (text.Length >= (isNumber ? ShortestNumber : ShortestText) && text.Any(char.IsLetterOrDigit))
        {
            taken.Add(text[..Math.Min(text.Length, LongestText)].Trim());
        }
    }

    private static void Collect(DicomDataset dataset, List<string> kept, HashSet<string> dates)
    {
        foreach (DicomElement element in dataset.Elements)
        {
            if (element.Items is { } items)
            {
                foreach (DicomDataset item in items)
                {
                    Collect(item, kept, dates);
                }
            }
            else if (element.Fragments is null && element.Vr is not ("OB" or "OW" or "OF" or "OD" or "OL" or "OV" or "US" or "SS" or "UL" or "SL" or "FL" or "FD" or "AT"))
            {
                foreach (string text in dataset.Texts(element.Tag) ?? [])
                {
                    kept.Add(text);
                    if (element.Vr is "DA" or "DT" && text.Length >= 8 && DateOnly.TryParseExact(text.AsSpan(0, 8), "yyyyMMdd", CultureInfo.InvariantCulture, DateTimeStyles.None, out DateOnly day))
                    {
                        dates.UnionWith(WrittenDates.Of(day));
                    }
                }
            }
        }
    }
}
