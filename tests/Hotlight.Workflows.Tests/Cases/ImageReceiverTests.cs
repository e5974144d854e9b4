using System.Diagnostics;
using System.Net;
using System.Net.Sockets;
using System.Text;
using Hotlight.Imaging.Dicom;
using Hotlight.Privacy;
using Hotlight.Store;
using Hotlight.Store.Sqlite;
using Hotlight.Testing;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Intake;
using Hotlight.Workflows.Intake.Receiving;

namespace Hotlight.Workflows.Tests.Cases;

/// <summary>The network service against the programs of DCMTK, another author's senders, where they are installed; and against what no proper sender does.</summary>
public sealed class ImageReceiverTests : IAsyncLifetime, IDisposable
{
    private const string Storescu = "/usr/bin/storescu";
    private readonly ScratchFolder folder = new();
    private readonly ArrivalLog log = new();
    private readonly CancellationTokenSource stop = new();
    private RadiographShelf shelf = null!;
    private CaseWorkflow cases = null!;
    private ImageReceiver receiver = null!;
    private Task running = null!;

    public async Task InitializeAsync()
    {
        var files = new FolderFileStore(folder["files"]);
        shelf = new RadiographShelf(files);
        cases = new CaseWorkflow(
            await SqliteRecords.OpenAsync(folder["records.db"], TimeProvider.System), files, shelf, TimeProvider.System, intake: new IntakePolicy(IntakeSetting.Clinical, PrivacyKey.Fresh()));
        receiver = new ImageReceiver(cases, log, "BENCH", 0);
        running = receiver.RunAsync(stop.Token);
    }

    public async Task DisposeAsync()
    {
        await stop.CancelAsync();
        await running;
        Dispose();
    }

    public void Dispose()
    {
        stop.Dispose();
        shelf.Dispose();
        Microsoft.Data.Sqlite.SqliteConnection.ClearAllPools();
        if (Directory.Exists(folder.Path))
        {
            folder.Dispose();
        }
    }

    [Fact]
    public void Address_IsThisMachineAlone() => Assert.Equal(IPAddress.Loopback, receiver.Address.Address);

    [SystemFileFact(Storescu)]
    [Trait("evidence", "independent")]
    public async Task Echo_FromAnotherAuthorsClient_IsAnswered_AndAWrongTitleIsRejected()
    {
        Assert.Equal(0, (await RunAsync("echoscu", "-aec", "BENCH")).Status);

        (int status, string said) = await RunAsync("echoscu", "-v", "-aec", "OTHER");
        Assert.NotEqual(0, status);
        Assert.Contains("Called AE Title Not Recognized", said, StringComparison.Ordinal);
    }

    [SystemFileFact(Storescu)]
    [Trait("evidence", "independent")]
    public async Task Store_EveryTransferSyntax_IsKeptWithTheSamePixels()
    {
        // [transfer syntax of the client, encoding of the file]: what the writer makes and the client offers alone.
        int number = 0;
        foreach ((string option, DicomEncoding encoding) in new[]
        {
            ("-xe", DicomEncoding.ExplicitLittleEndian), ("-xi", DicomEncoding.ImplicitLittleEndian), ("-xb", DicomEncoding.ExplicitBigEndian), ("-xd", DicomEncoding.Deflated),
        })
        {
            string path = Write(seed: ++number, encoding);
            (int status, string said) = await RunAsync("storescu", "-v", "-aec", "BENCH", option, "@", path);
            Assert.True(status == 0, said);
            Assert.Equal(number, await cases.CountAsync());
            CaseRecord kept = await cases.GetAsync((await cases.ListAsync(0, 100)).MaxBy(each => each.Created)!.Id);
            Assert.Equal(CaseOrigin.Network, kept.ReceivedBy);
            Imaging.Radiograph received = await cases.RadiographAsync(kept);
            Assert.True(Imaging.RadiographReader.Read(path).Pixels.Samples.SequenceEqual(received.Pixels.Samples), option);
        }

        Assert.Equal(number, log.Sums.Kept);
    }

    [SharedDataFact("radiographs-dicom")]
    [Trait("evidence", "independent")]
    public async Task Store_OpenRadiographsInTheirOwnSyntaxes_AreKept()
    {
        if (!File.Exists(Storescu))
        {
            return;
        }

        // RLE, JPEG lossless, JPEG-LS, near-lossless, baseline or extended: as the files are, by the client that offers what a file needs.
        string[] names = ["RG3_RLE.dcm", "RG3_JPLL.dcm", "RG3_JLSL.dcm", "RG3_JLSN.dcm", "RG3_JPLY.dcm"];
        foreach (string name in names)
        {
            (int status, string said) = await RunAsync("dcmsend", "-v", "-aec", "BENCH", "--decompress-never", "@", SharedData.Folder("radiographs-dicom") + "/" + name);
            Assert.True(status == 0 && !said.Contains("Error", StringComparison.Ordinal) && !said.Contains("Failed", StringComparison.OrdinalIgnoreCase), name + ": " + said);
        }

        // The five are one exposure coded in five ways, each with a SOP Instance UID of its own or the same one.
        Assert.Equal(names.Length, log.Sums.Kept + log.Sums.Known);
        Assert.Equal(0, log.Sums.Refused);
    }

