namespace Hotlight.Cli.Commands;

/// <summary>Writes a file so that it is whole or not there.</summary>
internal static class WholeFile
{
    public static void Write(string path, byte[] content)
    {
        string unfinished = path + ".part";
        try
        {
            File.WriteAllBytes(unfinished, content);
            File.Move(unfinished, path, overwrite: true);
        }
        catch
        {
            File.Delete(unfinished);
            throw;
        }
    }
}
