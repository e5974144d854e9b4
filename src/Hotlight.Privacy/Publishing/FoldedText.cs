using System.Globalization;
using System.Text;
using Hotlight.Core;

namespace Hotlight.Privacy.Publishing;

/// <summary>A text for the search: letters without case and marks, everything else a single space; with the way back to the places of the original.</summary>
internal sealed class FoldedText
{
    private readonly List<int> origins = [];

    /// <summary>Folds a text.</summary>
    /// <param name="text">The text.</param>
    public FoldedText(string text)
    {
        Original = text;
        StringBuilder folded = new(" ", text.Length + 2);
        origins.Add(0);
        for (int place = 0; place < text.Length; place++)
        {
            string letters = FoldLetter(text, place);
            if (letters.Length == 0)
            {
                // A mark over the letter before it is no end of a word.
                if (CharUnicodeInfo.GetUnicodeCategory(text[place]) is not (UnicodeCategory.NonSpacingMark or UnicodeCategory.Surrogate or UnicodeCategory.Format) && folded[^1] != ' ')
                {
                    folded.Append(' ');
                    origins.Add(place);
                }

                continue;
            }

            foreach (char letter in letters)
            {
                folded.Append(letter);
                origins.Add(place);
            }
        }

        if (folded[^1] != ' ')
        {
            folded.Append(' ');
            origins.Add(text.Length);
        }

        Folded = folded.ToString();
    }

    /// <summary>The text as it was.</summary>
    public string Original { get; }

    /// <summary>The folded text; begins and ends with a space.</summary>
    public string Folded { get; }

    /// <summary>A value folded, without spaces at its ends; empty where it has no letter or digit.</summary>
    /// <param name="value">The value.</param>
    public static string Fold(string value) => new FoldedText(value).Folded.Trim();

    /// <summary>Another spelling of a folded name: German transcription of its letters with two dots; null where it has none.</summary>
    /// <param name="value">The name as it was written.</param>
    public static string? Transcribed(string value)
    {
        string transcribed = PlainText.WellFormed(value).Normalize(NormalizationForm.FormC)
            .Replace("ä", "ae", StringComparison.OrdinalIgnoreCase).Replace("ö", "oe", StringComparison.OrdinalIgnoreCase).Replace("ü", "ue", StringComparison.OrdinalIgnoreCase)
            .Replace("å", "aa", StringComparison.OrdinalIgnoreCase).Replace("ø", "oe", StringComparison.OrdinalIgnoreCase);
        string folded = Fold(transcribed);
        return folded == Fold(value) ? null : folded;
    }

    /// <summary>Where a folded value stands as whole words: start and length in the original.</summary>
    /// <param name="folded">The folded value, not empty.</param>
    public IEnumerable<(int Start, int Length)> PlacesOf(string folded)
    {
        string wanted = $" {folded} ";
        for (int at = Folded.IndexOf(wanted, StringComparison.Ordinal); at >= 0; at = Folded.IndexOf(wanted, at + 1, StringComparison.Ordinal))
        {
            int start = origins[at + 1];
            int last = origins[at + folded.Length];
            yield return (start, last - start + 1);
        }
    }

    private static string FoldLetter(string text, int place)
    {
        char letter = text[place];
        if (letter < 128)
        {
            return char.IsAsciiLetterUpper(letter) ? ((char)(letter + 32)).ToString() : char.IsAsciiLetterOrDigit(letter) ? letter.ToString() : string.Empty;
        }

        switch (letter)
        {
            case 'ß' or 'ẞ':
                return "ss";
            case 'æ' or 'Æ':
                return "ae";
            case 'œ' or 'Œ':
                return "oe";
            case 'ø' or 'Ø':
                return "o";
            case 'ł' or 'Ł':
                return "l";
            case 'đ' or 'Đ' or 'ð' or 'Ð':
                return "d";
            case 'þ' or 'Þ':
                return "th";
            case 'ı':
                return "i";
            default:
                break;
        }

        if (char.IsSurrogate(letter))
        {
            return string.Empty;
        }

        StringBuilder kept = new();
        foreach (char part in letter.ToString().Normalize(NormalizationForm.FormKD))
        {
            if (char.IsLetterOrDigit(part))
            {
                kept.Append(char.ToLowerInvariant(part));
            }
        }

        return kept.ToString();
    }
}