    [SystemFileFact(Storescu)]
    public async Task Store_SameImageTwice_MakesOneCase()
    {
        string path = Write(seed: 7);
        Assert.Equal(0, (await RunAsync("storescu", "-aec", "BENCH", "@", path)).Status);
        Assert.Equal(0, (await RunAsync("storescu", "-aec", "BENCH", "@", path)).Status);
        Assert.Equal(1, await cases.CountAsync());
    }

    [SystemFileFact(Storescu)]
    public async Task Store_SecondaryCapture_IsNotTaken()
    {
        string path = Write(seed: 8, sopClass: "1.2.840.10008.5.1.4.1.1.7");
        (int status, _) = await RunAsync("storescu", "-v", "-aec", "BENCH", "@", path);
        Assert.NotEqual(0, status);
        Assert.Equal(0, await cases.CountAsync());
    }

    [SystemFileFact(Storescu)]
    public async Task Store_ManyAssociationsAtOnce_AllAreKept()
    {
        string[] paths = [.. Enumerable.Range(20, 6).Select(seed => Write(seed))];
        (int Status, string Said)[] all = await Task.WhenAll(paths.Select(path => RunAsync("storescu", "-v", "-aec", "BENCH", "@", path)));
        Assert.All(all, each => Assert.True(each.Status == 0, each.Said));
        Assert.Equal(paths.Length, await cases.CountAsync());
    }

    [Fact]
    public async Task Store_BrokenOffInTheMiddle_LeavesNothing()
    {
        using TcpClient client = new();
        await client.ConnectAsync(receiver.Address);
        NetworkStream stream = client.GetStream();
        await stream.WriteAsync(Associate("BENCH"));
        byte[] answer = new byte[6];
        await stream.ReadExactlyAsync(answer);
        Assert.Equal(2, answer[0]);
        await stream.WriteAsync(Data(Command(0x0001, "1.2.840.10008.5.1.4.1.1.1.1", "1.2.3"), isCommand: true));
        await stream.WriteAsync(Data(new byte[1000], isCommand: false, isLast: false));
        client.Client.LingerState = new LingerOption(true, 0);
        client.Close();

        // The service goes on.
        await EchoByHandAsync();
        Assert.Equal(0, await cases.CountAsync());
        Assert.Empty(Directory.GetFiles(folder["files"], "*", SearchOption.AllDirectories));
    }

    [Fact]
    public async Task Talk_WhatNoSenderShouldSend_IsAbortedAndTheServiceGoesOn()
    {
        byte[][] odd =
        [
            [0x47, 0x45, 0x54, 0x20, 0x2F, 0x20, 0x48, 0x54, 0x54, 0x50],
            [1, 0, 0xFF, 0xFF, 0xFF, 0xFF],
            [1, 0, 0, 0, 0, 4, 0, 1, 0, 0],
            [4, 0, 0, 0, 0, 6, 0, 0, 0, 2, 1, 3],
            [.. Associate("BENCH"), 4, 0, 0, 0, 0, 6, 0, 0, 0, 200, 1, 3],
            [.. Associate("BENCH"), 4, 0, 0, 0, 0, 6, 0, 0, 0, 2, 99, 3],
            [.. Associate("BENCH"), .. Data(new byte[50], isCommand: false)],
            [.. Associate("BENCH"), .. Data(new byte[7], isCommand: true)],
        ];
        foreach (byte[] bytes in odd)
        {
            using TcpClient client = new();
            await client.ConnectAsync(receiver.Address);
            NetworkStream stream = client.GetStream();
            await stream.WriteAsync(bytes);
            byte[] all = new byte[4096];
            int read = 0;
            int got;
            while ((got = await ReadOrEndAsync(stream, all.AsMemory(read))) > 0)
            {
                read += got;
            }

            // The last thing said is an abort: 07, length 4.
            Assert.True(read >= 10 && all[read - 10] == 7, Convert.ToHexString(bytes.AsSpan(0, 6)));
        }

        await EchoByHandAsync();
        Assert.Equal(0, await cases.CountAsync());
    }

    [Fact]
    public async Task Store_NoImage_IsAnsweredWithTheReason()
    {
        using TcpClient client = new();
        await client.ConnectAsync(receiver.Address);
        NetworkStream stream = client.GetStream();
        await stream.WriteAsync(Associate("BENCH"));
        await ReadUnitAsync(stream);
        await stream.WriteAsync(Data(Command(0x0001, "1.2.840.10008.5.1.4.1.1.1.1", "1.2.3"), isCommand: true));
        await stream.WriteAsync(Data(new byte[400], isCommand: false));

        byte[] answer = await ReadUnitAsync(stream);

        CommandSet command = CommandSet.Parse(answer.AsSpan(6));
        Assert.Equal(0x8001, command.CommandField);
        Assert.Equal(0xC000, command.Status);
        Assert.Equal(1, log.Sums.Refused);
    }

    private static async Task<int> ReadOrEndAsync(NetworkStream stream, Memory<byte> place)
    {
        try
        {
            return await stream.ReadAsync(place);
        }
        catch (IOException)
        {
            return 0;
        }
    }

