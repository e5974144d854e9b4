namespace Hotlight.Drawing.Tests;

/// <summary>A folder of its own that is gone after the test.</summary>
internal sealed class TemporaryFolder : IDisposable
{
    public string Path { get; } = Directory.CreateTempSubdirectory("hotlight-drawing-").FullName;

    public void Dispose() => Directory.Delete(Path, recursive: true);
}
