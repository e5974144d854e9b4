using System.Text;
using Hotlight.Workflows.Cases;

namespace Hotlight.Store.Tests;

public sealed class FolderFileStoreTests : IDisposable
{
    // FIPS 180-4 example: SHA-256 of "abc".
    private const string HashOfAbc = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";

    private readonly string folder = Directory.CreateTempSubdirectory("hotlight-files-").FullName;

    public void Dispose() => Directory.Delete(folder, recursive: true);

    [Fact]
    [Trait("evidence", "published")]
    public async Task KeepAsync_KnownBytes_AreKeptUnderTheirHash()
    {
        var store = new FolderFileStore(folder);

        KeptFile kept = await store.KeepAsync(Bytes("abc"), limitBytes: 3);

        Assert.Equal(new KeptFile(HashOfAbc, 3, WasKept: false), kept);
        Assert.Equal("abc"u8.ToArray(), await store.ReadAsync(HashOfAbc));
        Assert.Single(Files());
    }

    [Fact]
    public async Task KeepAsync_SameBytesTwice_AreKeptOnce()
    {
        var store = new FolderFileStore(folder);
        await store.KeepAsync(Bytes("abc"), 10);

        Assert.True((await store.KeepAsync(Bytes("abc"), 10)).WasKept);
        Assert.Single(Files());
    }

    [Fact]
    public async Task KeepAsync_OverTheLimit_IsRefusedAndLeavesNothing()
    {
        var store = new FolderFileStore(folder);

        FileNotKeptException error = await Assert.ThrowsAsync<FileNotKeptException>(() => store.KeepAsync(Bytes("abcd"), limitBytes: 3));

        Assert.Contains("larger than", error.Message, StringComparison.Ordinal);
        Assert.Empty(Files());
    }

    [Fact]
    public async Task KeepAsync_SourceBreaksOff_LeavesNothing()
    {
        var store = new FolderFileStore(folder);
        await Assert.ThrowsAnyAsync<Exception>(() => store.KeepAsync(new BrokenStream(), 1 << 20));
        Assert.Empty(Files());
    }

    [Theory]
    [InlineData("../../etc/passwd")]
    [InlineData("BA7816BF8F01CFEA414140DE5DAE2223B00361A396177A9CB410FF61F20015AD")]
    [InlineData("")]
    public async Task ReadAsync_NameThatIsNoHash_IsRefused(string name)
        => await Assert.ThrowsAsync<ArgumentException>(() => new FolderFileStore(folder).ReadAsync(name));

    [Fact]
    public async Task Remove_KeptFile_IsGone()
    {
        var store = new FolderFileStore(folder);
        await store.KeepAsync(Bytes("abc"), 10);

        store.Remove(HashOfAbc);
        store.Remove(HashOfAbc);

        await Assert.ThrowsAsync<FileNotKeptException>(() => store.ReadAsync(HashOfAbc));
    }

    [Fact]
    public void Constructor_FolderThatIsAFile_SaysSo()
    {
        string path = Path.Combine(folder, "taken");
        File.WriteAllText(path, "x");
        Assert.Contains("cannot be written", Assert.Throws<FileNotKeptException>(() => new FolderFileStore(path)).Message, StringComparison.Ordinal);
    }

    private static MemoryStream Bytes(string text) => new(Encoding.ASCII.GetBytes(text));

    private string[] Files() => Directory.GetFiles(folder, "*", SearchOption.AllDirectories);

    private sealed class BrokenStream : MemoryStream
    {
        private bool began;

        public override ValueTask<int> ReadAsync(Memory<byte> buffer, CancellationToken cancellationToken = default)
        {
            if (began)
            {
                throw new InvalidOperationException("the connection was reset");
            }

            began = true;
            buffer.Span[..10].Fill(1);
            return ValueTask.FromResult(10);
        }
    }
}
