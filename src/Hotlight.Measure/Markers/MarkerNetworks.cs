using Microsoft.ML.OnnxRuntime;

namespace Hotlight.Measure.Markers;

/// <summary>The two small networks that find side markers and read them, on the processor, one thread each call.</summary>
/// <remarks>
/// <para>How they were trained: training/markers; what they answer is written there at Finder and Reader. The weights lie in this library (0.4 and 2.6 MB).</para>
/// <para>Sessions may be used by several threads at once. The same image gives the same answer on the same machine.</para>
/// </remarks>
internal sealed class MarkerNetworks
{
    /// <summary>Side of the reader's patch, in samples.</summary>
    internal const int Patch = 48;

    /// <summary>Values of the reader's answer for one patch.</summary>
    internal const int ReaderValues = 11;

    /// <summary>Values of the finder's answer for one place.</summary>
    internal const int FinderValues = 8;

    /// <summary>Cells of the finder's image from one place of its answer to the next.</summary>
    internal const int FinderStride = 8;

    /// <summary>Resource name of the finder's weights.</summary>
    internal const string FinderName = "marker-finder.onnx";

    /// <summary>Resource name of the reader's weights.</summary>
    internal const string ReaderName = "marker-reader.onnx";

    private static readonly Lazy<MarkerNetworks> Loaded = new(() => new MarkerNetworks());

    private readonly InferenceSession finder = Load(FinderName);

    private readonly InferenceSession reader = Load(ReaderName);

    private MarkerNetworks()
    {
    }

    /// <summary>The networks, loaded at the first use.</summary>
    internal static MarkerNetworks Shared => Loaded.Value;

    /// <summary>The weights of a network as they lie in this library.</summary>
    /// <param name="name">Resource name.</param>
    internal static byte[] Weights(string name)
    {
        using Stream stream = typeof(MarkerNetworks).Assembly.GetManifestResourceStream(name)
            ?? throw new InvalidOperationException($"The weights '{name}' are missing from this library.");
        var bytes = new byte[stream.Length];
        stream.ReadExactly(bytes);
        return bytes;
    }

    /// <summary>The finder's answer: FinderValues planes of ⌈rows/8⌉ × ⌈columns/8⌉ places.</summary>
    /// <param name="image">Normalised cells, row-major.</param>
    /// <param name="rows">Rows of cells.</param>
    /// <param name="columns">Columns of cells.</param>
    internal float[] Find(float[] image, int rows, int columns) => Run(finder, "image", "answer", image, [1, 1, rows, columns]);

    /// <summary>The reader's answer: ReaderValues a patch.</summary>
    /// <param name="patches">Normalised patches, one after the other.</param>
    /// <param name="count">Number of patches, 1 or more.</param>
    internal float[] Read(float[] patches, int count) => Run(reader, "patches", "answers", patches, [count, 1, Patch, Patch]);

    /// <summary>One network's answer, in one row.</summary>
    /// <param name="session">The network.</param>
    /// <param name="input">Name of its input.</param>
    /// <param name="output">Name of its output.</param>
    /// <param name="values">The input's values.</param>
    /// <param name="shape">The input's shape.</param>
    internal static float[] Run(InferenceSession session, string input, string output, float[] values, long[] shape)
    {
        using RunOptions run = new();
        using OrtValue tensor = OrtValue.CreateTensorValueFromMemory(values, shape);
        using IDisposableReadOnlyCollection<OrtValue> answers = session.Run(run, [input], [tensor], [output]);
        return answers[0].GetTensorDataAsSpan<float>().ToArray();
    }

    /// <summary>A network of this library, ready to run on one thread.</summary>
    /// <param name="name">Resource name of its weights.</param>
    internal static InferenceSession Load(string name)
    {
        using var options = new SessionOptions
        {
            // One thread: the other sections of the document use the other cores, and waiting threads would burn them.
            IntraOpNumThreads = 1,
            InterOpNumThreads = 1,
            ExecutionMode = ExecutionMode.ORT_SEQUENTIAL,
            GraphOptimizationLevel = GraphOptimizationLevel.ORT_ENABLE_ALL,
            LogSeverityLevel = OrtLoggingLevel.ORT_LOGGING_LEVEL_ERROR,
        };
        return new InferenceSession(Weights(name), options);
    }
}
