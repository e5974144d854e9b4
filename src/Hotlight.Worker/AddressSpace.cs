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

        string statm = File.ReadAllText("/proc/self/statm");
        long mapped = long.Parse(statm.AsSpan(0, statm.IndexOf(' ', StringComparison.Ordinal)), System.Globalization.CultureInfo.InvariantCulture) * Environment.SystemPageSize;
        Set(mapped + bytes + SlackBytes);
    }

    /// <summary>Takes the limit away again.</summary>
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
