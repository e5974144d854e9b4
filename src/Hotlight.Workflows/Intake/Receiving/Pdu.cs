using System.Buffers.Binary;
using System.Text;

namespace Hotlight.Workflows.Intake.Receiving;

/// <summary>Kinds of protocol data units of the upper layer, PS3.8 9.3.</summary>
internal enum PduKind : byte
{
    AssociateRequest = 1,
    AssociateAccept = 2,
    AssociateReject = 3,
    Data = 4,
    ReleaseRequest = 5,
    ReleaseResponse = 6,
    Abort = 7,
}

/// <summary>A peer broke the protocol; the association is aborted.</summary>
/// <param name="reason">Reason code of A-ABORT, PS3.8 table 9-26: 1 unrecognised, 2 unexpected, 6 invalid value.</param>
internal sealed class ProtocolException(byte reason) : Exception("The sender broke the protocol.")
{
    /// <summary>Reason code of A-ABORT.</summary>
    public byte Reason { get; } = reason;
}

/// <summary>Reads and writes protocol data units; every length is checked before it is used.</summary>
internal static class Pdu
{
    /// <summary>Longest data unit this side takes, in bytes; said in the association.</summary>
    public const int LargestData = 128 * 1024;

    // An association request with 128 contexts of 16 syntaxes has less.
    private const int LargestOther = 256 * 1024;

    /// <summary>Reads one unit.</summary>
    /// <param name="stream">The connection.</param>
    /// <param name="cancellation">Stops it.</param>
    /// <returns>Kind and content; null at the end of the connection.</returns>
    /// <exception cref="ProtocolException">It is of no known kind or too long.</exception>
    public static async Task<(PduKind Kind, byte[] Body)?> ReadAsync(Stream stream, CancellationToken cancellation)
    {
        byte[] head = new byte[6];
        int read = await stream.ReadAtLeastAsync(head, head.Length, throwOnEndOfStream: false, cancellation);
        if (read < head.Length)
        {
            return null;
        }

        var kind = (PduKind)head[0];
        if (!Enum.IsDefined(kind))
        {
            throw new ProtocolException(1);
        }

        uint length = BinaryPrimitives.ReadUInt32BigEndian(head.AsSpan(2));
        if (length > (kind == PduKind.Data ? LargestData : LargestOther))
        {
            throw new ProtocolException(6);
        }

        byte[] body = new byte[length];
        return await stream.ReadAtLeastAsync(body, body.Length, throwOnEndOfStream: false, cancellation) < body.Length ? null : (kind, body);
    }

    /// <summary>Writes one unit.</summary>
    public static async Task WriteAsync(Stream stream, PduKind kind, ReadOnlyMemory<byte> body, CancellationToken cancellation)
    {
        byte[] unit = new byte[6 + body.Length];
        unit[0] = (byte)kind;
        BinaryPrimitives.WriteUInt32BigEndian(unit.AsSpan(2), (uint)body.Length);
        body.CopyTo(unit.AsMemory(6));
        await stream.WriteAsync(unit, cancellation);
        await stream.FlushAsync(cancellation);
    }
}

/// <summary>A proposed presentation context.</summary>
/// <param name="Id">Its number, odd.</param>
/// <param name="AbstractSyntax">What is to be done: a SOP class.</param>
/// <param name="TransferSyntaxes">How it may be coded, in the sender's order.</param>
internal sealed record ProposedContext(byte Id, string AbstractSyntax, IReadOnlyList<string> TransferSyntaxes);

/// <summary>An association request, PS3.8 9.3.2.</summary>
/// <param name="ProtocolVersion">Bits of the versions the sender knows.</param>
/// <param name="CalledTitle">Whom it calls.</param>
/// <param name="Titles">Called and calling title as they stand, for the answer.</param>
/// <param name="ApplicationContext">The application context's name.</param>
/// <param name="Contexts">What it proposes.</param>
/// <param name="LargestData">Longest data unit the sender takes, in bytes; 0: any.</param>
internal sealed record AssociateRequest(ushort ProtocolVersion, string CalledTitle, byte[] Titles, string ApplicationContext, IReadOnlyList<ProposedContext> Contexts, uint LargestData)
{
    /// <summary>Reads a request.</summary>
    /// <param name="body">The unit without its head.</param>
    /// <exception cref="ProtocolException">It is damaged.</exception>
    public static AssociateRequest Parse(byte[] body)
    {
        const int Fixed = 68;
        if (body.Length < Fixed)
        {
            throw new ProtocolException(6);
        }

        string application = string.Empty;
        List<ProposedContext> contexts = [];
        uint largest = 0;
        foreach ((byte kind, ReadOnlyMemory<byte> item) in Items(body.AsMemory(Fixed)))
        {
            switch (kind)
            {
                case 0x10:
                    application = Uid(item.Span);
                    break;
                case 0x20:
                    contexts.Add(Context(item));
                    break;
                case 0x50:
                    foreach ((byte subKind, ReadOnlyMemory<byte> value) in Items(item))
                    {
                        if (subKind == 0x51 && value.Length == 4)
                        {
                            largest = BinaryPrimitives.ReadUInt32BigEndian(value.Span);
                        }
                    }

                    break;
            }
        }

        return new AssociateRequest(BinaryPrimitives.ReadUInt16BigEndian(body), Encoding.Latin1.GetString(body, 4, 16).Trim(' ', '\0'), body[4..36], application, contexts, largest);
    }

    private static ProposedContext Context(ReadOnlyMemory<byte> item)
    {
        if (item.Length < 4)
        {
            throw new ProtocolException(6);
        }

        string abstractSyntax = string.Empty;
        List<string> transfer = [];
        foreach ((byte kind, ReadOnlyMemory<byte> value) in Items(item[4..]))
        {
            if (kind == 0x30)
            {
                abstractSyntax = Uid(value.Span);
            }
            else if (kind == 0x40)
            {
                transfer.Add(Uid(value.Span));
            }
        }

        return new ProposedContext(item.Span[0], abstractSyntax, transfer);
    }

    private static IEnumerable<(byte Kind, ReadOnlyMemory<byte> Value)> Items(ReadOnlyMemory<byte> bytes)
    {
        while (bytes.Length > 0)
        {
            if (bytes.Length < 4)
            {
                throw new ProtocolException(6);
            }

            int length = BinaryPrimitives.ReadUInt16BigEndian(bytes.Span[2..]);
            if (length > bytes.Length - 4)
            {
                throw new ProtocolException(6);
            }

            yield return (bytes.Span[0], bytes.Slice(4, length));
            bytes = bytes[(4 + length)..];
        }
    }

    private static string Uid(ReadOnlySpan<byte> bytes) => Encoding.Latin1.GetString(bytes).TrimEnd('\0', ' ');
}
