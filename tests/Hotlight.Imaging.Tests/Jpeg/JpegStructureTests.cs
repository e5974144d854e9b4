using Hotlight.Core;
using Hotlight.Testing;

namespace Hotlight.Imaging.Tests.Jpeg;

/// <summary>Streams that the decoding library would take on trust: found by bench/hostile, and by reading the library after that.</summary>
public sealed class JpegStructureTests
{
    [Theory]
    [InlineData("codes-of-none", "damaged")]
    [InlineData("scan-beyond-its-block", "damaged")]
    [InlineData("second-frame", "more than one picture")]
    [InlineData("large-for-its-bytes", "ends early")]
    public void Read_StreamThatTheDecoderWouldTrust_IsRefusedBefore(string name, string reason)
    {
        byte[] content = File.ReadAllBytes(Path.Combine(SharedData.RepositoryRoot, "tests", "reference", "hostile", "jpeg", name));

        Assert.Contains(reason, Assert.Throws<UnreadableImageException>(() => RadiographReader.Read(content, name)).Reason, StringComparison.Ordinal);
    }

    // Each change is one that the library does not look at, or looks at too late.
    [Theory]
    [InlineData("grey.jpg", 0xC0, 7, 0x33)]
    [InlineData("grey.jpg", 0xC0, 7, 0x00)]
    [InlineData("grey.jpg", 0xC0, 8, 4)]
    [InlineData("grey.jpg", 0xDA, 1, 9)]
    [InlineData("grey.jpg", 0xDA, 2, 0x44)]
    [InlineData("grey.jpg", 0xC4, 0, 0x24)]
    [InlineData("grey.jpg", 0xC4, 1, 3)]
    [InlineData("grey.jpg", 0xDB, 0, 0x20)]
    [InlineData("progressive.jpg", 0xDA, 4, 64)]
    [InlineData("progressive.jpg", 0xDA, 5, 0x0E)]
    public void Read_SegmentWithOneByteThatCannotBe_IsRefused(string name, byte marker, int place, byte value)
    {
        byte[] content = File.ReadAllBytes(Path.Combine(SharedData.RepositoryRoot, "tests", "reference", "pictures", name));
        Assert.NotNull(RadiographReader.Read(content, name));
        content[content.AsSpan().IndexOf((ReadOnlySpan<byte>)[0xFF, marker]) + 4 + place] = value;

        Assert.Throws<UnreadableImageException>(() => RadiographReader.Read(content, name));
    }
}
