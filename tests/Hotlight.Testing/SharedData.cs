using Xunit;

namespace Hotlight.Testing;

/// <summary>The folder of open radiographs beside the checkout. It is not part of the project; tests that need it are skipped, by name, where it is absent.</summary>
public static class SharedData
{
    /// <summary>The checkout's root: the folder that holds Hotlight.slnx.</summary>
    public static string RepositoryRoot { get; } = FindRoot();

    /// <summary>The data folder: HOTLIGHT_DATA, or ../shared/data beside the checkout.</summary>
    public static string Root { get; } = Environment.GetEnvironmentVariable("HOTLIGHT_DATA")
        ?? Path.GetFullPath(Path.Combine(RepositoryRoot, "..", "shared", "data"));

    /// <summary>A folder of the data, such as "radiographs-dicom".</summary>
    public static string Folder(string name) => Path.Combine(Root, name);

    /// <summary>The image files of a folder, without its table of sources.</summary>
    public static IEnumerable<string> Files(string folder) => Directory.EnumerateFiles(Folder(folder))
        .Where(file => Path.GetFileName(file) != "SOURCES.tsv").Order(StringComparer.Ordinal);

    private static string FindRoot()
    {
        for (string? folder = AppContext.BaseDirectory; folder is not null; folder = Path.GetDirectoryName(folder))
        {
            if (File.Exists(Path.Combine(folder, "Hotlight.slnx")))
            {
                return folder;
            }
        }

        throw new InvalidOperationException("The tests run from a checkout: no Hotlight.slnx above " + AppContext.BaseDirectory);
    }
}

/// <summary>A test that needs a folder of the shared data.</summary>
[AttributeUsage(AttributeTargets.Method)]
public sealed class SharedDataFactAttribute : FactAttribute
{
    /// <summary>Marks the test as skipped where the folder is absent.</summary>
    public SharedDataFactAttribute(string folder)
    {
        if (!Directory.Exists(SharedData.Folder(folder)))
        {
            Skip = $"skipped: the shared data folder '{folder}' is not beside this checkout";
        }
    }
}

/// <summary>A theory that needs a folder of the shared data.</summary>
[AttributeUsage(AttributeTargets.Method)]
public sealed class SharedDataTheoryAttribute : TheoryAttribute
{
    /// <summary>Marks the theory as skipped where the folder is absent.</summary>
    public SharedDataTheoryAttribute(string folder)
    {
        if (!Directory.Exists(SharedData.Folder(folder)))
        {
            Skip = $"skipped: the shared data folder '{folder}' is not beside this checkout";
        }
    }
}

/// <summary>A test with rows that needs a file of the system, such as a browser or a native library.</summary>
[AttributeUsage(AttributeTargets.Method)]
public sealed class SystemFileTheoryAttribute : TheoryAttribute
{
    /// <summary>Marks the test as skipped where none of the files exists.</summary>
    public SystemFileTheoryAttribute(params string[] anyOf)
    {
        if (!anyOf.Any(File.Exists))
        {
            Skip = $"skipped: none of {string.Join(", ", anyOf)} is installed";
        }
    }
}

/// <summary>A test that needs a file of the system, such as a browser or a native library.</summary>
[AttributeUsage(AttributeTargets.Method)]
public sealed class SystemFileFactAttribute : FactAttribute
{
    /// <summary>Marks the test as skipped where none of the files exists.</summary>
    public SystemFileFactAttribute(params string[] anyOf)
    {
        if (!anyOf.Any(File.Exists))
        {
            Skip = $"skipped: none of {string.Join(", ", anyOf)} is installed";
        }
    }
}
