using System.Runtime.CompilerServices;
using System.Runtime.InteropServices;

namespace Hotlight.Worker;

/// <summary>The few calls of libopenjp2 (2.3 and later) that decode one grey component; structures as openjpeg.h 2.5 lays them out on 64-bit machines.</summary>
internal sealed unsafe class OpenJpeg
{
    private const int CodecRaw = 0;
    private const int CodecJp2 = 2;

    /// <summary>More than opj_dparameters_t takes (8.3 KB): it holds two paths of 4096 bytes.</summary>
    private const int ParameterBytes = 16 * 1024;

    private readonly delegate* unmanaged[Cdecl]<int, nint> createDecompress;
    private readonly delegate* unmanaged[Cdecl]<void*, void> setDefaultParameters;
    private readonly delegate* unmanaged[Cdecl]<nint, void*, int> setupDecoder;
    private readonly delegate* unmanaged[Cdecl]<nuint, int, nint> createStream;
    private readonly delegate* unmanaged[Cdecl]<nint, delegate* unmanaged[Cdecl]<void*, nuint, void*, nuint>, void> setRead;
    private readonly delegate* unmanaged[Cdecl]<nint, delegate* unmanaged[Cdecl]<long, void*, long>, void> setSkip;
    private readonly delegate* unmanaged[Cdecl]<nint, delegate* unmanaged[Cdecl]<long, void*, int>, void> setSeek;
    private readonly delegate* unmanaged[Cdecl]<nint, void*, nint, void> setUserData;
    private readonly delegate* unmanaged[Cdecl]<nint, ulong, void> setLength;
    private readonly delegate* unmanaged[Cdecl]<nint, nint, Image**, int> readHeader;
    private readonly delegate* unmanaged[Cdecl]<nint, nint, Image*, int> decode;
    private readonly delegate* unmanaged[Cdecl]<nint, nint, int> endDecompress;
    private readonly delegate* unmanaged[Cdecl]<nint, void> destroyStream;
    private readonly delegate* unmanaged[Cdecl]<nint, void> destroyCodec;
    private readonly delegate* unmanaged[Cdecl]<Image*, void> destroyImage;
    private readonly delegate* unmanaged[Cdecl]<nint, int, int> setThreads;

    private OpenJpeg(nint library)
    {
        createDecompress = (delegate* unmanaged[Cdecl]<int, nint>)NativeLibrary.GetExport(library, "opj_create_decompress");
        setDefaultParameters = (delegate* unmanaged[Cdecl]<void*, void>)NativeLibrary.GetExport(library, "opj_set_default_decoder_parameters");
        setupDecoder = (delegate* unmanaged[Cdecl]<nint, void*, int>)NativeLibrary.GetExport(library, "opj_setup_decoder");
        createStream = (delegate* unmanaged[Cdecl]<nuint, int, nint>)NativeLibrary.GetExport(library, "opj_stream_create");
        setRead = (delegate* unmanaged[Cdecl]<nint, delegate* unmanaged[Cdecl]<void*, nuint, void*, nuint>, void>)NativeLibrary.GetExport(library, "opj_stream_set_read_function");
        setSkip = (delegate* unmanaged[Cdecl]<nint, delegate* unmanaged[Cdecl]<long, void*, long>, void>)NativeLibrary.GetExport(library, "opj_stream_set_skip_function");
        setSeek = (delegate* unmanaged[Cdecl]<nint, delegate* unmanaged[Cdecl]<long, void*, int>, void>)NativeLibrary.GetExport(library, "opj_stream_set_seek_function");
        setUserData = (delegate* unmanaged[Cdecl]<nint, void*, nint, void>)NativeLibrary.GetExport(library, "opj_stream_set_user_data");
        setLength = (delegate* unmanaged[Cdecl]<nint, ulong, void>)NativeLibrary.GetExport(library, "opj_stream_set_user_data_length");
        readHeader = (delegate* unmanaged[Cdecl]<nint, nint, Image**, int>)NativeLibrary.GetExport(library, "opj_read_header");
        decode = (delegate* unmanaged[Cdecl]<nint, nint, Image*, int>)NativeLibrary.GetExport(library, "opj_decode");
        endDecompress = (delegate* unmanaged[Cdecl]<nint, nint, int>)NativeLibrary.GetExport(library, "opj_end_decompress");
        destroyStream = (delegate* unmanaged[Cdecl]<nint, void>)NativeLibrary.GetExport(library, "opj_stream_destroy");
        destroyCodec = (delegate* unmanaged[Cdecl]<nint, void>)NativeLibrary.GetExport(library, "opj_destroy_codec");
        destroyImage = (delegate* unmanaged[Cdecl]<Image*, void>)NativeLibrary.GetExport(library, "opj_image_destroy");
        setThreads = (delegate* unmanaged[Cdecl]<nint, int, int>)NativeLibrary.GetExport(library, "opj_codec_set_threads");
    }

