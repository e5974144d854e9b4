using Hotlight.Imaging;
using Hotlight.Workflows.Clinic;

namespace Hotlight.Cli.Commands;

/// <summary>Reads the file of a clinic's settings that the bench saves.</summary>
internal static class ClinicFile
{
    /// <summary>Words of the option's help.</summary>
    public const string Help = "Your clinic's settings (JSON), as the bench's page 'Clinic' saves them: targets, thresholds, calibrations of receptors, marker words; an option of the call goes before them.";

    /// <summary>The settings, or null where no file is given.</summary>
    /// <param name="path">Path of the file; never changed.</param>
    /// <exception cref="RefusedException">It cannot be read or used.</exception>
    public static ClinicSettings? Read(string? path)
    {
        if (path is null)
        {
            return null;
        }

        string name = Path.GetFileName(Path.TrimEndingDirectorySeparator(path));
        try
        {
            if (!PlainFile.Is(path))
            {
                throw new RefusedException($"{name}: it is a pipe, a terminal or a socket; give the file of your clinic's settings.");
            }

            return new FileInfo(path) is { Exists: true, Length: > ClinicSettingsJson.LargestBytes }
                ? throw new RefusedException($"{name}: it is too large for a file of settings.")
                : ClinicSettingsJson.Read(File.ReadAllText(path), name);
        }
        catch (FormatException error)
        {
            throw new RefusedException(error.Message);
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            throw new RefusedException($"{name}: {(error is FileNotFoundException or DirectoryNotFoundException ? "there is no such file of settings" : "the settings cannot be read; check that it is a file you may read")}.");
        }
    }
}