    private static async Task<byte[]> ReadUnitAsync(NetworkStream stream)
    {
        byte[] head = new byte[6];
        await stream.ReadExactlyAsync(head);
        byte[] body = new byte[(head[2] << 24) | (head[3] << 16) | (head[4] << 8) | head[5]];
        await stream.ReadExactlyAsync(body);
        return body;
    }

    private async Task EchoByHandAsync()
    {
        using TcpClient client = new();
        await client.ConnectAsync(receiver.Address);
        NetworkStream stream = client.GetStream();
        await stream.WriteAsync(Associate("BENCH", "1.2.840.10008.1.1"));
        await ReadUnitAsync(stream);
        await stream.WriteAsync(Data(Command(0x0030, "1.2.840.10008.1.1", null), isCommand: true));
        Assert.Equal(0x8030, CommandSet.Parse((await ReadUnitAsync(stream)).AsSpan(6)).CommandField);
        await stream.WriteAsync(new byte[] { 5, 0, 0, 0, 0, 4, 0, 0, 0, 0 });
        byte[] released = new byte[10];
        await stream.ReadExactlyAsync(released);
        Assert.Equal(6, released[0]);
    }

    private static byte[] Associate(string called, string abstractSyntax = "1.2.840.10008.5.1.4.1.1.1.1")
    {
        static byte[] Item(byte kind, byte[] value) => [kind, 0, (byte)(value.Length >> 8), (byte)value.Length, .. value];
        byte[] context = Item(0x20, [1, 0, 0, 0, .. Item(0x30, Encoding.ASCII.GetBytes(abstractSyntax)), .. Item(0x40, "1.2.840.10008.1.2"u8.ToArray())]);
        byte[] body =
        [
            0, 1, 0, 0, .. Encoding.ASCII.GetBytes(called.PadRight(16)), .. Encoding.ASCII.GetBytes("TEST".PadRight(16)), .. new byte[32],
            .. Item(0x10, "1.2.840.10008.3.1.1.1"u8.ToArray()), .. context, .. Item(0x50, Item(0x51, [0, 0, 0x40, 0])),
        ];
        return [1, 0, (byte)(body.Length >> 24), (byte)(body.Length >> 16), (byte)(body.Length >> 8), (byte)body.Length, .. body];
    }

    private static byte[] Data(byte[] value, bool isCommand, bool isLast = true)
    {
        int length = value.Length + 2;
        byte[] body = [(byte)(length >> 24), (byte)(length >> 16), (byte)(length >> 8), (byte)length, 1, (byte)((isCommand ? 1 : 0) | (isLast ? 2 : 0)), .. value];
        return [4, 0, (byte)(body.Length >> 24), (byte)(body.Length >> 16), (byte)(body.Length >> 8), (byte)body.Length, .. body];
    }

    private static byte[] Command(ushort field, string sopClass, string? instance)
    {
        static byte[] Element(ushort element, byte[] value) => [0, 0, (byte)element, (byte)(element >> 8), (byte)value.Length, 0, 0, 0, .. value];
        static byte[] Padded(string text) => Encoding.ASCII.GetBytes(text.Length % 2 == 0 ? text : text + "\0");
        return
        [
            .. Element(0x0002, Padded(sopClass)), .. Element(0x0100, [(byte)field, (byte)(field >> 8)]), .. Element(0x0110, [7, 0]),
            .. Element(0x0800, instance is null ? [1, 1] : [0, 0]), .. instance is null ? [] : Element(0x1000, Padded(instance)),
        ];
    }

    private string Write(int seed, DicomEncoding encoding = DicomEncoding.ExplicitLittleEndian, string? sopClass = null)
    {
        DicomDataset dataset = DxObject.Create(InventedExposure.Limb(rows: 240, columns: 200, seed: seed), new DxDescription { PatientName = "Invented^Limb", PatientId = "T-1", Seed = "receive" });
        if (sopClass is not null)
        {
            dataset.SetText(0x00080016, "UI", sopClass);
        }

        string path = folder[$"sent-{seed}-{encoding}.dcm"];
        using FileStream stream = File.Create(path);
        DicomWriter.Write(stream, dataset, encoding);
        return path;
    }

    /// <summary>Runs a client; "@" stands for host and port, which come last where it is not named.</summary>
    private async Task<(int Status, string Said)> RunAsync(string program, params string[] arguments)
    {
        var start = new ProcessStartInfo(program) { RedirectStandardOutput = true, RedirectStandardError = true };
        string[] address = ["127.0.0.1", $"{receiver.Address.Port}"];
        foreach (string argument in arguments.Contains("@") ? arguments.SelectMany(each => each == "@" ? address : [each]) : [.. arguments, .. address])
        {
            start.ArgumentList.Add(argument);
        }

        using Process process = Process.Start(start)!;
        Task<string> output = process.StandardOutput.ReadToEndAsync();
        Task<string> errors = process.StandardError.ReadToEndAsync();
        await process.WaitForExitAsync();
        return (process.ExitCode, await output + await errors);
    }
}
