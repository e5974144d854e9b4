namespace Hotlight.Worker;

/// <summary>What parent and worker say to each other, little endian.</summary>
/// <remarks>
/// <para>Request: <see cref="Magic"/> (int32), bytes of memory the decoding may take (int64), length of the stream (int32), the stream.</para>
/// <para>Answer: status (int32). With <see cref="Decoded"/>: columns, rows, precision (int32 each), then rows × columns words of 16 bits. With any other: length (int32) of a UTF-8 sentence, the sentence.</para>
/// <para>A request that begins with <see cref="MagicGuards"/>, with twelve bytes behind it, asks what the process may not do; the answer is <see cref="Guards"/> and words.</para>
/// <para>The parent keeps a copy of these numbers: it does not reference this program, it only starts it.</para>
/// </remarks>
internal static class WireFormat
{
    /// <summary>Begins a request.</summary>
    public const int Magic = 0x484A324B;

    /// <summary>Asks what the process may not do.</summary>
    public const int MagicGuards = 0x48475244;

    /// <summary>The stream was decoded.</summary>
    public const int Decoded = 0;

    /// <summary>The stream could not be decoded.</summary>
    public const int Damaged = 1;

    /// <summary>The library is not installed.</summary>
    public const int LibraryAbsent = 2;

    /// <summary>What the process may not do: words of "network", "files", "programs", "processes", "memory"; and "library" where the decoder is there.</summary>
    public const int Guards = 3;
}