    /// <summary>Loads the library by the first of these names that is there; null when none is.</summary>
    public static OpenJpeg? Load(IEnumerable<string> names)
    {
        foreach (string name in names)
        {
            if (NativeLibrary.TryLoad(name, out nint library))
            {
                try
                {
                    return new OpenJpeg(library);
                }
                catch (EntryPointNotFoundException)
                {
                    NativeLibrary.Free(library);
                }
            }
        }

        return null;
    }

    /// <summary>Decodes a stream and hands its only component to <paramref name="use"/>; false when the stream is damaged or not one grey component.</summary>
    public bool Decode(byte* content, long length, Action<DecodedComponent> use)
    {
        Source source = new() { Content = content, Length = length };
        bool isRaw = length > 4 && content[0] == 0xFF && content[1] == 0x4F;
        nint codec = createDecompress(isRaw ? CodecRaw : CodecJp2);
        nint stream = createStream(1 << 16, 1);
        void* parameters = NativeMemory.AllocZeroed(ParameterBytes);
        Image* image = null;
        try
        {
            if (codec == 0 || stream == 0)
            {
                return false;
            }

            setDefaultParameters(parameters);
            setRead(stream, &Read);
            setSkip(stream, &Skip);
            setSeek(stream, &Seek);
            setUserData(stream, &source, 0);
            setLength(stream, (ulong)length);
            if (setupDecoder(codec, parameters) == 0)
            {
                return false;
            }

            _ = setThreads(codec, Math.Min(Environment.ProcessorCount, 4));
            if (readHeader(stream, codec, &image) == 0 || image is null || image->ComponentCount != 1
                || decode(codec, stream, image) == 0 || endDecompress(codec, stream) == 0)
            {
                return false;
            }

            Component* component = image->Components;
            if (component->Data is null || component->Precision is < 1 or > 16)
            {
                return false;
            }

            use(new DecodedComponent((int)component->Columns, (int)component->Rows, (int)component->Precision, (nint)component->Data));
            return true;
        }
        finally
        {
            if (image is not null)
            {
                destroyImage(image);
            }

            if (stream != 0)
            {
                destroyStream(stream);
            }

            if (codec != 0)
            {
                destroyCodec(codec);
            }

            NativeMemory.Free(parameters);
        }
    }

    [UnmanagedCallersOnly(CallConvs = [typeof(CallConvCdecl)])]
    private static nuint Read(void* buffer, nuint count, void* user)
    {
        Source* source = (Source*)user;
        long taken = Math.Min((long)count, source->Length - source->Position);
        if (taken <= 0)
        {
            return nuint.MaxValue;
        }

        NativeMemory.Copy(source->Content + source->Position, buffer, (nuint)taken);
        source->Position += taken;
        return (nuint)taken;
    }

    [UnmanagedCallersOnly(CallConvs = [typeof(CallConvCdecl)])]
    private static long Skip(long count, void* user)
    {
        Source* source = (Source*)user;
        if (count < 0)
        {
            return -1;
        }

        long taken = Math.Min(count, source->Length - source->Position);
        source->Position += taken;
        return taken > 0 || count == 0 ? taken : -1;
    }

    [UnmanagedCallersOnly(CallConvs = [typeof(CallConvCdecl)])]
    private static int Seek(long position, void* user)
    {
        Source* source = (Source*)user;
        if (position < 0 || position > source->Length)
        {
            return 0;
        }

        source->Position = position;
        return 1;
    }

    /// <summary>A decoded component: rows × columns samples of 32 bits, valid during the call that hands it over.</summary>
    internal readonly record struct DecodedComponent(int Columns, int Rows, int Precision, nint Samples);

    private struct Source
    {
        public byte* Content;
        public long Length;
        public long Position;
    }

    // The fields the library fills and this program does not read keep their places.
#pragma warning disable CS0649
    [StructLayout(LayoutKind.Sequential)]
    private struct Image
    {
        public uint X0;
        public uint Y0;
        public uint X1;
        public uint Y1;
        public uint ComponentCount;
        public int ColourSpace;
        public Component* Components;
        public byte* Profile;
        public uint ProfileLength;
    }

    [StructLayout(LayoutKind.Sequential)]
    private struct Component
    {
        public uint StepX;
        public uint StepY;
        public uint Columns;
        public uint Rows;
        public uint X0;
        public uint Y0;
        public uint Precision;
        public uint BitsPerPixel;
        public uint IsSigned;
        public uint ResolutionsDecoded;
        public uint Factor;
        public int* Data;
        public ushort Alpha;
    }
#pragma warning restore CS0649
}
