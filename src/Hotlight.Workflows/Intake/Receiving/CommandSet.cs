using System.Buffers.Binary;
using System.Text;

namespace Hotlight.Workflows.Intake.Receiving;

/// <summary>A command of the message exchange, PS3.7 6.3: attributes of group 0000 in implicit little endian.</summary>
internal sealed class CommandSet
{
    /// <summary>Says that no data set follows (0000,0800).</summary>
    public const ushort NoDataSet = 0x0101;

    private readonly SortedDictionary<ushort, byte[]> elements = [];

    /// <summary>Command Field (0000,0100): 0x0001 store, 0x0030 echo; with 0x8000 the answer.</summary>
    public ushort CommandField => Number(0x0100);

    /// <summary>Message ID (0000,0110).</summary>
    public ushort MessageId => Number(0x0110);

    /// <summary>Status (0000,0900) of an answer.</summary>
    public ushort Status => Number(0x0900);

    /// <summary>Whether a data set follows.</summary>
    public bool HasDataSet => Number(0x0800) != NoDataSet;

    /// <summary>Affected SOP Class UID (0000,0002).</summary>
    public string SopClassUid => Text(0x0002);

    /// <summary>Affected SOP Instance UID (0000,1000).</summary>
    public string SopInstanceUid => Text(0x1000);

    /// <summary>Reads a command.</summary>
    /// <param name="bytes">Its bytes.</param>
    /// <exception cref="ProtocolException">It is damaged.</exception>
    public static CommandSet Parse(ReadOnlySpan<byte> bytes)
    {
        CommandSet set = new();
        while (bytes.Length > 0)
        {
            if (bytes.Length < 8 || BinaryPrimitives.ReadUInt16LittleEndian(bytes) != 0)
            {
                throw new ProtocolException(6);
            }

            uint length = BinaryPrimitives.ReadUInt32LittleEndian(bytes[4..]);
            if (length > bytes.Length - 8)
            {
                throw new ProtocolException(6);
            }

            set.elements[BinaryPrimitives.ReadUInt16LittleEndian(bytes[2..])] = bytes.Slice(8, (int)length).ToArray();
            bytes = bytes[(8 + (int)length)..];
        }

        return set;
    }

    /// <summary>The answer to a command.</summary>
    /// <param name="request">The command.</param>
    /// <param name="status">Status (0000,0900), PS3.7 annex C.</param>
    /// <param name="comment">Error Comment (0000,0902), 64 characters at most; null: none.</param>
    public static byte[] Answer(CommandSet request, ushort status, string? comment = null)
    {
        CommandSet answer = new();
        foreach (ushort uid in new ushort[] { 0x0002, 0x1000 })
        {
            if (request.elements.TryGetValue(uid, out byte[]? value))
            {
                answer.elements[uid] = value;
            }
        }

        answer.Set(0x0100, (ushort)(request.CommandField | 0x8000));
        answer.Set(0x0120, request.MessageId);
        answer.Set(0x0800, NoDataSet);
        answer.Set(0x0900, status);
        if (comment is not null)
        {
            byte[] text = Encoding.ASCII.GetBytes(comment[..Math.Min(64, comment.Length)]);
            answer.elements[0x0902] = (text.Length & 1) == 1 ? [.. text, (byte)' '] : text;
        }

        int length = answer.elements.Sum(element => 8 + element.Value.Length);
        byte[] bytes = new byte[12 + length];
        int place = 0;
        void Put(ushort element, ReadOnlySpan<byte> value)
        {
            BinaryPrimitives.WriteUInt16LittleEndian(bytes.AsSpan(place + 2), element);
            BinaryPrimitives.WriteUInt32LittleEndian(bytes.AsSpan(place + 4), (uint)value.Length);
            value.CopyTo(bytes.AsSpan(place + 8));
            place += 8 + value.Length;
        }

        byte[] groupLength = new byte[4];
        BinaryPrimitives.WriteUInt32LittleEndian(groupLength, (uint)length);
        Put(0x0000, groupLength);
        foreach ((ushort element, byte[] value) in answer.elements)
        {
            Put(element, value);
        }

        return bytes;
    }

    private void Set(ushort element, ushort value)
    {
        byte[] bytes = new byte[2];
        BinaryPrimitives.WriteUInt16LittleEndian(bytes, value);
        elements[element] = bytes;
    }

    private ushort Number(ushort element) => elements.TryGetValue(element, out byte[]? value) && value.Length >= 2 ? BinaryPrimitives.ReadUInt16LittleEndian(value) : (ushort)0;

    private string Text(ushort element) => elements.TryGetValue(element, out byte[]? value) ? Encoding.Latin1.GetString(value).TrimEnd('\0', ' ') : string.Empty;
}
