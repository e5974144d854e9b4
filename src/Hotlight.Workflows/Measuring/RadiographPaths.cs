namespace Hotlight.Workflows.Measuring;

/// <summary>A file that was named or found in a folder.</summary>
/// <param name="Path">Its path.</param>
/// <param name="IsFound">Whether it was found in a folder rather than named; a found file of another kind is nothing wrong.</param>
public sealed record RadiographPath(string Path, bool IsFound);

/// <summary>Turns names of files and folders into files.</summary>
public static class RadiographPaths
{
    /// <summary>The files, in the order given; a folder stands for all files below it, by name, without hidden ones and without results of Hotlight itself.</summary>
    /// <param name="names">Names of files and folders.</param>
    /// <exception cref="FolderException">A folder holds no file or may not be read; the message is one sentence.</exception>
    public static IReadOnlyList<RadiographPath> Of(IReadOnlyList<string> names)
    {
        ArgumentNullException.ThrowIfNull(names);
        var paths = new List<RadiographPath>();
        foreach (string name in names)
        {
            if (!Directory.Exists(name))
            {
                paths.Add(new RadiographPath(name, IsFound: false));
                continue;
            }

            string[] found = FilesBelow(name);
            if (found.Length == 0)
            {
                throw new FolderException($"{Path.GetFileName(Path.TrimEndingDirectorySeparator(name))}: the folder holds no file.");
            }

            paths.AddRange(found.Select(path => new RadiographPath(path, IsFound: true)));
        }

        return paths;
    }

    private static string[] FilesBelow(string folder)
    {
        try
        {
            var options = new EnumerationOptions
            {
                RecurseSubdirectories = true,
                AttributesToSkip = FileAttributes.Hidden | FileAttributes.System,
                IgnoreInaccessible = false,
            };
            string[] found = [.. Directory.EnumerateFiles(folder, "*", options).Where(path => !IsHidden(folder, path) && !path.EndsWith(ResultsFile.Ending, StringComparison.OrdinalIgnoreCase))];
            Array.Sort(found, StringComparer.Ordinal);
            return found;
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            throw new FolderException($"{Path.GetFileName(Path.TrimEndingDirectorySeparator(folder))}: the folder cannot be read: {(error is UnauthorizedAccessException ? "permission is denied" : error.Message.Split(" : ")[0].TrimEnd('.'))}.", error);
        }
    }

    private static bool IsHidden(string folder, string path)
        => Path.GetRelativePath(folder, path).Split(Path.DirectorySeparatorChar).Any(part => part.StartsWith('.'));
}

/// <summary>A folder cannot be gone through; the message is one sentence.</summary>
public sealed class FolderException : Exception
{
    /// <summary>Creates the error.</summary>
    /// <param name="message">One sentence.</param>
    /// <param name="inner">The cause, when there is one.</param>
    public FolderException(string message, Exception? inner = null)
        : base(message, inner)
    {
    }
}
