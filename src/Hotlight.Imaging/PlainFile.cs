using System.Runtime.InteropServices;
using Microsoft.Win32.SafeHandles;

namespace Hotlight.Imaging;

/// <summary>Tells files that have a length and an end from pipes, terminals and sockets, without waiting for anyone to write into them.</summary>
public static class PlainFile
{
    private const int ReadOnlyFlag = 0;

    /// <summary>Whether a path can be read from beginning to end as a file.</summary>
    /// <param name="path">Path of anything, links followed.</param>
    /// <returns>False for a pipe, a terminal or a socket; true for everything else, also for what is missing or may not be read: opening it says why.</returns>
    public static bool Is(string path)
    {
        ArgumentException.ThrowIfNullOrEmpty(path);
        if (NonBlockingFlag is not { } nonBlocking)
        {
            return true;
        }

        // An ordinary open of a pipe waits until somebody writes into it; this one returns at once.
        int descriptor = Open(path, ReadOnlyFlag | nonBlocking);
        if (descriptor < 0)
        {
            return Marshal.GetLastPInvokeError() != NoSuchDeviceOrAddress;
        }

        using var handle = new SafeFileHandle(descriptor, ownsHandle: true);
        if (Directory.Exists(path))
        {
            return true;
        }

        using var stream = new FileStream(handle, FileAccess.Read, bufferSize: 0);
        return stream.CanSeek;
    }

    // ENXIO, the answer of a socket to an open: 6 on Linux and macOS (POSIX names it, both number it so).
    private const int NoSuchDeviceOrAddress = 6;

    // O_NONBLOCK | O_CLOEXEC: their numbers differ from system to system.
    private static int? NonBlockingFlag =>
        OperatingSystem.IsLinux() ? 0x800 | 0x80000 : OperatingSystem.IsMacOS() ? 0x4 | 0x1000000 : null;

    [DllImport("libc", EntryPoint = "open", SetLastError = true)]
    [DefaultDllImportSearchPaths(DllImportSearchPath.SafeDirectories)]
    private static extern int Open([MarshalAs(UnmanagedType.LPUTF8Str)] string path, int flags);
}
