namespace Hotlight.Workflows.Readings;

/// <summary>Something cannot be done with a reading, a remark or a sign-off as it stands. The message is one sentence for the reader; nothing was changed.</summary>
public sealed class ReadingRefusedException : Exception
{
    /// <summary>Creates the error.</summary>
    /// <param name="reason">One sentence for the reader.</param>
    public ReadingRefusedException(string reason)
        : base(reason)
    {
    }
}
