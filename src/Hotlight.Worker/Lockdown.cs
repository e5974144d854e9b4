using System.Runtime.InteropServices;

namespace Hotlight.Worker;

/// <summary>Takes from this process, for good and without any privilege, what decoding a stranger's stream never needs: the network, writing and changing files, other programs and processes, ways round the memory limit (Linux: seccomp, setrlimit, prctl). Elsewhere nothing is taken, and the answer says so.</summary>
/// <remarks>
/// <para>The filter names what is refused, since what a run-time needs besides differs from version to version. Threads that run already are bound too (TSYNC). Files may still be opened for reading: the run-time loads code when it is first used.</para>
/// <para>Sources: seccomp(2), prctl(2), setrlimit(2) of the Linux manual pages; numbers of system calls in <see cref="SystemCalls"/>, of architectures from linux/audit.h.</para>
/// </remarks>
internal static unsafe partial class Lockdown
{
    private const int SetDumpable = 4;
    private const int SetNoNewPrivileges = 38;
    private const int SetModeFilter = 1;
    private const int FlagThreadSync = 1;
    private const uint Allow = 0x7FFF0000;
    private const uint RefuseNotPermitted = 0x00050000 | 1;
    private const uint RefuseNoSuchCall = 0x00050000 | 38;
    private const uint Kill = 0x80000000;
    private const int ResourceFileSize = 1;
    private const int ResourceCore = 4;

    // Of struct seccomp_data: number, architecture, low halves of the first three arguments.
    private const uint NumberAt = 0;
    private const uint ArchitectureAt = 4;
    private const uint FirstArgumentAt = 16;

    private const uint ArchitectureX64 = 0xC000003E;
    private const uint ArchitectureArm64 = 0xC00000B7;
    private const uint CloneThread = 0x00010000;

    /// <summary>Flags of open that can change a file: write, read and write, create, truncate, and the bit of O_TMPFILE that is not O_DIRECTORY (the same on both architectures).</summary>
    private const uint OpenToWrite = 0x1 | 0x2 | 0x40 | 0x200 | 0x400000;

    /// <summary>Takes everything away that can be.</summary>
    public static void Apply()
    {
        if (!OperatingSystem.IsLinux())
        {
            return;
        }

        // No core file: it would hold pixels of a patient. No file may grow by a byte; pipes are none.
        SetHard(ResourceCore, 0);
        SetHard(ResourceFileSize, 0);
        _ = Control(SetDumpable, 0, 0, 0, 0);
        _ = Control(SetNoNewPrivileges, 1, 0, 0, 0);
        if (RuntimeInformation.ProcessArchitecture is Architecture.X64 or Architecture.Arm64)
        {
            Filter(RuntimeInformation.ProcessArchitecture is Architecture.Arm64);
        }
    }

    /// <summary>What is refused now, tried out: words of "network", "files", "programs", "processes".</summary>
    public static IEnumerable<string> Refused()
    {
        if (!OperatingSystem.IsLinux())
        {
            yield break;
        }

        int socket = Socket(2, 1, 0);
        if (socket < 0)
        {
            yield return "network";
        }
        else
        {
            _ = Close(socket);
        }

        // In a folder where anybody may write.
        string path = Path.Combine(Path.GetTempPath(), $"hotlight-worker-{Environment.ProcessId}");
        int file = Open(path, 0x41, 0x180);
        if (file < 0)
        {
            yield return "files";
        }
        else
        {
            _ = Close(file);
            File.Delete(path);
        }

        // An existing program with a bad list of arguments: where it is not refused it fails otherwise (EFAULT).
        if (Execute("/proc/self/exe", 1, 1) < 0 && Marshal.GetLastPInvokeError() == 1)
        {
            yield return "programs";
        }

        // Signal 0 to the parent, or to its first thread, does nothing; nor does asking for its limits.
        int parent = ParentId();
        if (Signal(parent, 0) < 0 && SignalThread(parent, parent, 0) < 0 && LimitOf(parent, ResourceCore, 0, 0) < 0)
        {
            yield return "processes";
        }
    }

