using System.Diagnostics;
using Hotlight.Testing;

namespace Hotlight.Web.Tests;

/// <summary>A disk of a few megabytes that can be filled and made read-only: a file system in memory, mounted for one test.</summary>
public sealed class SmallDisk : IDisposable
{
    private readonly ScratchFolder folder = new();

    /// <summary>Mounts it.</summary>
    /// <param name="mebibytes">Its size.</param>
    public SmallDisk(int mebibytes)
    {
        Directory.CreateDirectory(Path);
        Mount("-t", "tmpfs", "-o", $"size={mebibytes}m,mode=700", "tmpfs", Path);
    }

    /// <summary>Where it is mounted.</summary>
    public string Path => folder["disk"];

    /// <summary>Whether a disk can be mounted here.</summary>
    public static bool IsPossible { get; } = TryMount();

    private string Ballast => System.IO.Path.Combine(Path, "ballast");

    /// <summary>Fills it to the last byte.</summary>
    public void Fill()
    {
        using var ballast = new FileStream(Ballast, FileMode.Append, FileAccess.Write, FileShare.None, bufferSize: 0);
        foreach (int bytes in new[] { 1 << 16, 1 << 12, 1 })
        {
            try
            {
                byte[] block = new byte[bytes];
                while (true)
                {
                    ballast.Write(block);
                }
            }
            catch (IOException)
            {
                // Full for blocks of this size.
            }
        }
    }

    /// <summary>Makes room again.</summary>
    public void Clear() => File.Delete(Ballast);

    /// <summary>Makes it read-only or writable; no file may be open for writing.</summary>
    /// <param name="isReadOnly">Which.</param>
    public void Turn(bool isReadOnly) => Mount("-o", isReadOnly ? "remount,ro" : "remount,rw", Path);

    /// <inheritdoc/>
    public void Dispose()
    {
        // Lazily: what still has a file open there keeps its own.
        Run("/bin/umount", "-l", Path);
        folder.Dispose();
    }

    private static bool TryMount()
    {
        if (!OperatingSystem.IsLinux() || !File.Exists("/bin/mount"))
        {
            return false;
        }

        using var folder = new ScratchFolder();
        Directory.CreateDirectory(folder["try"]);
        return Run("/bin/mount", "-t", "tmpfs", "-o", "size=1m", "tmpfs", folder["try"]) && Run("/bin/umount", folder["try"]);
    }

    private static void Mount(params string[] words)
    {
        if (!Run("/bin/mount", words))
        {
            throw new InvalidOperationException($"mount {string.Join(' ', words)} was refused.");
        }
    }

    private static bool Run(string program, params string[] words)
    {
        using var process = Process.Start(new ProcessStartInfo(program, words) { RedirectStandardError = true, RedirectStandardOutput = true })!;
        process.StandardError.ReadToEnd();
        process.WaitForExit();
        return process.ExitCode == 0;
    }
}

/// <summary>A test that needs a small disk, skipped with a clear word where none can be mounted.</summary>
[AttributeUsage(AttributeTargets.Method)]
public sealed class SmallDiskFactAttribute : FactAttribute
{
    /// <summary>Looks once whether one can.</summary>
    /// <param name="withBrowser">Whether Chromium is needed too.</param>
    public SmallDiskFactAttribute(bool withBrowser = false)
        => Skip = !SmallDisk.IsPossible ? "skipped: a small disk can be mounted here by root only"
            : withBrowser && !File.Exists(SystemChromium.Path) ? "skipped: Chromium is not installed here (Debian: apt-get install chromium)" : null;
}
