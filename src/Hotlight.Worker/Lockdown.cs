using System.Runtime.InteropServices;

namespace Hotlight.Worker;

/// <summary>Takes from this process, for good and without any privilege, what decoding a stranger's stream never needs: the network, writing and changing files, other programs and processes, ways round the memory limit (Linux: seccomp, setrlimit, prctl). Elsewhere nothing is taken, and the answer says so.</summary>
/// <remarks>
/// <para>The filter names what is refused, since what a run-time needs besides differs from version to version. Threads that run already are bound too (TSYNC). Files may still be opened for reading: the run-time loads code when it is first used.</para>
/// <para>Sources: seccomp(2), prctl(2), setrlimit(2) of the Linux manual pages; numbers of system calls from the kernel's tables for x86-64 and from its generic table for arm64.</para>
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
        if (Table() is { } table)
        {
            Filter(table);
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

        // Signal 0 to the parent does nothing.
        if (Signal(ParentId(), 0) < 0)
        {
            yield return "processes";
        }
    }

    private static SystemCalls? Table() => RuntimeInformation.ProcessArchitecture switch
    {
        Architecture.X64 => new SystemCalls(
            Architecture: 0xC000003E,
            Seccomp: 317,
            Open: 2,
            OpenAt: 257,
            MakeThread: 56,
            IsAmbiguous: true,
            NotThere: [435, 437],
            Refused:
            [
                // Network.
                41, 42, 43, 44, 45, 46, 47, 49, 50, 53, 288, 299, 307,

                // Programs and processes.
                57, 58, 59, 322, 62, 129, 200, 101, 310, 311, 424, 434, 438, 272, 308, 135,

                // Files: made, removed, renamed, linked, cut, changed in rights, owner, time and attributes.
                85, 83, 258, 133, 259, 84, 87, 263, 82, 264, 316, 86, 265, 88, 266, 90, 91, 268, 452, 92, 93, 94, 260, 76, 77, 285, 132, 235, 261, 280, 188, 189, 190, 197, 198, 199, 303, 304, 319,

                // Other ways to the same: queues of requests, programs of the kernel, keys, mounts, shared memory, clocks, identity.
                425, 426, 427, 321, 298, 323, 248, 249, 250, 165, 166, 155, 161, 428, 429, 430, 431, 432, 433, 442, 175, 313, 176, 246, 320, 169, 167, 168, 170, 171, 164, 227, 159, 163, 179, 172, 173, 103,
                29, 30, 31, 64, 65, 66, 68, 69, 70, 71, 240, 241, 105, 106, 113, 114, 116, 117, 119,
            ]),
        Architecture.Arm64 => new SystemCalls(
            Architecture: 0xC00000B7,
            Seccomp: 277,
            Open: null,
            OpenAt: 56,
            MakeThread: 220,
            IsAmbiguous: false,
            NotThere: [435, 437],
            Refused:
            [
                198, 199, 200, 201, 202, 203, 206, 207, 211, 212, 242, 243, 269,
                221, 281, 129, 130, 138, 117, 270, 271, 424, 434, 438, 97, 268, 92,
                33, 34, 35, 36, 37, 38, 276, 45, 46, 47, 52, 53, 54, 55, 452, 88, 5, 6, 7, 14, 15, 16, 264, 265, 279,
                425, 426, 427, 280, 241, 282, 217, 218, 219, 39, 40, 41, 51, 428, 429, 430, 431, 432, 433, 442, 105, 273, 106, 104, 294, 142, 224, 225, 161, 162, 170, 112, 171, 89, 60, 116,
                194, 195, 196, 190, 191, 193, 186, 187, 188, 189, 180, 181, 143, 144, 145, 146, 147, 149, 159,
            ]),
        _ => null,
    };

    private static void Filter(SystemCalls calls)
    {
        List<Instruction> program =
        [
            Load(ArchitectureAt),
            Jump(0x15, calls.Architecture, 1, 0),
            Return(Kill),
            Load(NumberAt),
        ];
        if (calls.IsAmbiguous)
        {
            // The same calls under numbers of a second table (x32).
            program.Add(Jump(0x35, 0x40000000, 0, 1));
            program.Add(Return(RefuseNotPermitted));
        }

        foreach (uint number in calls.Refused)
        {
            program.Add(Jump(0x15, number, 0, 1));
            program.Add(Return(RefuseNotPermitted));
        }

        foreach (uint number in calls.NotThere)
        {
            // The caller goes back to an older call, whose arguments can be looked at.
            program.Add(Jump(0x15, number, 0, 1));
            program.Add(Return(RefuseNoSuchCall));
        }

        void OpenedBy(uint number, uint flagsArgument)
        {
            program.Add(Jump(0x15, number, 0, 4));
            program.Add(Load(FirstArgumentAt + (8 * flagsArgument)));
            program.Add(Jump(0x45, OpenToWrite, 0, 1));
            program.Add(Return(RefuseNotPermitted));
            program.Add(Return(Allow));
        }

        if (calls.Open is { } open)
        {
            OpenedBy(open, 1);
        }

        OpenedBy(calls.OpenAt, 2);

        // A thread of this process may be made, a process not.
        program.Add(Jump(0x15, calls.MakeThread, 0, 3));
        program.Add(Load(FirstArgumentAt));
        program.Add(Jump(0x45, CloneThread, 1, 0));
        program.Add(Return(RefuseNotPermitted));
        program.Add(Return(Allow));
        Instruction[] all = [.. program];
        fixed (Instruction* first = all)
        {
            FilterProgram whole = new() { Length = (ushort)all.Length, First = first };
            _ = Call(calls.Seccomp, SetModeFilter, FlagThreadSync, &whole);
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

    [LibraryImport("libc", EntryPoint = "getppid")]
    private static partial int ParentId();

    private sealed record SystemCalls(uint Architecture, nint Seccomp, uint? Open, uint OpenAt, uint MakeThread, bool IsAmbiguous, uint[] NotThere, uint[] Refused);

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
