using System.Security.Cryptography;

namespace Hotlight.Core;

/// <summary>A secret of a data folder in a file of its own, readable by its user alone.</summary>
public static class KeyFile
{
    /// <summary>The key in a file; a missing file is made with random bytes. Two programs that make it at the same moment get the same key.</summary>
    /// <param name="path">The file.</param>
    /// <param name="bytes">Length of the key, in bytes.</param>
    /// <exception cref="IOException">It cannot be read or made, or holds no key.</exception>
    /// <exception cref="UnauthorizedAccessException">It may not be read or made.</exception>
    public static byte[] Open(string path, int bytes)
    {
        ArgumentException.ThrowIfNullOrWhiteSpace(path);
        Preconditions.AtLeastOne(bytes);
        if (!File.Exists(path))
        {
            string unfinished = $"{path}.{Guid.NewGuid():N}.part";
            var options = new FileStreamOptions { Mode = FileMode.CreateNew, Access = FileAccess.Write };
            if (!OperatingSystem.IsWindows())
            {
                options.UnixCreateMode = UnixFileMode.UserRead | UnixFileMode.UserWrite;
            }

            try
            {
                using (FileStream file = new(unfinished, options))
                {
                    file.Write(RandomNumberGenerator.GetBytes(bytes));
                    file.Flush(flushToDisk: true);
                }

                File.Move(unfinished, path, overwrite: false);
            }
            catch (IOException) when (File.Exists(path))
            {
                // Another process made it at the same moment: that one counts.
            }
            finally
            {
                File.Delete(unfinished);
            }
        }

        byte[] content = File.ReadAllBytes(path);
        return content.Length == bytes ? content : throw new IOException($"the file holds {content.Length} bytes where a key has {bytes}");
    }
}
