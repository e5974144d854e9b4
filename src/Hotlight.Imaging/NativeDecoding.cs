using Hotlight.Imaging.Jpeg;

namespace Hotlight.Imaging;

/// <summary>How the one native decoder, of JPEG 2000, is kept apart on this machine; all others are managed code. See docs/hostile-images.md.</summary>
/// <param name="IsWorkerThere">Whether the process of its own could be started.</param>
/// <param name="IsLibraryThere">Whether the decoder is installed.</param>
/// <param name="HasNoNetwork">Whether it cannot open a connection.</param>
/// <param name="HasNoWritableFiles">Whether it cannot write, make, change or remove a file.</param>
/// <param name="HasNoPrograms">Whether it cannot start a program or a process, nor reach another process.</param>
/// <param name="HasMemoryLimit">Whether its memory ends at what a stream of that size may need.</param>
public sealed record NativeDecoding(bool IsWorkerThere, bool IsLibraryThere, bool HasNoNetwork, bool HasNoWritableFiles, bool HasNoPrograms, bool HasMemoryLimit)
{
    /// <summary>Whether all of it holds.</summary>
    public bool HoldsAll => IsWorkerThere && HasNoNetwork && HasNoWritableFiles && HasNoPrograms && HasMemoryLimit;

    /// <summary>The same for a person, one sentence.</summary>
    public string Sentence => !IsWorkerThere ? "JPEG 2000 is not read here: the process that decodes it cannot be started."
        : !IsLibraryThere ? "JPEG 2000 is not read here: install libopenjp2-7."
        : HoldsAll ? "JPEG 2000 is decoded in a process that has no network, writes no file, starts no program, and whose memory and time are limited."
        : $"JPEG 2000 is decoded in a process of its own with a limited time, but on this machine that process {string.Join(" and ", Missing())}: open files of strangers elsewhere.";

    /// <summary>Holds what a JPEG 2000 stream decodes to while one file is worked on: in what the caller does until it is disposed, the same stream is decoded once.</summary>
    public static IDisposable Once() => DecodedOnce.Begin();

    /// <summary>Asks the worker, which tries each thing; starts it where it is not warm.</summary>
    /// <param name="cancellation">Stops it.</param>
    public static NativeDecoding Ask(CancellationToken cancellation = default)
    {
        try
        {
            IReadOnlyList<string> words = Jpeg2000Worker.Shared.AskGuards(cancellation);
            return new NativeDecoding(true, words.Contains("library"), words.Contains("network"), words.Contains("files"), words.Contains("programs") && words.Contains("processes"), words.Contains("memory"));
        }
        catch (ImageFormatException)
        {
            return new NativeDecoding(false, false, false, false, false, false);
        }
    }

    private IEnumerable<string> Missing()
    {
        if (!HasNoNetwork)
        {
            yield return "could use the network";
        }

        if (!HasNoWritableFiles)
        {
            yield return "could write files";
        }

        if (!HasNoPrograms)
        {
            yield return "could start programs";
        }

        if (!HasMemoryLimit)
        {
            yield return "has no limit to its memory";
        }
    }
}
