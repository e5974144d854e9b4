using Hotlight.Imaging.Jpeg;

namespace Hotlight.Imaging.Tests.Jpeg;

public sealed class JpegLsDecoderTests
{
    // ITU-T T.87 (06/98) annex H.3: a 4 x 4 image of 8 bits and its coded stream, byte for byte.
    private static readonly byte[] StandardStream = Convert.FromHexString(
        "FFD8" + "FFF7000B080004000401011100" + "FFDA0008010100000000" + "C000006C80208E01C0000057400000" + "6EE6000001BC18000005D800009160" + "FFD9");

    private static readonly ushort[] StandardImage = [0, 0, 90, 74, 68, 50, 43, 205, 64, 145, 145, 145, 100, 145, 145, 145];

    [Fact]
    [Trait("evidence", "published")]
    public void Decode_TheStandardsExample_GivesItsImage()
    {
        ushort[] words = new ushort[16];
        JpegLsDecoder.Outcome outcome = JpegLsDecoder.Decode(StandardStream, 4, 4, words, CancellationToken.None);
        Assert.Equal(StandardImage, words);
        Assert.Equal(new JpegLsDecoder.Outcome(Near: 0, Precision: 8), outcome);
    }

    [Fact]
    public void Decode_AnotherSizeThanExpected_IsRefused()
    {
        ImageFormatException error = Assert.Throws<ImageFormatException>(() => JpegLsDecoder.Decode(StandardStream, 5, 4, new ushort[20], CancellationToken.None));
        Assert.Contains("4 rows", error.Message);
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Decode_StreamCut_IsRefused()
    {
        for (int length = 0; length < StandardStream.Length - 3; length++)
        {
            int at = length;
            Assert.ThrowsAny<ImageFormatException>(() => JpegLsDecoder.Decode(StandardStream.AsSpan(0, at), 4, 4, new ushort[16], CancellationToken.None));
        }
    }
}
