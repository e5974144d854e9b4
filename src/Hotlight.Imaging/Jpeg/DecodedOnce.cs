namespace Hotlight.Imaging.Jpeg;

/// <summary>Holds the last stream that was decoded, and what came of it, for as long as somebody works on one file; the same bytes are not decoded again.</summary>
internal sealed class DecodedOnce : IDisposable
{
    private static readonly AsyncLocal<DecodedOnce?> Held = new();
    private (ReadOnlyMemory<byte> Stream, int Rows, int Columns, ushort[] Words)? last;

    private DecodedOnce()
    {
    }

    /// <summary>Begins to hold, for what the caller does from here on, until it is disposed.</summary>
    public static DecodedOnce Begin()
    {
        var held = new DecodedOnce();
        Held.Value = held;
        return held;
    }

    /// <summary>What a stream decodes to.</summary>
    /// <param name="stream">The stream; kept while it is held.</param>
    /// <param name="rows">Its rows.</param>
    /// <param name="columns">Its columns.</param>
    /// <param name="decode">Decodes it.</param>
    /// <returns>Words of the caller's own.</returns>
    public static ushort[] Of(ReadOnlyMemory<byte> stream, int rows, int columns, Func<ReadOnlyMemory<byte>, ushort[]> decode)
    {
        if (Held.Value is not { } held)
        {
            return decode(stream);
        }

        if (held.last is not { } known || known.Rows != rows || known.Columns != columns || !known.Stream.Span.SequenceEqual(stream.Span))
        {
            known = (stream, rows, columns, decode(stream));
            held.last = known;
        }

        // Callers sort bits in place.
        return (ushort[])known.Words.Clone();
    }

    /// <inheritdoc/>
    public void Dispose()
    {
        last = null;
        Held.Value = null;
    }
}
