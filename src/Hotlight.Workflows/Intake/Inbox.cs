using System.Data.Common;
using Hotlight.Audit;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Workflows.Cases;

namespace Hotlight.Workflows.Intake;

/// <summary>A folder whose files are brought in. A file is taken when it is whole: its size and time did not change for a while.</summary>
/// <remarks>
/// <para>What became a case moves to <c>taken</c> or is removed; what is no radiograph moves to <c>refused</c> with the reason in a text file beside. A file is moved after it is kept: a bench that is killed in between meets the file again, sees that its exposure is kept, and moves it then.</para>
/// <para>Hidden files, links and files that end in .part or .tmp are left alone.</para>
/// </remarks>
public sealed class Inbox
{
    /// <summary>Folder of what is kept.</summary>
    public const string TakenFolder = "taken";

    /// <summary>Folder of what is not.</summary>
    public const string RefusedFolder = "refused";

    /// <summary>How long a file must not change to count as whole.</summary>
    public static readonly TimeSpan WholeAfter = TimeSpan.FromSeconds(2);

    /// <summary>How long an empty file may wait for its bytes.</summary>
    public static readonly TimeSpan EmptyAfter = TimeSpan.FromMinutes(1);

    private readonly CaseWorkflow cases;
    private readonly ArrivalLog log;
    private readonly string folder;
    private readonly bool removes;
    private readonly long limitBytes;
    private readonly TimeProvider clock;
    private readonly Dictionary<string, Sight> seen = new(StringComparer.Ordinal);

    /// <summary>Creates the inbox; nothing is read yet.</summary>
    /// <param name="cases">Where files become cases.</param>
    /// <param name="log">What is told of them.</param>
    /// <param name="folder">The folder; made when missing.</param>
    /// <param name="removes">Whether files that are kept are removed instead of moved.</param>
    /// <param name="limitBytes">Most bytes of a file.</param>
    /// <param name="clock">Tells the time.</param>
    public Inbox(CaseWorkflow cases, ArrivalLog log, string folder, bool removes, long limitBytes, TimeProvider clock)
    {
        ArgumentException.ThrowIfNullOrWhiteSpace(folder);
        this.cases = cases;
        this.log = log;
        this.folder = Path.GetFullPath(folder);
        this.removes = removes;
        this.limitBytes = limitBytes;
        this.clock = clock;
    }

    /// <summary>Looks through the folder once and brings in what is whole.</summary>
    /// <param name="cancellation">Stops before the next file.</param>
    /// <returns>Whether files wait to become whole: look again soon.</returns>
    /// <exception cref="IOException">The folder cannot be read.</exception>
    /// <exception cref="UnauthorizedAccessException">The folder may not be read.</exception>
    public async Task<bool> LookAsync(CancellationToken cancellation = default)
    {
        Directory.CreateDirectory(folder);
        HashSet<string> there = new(StringComparer.Ordinal);
        bool waits = false;
        foreach (string path in Files())
        {
            cancellation.ThrowIfCancellationRequested();
            there.Add(path);
            if (IsWhole(path))
            {
                waits |= !await BringInAsync(path, cancellation);
            }
            else
            {
                waits = true;
            }
        }

        foreach (string gone in seen.Keys.Where(path => !there.Contains(path)).ToArray())
        {
            seen.Remove(gone);
        }

        return waits;
    }

    private IEnumerable<string> Files()
    {
        var options = new EnumerationOptions
        {
            RecurseSubdirectories = true,
            AttributesToSkip = FileAttributes.Hidden | FileAttributes.System | FileAttributes.ReparsePoint,
            IgnoreInaccessible = true,
        };
        return [.. Directory.EnumerateFiles(folder, "*", options)
            .Where(path =>
            {
                string[] parts = Path.GetRelativePath(folder, path).Split(Path.DirectorySeparatorChar);
                return parts[0] is not (TakenFolder or RefusedFolder) && !parts.Any(part => part.StartsWith('.'))
                    && !path.EndsWith(".part", StringComparison.OrdinalIgnoreCase) && !path.EndsWith(".tmp", StringComparison.OrdinalIgnoreCase) && PlainFile.Is(path);
            })
            .Order(StringComparer.Ordinal)];
    }

    private bool IsWhole(string path)
    {
        DateTimeOffset now = clock.GetUtcNow();
        FileInfo file = new(path);
        if (!file.Exists)
        {
            return false;
        }

        Sight sight = new(file.Length, file.LastWriteTimeUtc, now);
        if (!seen.TryGetValue(path, out Sight? before) || before.Bytes != sight.Bytes || before.Written != sight.Written)
        {
            seen[path] = sight;
            return false;
        }

        return now - before.Since >= (file.Length == 0 ? EmptyAfter : WholeAfter);
    }

    private async Task<bool> BringInAsync(string path, CancellationToken cancellation)
    {
        string name = Path.GetFileName(path);
        try
        {
            CaseBroughtIn brought;
            await using (FileStream file = new(path, FileMode.Open, FileAccess.Read, FileShare.Read, bufferSize: 0, FileOptions.Asynchronous))
            {
                if (file.Length > limitBytes)
                {
                    throw new UnreadableImageException(name, $"it is larger than {limitBytes / (1024 * 1024)} MiB, the most the bench takes.");
                }

                brought = await cases.BringInAsync(name, file, limitBytes, CaseOrigin.Inbox, cancellation);
            }

            if (removes)
            {
                File.Delete(path);
            }
            else
            {
                MoveTo(TakenFolder, path);
            }

            seen.Remove(path);
            log.Add(brought);
            return true;
        }
        catch (UnreadableImageException error)
        {
            string refused = MoveTo(RefusedFolder, path);
            await File.WriteAllTextAsync(refused + ".txt", $"{name}: {error.Reason}\n", CancellationToken.None);
            seen.Remove(path);
            log.Add(CaseOrigin.Inbox, name, error.Reason);
            return true;
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException or FileNotKeptException or AuditRefusedException || error.GetBaseException() is DbException)
        {
            // The disk is full, the records are away or the file is held by another program: it stays, and is tried again.
            return false;
        }
    }

    private string MoveTo(string kind, string path)
    {
        string target = Path.Combine(folder, kind, Path.GetRelativePath(folder, path));
        Directory.CreateDirectory(Path.GetDirectoryName(target)!);
        string free = target;
        for (int number = 2; File.Exists(free); number++)
        {
            free = Path.Combine(Path.GetDirectoryName(target)!, $"{Path.GetFileNameWithoutExtension(target)} ({number}){Path.GetExtension(target)}");
        }

        File.Move(path, free);
        return free;
    }

    private sealed record Sight(long Bytes, DateTime Written, DateTimeOffset Since);
}
