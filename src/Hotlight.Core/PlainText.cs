using System.Globalization;

namespace Hotlight.Core;

/// <summary>Text that a stranger's file may have a part in, made fit to be shown: one line, without characters that steer a terminal or turn the direction of writing.</summary>
public static class PlainText
{
    private const char Stand = '\uFFFD';

    // The byte order mark the wrong way round: normalising refuses it.
    private const char NoLetter = '\uFFFE';

    /// <summary>The text with every control, format, line and paragraph character replaced by U+FFFD.</summary>
    /// <param name="text">The text.</param>
    public static string Of(string text)
    {
        ArgumentNullException.ThrowIfNull(text);
        return text.Any(Steers) ? string.Concat(text.Select(letter => Steers(letter) ? Stand : letter)) : text;
    }

    /// <summary>The text with halves of letters that have no other half (lone surrogates) replaced by U+FFFD: what cannot be normalised or written as UTF-8 otherwise.</summary>
    /// <param name="text">The text.</param>
    public static string WellFormed(string text)
    {
        ArgumentNullException.ThrowIfNull(text);
        return text.AsSpan().IndexOfAnyInRange('\uD800', '\uDFFF') < 0 && !text.Contains(NoLetter, StringComparison.Ordinal) ? text
            : string.Concat(text.EnumerateRunes()).Replace(NoLetter, Stand);
    }

    // A joiner belongs to words of some languages and steers nothing.
    private static bool Steers(char letter) => letter is not ('\u200C' or '\u200D')
        && (char.GetUnicodeCategory(letter) is UnicodeCategory.Control or UnicodeCategory.Format or UnicodeCategory.LineSeparator or UnicodeCategory.ParagraphSeparator);
}
