using System.Buffers.Binary;
using System.Runtime.InteropServices;
using System.Text;
using Hotlight.Worker;

// The only argument, when there is one, names the library; tests use it to act as a machine without it.
OpenJpeg? library = OpenJpeg.Load(args.Length > 0 ? [args[0]] : ["libopenjp2.so.7", "libopenjp2.so", "libopenjp2.7.dylib", "openjp2"]);
using Stream input = Console.OpenStandardInput();
using Stream output = Console.OpenStandardOutput();

// From here on a stream that takes the process over has nothing to take: no network, no file to write, no program, no memory without end.
bool hasMemoryLimit = AddressSpace.AllowAtMost();
Lockdown.Apply();
Rehearse();
byte[] header = new byte[16];
while (input.ReadAtLeast(header, header.Length, throwOnEndOfStream: false) == header.Length)
{
    int wanted = BinaryPrimitives.ReadInt32LittleEndian(header);
    if (wanted == WireFormat.MagicGuards)
    {
        Refuse(WireFormat.Guards, string.Join(' ', Lockdown.Refused().Concat(hasMemoryLimit ? ["memory"] : []).Concat(library is null ? [] : ["library"])) + ' ');
        output.Flush();
        continue;
    }

    if (wanted != WireFormat.Magic)
    {
        return 1;
    }

    long memory = BinaryPrimitives.ReadInt64LittleEndian(header.AsSpan(4));
    int length = BinaryPrimitives.ReadInt32LittleEndian(header.AsSpan(12));
    if (memory < 0 || length < 0)
    {
        return 1;
    }

    Serve(length, memory);
    output.Flush();
}

return 0;

// The first stream is decoded by code that is compiled meanwhile: let it be one that nobody waits for, 32 × 32 greys of 16 bits.
unsafe void Rehearse()
{
    byte[] small = Convert.FromBase64String(
        "/0//UQApAAAAAAAgAAAAIAAAAAAAAAAAAAAAIAAAACAAAAAAAAAAAAABDwEB/1IADAAAAAEABQQEAAH/XAATQICIiJCIiJCIiJCIiJCIiJD/ZAAlAAFDcmVhdGVkIGJ5IE9wZW5KUEVHIHZlcnNpb24gMi41LjD/"
        + "kAAKAAAAAABRAAH/k8/8EAwJwD+gf2AwBHCfoD9QUAs9/jV/oB+oQAN/5k+pGEQ/oA/IMD2mNF83BgR3hJKoB6AD7AsAnawpXZ+3UwBgsxz/2Q==");
    fixed (byte* first = small)
    {
        // Without a limit of its own: it is no stranger's, and the run-time itself still takes memory while it starts.
        _ = library?.Decode(first, small.Length, static _ => { });
    }
}

unsafe void Serve(int length, long memory)
{
    byte* content = (byte*)NativeMemory.Alloc((nuint)Math.Max(1, length));
    try
    {
        input.ReadExactly(new Span<byte>(content, length));
        if (library is null)
        {
            Refuse(WireFormat.LibraryAbsent, "JPEG 2000 is not supported here: install libopenjp2-7.");
            return;
        }

        bool decoded;
        AddressSpace.Allow(memory);
        try
        {
            decoded = library.Decode(content, length, Answer);
        }
        finally
        {
            AddressSpace.AllowAll();
        }

        if (!decoded)
        {
            Refuse(WireFormat.Damaged, "its JPEG 2000 pixel data is damaged or ends early.");
        }
    }
    finally
    {
        NativeMemory.Free(content);
    }
}

unsafe void Answer(OpenJpeg.DecodedComponent component)
{
    Span<byte> head = stackalloc byte[16];
    BinaryPrimitives.WriteInt32LittleEndian(head, WireFormat.Decoded);
    BinaryPrimitives.WriteInt32LittleEndian(head[4..], component.Columns);
    BinaryPrimitives.WriteInt32LittleEndian(head[8..], component.Rows);
    BinaryPrimitives.WriteInt32LittleEndian(head[12..], component.Precision);
    output.Write(head);
    int* samples = (int*)component.Samples;
    ushort[] words = new ushort[1 << 15];
    long count = (long)component.Columns * component.Rows;
    for (long start = 0; start < count; start += words.Length)
    {
        int block = (int)Math.Min(words.Length, count - start);
        for (int i = 0; i < block; i++)
        {
            words[i] = (ushort)samples[start + i];
        }

        output.Write(MemoryMarshal.AsBytes(words.AsSpan(0, block)));
    }
}

void Refuse(int status, string sentence)
{
    byte[] text = Encoding.UTF8.GetBytes(sentence);
    Span<byte> head = stackalloc byte[8];
    BinaryPrimitives.WriteInt32LittleEndian(head, status);
    BinaryPrimitives.WriteInt32LittleEndian(head[4..], text.Length);
    output.Write(head);
    output.Write(text);
}
