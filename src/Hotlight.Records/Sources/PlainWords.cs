using System.Globalization;
using System.Text;
using Hotlight.Core;

namespace Hotlight.Records.Sources;

/// <summary>Words without what spellings differ in: lower case, without accents, one space between.</summary>
internal static class PlainWords
{
    /// <summary>The words of a text.</summary>
    /// <param name="text">The text.</param>
    public static string Of(string text)
    {
        // The German sharp s is not taken apart by normalisation.
        string open = PlainText.WellFormed(text).Replace("ß", "ss", StringComparison.Ordinal).Replace("ẞ", "ss", StringComparison.Ordinal).Normalize(NormalizationForm.FormKD);
        StringBuilder plain = new(open.Length);
        bool wantsSpace = false;
        for (int i = 0; i < open.Length; i++)
        {
            char letter = open[i];
            UnicodeCategory category = char.GetUnicodeCategory(letter);
            if (category == UnicodeCategory.NonSpacingMark)
            {
                continue;
            }

            if (char.IsLetterOrDigit(letter))
            {
                if (wantsSpace && plain.Length > 0)
                {
                    plain.Append(' ');
                }

                wantsSpace = false;
                plain.Append(char.ToLowerInvariant(letter));
            }
            else
            {
                // "a.p." is one word.
                bool isAbbreviation = letter == '.' && i > 0 && char.IsLetter(open[i - 1]) && (i < 2 || !char.IsLetterOrDigit(open[i - 2])) && i + 1 < open.Length && char.IsLetter(open[i + 1])
                    && (i + 2 >= open.Length || !char.IsLetterOrDigit(open[i + 2]));
                wantsSpace |= !isAbbreviation;
            }
        }

        return plain.ToString();
    }
}
