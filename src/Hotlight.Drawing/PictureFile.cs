namespace Hotlight.Drawing;

/// <summary>Writes a picture so that the file is whole or not there: a reader never meets half of one.</summary>
public static class PictureFile
{
    /// <summary>Writes bytes to a file beside the target, then puts it in the target's place.</summary>
    /// <param name="path">Path of the target; an older file there is replaced.</param>
    /// <param name="content">The bytes.</param>
    /// <exception cref="IOException">It cannot be written; the message is one sentence, and nothing new is left behind.</exception>
    public static void Write(string path, byte[] content) => Write(path, stream => stream.Write(content));

    /// <summary>As <see cref="Write(string, byte[])"/>, with the content written by the caller.</summary>
    internal static void Write(string path, Action<Stream> write)
    {
        string folder = Check(path);
        string unfinished = Path.Combine(folder, $".{Path.GetFileName(path)}.{Guid.NewGuid():N}.part");
        try
        {
            using (var stream = new FileStream(unfinished, FileMode.CreateNew, FileAccess.Write, FileShare.None))
            {
                write(stream);
                stream.Flush(flushToDisk: true);
            }

            File.Move(unfinished, path, overwrite: true);
        }
        catch (Exception cause) when (cause is IOException or UnauthorizedAccessException or NotSupportedException)
        {
            Remove(unfinished);
            throw new IOException($"{path}: the picture cannot be written ({Reason(cause)}).", cause);
        }
    }

    /// <summary>Says before any work whether a picture can stand at a path: not in place of a folder, and in a folder that is there.</summary>
    /// <param name="path">Path of the target.</param>
    /// <returns>The full path of its folder.</returns>
    /// <exception cref="IOException">It cannot; the message is one sentence.</exception>
    public static string Check(string path)
    {
        ArgumentException.ThrowIfNullOrWhiteSpace(path);
        if (Directory.Exists(path))
        {
            throw new IOException($"{path}: the picture cannot be written, because this is a folder; give the name of a file.");
        }

        string folder = Path.GetDirectoryName(Path.GetFullPath(path)) ?? Path.GetPathRoot(Path.GetFullPath(path))!;
        if (!Directory.Exists(folder))
        {
            throw new IOException($"{path}: the picture cannot be written, because there is no folder '{folder}'.");
        }

        return folder;
    }

    private static string Reason(Exception cause) => cause switch
    {
        UnauthorizedAccessException => "no right to write in this folder",
        IOException when (cause.HResult & 0xFFFF) is 28 or 112 => "the disk is full",
        IOException when (cause.HResult & 0xFFFF) is 30 or 19 => "the disk is read-only",
        _ => cause.Message.Split('\n')[0].TrimEnd('.', ' ', '\r'),
    };

    private static void Remove(string unfinished)
    {
        try
        {
            File.Delete(unfinished);
        }
        catch (Exception cause) when (cause is IOException or UnauthorizedAccessException)
        {
            // The folder that refused the file may refuse this too; the first reason is the one to tell.
        }
    }
}
