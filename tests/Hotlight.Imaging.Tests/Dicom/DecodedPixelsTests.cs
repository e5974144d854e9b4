using System.Runtime.InteropServices;
using System.Security.Cryptography;
using System.Text.Json.Nodes;
using Hotlight.Imaging.Dicom;
using Hotlight.Testing;

namespace Hotlight.Imaging.Tests.Dicom;

/// <summary>Every open DICOM file is decoded as other authors' programs decode it; their hashes and versions are in tests/reference/decoded-pixels.</summary>
public sealed class DecodedPixelsTests
{
    private static readonly JsonObject Reference = JsonNode.Parse(File.ReadAllText(Path.Combine(SharedData.RepositoryRoot, "tests", "reference", "decoded-pixels", "hashes.json")))!["files"]!.AsObject();

    /// <summary>Files that two programs or more decode alike bit for bit: all lossless ones, and JPEG-LS near-lossless, whose decoding is exact by definition.</summary>
    public static TheoryData<string> ExactFiles() => [.. Reference.Where(IsExact).Select(file => file.Key)];

    public static TheoryData<string> LossyFiles() => [.. Reference.Where(file => file.Value!["sample"] is not null).Select(file => file.Key)];

    [Fact]
    public void Reference_OfEveryLosslessRadiograph_IsGivenByTwoAuthors()
    {
        foreach ((string name, JsonNode? file) in Reference.Where(file => file.Key.StartsWith("radiographs-dicom/", StringComparison.Ordinal) && file.Value!["sample"] is null))
        {
            JsonObject hashes = file!["sha256"]!.AsObject();
            Assert.True(hashes.Count >= 2, name);
            Assert.Single(hashes.Select(hash => (string)hash.Value!).Distinct());
        }
    }

    [SharedDataTheory("radiographs-dicom")]
    [Trait("evidence", "independent")]
    [MemberData(nameof(ExactFiles))]
    public void Decode_FileOthersDecodeExactly_GivesTheSameHash(string name)
    {
        if (NeedsMissingLibrary(name))
        {
            return;
        }

        StoredImage image = Decode(name);
        JsonNode expected = Reference[name]!;
        Assert.Equal((int)expected["rows"]!, image.Pixels.Rows);
        Assert.Equal((int)expected["columns"]!, image.Pixels.Columns);
        string hash = Hash(image);
        Assert.All(expected["sha256"]!.AsObject(), tool => Assert.True(hash == (string)tool.Value!, $"{name} differs from {tool.Key}"));
    }

    [SharedDataTheory("radiographs-dicom")]
    [Trait("evidence", "independent")]
    [MemberData(nameof(LossyFiles))]
    public void Decode_LossyFile_StaysWithinRoundingOfAnotherDecoder(string name)
    {
        if (NeedsMissingLibrary(name))
        {
            return;
        }

        StoredImage image = Decode(name);
        JsonNode expected = Reference[name]!;
        int step = (int)expected["sampleStep"]!;
        int[] sample = expected["sample"]!.AsArray().Select(value => (int)value!).ToArray();

        // ITU-T T.83 4.2 lets a DCT decoder's coefficients round by one, which is one grey level for a flat block;
        // the wavelet of lossy JPEG 2000 is computed in floating point by one program and in fixed point by the other, with as much play.
        int largest = 0;
        for (int i = 0; i < sample.Length; i++)
        {
            largest = Math.Max(largest, Math.Abs(sample[i] - (image.Pixels.Samples[i * step] + image.StoredMinimum)));
        }

        Assert.InRange(largest, 0, (string)expected["sampleFrom"]! == "ffmpeg" ? 2 : 1);
    }

    private static bool IsExact(KeyValuePair<string, JsonNode?> file)
        => file.Value!["sample"] is null && file.Value["sha256"]!.AsObject() is { Count: >= 2 } hashes
        && hashes.Select(hash => (string)hash.Value!).Distinct().Count() == 1;

    private static bool NeedsMissingLibrary(string name)
        => (string)Reference[name]!["transferSyntax"]! is "1.2.840.10008.1.2.4.90" or "1.2.840.10008.1.2.4.91" && !Directory.EnumerateFiles("/usr/lib", "libopenjp2.so*", SearchOption.AllDirectories).Any();

    private static StoredImage Decode(string name)
        => PixelDecoder.Decode(DicomParser.Parse(File.ReadAllBytes(Path.Combine(SharedData.Root, name)), CancellationToken.None), CancellationToken.None);

    private static string Hash(StoredImage image)
    {
        ushort[] words = new ushort[image.Pixels.Samples.Length];
        for (int i = 0; i < words.Length; i++)
        {
            words[i] = (ushort)(image.Pixels.Samples[i] + image.StoredMinimum);
        }

        return Convert.ToHexStringLower(SHA256.HashData(MemoryMarshal.AsBytes(words.AsSpan())));
    }
}
