namespace Hotlight.Cli.Rendering;

/// <summary>Plain text in columns, wrapped at words.</summary>
internal static class TextBlock
{
    /// <summary>The width text is wrapped at.</summary>
    public const int Width = 100;

    /// <summary>A label and its text; later lines hang under the text.</summary>
    public static IEnumerable<string> Hanging(string label, int labelWidth, string text, int indent = 2)
    {
        string lead = new string(' ', indent) + label.PadRight(labelWidth);
        foreach (string line in Wrap(text, Width - lead.Length))
        {
            yield return (lead + line).TrimEnd();
            lead = new string(' ', lead.Length);
        }
    }

    /// <summary>Text wrapped at words.</summary>
    public static IEnumerable<string> Wrap(string text, int width)
    {
        var line = new System.Text.StringBuilder();
        foreach (string word in text.Split(' ', StringSplitOptions.RemoveEmptyEntries))
        {
            if (line.Length > 0 && line.Length + 1 + word.Length > width)
            {
                yield return line.ToString();
                line.Clear();
            }

            if (line.Length > 0)
            {
                line.Append(' ');
            }

            line.Append(word);
        }

        yield return line.ToString();
    }
}
