using Microsoft.ML.OnnxRuntime;

namespace Hotlight.Measure.Markers;

/// <summary>The two small networks that find words and read their letters, on the processor, one thread each call; loaded only where a clinic's words are given.</summary>
/// <remarks>How they were trained: training/markers/words.py; what they answer is written there at Finder and Reader. The weights lie in this library (0.5 and 3 MB).</remarks>
internal sealed class WordNetworks
{
    /// <summary>Samples across the reader's strip.</summary>
    internal const int High = 24;

    /// <summary>Samples along the reader's strip.</summary>
    internal const int Wide = 160;

    /// <summary>Height of a letter in the strip, samples.</summary>
    internal const int Letter = 16;

    /// <summary>Columns of the reader's answer.</summary>
    internal const int Columns = 80;

    /// <summary>Values of the reader's answer for one column: 27 logits of blank and A to Z, logit of lying in a word, offset, log height ratio.</summary>
    internal const int Values = 30;

    /// <summary>Resource name of the finder's weights.</summary>
    internal const string FinderName = "word-finder.onnx";

    /// <summary>Resource name of the reader's weights.</summary>
    internal const string ReaderName = "word-reader.onnx";

    private static readonly Lazy<WordNetworks> Loaded = new(() => new WordNetworks());

    private readonly InferenceSession finder = MarkerNetworks.Load(FinderName);

    private readonly InferenceSession reader = MarkerNetworks.Load(ReaderName);

    private WordNetworks()
    {
    }

    /// <summary>The networks, loaded at the first use.</summary>
    internal static WordNetworks Shared => Loaded.Value;

    /// <summary>The finder's answer: 7 planes of ⌈rows/8⌉ × ⌈columns/8⌉ places: logit, offsets, log height, cosine and sine of twice the direction, log of length over height.</summary>
    /// <param name="image">Normalised cells, row-major.</param>
    /// <param name="rows">Rows of cells.</param>
    /// <param name="columns">Columns of cells.</param>
    internal float[] Find(float[] image, int rows, int columns) => MarkerNetworks.Run(finder, "image", "answer", image, [1, 1, rows, columns]);

    /// <summary>The reader's answer: <see cref="Values"/> × <see cref="Columns"/> a strip.</summary>
    /// <param name="strips">Normalised strips, one after the other.</param>
    /// <param name="count">Number of strips, 1 or more.</param>
    internal float[] Read(float[] strips, int count) => MarkerNetworks.Run(reader, "strips", "answers", strips, [count, 1, High, Wide]);
}
