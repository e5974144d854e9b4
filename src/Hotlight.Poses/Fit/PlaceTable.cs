using System.Collections.Concurrent;
using System.Numerics;
using Hotlight.Simulation.Phantom;

namespace Hotlight.Poses;

/// <summary>Where the phantom has a model's points as its joints move: built at a few settings, read between them by the polynomial through all of them.</summary>
/// <remarks>The settings are Chebyshev's, so that the polynomial stays near what it stands for; with five of them every point is within 0.2 mm of the phantom's (PoseGeometryTests).</remarks>
internal sealed class PlaceTable
{
    private const int NodeCount = 5;

    // Joints are tabled this many spreads to both sides of where they are expected.
    private const double SpreadsEachSide = 3;

    private static readonly ConcurrentDictionary<(string Projection, bool Child), Lazy<PlaceTable>> Known = new();

    private static readonly ConcurrentDictionary<string, float> ChildShares = new(StringComparer.Ordinal);

    private readonly double[][] settings;
    private readonly double[] places;

    private PlaceTable(PoseModel model, StoredPlaces stored)
    {
        PartView view = PartPhantoms.ByName(model.Part).View(model.View);
        Model = model;
        Orientation = Rows(view);
        Has = [.. stored.Has];
        Minimum = [.. stored.Minimum];
        Maximum = [.. stored.Maximum];
        settings = [.. Enumerable.Range(0, model.Joints.Count).Select(joint => Nodal(Minimum[joint], Maximum[joint]))];
        places = [.. stored.Places];
    }

    private PlaceTable(PoseModel model, bool child)
    {
        PartPhantom phantom = PartPhantoms.ByName(model.Part);
        PartView view = phantom.View(model.View);
        Model = model;
        Orientation = Rows(view);
        Minimum = new double[model.Joints.Count];
        Maximum = new double[model.Joints.Count];
        settings = new double[model.Joints.Count][];
        for (int joint = 0; joint < model.Joints.Count; joint++)
        {
            PoseJointSpread spread = model.Joints[joint];
            JointRange range = phantom.Joints.First(known => known.Name == spread.Name);
            double low = Math.Max(range.MinimumDegrees, spread.ExpectedDegrees - (SpreadsEachSide * spread.SpreadDegrees));
            double high = Math.Min(range.MaximumDegrees, spread.ExpectedDegrees + (SpreadsEachSide * spread.SpreadDegrees));
            (Minimum[joint], Maximum[joint]) = (low, high);
            settings[joint] = Nodal(low, high);
        }

        Body first = phantom.Build(new PartForm { Size = child ? BodySize.Child : BodySize.Adult, Joints = view.Joints });
        Has = [.. model.Points.Select(point => IsIn(point, first))];
        int count = (int)Math.Pow(NodeCount, model.Joints.Count);
        places = new double[count * Stride];
        for (int node = 0; node < count; node++)
        {
            Dictionary<string, double> joints = new(view.Joints);
            int rest = node;
            for (int joint = 0; joint < settings.Length; joint++, rest /= NodeCount)
            {
                joints[model.Joints[joint].Name] = settings[joint][rest % NodeCount];
            }

            Fill(phantom.Build(new PartForm { Size = child ? BodySize.Child : BodySize.Adult, Joints = joints }), view.Centring, SizeShare(model.Part, child), places.AsSpan(node * Stride, Stride));
        }
    }

    public PoseModel Model { get; }

    /// <summary>Whether the phantom has each point: a child lacks what is cartilage yet.</summary>
    public bool[] Has { get; }

    /// <summary>The view's frame in the room, a matrix by rows.</summary>
    public double[] Orientation { get; }

    /// <summary>Least setting of each joint that is tabled, in degrees.</summary>
    public double[] Minimum { get; }

    /// <summary>Greatest setting of each joint that is tabled, in degrees.</summary>
    public double[] Maximum { get; }

    /// <summary>Settings of each joint at which bodies were built, in degrees.</summary>
    public IReadOnlyList<IReadOnlyList<double>> Settings => settings;

    /// <summary>What was read off each body, the first joint's settings running fastest.</summary>
    public IEnumerable<double[]> Nodes => places.Chunk(Stride);

    /// <summary>Numbers of one setting: for each point its place from the view's centring landmark and its direction of sliding.</summary>
    public int Stride => 6 * Model.Points.Count;

    /// <summary>The table of a model: the one that is kept with the model's file, or built where that is of other points or there is none.</summary>
    public static PlaceTable Of(PoseModel model, bool child)
        => ReferenceEquals(PoseModels.For(model.ProjectionId), model)
            ? Known.GetOrAdd((model.ProjectionId, child), _ => new Lazy<PlaceTable>(() => KeptOrBuilt(model, child))).Value
            : KeptOrBuilt(model, child);

    /// <summary>The table of a model, built from the phantom: seconds for a chest.</summary>
    public static PlaceTable Build(PoseModel model, bool child) => new(model, child);

    /// <summary>What is kept of the table.</summary>
    public StoredPlaces Stored() => new()
    {
        Points = [.. Model.Points.Select(StoredPlaces.Key)],
        Joints = [.. Model.Joints.Select(StoredPlaces.Key)],
        Has = Has,
        Minimum = Minimum,
        Maximum = Maximum,
        Places = [.. places.Select(value => Math.Round(value, StoredPlaces.Digits))],
    };

