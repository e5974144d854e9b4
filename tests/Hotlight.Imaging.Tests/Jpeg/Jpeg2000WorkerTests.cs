using System.Diagnostics;
using System.Globalization;
using Hotlight.Imaging.Dicom;
using Hotlight.Imaging.Jpeg;
using Hotlight.Testing;

namespace Hotlight.Imaging.Tests.Jpeg;

public sealed class Jpeg2000WorkerTests
{
    private const string Debian = "/usr/lib/x86_64-linux-gnu/libopenjp2.so.7";
    private const string DebianArm = "/usr/lib/aarch64-linux-gnu/libopenjp2.so.7";

    [Fact]
    public void Decode_LibraryAbsent_SaysWhatToInstall()
    {
        using Jpeg2000Worker worker = new("libthere-is-none.so.7");
        ImageFormatException error = Assert.Throws<ImageFormatException>(() => worker.Decode(Stream(), 37, 53, CancellationToken.None));
        Assert.Equal("JPEG 2000 is not supported here: install libopenjp2-7.", error.Message);
    }

    [SystemFileFact(Debian, DebianArm)]
    public void Decode_Twice_KeepsTheWorkerWarm()
    {
        using Jpeg2000Worker worker = new();
        ushort[] first = worker.Decode(Stream(), 37, 53, CancellationToken.None);
        int? process = worker.ProcessId;
        ushort[] second = worker.Decode(Stream(), 37, 53, CancellationToken.None);
        Assert.NotNull(process);
        Assert.Equal(process, worker.ProcessId);
        Assert.Equal(first, second);
    }

    [SystemFileFact(Debian, DebianArm)]
    public void Decode_AfterADamagedStream_WorksAgain()
    {
        using Jpeg2000Worker worker = new();
        byte[] damaged = Stream();
        damaged.AsSpan(60, damaged.Length - 100).Fill(0x55);
        Assert.Throws<ImageFormatException>(() => worker.Decode(damaged, 37, 53, CancellationToken.None));
        Assert.Equal(37 * 53, worker.Decode(Stream(), 37, 53, CancellationToken.None).Length);
    }

    // Tried by the worker itself, and read from outside in what the kernel says of the process.
    [SystemFileFact(Debian, DebianArm)]
    public void Worker_OnLinux_HasNoNetworkNoFilesToWriteNoProgramsAndALimit()
    {
        using Jpeg2000Worker worker = new();
        Assert.Equal(["network", "files", "programs", "processes", "memory", "library"], worker.AskGuards(CancellationToken.None));
        Assert.Equal(37 * 53, worker.Decode(Stream(), 37, 53, CancellationToken.None).Length);

        string status = File.ReadAllText($"/proc/{worker.ProcessId}/status");
        Assert.Contains("Seccomp:\t2", status, StringComparison.Ordinal);
        Assert.Contains("NoNewPrivs:\t1", status, StringComparison.Ordinal);
        string[] limits = File.ReadAllLines($"/proc/{worker.ProcessId}/limits");
        Assert.Matches(@"^Max file size\s+0\s+0\s", limits.Single(line => line.StartsWith("Max file size", StringComparison.Ordinal)));
        Assert.Matches(@"^Max core file size\s+0\s+0\s", limits.Single(line => line.StartsWith("Max core file size", StringComparison.Ordinal)));
        Assert.DoesNotContain("unlimited", limits.Single(line => line.StartsWith("Max address space", StringComparison.Ordinal)), StringComparison.Ordinal);
        foreach (string task in Directory.GetDirectories($"/proc/{worker.ProcessId}/task"))
        {
            Assert.Contains("Seccomp:\t2", File.ReadAllText(Path.Combine(task, "status")), StringComparison.Ordinal);
        }
    }

    [SystemFileFact(Debian, DebianArm)]
    public void Ask_OnLinux_SaysThatAllHolds()
    {
        NativeDecoding decoding = NativeDecoding.Ask();
        Assert.True(decoding.HoldsAll, decoding.Sentence);
        Assert.Contains("no network", decoding.Sentence, StringComparison.Ordinal);
        Assert.Contains("could use the network and could write files", (decoding with { HasNoNetwork = false, HasNoWritableFiles = false }).Sentence, StringComparison.Ordinal);
    }

    [Fact]
    public void Decode_ByAWorkerThatStandsStill_IsGivenUp()
    {
        using Jpeg2000Worker worker = new(patience: TimeSpan.FromSeconds(1));
        Assert.Equal(37 * 53, worker.Decode(Stream(), 37, 53, CancellationToken.None).Length);
        using (Process stop = Process.Start("kill", ["-STOP", worker.ProcessId!.Value.ToString(CultureInfo.InvariantCulture)]))
        {
            stop.WaitForExit();
            Assert.Equal(0, stop.ExitCode);
        }

        ImageFormatException error = Assert.Throws<ImageFormatException>(() => worker.Decode(Stream(), 37, 53, CancellationToken.None));
        Assert.Contains("was given up", error.Message);
    }

    [Fact]
    public void Decode_Cancelled_StopsWithoutAnAnswer()
    {
        using Jpeg2000Worker worker = new();
        using CancellationTokenSource cancelled = new();
        cancelled.Cancel();
        Assert.ThrowsAny<OperationCanceledException>(() => worker.Decode(Stream(), 37, 53, cancelled.Token));
    }

    private static byte[] Stream()
    {
        byte[] file = File.ReadAllBytes(Path.Combine(SharedData.RepositoryRoot, "tests", "reference", "decoded-pixels", "fixtures", "u12-j2k.dcm"));
        return DicomParser.Parse(file, CancellationToken.None).Dataset.Find(Tags.PixelData)!.Fragments![1].ToArray();
    }
}
