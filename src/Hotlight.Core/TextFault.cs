namespace Hotlight.Core;

/// <summary>One thing that is wrong with a file of texts.</summary>
/// <param name="File">Name of the file with its language's folder, such as "de/texts.json".</param>
/// <param name="Key">The text's key, or the place in the file, such as "line 3".</param>
/// <param name="Reason">What is wrong, one sentence.</param>
public sealed record TextFault(string File, string Key, string Reason)
{
    /// <summary>File, key and reason in one line.</summary>
    public override string ToString() => $"{File}, {Key}: {Reason}";
}

/// <summary>Files of texts do not hold what they must; every fault found is named at once.</summary>
public sealed class UnreadableTextsException : Exception
{
    /// <summary>Makes the exception.</summary>
    /// <param name="faults">One or more.</param>
    public UnreadableTextsException(IReadOnlyList<TextFault> faults)
        : base(string.Join('\n', faults ?? throw new ArgumentNullException(nameof(faults)))) => Faults = faults;

    /// <summary>Everything that is wrong, in the order of files and keys.</summary>
    public IReadOnlyList<TextFault> Faults { get; }
}
