using System.Collections.Frozen;
using System.Text;

namespace Hotlight.Privacy;

/// <summary>Cleans free text: only technical words and small numbers stay.</summary>
public static class DescriptorWords
{
    private static readonly Lazy<FrozenSet<string>> Known = new(Load);

    /// <summary>The words of a text that may stay, in their order; empty where none may.</summary>
    /// <param name="text">The text.</param>
    /// <param name="forbidden">Words that may not stay though they are technical terms, such as a part of the patient's name; in lower case.</param>
    public static string Clean(string text, IReadOnlySet<string> forbidden)
    {
        StringBuilder kept = new();
        bool hasWord = false;
        foreach (string word in Words(text))
        {
            // A number of one or two digits is an angle, a count or a spacing; a longer one could be an identifier.
            bool isSmallNumber = word.Length <= 2 && word.All(char.IsAsciiDigit);
            if ((isSmallNumber || Known.Value.Contains(word.ToLowerInvariant())) && !forbidden.Contains(word.ToLowerInvariant()))
            {
                hasWord |= !isSmallNumber;
                kept.Append(kept.Length > 0 ? " " : string.Empty).Append(word);
            }
        }

        // Numbers alone describe nothing.
        return hasWord ? kept.ToString() : string.Empty;
    }

    /// <summary>Whether a word is one of the technical terms.</summary>
    /// <param name="word">The word, in lower case.</param>
    public static bool IsTerm(string word) => Known.Value.Contains(word);

    /// <summary>The runs of letters and digits of a text.</summary>
    public static IEnumerable<string> Words(string text)
    {
        int start = -1;
        for (int i = 0; i <= text.Length; i++)
        {
            bool isPart = i < text.Length && char.IsLetterOrDigit(text[i]);
            if (isPart && start < 0)
            {
                start = i;
            }
            else if (!isPart && start >= 0)
            {
                yield return text[start..i];
                start = -1;
            }
        }
    }

    private static FrozenSet<string> Load()
    {
        using Stream stream = typeof(DescriptorWords).Assembly.GetManifestResourceStream("privacy/words.txt")!;
        using StreamReader reader = new(stream);
        return reader.ReadToEnd().Split('\n', StringSplitOptions.RemoveEmptyEntries).Where(line => !line.StartsWith('#')).ToFrozenSet(StringComparer.Ordinal);
    }
}
