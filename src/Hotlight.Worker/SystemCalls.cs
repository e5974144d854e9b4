namespace Hotlight.Worker;

/// <summary>A system call of Linux by its number on each architecture.</summary>
/// <param name="Name">As the kernel names it.</param>
/// <param name="X64">Its number on x86-64.</param>
/// <param name="Arm64">Its number on arm64; null: it is not there.</param>
internal sealed record SystemCall(string Name, uint X64, uint? Arm64);

/// <summary>System calls that decoding a stream never needs, and those of which it needs a part.</summary>
/// <remarks>Source: the kernel's tables. Checked against Debian's headers of both architectures (tests/reference/system-calls); the x86-64 column is tried by the worker itself, the arm64 column was not run.</remarks>
internal static class SystemCalls
{
    /// <summary>The call that sets the filter.</summary>
    public static readonly SystemCall Seccomp = new("seccomp", 317, 277);

    /// <summary>Opens a file, in the old form.</summary>
    public static readonly SystemCall Open = new("open", 2, null);

    /// <summary>Opens a file.</summary>
    public static readonly SystemCall OpenAt = new("openat", 257, 56);

    /// <summary>Makes a thread, or a process.</summary>
    public static readonly SystemCall Clone = new("clone", 56, 220);

    /// <summary>Newer forms, whose arguments a filter cannot look at: they are said not to be there, and the caller goes back to the older ones.</summary>
    public static readonly IReadOnlyList<SystemCall> NotThere = [new("clone3", 435, 435), new("openat2", 437, 437)];

    /// <summary>Calls that name a process first: allowed for this one alone.</summary>
    public static readonly IReadOnlyList<SystemCall> OwnProcessAlone = [new("tgkill", 234, 131), new("rt_tgsigqueueinfo", 297, 240), new("prlimit64", 302, 261)];

    /// <summary>What is refused whatever is asked by it.</summary>
    public static readonly IReadOnlyList<SystemCall> Refused =
    [
        // Network.
        new("socket", 41, 198), new("connect", 42, 203), new("accept", 43, 202), new("sendto", 44, 206), new("recvfrom", 45, 207), new("sendmsg", 46, 211),
        new("recvmsg", 47, 212), new("bind", 49, 200), new("listen", 50, 201), new("socketpair", 53, 199), new("accept4", 288, 242), new("recvmmsg", 299, 243),
        new("sendmmsg", 307, 269),

        // Programs and processes.
        new("fork", 57, null), new("vfork", 58, null), new("execve", 59, 221), new("execveat", 322, 281), new("kill", 62, 129), new("rt_sigqueueinfo", 129, 138),
        new("tkill", 200, 130), new("ptrace", 101, 117), new("process_vm_readv", 310, 270), new("process_vm_writev", 311, 271), new("pidfd_send_signal", 424, 424),
        new("pidfd_open", 434, 434), new("pidfd_getfd", 438, 438), new("unshare", 272, 97), new("setns", 308, 268), new("personality", 135, 92),

        // Files: made, removed, renamed, linked, cut, changed in rights, owner, time and attributes.
        new("creat", 85, null), new("mkdir", 83, null), new("mkdirat", 258, 34), new("mknod", 133, null), new("mknodat", 259, 33), new("rmdir", 84, null),
        new("unlink", 87, null), new("unlinkat", 263, 35), new("rename", 82, null), new("renameat", 264, 38), new("renameat2", 316, 276), new("link", 86, null),
        new("linkat", 265, 37), new("symlink", 88, null), new("symlinkat", 266, 36), new("chmod", 90, null), new("fchmod", 91, 52), new("fchmodat", 268, 53),
        new("fchmodat2", 452, 452), new("chown", 92, null), new("fchown", 93, 55), new("lchown", 94, null), new("fchownat", 260, 54), new("truncate", 76, 45),
        new("ftruncate", 77, 46), new("fallocate", 285, 47), new("utime", 132, null), new("utimes", 235, null), new("futimesat", 261, null), new("utimensat", 280, 88),
        new("setxattr", 188, 5), new("lsetxattr", 189, 6), new("fsetxattr", 190, 7), new("setxattrat", 463, 463), new("removexattr", 197, 14),
        new("lremovexattr", 198, 15), new("fremovexattr", 199, 16), new("removexattrat", 466, 466), new("name_to_handle_at", 303, 264),
        new("open_by_handle_at", 304, 265), new("memfd_create", 319, 279), new("file_setattr", 469, 469),

        // Other ways to the same: queues of requests, programs of the kernel, keys, mounts, shared memory, clocks, identity.
        new("io_uring_setup", 425, 425), new("io_uring_enter", 426, 426), new("io_uring_register", 427, 427), new("bpf", 321, 280), new("perf_event_open", 298, 241),
        new("userfaultfd", 323, 282), new("add_key", 248, 217), new("request_key", 249, 218), new("keyctl", 250, 219), new("mount", 165, 40), new("umount2", 166, 39),
        new("pivot_root", 155, 41), new("chroot", 161, 51), new("open_tree", 428, 428), new("move_mount", 429, 429), new("fsopen", 430, 430), new("fsconfig", 431, 431),
        new("fsmount", 432, 432), new("fspick", 433, 433), new("mount_setattr", 442, 442), new("open_tree_attr", 467, 467), new("init_module", 175, 105), new("finit_module", 313, 273),
        new("delete_module", 176, 106), new("kexec_load", 246, 104), new("kexec_file_load", 320, 294), new("reboot", 169, 142), new("swapon", 167, 224),
        new("swapoff", 168, 225), new("sethostname", 170, 161), new("setdomainname", 171, 162), new("settimeofday", 164, 170), new("clock_settime", 227, 112),
        new("clock_adjtime", 305, 266), new("adjtimex", 159, 171), new("acct", 163, 89), new("quotactl", 179, 60), new("quotactl_fd", 443, 443), new("iopl", 172, null), new("ioperm", 173, null),
        new("syslog", 103, 116), new("shmget", 29, 194), new("shmat", 30, 196), new("shmctl", 31, 195), new("semget", 64, 190), new("semop", 65, 193),
        new("semctl", 66, 191), new("msgget", 68, 186), new("msgsnd", 69, 189), new("msgrcv", 70, 188), new("msgctl", 71, 187), new("mq_open", 240, 180),
        new("mq_unlink", 241, 181), new("setuid", 105, 146), new("setgid", 106, 144), new("setreuid", 113, 145), new("setregid", 114, 143), new("setgroups", 116, 159),
        new("setresuid", 117, 147), new("setresgid", 119, 149), new("setfsuid", 122, 151), new("setfsgid", 123, 152),
    ];
}
