namespace Hotlight.Cli.Rendering;

/// <summary>The two streams of the running call.</summary>
internal static class Terminal
{
    /// <summary>Results.</summary>
    public static TextWriter Output { get; private set; } = Console.Out;

    /// <summary>Progress and errors.</summary>
    public static TextWriter Errors { get; private set; } = Console.Error;

    /// <summary>Why the disk refused, in the words of this project where they are known, without a path.</summary>
    public static string Reason(Exception error) => error switch
    {
        UnauthorizedAccessException => "no right to write there",
        IOException when (error.HResult & 0xFFFF) is 28 or 112 => "the disk is full",
        IOException when (error.HResult & 0xFFFF) is 30 or 19 => "the disk is read-only",
        _ => error.Message.Split('\n')[0].Split(" : ")[0].TrimEnd('.', ' ', '\r'),
    };

    /// <summary>Sets the streams of the running call.</summary>
    public static void Bind(TextWriter output, TextWriter errors)
    {
        Output = output;
        Errors = errors;
    }
}
