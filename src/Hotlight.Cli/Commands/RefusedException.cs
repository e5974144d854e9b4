namespace Hotlight.Cli.Commands;

/// <summary>The call cannot be carried out; the message is one sentence that says what to do. It follows the name of the program and a colon, so it begins small.</summary>
internal sealed class RefusedException(string sentence) : Exception(sentence)
{
    /// <summary>A sentence of another room, to be said after a colon.</summary>
    /// <param name="sentence">The sentence; a name in its own letters, such as DICOM, stays.</param>
    public static RefusedException Of(string sentence)
        => new(sentence.Length < 2 || !char.IsLower(sentence[1]) ? sentence : char.ToLowerInvariant(sentence[0]) + sentence[1..]);
}
