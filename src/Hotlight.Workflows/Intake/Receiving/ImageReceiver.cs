using System.Net;
using System.Net.Sockets;
using System.Text;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Imaging.Dicom;
using Hotlight.Workflows.Cases;

namespace Hotlight.Workflows.Intake.Receiving;

/// <summary>Takes DICOM images over the standard's network service (PS3.7, PS3.8): C-STORE of plain radiographs and C-ECHO, on the loopback address alone.</summary>
/// <remarks>An image is held in memory until it is whole and is answered when it is kept; an association that breaks off leaves nothing. Nothing that a sender writes becomes a path or a command. See docs/decisions for why it is no other program.</remarks>
public sealed class ImageReceiver
{
    /// <summary>Most associations at once; one more is asked to try later.</summary>
    public const int MostAssociations = 16;

    private const string Verification = "1.2.840.10008.1.1";
    private const string ApplicationContext = "1.2.840.10008.3.1.1.1";
    private const int LargestCommand = 64 * 1024;

    // All images on their way in together; one more is answered "out of resources", which a sender tries again.
    private const long MostBytesHeld = 512L * 1024 * 1024;

    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(60);

    /// <summary>Computed radiography, digital x-ray for presentation and for processing. Secondary captures carry no exposure and no spacing, fluoroscopy and angiography are series: they are not taken.</summary>
    private static readonly string[] StorageClasses = ["1.2.840.10008.5.1.4.1.1.1", "1.2.840.10008.5.1.4.1.1.1.1", "1.2.840.10008.5.1.4.1.1.1.1.1"];

    /// <summary>Every transfer syntax that <see cref="RadiographReader"/> reads.</summary>
    private static readonly string[] TransferSyntaxes =
    [
        "1.2.840.10008.1.2.1", "1.2.840.10008.1.2", "1.2.840.10008.1.2.2", "1.2.840.10008.1.2.1.99", "1.2.840.10008.1.2.5",
        "1.2.840.10008.1.2.4.50", "1.2.840.10008.1.2.4.51", "1.2.840.10008.1.2.4.57", "1.2.840.10008.1.2.4.70",
        "1.2.840.10008.1.2.4.80", "1.2.840.10008.1.2.4.81", "1.2.840.10008.1.2.4.90", "1.2.840.10008.1.2.4.91",
    ];

    private readonly CaseWorkflow cases;
    private readonly ArrivalLog log;
    private readonly string title;
    private readonly TcpListener listener;
    private int associations;
    private long bytesHeld;

    /// <summary>Creates the receiver and binds its port.</summary>
    /// <param name="cases">Where images become cases.</param>
    /// <param name="log">What is told of them.</param>
    /// <param name="title">The title senders must call.</param>
    /// <param name="port">Port on 127.0.0.1; 0 takes a free one.</param>
    /// <exception cref="SocketException">The port is taken.</exception>
    public ImageReceiver(CaseWorkflow cases, ArrivalLog log, string title, int port)
    {
        ArgumentException.ThrowIfNullOrWhiteSpace(title);
        this.cases = cases;
        this.log = log;
        this.title = title;
        listener = new TcpListener(IPAddress.Loopback, port);
        listener.Start();
    }

    /// <summary>The address it listens on.</summary>
    public IPEndPoint Address => (IPEndPoint)listener.LocalEndpoint;

    /// <summary>Takes associations until it is stopped.</summary>
    /// <param name="cancellation">Stops it and all associations.</param>
    public async Task RunAsync(CancellationToken cancellation)
    {
        try
        {
            while (true)
            {
                TcpClient client = await listener.AcceptTcpClientAsync(cancellation);
                _ = ServeAsync(client, cancellation);
            }
        }
        catch (OperationCanceledException)
        {
            // The bench stops.
        }
        finally
        {
            listener.Stop();
        }
    }

    private async Task ServeAsync(TcpClient client, CancellationToken cancellation)
    {
        using (client)
        {
            client.NoDelay = true;
            NetworkStream stream = client.GetStream();
            bool isOne = Interlocked.Increment(ref associations) <= MostAssociations;
            try
            {
                await TalkAsync(stream, isOne, cancellation);
            }
            catch (ProtocolException error)
            {
                await TryWriteAsync(stream, PduKind.Abort, new byte[] { 0, 0, 2, error.Reason });
            }
            catch (OperationCanceledException)
            {
                // Silent too long, or the bench stops.
                await TryWriteAsync(stream, PduKind.Abort, new byte[] { 0, 0, 2, 0 });
            }
            catch (Exception error) when (error is IOException or SocketException or ObjectDisposedException)
            {
                // The sender went away: what was not whole is forgotten.
            }
            finally
            {
                Interlocked.Decrement(ref associations);
            }
        }
    }

    private static async Task TryWriteAsync(NetworkStream stream, PduKind kind, byte[] body)
    {
        try
        {
            using var patience = new CancellationTokenSource(TimeSpan.FromSeconds(2));
            await Pdu.WriteAsync(stream, kind, body, patience.Token);
        }
        catch (Exception error) when (error is IOException or SocketException or ObjectDisposedException or OperationCanceledException)
        {
            // The sender is gone.
        }
    }

