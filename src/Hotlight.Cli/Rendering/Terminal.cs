namespace Hotlight.Cli.Rendering;

/// <summary>The two streams of the running call.</summary>
internal static class Terminal
{
    /// <summary>Results.</summary>
    public static TextWriter Output { get; private set; } = Console.Out;

    /// <summary>Progress and errors.</summary>
    public static TextWriter Errors { get; private set; } = Console.Error;

    /// <summary>Sets the streams of the running call.</summary>
    public static void Bind(TextWriter output, TextWriter errors)
    {
        Output = output;
        Errors = errors;
    }
}
