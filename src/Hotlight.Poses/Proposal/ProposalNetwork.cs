using System.Text;
using Microsoft.ML.OnnxRuntime;

namespace Hotlight.Poses.Proposal;

/// <summary>The network that says where points lie in a small picture, on the processor, one thread each call.</summary>
/// <remarks>
/// <para>How it was trained: training/landmarks. It answers for each point with a map of log odds over <see cref="Cells"/> × <see cref="Cells"/> places, and one more for "not in the picture".</para>
/// <para>The session may be used by several threads at once. The same picture gives the same answer on the same machine.</para>
/// </remarks>
internal sealed class ProposalNetwork
{
    /// <summary>Side of the square picture, in samples.</summary>
    internal const int Side = 192;

    /// <summary>Side of the answer's maps.</summary>
    internal const int Cells = 96;

    /// <summary>Resource name of the weights.</summary>
    internal const string WeightsName = "landmarks.onnx";

    private const string PointsName = "landmarks.txt";

    private static readonly Lazy<ProposalNetwork> Loaded = new(() => new ProposalNetwork());

    private readonly InferenceSession session;

    private ProposalNetwork()
    {
        using var options = new SessionOptions
        {
            IntraOpNumThreads = 1,
            InterOpNumThreads = 1,
            ExecutionMode = ExecutionMode.ORT_SEQUENTIAL,
            GraphOptimizationLevel = GraphOptimizationLevel.ORT_ENABLE_ALL,
            LogSeverityLevel = OrtLoggingLevel.ORT_LOGGING_LEVEL_ERROR,
        };
        session = new InferenceSession(Resource(WeightsName), options);
        string[] rows = Encoding.UTF8.GetString(Resource(PointsName)).Split('\n', StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries);
        Channels = rows.Select((row, channel) => (row, channel)).ToDictionary(each => each.row, each => each.channel, StringComparer.Ordinal);
    }

    /// <summary>The network, loaded at the first use.</summary>
    internal static ProposalNetwork Shared => Loaded.Value;

    /// <summary>Which map tells of which point: "chest/right-apex".</summary>
    internal IReadOnlyDictionary<string, int> Channels { get; }

    /// <summary>Something that lies in this library.</summary>
    /// <param name="name">Resource name.</param>
    internal static byte[] Resource(string name)
    {
        using Stream stream = typeof(ProposalNetwork).Assembly.GetManifestResourceStream(name)
            ?? throw new InvalidOperationException($"'{name}' is missing from this library.");
        byte[] bytes = new byte[stream.Length];
        stream.ReadExactly(bytes);
        return bytes;
    }

    /// <summary>The maps, one after the other, and the odds that a point is not in the picture.</summary>
    /// <param name="picture">A normalised picture, row-major.</param>
    internal (float[] Maps, float[] Absent) Ask(float[] picture)
    {
        using RunOptions run = new();
        using OrtValue tensor = OrtValue.CreateTensorValueFromMemory(picture, [1, 1, Side, Side]);
        using IDisposableReadOnlyCollection<OrtValue> answers = session.Run(run, ["picture"], [tensor], ["maps", "absent"]);
        return (answers[0].GetTensorDataAsSpan<float>().ToArray(), answers[1].GetTensorDataAsSpan<float>().ToArray());
    }
}