    private static async Task<(PduKind Kind, byte[] Body)?> ReadAsync(NetworkStream stream, CancellationToken cancellation)
    {
        using var patience = CancellationTokenSource.CreateLinkedTokenSource(cancellation);
        patience.CancelAfter(Patience);
        return await Pdu.ReadAsync(stream, patience.Token);
    }

    private async Task TalkAsync(NetworkStream stream, bool isOne, CancellationToken cancellation)
    {
        if (await ReadAsync(stream, cancellation) is not { } first)
        {
            return;
        }

        if (first.Kind != PduKind.AssociateRequest)
        {
            throw new ProtocolException(2);
        }

        AssociateRequest request = AssociateRequest.Parse(first.Body);

        // Result, source, reason: PS3.8 table 9-21.
        byte[]? rejection = !isOne ? [0, 2, 3, 2]
            : (request.ProtocolVersion & 1) == 0 ? [0, 1, 2, 2]
            : request.ApplicationContext != ApplicationContext ? [0, 1, 1, 2]
            : request.CalledTitle != title ? [0, 1, 1, 7]
            : null;
        if (rejection is not null)
        {
            await Pdu.WriteAsync(stream, PduKind.AssociateReject, rejection, cancellation);

            // The sender closes; what it still sends is not read.
            return;
        }

        Dictionary<byte, Accepted> contexts = [];
        await Pdu.WriteAsync(stream, PduKind.AssociateAccept, Accept(request, contexts), cancellation);
        await new Conversation(this, stream, contexts, (int)Math.Clamp(request.LargestData == 0 ? 16384 : request.LargestData, 1024, 1 << 20)).RunAsync(cancellation);
    }

    private static byte[] Accept(AssociateRequest request, Dictionary<byte, Accepted> contexts)
    {
        using MemoryStream body = new();
        body.Write([0, 1, 0, 0]);
        body.Write(request.Titles);
        body.Write(new byte[32]);
        Item(body, 0x10, Encoding.ASCII.GetBytes(ApplicationContext));
        foreach (ProposedContext proposed in request.Contexts)
        {
            bool isKnown = proposed.AbstractSyntax == Verification || StorageClasses.Contains(proposed.AbstractSyntax);
            string? syntax = proposed.TransferSyntaxes.FirstOrDefault(each => TransferSyntaxes.Contains(each));

            // 0 accepted, 3 abstract syntax not supported, 4 transfer syntaxes not supported: PS3.8 table 9-18.
            byte result = !isKnown ? (byte)3 : syntax is null ? (byte)4 : (byte)0;
            if (result == 0)
            {
                contexts[proposed.Id] = new Accepted(proposed.AbstractSyntax, syntax!);
            }

            using MemoryStream context = new();
            context.Write([proposed.Id, 0, result, 0]);
            Item(context, 0x40, Encoding.ASCII.GetBytes(syntax ?? TransferSyntaxes[1]));
            Item(body, 0x21, context.ToArray());
        }

        using MemoryStream user = new();
        Item(user, 0x51, [0, Pdu.LargestData >> 16, (Pdu.LargestData >> 8) & 0xFF, Pdu.LargestData & 0xFF]);
        Item(user, 0x52, Encoding.ASCII.GetBytes(DicomWriter.ImplementationClassUid));
        Item(user, 0x55, "HOTLIGHT"u8);
        Item(body, 0x50, user.ToArray());
        return body.ToArray();
    }

    private static void Item(MemoryStream stream, byte kind, ReadOnlySpan<byte> value)
    {
        stream.Write([kind, 0, (byte)(value.Length >> 8), (byte)value.Length]);
        stream.Write(value);
    }

    private async Task<(ushort Status, string? Comment)> StoreAsync(CommandSet command, Accepted context, byte[] dataset, CancellationToken cancellation)
    {
        // PS3.4 table B.2-1: A700 out of resources, A900 does not match the class, C000 cannot be understood.
        if (command.SopClassUid != context.AbstractSyntax)
        {
            return (0xA900, "The SOP class is not that of the presentation context");
        }

        if (!IsUid(command.SopInstanceUid))
        {
            return (0xC000, "The SOP Instance UID is no UID");
        }

        try
        {
            using MemoryStream file = new(dataset.Length + 1024);
            DicomWriter.WriteReceived(file, command.SopClassUid, command.SopInstanceUid, context.TransferSyntax, dataset);
            file.Position = 0;
            log.Add(await cases.BringInAsync($"received {command.SopInstanceUid[^Math.Min(8, command.SopInstanceUid.Length)..]}.dcm", file, RadiographReader.MaximumFileBytes, CaseOrigin.Network, cancellation));
            return (0, null);
        }
        catch (UnreadableImageException error)
        {
            log.Add(CaseOrigin.Network, "an image that was sent", error.Reason);
            return (0xC000, error.Reason);
        }
        catch (FileNotKeptException error)
        {
            log.Add(CaseOrigin.Network, "an image that was sent", error.Message);
            return (0xA700, error.Message);
        }
    }