    /// <summary>Whether a body has a point.</summary>
    public static bool IsIn(PosePoint point, Body body)
        => point.Bone is { } bone ? body.Bones.Any(known => known.Name == bone) : point.Anatomy.All(body.Landmarks.ContainsKey);

    /// <summary>How much smaller a child's part is, 0 to 1; 1 for an adult.</summary>
    public static float SizeShare(string part, bool child) => child ? ChildShare(part) : 1;

    /// <summary>A point's place in the part's frame, in mm.</summary>
    public static Vector3 PlaceOf(PosePoint point, Body body, float childShare)
    {
        if (point.Bone is { } name)
        {
            Bone bone = body.Bones.First(known => known.Name == name);
            Vector3 at = new((float)point.AtMm![0], (float)point.AtMm[1], (float)point.AtMm[2]);
            return bone.Pose.ToOuter(childShare * at);
        }

        Vector3 sum = Vector3.Zero;
        foreach (string landmark in point.Anatomy)
        {
            sum += body.Landmarks[landmark];
        }

        return sum / point.Anatomy.Count;
    }

    /// <summary>Places and directions at a setting of the joints, in degrees; a setting beyond the table is read at its end.</summary>
    public void Read(ReadOnlySpan<double> joints, Span<double> result)
    {
        result.Clear();
        int count = places.Length / Stride;
        Span<double> weights = stackalloc double[NodeCount * Math.Max(1, joints.Length)];
        for (int joint = 0; joint < joints.Length; joint++)
        {
            double at = Math.Clamp(joints[joint], Minimum[joint], Maximum[joint]);
            for (int node = 0; node < NodeCount; node++)
            {
                double weight = 1;
                for (int other = 0; other < NodeCount; other++)
                {
                    weight *= other == node ? 1 : (at - settings[joint][other]) / (settings[joint][node] - settings[joint][other]);
                }

                weights[(joint * NodeCount) + node] = weight;
            }
        }

        for (int node = 0; node < count; node++)
        {
            double weight = 1;
            int rest = node;
            for (int joint = 0; joint < joints.Length; joint++, rest /= NodeCount)
            {
                weight *= weights[(joint * NodeCount) + (rest % NodeCount)];
            }

            ReadOnlySpan<double> from = places.AsSpan(node * Stride, Stride);
            for (int index = 0; index < from.Length; index++)
            {
                result[index] += weight * from[index];
            }
        }
    }

    private static PlaceTable KeptOrBuilt(PoseModel model, bool child)
        => StoredPlaces.Of(model, child) is { } stored ? new PlaceTable(model, stored) : Build(model, child);

    private static double[] Rows(PartView view)
        => [view.Orientation.X.X, view.Orientation.Y.X, view.Orientation.Z.X, view.Orientation.X.Y, view.Orientation.Y.Y, view.Orientation.Z.Y, view.Orientation.X.Z, view.Orientation.Y.Z, view.Orientation.Z.Z];

    private static double[] Nodal(double low, double high)
        => [.. Enumerable.Range(0, NodeCount).Select(node => ((low + high) / 2) - ((high - low) / 2 * Math.Cos(Math.PI * (node + 0.5) / NodeCount)))];

    // A child's bones are drawn smaller; the share is that of the landmarks' extent.
    private static float ChildShare(string part) => ChildShares.GetOrAdd(part, static name =>
    {
        PartPhantom phantom = PartPhantoms.ByName(name);
        Body adult = phantom.Build(new PartForm());
        Body child = phantom.Build(new PartForm { Size = BodySize.Child });
        string[] both = [.. adult.Landmarks.Keys.Where(child.Landmarks.ContainsKey)];
        float Extent(Body body)
        {
            Vector3 middle = both.Aggregate(Vector3.Zero, (sum, landmark) => sum + body.Landmarks[landmark]) / both.Length;
            return MathF.Sqrt(both.Sum(landmark => (body.Landmarks[landmark] - middle).LengthSquared()));
        }

        return Extent(child) / Extent(adult);
    });

    private void Fill(Body body, string centring, float childShare, Span<double> into)
    {
        Vector3 centre = body.Landmarks[centring];
        for (int index = 0; index < Model.Points.Count; index++)
        {
            PosePoint point = Model.Points[index];
            if (!Has[index])
            {
                continue;
            }

            Vector3 place = PlaceOf(point, body, childShare) - centre;
            Vector3 along = Vector3.Zero;
            if (point.Along is { } slide)
            {
                along = Vector3.Normalize(new((float)slide.Direction[0], (float)slide.Direction[1], (float)slide.Direction[2]));
                along = point.Bone is { } bone ? body.Bones.First(known => known.Name == bone).Pose.TurnToOuter(along) : along;
            }

            int at = 6 * index;
            (into[at], into[at + 1], into[at + 2]) = (place.X, place.Y, place.Z);
            (into[at + 3], into[at + 4], into[at + 5]) = (along.X, along.Y, along.Z);
        }
    }
}
