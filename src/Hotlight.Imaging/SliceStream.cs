namespace Hotlight.Imaging;

/// <summary>Slices of memory read as one stream, without joining or copying them.</summary>
internal sealed class SliceStream(IReadOnlyList<ReadOnlyMemory<byte>> slices) : Stream
{
    private int index;
    private int offset;

    public override bool CanRead => true;

    public override bool CanSeek => false;

    public override bool CanWrite => false;

    public override long Length => throw new NotSupportedException();

    public override long Position
    {
        get => throw new NotSupportedException();
        set => throw new NotSupportedException();
    }

    public override int Read(byte[] buffer, int start, int count) => Read(buffer.AsSpan(start, count));

    public override int Read(Span<byte> buffer)
    {
        while (index < slices.Count)
        {
            ReadOnlySpan<byte> left = slices[index].Span[offset..];
            if (left.Length > 0)
            {
                int taken = Math.Min(left.Length, buffer.Length);
                left[..taken].CopyTo(buffer);
                offset += taken;
                return taken;
            }

            index++;
            offset = 0;
        }

        return 0;
    }

    public override void Flush()
    {
    }

    public override long Seek(long distance, SeekOrigin origin) => throw new NotSupportedException();

    public override void SetLength(long value) => throw new NotSupportedException();

    public override void Write(byte[] buffer, int start, int count) => throw new NotSupportedException();
}