    private static void Filter(bool isArm)
    {
        List<Instruction> program =
        [
            Load(ArchitectureAt),
            Jump(0x15, isArm ? ArchitectureArm64 : ArchitectureX64, 1, 0),
            Return(Kill),
            Load(NumberAt),
        ];
        if (!isArm)
        {
            // The same calls under numbers of a second table (x32).
            program.Add(Jump(0x35, 0x40000000, 0, 1));
            program.Add(Return(RefuseNotPermitted));
        }

        foreach (uint number in On(SystemCalls.Refused, isArm))
        {
            program.Add(Jump(0x15, number, 0, 1));
            program.Add(Return(RefuseNotPermitted));
        }

        foreach (uint number in On(SystemCalls.NotThere, isArm))
        {
            // The caller goes back to an older call, whose arguments can be looked at.
            program.Add(Jump(0x15, number, 0, 1));
            program.Add(Return(RefuseNoSuchCall));
        }

        foreach (uint number in On(SystemCalls.OwnProcessAlone, isArm))
        {
            // The run-time signals its own threads, and asks for its own limits; 0 is whoever asks.
            program.Add(Jump(0x15, number, 0, 5));
            program.Add(Load(FirstArgumentAt));
            program.Add(Jump(0x15, 0, 2, 0));
            program.Add(Jump(0x15, (uint)Environment.ProcessId, 1, 0));
            program.Add(Return(RefuseNotPermitted));
            program.Add(Return(Allow));
        }

        void OpenedBy(uint number, uint flagsArgument)
        {
            program.Add(Jump(0x15, number, 0, 4));
            program.Add(Load(FirstArgumentAt + (8 * flagsArgument)));
            program.Add(Jump(0x45, OpenToWrite, 0, 1));
            program.Add(Return(RefuseNotPermitted));
            program.Add(Return(Allow));
        }

        if (On(SystemCalls.Open, isArm) is { } open)
        {
            OpenedBy(open, 1);
        }

        OpenedBy(On(SystemCalls.OpenAt, isArm)!.Value, 2);

        // A thread of this process may be made, a process not.
        program.Add(Jump(0x15, On(SystemCalls.Clone, isArm)!.Value, 0, 3));
        program.Add(Load(FirstArgumentAt));
        program.Add(Jump(0x45, CloneThread, 1, 0));
        program.Add(Return(RefuseNotPermitted));
        program.Add(Return(Allow));
        Instruction[] all = [.. program];
        fixed (Instruction* first = all)
        {
            FilterProgram whole = new() { Length = (ushort)all.Length, First = first };
            _ = Call((nint)On(SystemCalls.Seccomp, isArm)!.Value, SetModeFilter, FlagThreadSync, &whole);
        }
    }

    private static uint? On(SystemCall call, bool isArm) => isArm ? call.Arm64 : call.X64;

    private static IEnumerable<uint> On(IEnumerable<SystemCall> calls, bool isArm)
    {
        foreach (SystemCall call in calls)
        {
            if (On(call, isArm) is { } number)
            {
                yield return number;
            }
        }
    }

    private static Instruction Load(uint place) => new() { Code = 0x20, Value = place };

    private static Instruction Jump(ushort code, uint value, byte whenTrue, byte whenFalse) => new() { Code = code, Value = value, WhenTrue = whenTrue, WhenFalse = whenFalse };

    private static Instruction Return(uint value) => new() { Code = 0x06, Value = value };

    private static void SetHard(int resource, ulong value)
    {
        Limit limit = new() { Soft = value, Hard = value };
        _ = SetLimit(resource, ref limit);
    }

    [LibraryImport("libc", EntryPoint = "prctl")]
    private static partial int Control(int what, nuint first, nuint second, nuint third, nuint fourth);

    [LibraryImport("libc", EntryPoint = "syscall", SetLastError = true)]
    private static partial nint Call(nint number, nuint mode, nuint flags, void* program);

    [LibraryImport("libc", EntryPoint = "setrlimit")]
    private static partial int SetLimit(int resource, ref Limit limit);

    [LibraryImport("libc", EntryPoint = "socket")]
    private static partial int Socket(int domain, int type, int protocol);

    [LibraryImport("libc", EntryPoint = "open", StringMarshalling = StringMarshalling.Utf8)]
    private static partial int Open(string path, int flags, int mode);

    [LibraryImport("libc", EntryPoint = "close")]
    private static partial int Close(int file);

    [LibraryImport("libc", EntryPoint = "execve", StringMarshalling = StringMarshalling.Utf8, SetLastError = true)]
    private static partial int Execute(string path, nint arguments, nint environment);

    [LibraryImport("libc", EntryPoint = "kill")]
    private static partial int Signal(int process, int signal);

    [LibraryImport("libc", EntryPoint = "tgkill")]
    private static partial int SignalThread(int process, int thread, int signal);

    [LibraryImport("libc", EntryPoint = "prlimit64")]
    private static partial int LimitOf(int process, int resource, nint next, nint former);

    [LibraryImport("libc", EntryPoint = "getppid")]
    private static partial int ParentId();

    [StructLayout(LayoutKind.Sequential)]
    private struct Instruction
    {
        public ushort Code;
        public byte WhenTrue;
        public byte WhenFalse;
        public uint Value;
    }

    [StructLayout(LayoutKind.Sequential)]
    private struct FilterProgram
    {
        public ushort Length;
        public Instruction* First;
    }

    [StructLayout(LayoutKind.Sequential)]
    private struct Limit
    {
        public ulong Soft;
        public ulong Hard;
    }
}
