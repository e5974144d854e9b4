namespace Hotlight.Testing;

/// <summary>A folder of its own for a test, removed afterwards.</summary>
public sealed class ScratchFolder : IDisposable
{
    /// <summary>The folder's path.</summary>
    public string Path { get; } = Directory.CreateTempSubdirectory("hotlight-test-").FullName;

    /// <summary>A path inside the folder.</summary>
    public string this[string name] => System.IO.Path.Combine(Path, name);

    /// <summary>Removes the folder.</summary>
    public void Dispose() => Directory.Delete(Path, recursive: true);
}
