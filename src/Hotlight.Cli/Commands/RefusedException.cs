namespace Hotlight.Cli.Commands;

/// <summary>The call cannot be carried out; the message is one sentence that says what to do.</summary>
internal sealed class RefusedException(string sentence) : Exception(sentence);
