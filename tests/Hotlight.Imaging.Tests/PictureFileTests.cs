using Hotlight.Core;
using Hotlight.Testing;

namespace Hotlight.Imaging.Tests;

/// <summary>PNG, TIFF and JPEG files written by another program, beside its own reading of them; tests/reference/pictures/make_pictures.sh made them.</summary>
public sealed class PictureFileTests
{
    private static readonly string Folder = Path.Combine(SharedData.RepositoryRoot, "tests", "reference", "pictures");

    [Theory]
    [Trait("evidence", "independent")]
    [InlineData("lzw16.tif", 16, 0)]
    [InlineData("tiled16.tif", 16, 0)]
    [InlineData("packbits8.tif", 8, 0)]
    [InlineData("interlaced8.png", 8, 0)]
    [InlineData("palette8.png", 8, 0)]

    // JPEG decoders may round a sample by one (ITU-T T.83).
    [InlineData("grey.jpg", 8, 1)]
    [InlineData("progressive.jpg", 8, 1)]
    [InlineData("grey-as-colour.jpg", 8, 1)]
    public void Read_PictureByAnotherProgram_GivesItsSamples(string name, int bits, int tolerance)
    {
        Radiograph radiograph = RadiographReader.Read(Path.Combine(Folder, name));
        Assert.Equal((29, 41, bits), (radiograph.Rows, radiograph.Columns, radiograph.BitsStored));
        int[] expected = Raw(name, bits);
        Assert.All(Enumerable.Range(0, expected.Length), i => Assert.InRange(radiograph.Pixels.Samples[i] - expected[i], -tolerance, tolerance));
        Assert.Null(radiograph.ReceptorSpacing);
        Assert.Equal(name.EndsWith(".jpg", StringComparison.Ordinal) ? true : null, radiograph.LossyCompressed);
    }

    [Fact]
    [Trait("evidence", "independent")]
    public void Read_PackedTwelveBits_GivesTheSamples()
    {
        // The other program gives 12-bit samples as round(sample * 65535 / 4095), which has one inverse.
        Radiograph radiograph = RadiographReader.Read(Path.Combine(Folder, "packed12.tif"));
        Assert.Equal(12, radiograph.BitsStored);
        Assert.Equal(Raw("packed12.tif", 16).Select(value => (int)Math.Round(value * 4095 / 65535.0)), radiograph.Pixels.Samples.ToArray().Select(value => (int)value));
    }

    [Fact]
    [Trait("evidence", "independent")]
    public void Read_WhiteIsZero_ShowsWhatTheOtherProgramShows()
    {
        Radiograph radiograph = RadiographReader.Read(Path.Combine(Folder, "white-is-zero8.tif"));
        Assert.True(radiograph.HighIsShownDark);
        Assert.Equal(Raw("white-is-zero8.tif", 8), Imaging.Display.DisplayTable.Render(radiograph).Samples.ToArray().Select(value => (int)value));
    }

    [Theory]
    [InlineData("colour.jpg")]
    [InlineData("colour.tif")]
    public void Read_PictureInColour_IsRefused(string name)
        => Assert.Contains("in colour", Assert.Throws<UnreadableImageException>(() => RadiographReader.Read(Path.Combine(Folder, name))).Reason);

    [Theory]
    [Trait("evidence", "invariant")]
    [InlineData("grey.jpg")]
    [InlineData("progressive.jpg")]
    [InlineData("grey-as-colour.jpg")]
    [InlineData("tiled16.tif")]
    [InlineData("lzw16.tif")]
    [InlineData("interlaced8.png")]
    [InlineData("palette8.png")]
    public void Read_PictureCutOrChanged_EndsInAnImageOrOneSentence(string name)
    {
        byte[] content = File.ReadAllBytes(Path.Combine(Folder, name));
        Random random = new(20240611);
        for (int i = 0; i < 300; i++)
        {
            bool isCut = i % 3 == 0;
            byte[] damaged = isCut ? content[..random.Next(content.Length)] : [.. content];
            for (int k = random.Next(1, 6); k > 0 && !isCut; k--)
            {
                damaged[random.Next(8, damaged.Length)] = (byte)random.Next(256);
            }

            try
            {
                _ = RadiographReader.Read(damaged, name);
            }
            catch (UnreadableImageException error)
            {
                Dicom.FixtureTests.AssertOneSentence(error);
            }
        }
    }

    private static int[] Raw(string name, int bits)
    {
        byte[] bytes = File.ReadAllBytes(Path.Combine(Folder, name + ".raw"));
        return bits == 8 ? [.. bytes.Select(value => (int)value)] : [.. Enumerable.Range(0, bytes.Length / 2).Select(i => bytes[2 * i] | (bytes[(2 * i) + 1] << 8))];
    }
}
