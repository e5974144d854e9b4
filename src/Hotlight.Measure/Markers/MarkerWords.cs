namespace Hotlight.Measure.Markers;

/// <summary>The words that a clinic marks its sides with, beside the letters L and R that are always sought, such as LINKS and RECHTS.</summary>
/// <remarks>Words of 2 to 8 letters A to Z; capitals and small letters count as the same, and are read as capitals. A single letter is not taken: G or D would be found in many an edge of bone.</remarks>
public sealed record MarkerWords
{
    /// <summary>Fewest letters of a word.</summary>
    public const int FewestLetters = 2;

    /// <summary>Most letters of a word.</summary>
    public const int MostLetters = 8;

    // What a clinic uses; each word more is one more that noise could spell.
    private const int MostWords = 12;

    private MarkerWords(IReadOnlyList<string> left, IReadOnlyList<string> right)
    {
        Left = left;
        Right = right;
    }

    /// <summary>Words for the patient's left, in capitals.</summary>
    public IReadOnlyList<string> Left { get; }

    /// <summary>Words for the patient's right, in capitals.</summary>
    public IReadOnlyList<string> Right { get; }

    /// <summary>The words of both sides.</summary>
    /// <param name="left">Words for the left; none is allowed.</param>
    /// <param name="right">Words for the right; none is allowed.</param>
    /// <exception cref="FormatException">A word has another number of letters or other signs, stands for both sides, or there is none, or too many.</exception>
    public static MarkerWords Of(IEnumerable<string> left, IEnumerable<string> right)
    {
        ArgumentNullException.ThrowIfNull(left);
        ArgumentNullException.ThrowIfNull(right);
        string[] ofLeft = [.. left.Select(Checked).Distinct(StringComparer.Ordinal)], ofRight = [.. right.Select(Checked).Distinct(StringComparer.Ordinal)];
        if (ofLeft.Intersect(ofRight, StringComparer.Ordinal).FirstOrDefault() is { } both)
        {
            throw new FormatException($"The marker word '{both}' stands for left and for right; it can stand for one side only.");
        }

        if (ofLeft.Length + ofRight.Length is 0 or > MostWords)
        {
            throw new FormatException($"Give 1 to {MostWords} marker words, both sides together; these are {ofLeft.Length + ofRight.Length}.");
        }

        return new MarkerWords(ofLeft, ofRight);
    }

    /// <summary>The words of a text such as "left=LINKS,LI,right=RECHTS,RE": after a side's name come its words.</summary>
    /// <param name="text">The text.</param>
    /// <exception cref="FormatException">The text does not say which side a word is for, or <see cref="Of"/> refuses the words.</exception>
    public static MarkerWords Parse(string text)
    {
        ArgumentNullException.ThrowIfNull(text);
        var left = new List<string>();
        var right = new List<string>();
        List<string>? side = null;
        foreach (string part in text.Split(',', StringSplitOptions.TrimEntries))
        {
            int equals = part.IndexOf('=', StringComparison.Ordinal);
            if (equals >= 0)
            {
                side = part[..equals].Trim().ToUpperInvariant() switch
                {
                    "LEFT" => left,
                    "RIGHT" => right,
                    _ => throw new FormatException($"Marker words are given as left=LINKS,right=RECHTS; '{part[..equals].Trim()}' is neither left nor right."),
                };
            }

            if (side is null)
            {
                throw new FormatException($"Marker words are given as left=LINKS,right=RECHTS; '{part}' does not say which side it is for.");
            }

            side.Add(part[(equals + 1)..].Trim());
        }

        return Of(left, right);
    }

    /// <summary>The words as <see cref="Parse"/> takes them.</summary>
    public override string ToString()
        => string.Join(',', new[] { (Side: "left", Words: Left), (Side: "right", Words: Right) }.Where(side => side.Words.Count > 0).Select(side => $"{side.Side}={string.Join(',', side.Words)}"));

    /// <summary>Whether both hold the same words in the same order.</summary>
    /// <param name="other">The other.</param>
    public bool Equals(MarkerWords? other) => other is not null && Left.SequenceEqual(other.Left) && Right.SequenceEqual(other.Right);

    /// <inheritdoc/>
    public override int GetHashCode() => ToString().GetHashCode(StringComparison.Ordinal);

    private static string Checked(string word)
    {
        string capitals = (word ?? string.Empty).Trim().ToUpperInvariant();
        if (capitals is "L" or "R")
        {
            throw new FormatException($"The letter {capitals} is always sought; marker words are for words of {FewestLetters} to {MostLetters} letters.");
        }

        return capitals.Length is >= FewestLetters and <= MostLetters && capitals.All(sign => sign is >= 'A' and <= 'Z')
            ? capitals
            : throw new FormatException($"A marker word has {FewestLetters} to {MostLetters} letters, A to Z; '{word}' has not.");
    }
}