    private static bool IsUid(string text) => text.Length is > 0 and <= 64 && text.All(letter => char.IsAsciiDigit(letter) || letter == '.');

    private sealed record Accepted(string AbstractSyntax, string TransferSyntax);

    /// <summary>What is said after the association stands.</summary>
    private sealed class Conversation(ImageReceiver receiver, NetworkStream stream, Dictionary<byte, Accepted> contexts, int largestData)
    {
        private readonly MemoryStream command = new();
        private MemoryStream dataset = new();
        private CommandSet? current;
        private byte currentContext;
        private bool isTooMuch;

        public async Task RunAsync(CancellationToken cancellation)
        {
            try
            {
                while (await ReadAsync(stream, cancellation) is { } unit)
                {
                    switch (unit.Kind)
                    {
                        case PduKind.Data:
                            await TakeAsync(unit.Body, cancellation);
                            break;
                        case PduKind.ReleaseRequest:
                            await Pdu.WriteAsync(stream, PduKind.ReleaseResponse, new byte[4], cancellation);
                            return;
                        case PduKind.Abort:
                            return;
                        default:
                            throw new ProtocolException(2);
                    }
                }
            }
            finally
            {
                Forget();
            }
        }

        private async Task TakeAsync(byte[] body, CancellationToken cancellation)
        {
            int position = 0;
            while (position < body.Length)
            {
                if (body.Length - position < 6)
                {
                    throw new ProtocolException(6);
                }

                uint length = System.Buffers.Binary.BinaryPrimitives.ReadUInt32BigEndian(body.AsSpan(position));
                if (length < 2 || length > body.Length - position - 4)
                {
                    throw new ProtocolException(6);
                }

                byte id = body[position + 4];
                byte control = body[position + 5];
                ReadOnlyMemory<byte> value = body.AsMemory(position + 6, (int)length - 2);
                position += 4 + (int)length;
                if (!contexts.TryGetValue(id, out Accepted? context))
                {
                    throw new ProtocolException(6);
                }

                await TakeAsync(id, context, isCommand: (control & 1) == 1, isLast: (control & 2) == 2, value, cancellation);
            }
        }

        private async Task TakeAsync(byte id, Accepted context, bool isCommand, bool isLast, ReadOnlyMemory<byte> value, CancellationToken cancellation)
        {
            if (isCommand)
            {
                if (current is not null || command.Length + value.Length > LargestCommand)
                {
                    throw new ProtocolException(2);
                }

                command.Write(value.Span);
                if (!isLast)
                {
                    return;
                }

                current = CommandSet.Parse(command.ToArray());
                currentContext = id;
                command.SetLength(0);
                if (!current.HasDataSet)
                {
                    // Echo needs no data set; a store without one, and anything else, is no operation of this service.
                    ushort status = current.CommandField == 0x0030 ? (ushort)0 : (ushort)0x0211;
                    await AnswerAsync(status, null, cancellation);
                }

                return;
            }

            if (current is null || id != currentContext)
            {
                throw new ProtocolException(2);
            }

            if (!isTooMuch)
            {
                if (dataset.Length + value.Length > RadiographReader.MaximumFileBytes || Interlocked.Read(ref receiver.bytesHeld) + value.Length > MostBytesHeld)
                {
                    // The rest is read and forgotten, then answered.
                    Forget();
                    isTooMuch = true;
                }
                else
                {
                    Interlocked.Add(ref receiver.bytesHeld, value.Length);
                    dataset.Write(value.Span);
                }
            }

            if (!isLast)
            {
                return;
            }

            (ushort Status, string? Comment) outcome = isTooMuch ? ((ushort)0xA700, "The image is too large, or too many come at once")
                : current.CommandField == 0x0001 ? await receiver.StoreAsync(current, context, dataset.ToArray(), cancellation)
                : ((ushort)0x0211, (string?)null);
            Forget();
            await AnswerAsync(outcome.Status, outcome.Comment, cancellation);
        }

        private void Forget()
        {
            Interlocked.Add(ref receiver.bytesHeld, -dataset.Length);
            dataset = new MemoryStream();
            isTooMuch = false;
        }

        private async Task AnswerAsync(ushort status, string? comment, CancellationToken cancellation)
        {
            byte[] answer = CommandSet.Answer(current!, status, comment);
            current = null;
            for (int start = 0; start < answer.Length;)
            {
                int length = Math.Min(answer.Length - start, largestData - 6);
                byte[] body = new byte[6 + length];
                System.Buffers.Binary.BinaryPrimitives.WriteUInt32BigEndian(body, (uint)(length + 2));
                body[4] = currentContext;
                body[5] = (byte)(1 | (start + length == answer.Length ? 2 : 0));
                answer.AsSpan(start, length).CopyTo(body.AsSpan(6));
                await Pdu.WriteAsync(stream, PduKind.Data, body, cancellation);
                start += length;
            }
        }
    }
}
