using System.Runtime.InteropServices;
using System.Security.Cryptography;
using System.Text.Json.Nodes;
using Hotlight.Core;
using Hotlight.Testing;

namespace Hotlight.Imaging.Tests.Dicom;

/// <summary>One invented image in every pixel layout and coding, written by other authors' programs; tests/reference/decoded-pixels/make_fixtures.py made them.</summary>
public sealed class FixtureTests
{
    private static readonly string Folder = Path.Combine(SharedData.RepositoryRoot, "tests", "reference", "decoded-pixels");
    private static readonly JsonObject Reference = JsonNode.Parse(File.ReadAllText(Path.Combine(Folder, "fixtures.json")))!["files"]!.AsObject();

    /// <summary>Whether JPEG 2000 can be decoded on this machine.</summary>
    public static bool HasOpenJpeg { get; } = new[] { "/usr/lib", "/usr/lib64", "/usr/local/lib" }.Where(Directory.Exists)
        .Any(folder => Directory.EnumerateFiles(folder, "libopenjp2.so*", new EnumerationOptions { RecurseSubdirectories = true, IgnoreInaccessible = true }).Any());

    public static TheoryData<string> Exact() => [.. Reference.Where(file => file.Value!["sha256"] is not null && (HasOpenJpeg || !file.Key.Contains("j2k"))).Select(file => file.Key)];

    public static TheoryData<string> Lossy() => [.. Reference.Where(file => file.Value!["values"] is not null).Select(file => file.Key)];

    public static TheoryData<string> All() => [.. Reference.Where(file => HasOpenJpeg || !file.Key.Contains("j2k")).Select(file => file.Key)];

    [Theory]
    [Trait("evidence", "independent")]
    [MemberData(nameof(Exact))]
    public void Read_CodedByAnotherProgram_GivesTheStoredValues(string name)
    {
        Radiograph radiograph = Read(name);
        bool isSigned = name[0] == 's';
        int bits = int.Parse(name[1..].Split('-', '.')[0], System.Globalization.CultureInfo.InvariantCulture);
        Assert.Equal((37, 53, bits), (radiograph.Rows, radiograph.Columns, radiograph.BitsStored));
        Assert.Equal(isSigned ? -(1 << (bits - 1)) : 0, radiograph.StoredMinimum);
        Assert.Equal((string)Reference[name]!["sha256"]!, Hash(radiograph));
        Assert.Equal(name.Contains("near"), radiograph.LossyCompressed == true);
    }

    [Theory]
    [Trait("evidence", "independent")]
    [MemberData(nameof(Lossy))]
    public void Read_LossyJpeg_StaysWithinOneGreyLevelOfAnotherProgram(string name)
    {
        Radiograph radiograph = Read(name);
        int[] expected = Reference[name]!["values"]!.AsArray().Select(value => (int)value!).ToArray();
        Assert.True(radiograph.LossyCompressed);

        // ITU-T T.83 4.2: coefficients may round by one.
        Assert.All(Enumerable.Range(0, expected.Length), i => Assert.InRange(radiograph.Pixels.Samples[i] - expected[i], -1, 1));
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Read_NearLossless_StaysWithinItsTolerance()
    {
        // T.87: every sample of a near-lossless stream lies within NEAR of the original.
        Radiograph radiograph = Read("u10-jpls-near-3.dcm");
        int[] original = Reference["u10-jpls-near-3.dcm"]!["original"]!.AsArray().Select(value => (int)value!).ToArray();
        Assert.All(Enumerable.Range(0, original.Length), i => Assert.InRange(radiograph.Pixels.Samples[i] - original[i], -3, 3));
    }

    [Theory]
    [Trait("evidence", "invariant")]
    [MemberData(nameof(All))]
    public void Read_FileCutAnywhere_IsRefusedOrWhole(string name)
    {
        byte[] content = File.ReadAllBytes(Path.Combine(Folder, "fixtures", name));
        ushort[] whole = RadiographReader.Read(content, name).Pixels.Samples.ToArray();
        for (int length = 0; length < content.Length; length += name.Contains("j2k") ? 97 : 13)
        {
            try
            {
                Radiograph cut = RadiographReader.Read(content.AsMemory(0, length), name);
                Assert.True(whole.AsSpan().SequenceEqual(cut.Pixels.Samples), $"{name} cut to {length} bytes was read as another image");
            }
            catch (UnreadableImageException error)
            {
                Assert.EndsWith(".", error.Reason);
            }
        }
    }

    [Theory]
    [Trait("evidence", "invariant")]
    [MemberData(nameof(All))]
    public void Read_BytesChanged_EndsInAnImageOrOneSentence(string name)
    {
        byte[] content = File.ReadAllBytes(Path.Combine(Folder, "fixtures", name));
        Random random = new(name.Aggregate(17, (hash, letter) => unchecked((hash * 31) + letter)));
        int mutations = name.Contains("j2k") ? 20 : 120;
        for (int i = 0; i < mutations; i++)
        {
            byte[] damaged = [.. content];
            for (int k = random.Next(1, 8); k > 0; k--)
            {
                damaged[random.Next(132, damaged.Length)] = random.Next(4) == 0 ? (byte)0xFF : (byte)random.Next(256);
            }

            try
            {
                Radiograph radiograph = RadiographReader.Read(damaged, name);
                Assert.Equal(radiograph.Rows * radiograph.Columns, radiograph.Pixels.Samples.Length);
                foreach (ushort value in radiograph.Pixels.Samples)
                {
                    Assert.True(value <= radiograph.PixelMaximum);
                }

                _ = Imaging.Display.DisplayTable.Create(radiograph);
            }
            catch (UnreadableImageException error)
            {
                AssertOneSentence(error);
            }
        }
    }

    internal static void AssertOneSentence(UnreadableImageException error)
    {
        Assert.EndsWith(".", error.Reason);
        Assert.DoesNotContain('\n', error.Reason);
        Assert.InRange(error.Reason.Length, 10, 240);
    }

    private static Radiograph Read(string name) => RadiographReader.Read(Path.Combine(Folder, "fixtures", name));

    private static string Hash(Radiograph radiograph)
    {
        ushort[] words = [.. radiograph.Pixels.Samples.ToArray().Select(value => (ushort)(value + radiograph.StoredMinimum))];
        return Convert.ToHexStringLower(SHA256.HashData(MemoryMarshal.AsBytes(words.AsSpan())));
    }
}
