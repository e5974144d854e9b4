using System.Runtime.InteropServices;

namespace Hotlight.Worker;

/// <summary>Limits how much memory the process may map beyond what it has mapped already (setrlimit RLIMIT_AS; Linux only, elsewhere the clock alone guards).</summary>
internal static partial class AddressSpace
{
    private const int ResourceAddressSpace = 9;

    /// <summary>Room for the run-time itself: compiled code, stacks.</summary>
    private const long SlackBytes = 96L * 1024 * 1024;

    /// <summary>Allows this many bytes more than are mapped now.</summary>
    public static void Allow(long bytes)
    {
        if (!OperatingSystem.IsLinux())
        {
            return;
        }

        Set(Mapped() + bytes + SlackBytes);
    }

    private static long Mapped()
    {
        string statm = File.ReadAllText("/proc/self/statm");
        return long.Parse(statm.AsSpan(0, statm.IndexOf(' ', StringComparison.Ordinal)), System.Globalization.CultureInfo.InvariantCulture) * Environment.SystemPageSize;
    }

    /// <summary>Most that any stream may ever take beyond what is mapped at the start, in bytes; the process cannot raise it again.</summary>
    private const long MostBytes = 3L * 1024 * 1024 * 1024;

    /// <summary>Sets the limit that nothing goes beyond, whatever is asked for later.</summary>
    /// <returns>Whether there is one.</returns>
    public static bool AllowAtMost()
    {
        if (!OperatingSystem.IsLinux())
        {
            return false;
        }

        Limit limit = default;
        if (GetLimit(ResourceAddressSpace, ref limit) != 0)
        {
            return false;
        }

        limit.Hard = Math.Min((ulong)(Mapped() + MostBytes + SlackBytes), limit.Hard);
        limit.Soft = limit.Hard;
        return SetLimit(ResourceAddressSpace, ref limit) == 0;
    }

    /// <summary>Takes the limit of one stream away again.</summary>
    public static void AllowAll()
    {
        if (OperatingSystem.IsLinux())
        {
            Set(-1);
        }
    }

    private static void Set(long soft)
    {
        Limit limit = default;
        if (GetLimit(ResourceAddressSpace, ref limit) == 0)
        {
            limit.Soft = soft < 0 ? limit.Hard : Math.Min((ulong)soft, limit.Hard);
            _ = SetLimit(ResourceAddressSpace, ref limit);
        }
    }

    [LibraryImport("libc", EntryPoint = "getrlimit")]
    private static partial int GetLimit(int resource, ref Limit limit);

    [LibraryImport("libc", EntryPoint = "setrlimit")]
    private static partial int SetLimit(int resource, ref Limit limit);

    [StructLayout(LayoutKind.Sequential)]
    private struct Limit
    {
        public ulong Soft;
        public ulong Hard;
    }
}
