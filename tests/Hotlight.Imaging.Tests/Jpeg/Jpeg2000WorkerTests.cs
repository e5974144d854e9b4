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
    public async Task Worker_KilledBetweenTwoStreams_IsReplacedBeforeTheNextOneComes()
    {
        using Jpeg2000Worker worker = new();
        ushort[] before = worker.Decode(Stream(), 37, 53, CancellationToken.None);
        int first = worker.ProcessId!.Value;
        Kill("-KILL", first);

        using var patience = new CancellationTokenSource(TimeSpan.FromMinutes(2));
        while (worker.ProcessId is not { } next || next == first)
        {
            await Task.Delay(20, patience.Token);
        }

        int ahead = worker.ProcessId.Value;
        Assert.Equal(before, worker.Decode(Stream(), 37, 53, CancellationToken.None));
        Assert.Equal(ahead, worker.ProcessId);
    }

    [SystemFileFact(Debian, DebianArm)]
    public async Task Worker_KilledUnderAStream_TheStreamIsDecodedByTheNext()
    {
        using Jpeg2000Worker worker = new();
        ushort[] before = worker.Decode(Stream(), 37, 53, CancellationToken.None);
        int first = worker.ProcessId!.Value;

        // Held still, it has the stream and gives no answer before it is killed.
        Kill("-STOP", first);
        Task<ushort[]> decoding = Task.Run(() => worker.Decode(Stream(), 37, 53, CancellationToken.None));
        await Task.Delay(200);
        Assert.False(decoding.IsCompleted);
        Kill("-KILL", first);
        Assert.Equal(before, await decoding);
        Assert.NotEqual(first, worker.ProcessId);
    }

    [Fact]
    public void Once_TheSameStreamAgain_IsNotDecodedASecondTimeAndAnotherOneIs()
    {
        byte[] stream = Stream();
        int decoded = 0;
        ushort[] Decode(ReadOnlyMemory<byte> bytes)
        {
            decoded++;
            return [(ushort)bytes.Length, bytes.Span[^1]];
        }

        Assert.Equal(DecodedOnce.Of(stream, 1, 2, Decode), DecodedOnce.Of(stream, 1, 2, Decode));
        Assert.Equal(2, decoded);
        using (DecodedOnce.Begin())
        {
            ushort[] first = DecodedOnce.Of(stream, 1, 2, Decode);

            // Whoever asked may change what it got.
            first.AsSpan().Clear();
            Assert.Equal((ushort)stream.Length, DecodedOnce.Of((byte[])stream.Clone(), 1, 2, Decode)[0]);
            Assert.Equal(3, decoded);
            byte[] other = [.. stream];
            other[^1] ^= 1;
            Assert.Equal(other[^1], DecodedOnce.Of(other, 1, 2, Decode)[1]);
            Assert.Equal(4, decoded);
            DecodedOnce.Of(other, 2, 1, Decode);
            Assert.Equal(5, decoded);
        }

        DecodedOnce.Of(stream, 1, 2, Decode);
        Assert.Equal(6, decoded);
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
        Kill("-STOP", worker.ProcessId!.Value);

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

    private static void Kill(string signal, int process)
    {
        using Process kill = Process.Start("kill", [signal, process.ToString(CultureInfo.InvariantCulture)]);
        kill.WaitForExit();
        Assert.Equal(0, kill.ExitCode);
    }

    private static byte[] Stream()
    {
        byte[] file = File.ReadAllBytes(Path.Combine(SharedData.RepositoryRoot, "tests", "reference", "decoded-pixels", "fixtures", "u12-j2k.dcm"));
        return DicomParser.Parse(file, CancellationToken.None).Dataset.Find(Tags.PixelData)!.Fragments![1].ToArray();
    }
}
