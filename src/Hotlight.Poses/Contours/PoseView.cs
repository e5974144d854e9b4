using System.Numerics;
using Hotlight.Core;
using Hotlight.Simulation.Phantom;
using Hotlight.Simulation.Shapes;

namespace Hotlight.Poses;

/// <summary>The phantom's surfaces at a pose, seen from the source as the fit's own projection sees its points.</summary>
internal sealed class PoseView
{
    // A step for slopes by joints, in radians.
    private const double JointStep = 0.02;

    private readonly PoseProblem problem;
    private readonly double[] parameters;
    private readonly double[] axes;
    private readonly Vector3 sizes;
    private readonly Body body;
    private readonly Body[] bent;
    private readonly double[] steps;
    private readonly Vector3 centre;
    private readonly string centring;

    public PoseView(PoseProblem problem, double[] parameters, bool withJoints)
    {
        this.problem = problem;
        this.parameters = parameters;
        PartPhantom phantom = PartPhantoms.ByName(problem.Model.Part);
        PartView view = phantom.View(problem.Model.View);
        centring = view.Centring;
        axes = problem.Axes(parameters);
        sizes = new Vector3((float)Math.Exp(parameters[PoseProblem.SizeX]), (float)Math.Exp(parameters[PoseProblem.SizeY]), (float)Math.Exp(parameters[PoseProblem.SizeZ]));
        body = Built(phantom, view, -1, 0);
        centre = body.Landmarks[centring];
        int joints = withJoints ? problem.Model.Joints.Count : 0;
        steps = [.. Enumerable.Range(0, joints).Select(joint => parameters[PoseProblem.FirstJoint + joint] + JointStep < problem.Limits(joint).High ? JointStep : -JointStep)];
        bent = [.. Enumerable.Range(0, joints).Select(joint => Built(phantom, view, joint, steps[joint]))];
    }

    public Body Body => body;

    /// <summary>Surfaces of bones, then of ribs.</summary>
    public int SurfaceCount => body.Bones.Count + body.Tubes.Count;

    public string Name(int surface) => surface < body.Bones.Count ? body.Bones[surface].Name : "rib";

    public ContourMesh Mesh(int surface) => surface < body.Bones.Count ? ContourMesh.Of(body.Bones[surface]) : ContourMesh.Of(body.Tubes[surface - body.Bones.Count]);

    /// <summary>A surface's frame in the part.</summary>
    public Pose Frame(int surface) => Frame(body, surface);

    /// <summary>How a point of a surface moves in the part's frame, from the centring point, by each joint, in mm per radian.</summary>
    public Vector3[] JointSlopes(int surface, Vector3 local)
    {
        Vector3 here = Frame(body, surface).ToOuter(local) - centre;
        return [.. bent.Select((other, joint) => (Frame(other, surface).ToOuter(local) - other.Landmarks[centring] - here) / (float)steps[joint])];
    }

    /// <summary>A point of the part from its centring point.</summary>
    public Vector3 FromCentre(Vector3 inPart) => inPart - centre;

    /// <summary>The source in the part's own frame, from its origin, as the part's stretched axes have it.</summary>
    public Vector3 SourceInPart()
    {
        double x = parameters[PoseProblem.SourceX] - parameters[PoseProblem.X], y = parameters[PoseProblem.SourceY] - parameters[PoseProblem.Y];
        double z = problem.SourceHeight(parameters) - parameters[PoseProblem.Z];
        Vector3 turned = new(
            (float)((axes[0] * x) + (axes[3] * y) + (axes[6] * z)),
            (float)((axes[1] * x) + (axes[4] * y) + (axes[7] * z)),
            (float)((axes[2] * x) + (axes[5] * y) + (axes[8] * z)));

        // Which way a surface faces does not change where surface and source are stretched alike.
        return (turned / sizes) + centre;
    }

    /// <summary>Where a point of the part, from its centring point, falls: in pixels of the image.</summary>
    public PixelPoint Project(Vector3 fromCentre) => Project(problem, parameters, axes, fromCentre.X, fromCentre.Y, fromCentre.Z);

    /// <summary>The same with other parameters.</summary>
    public static PixelPoint Project(PoseProblem problem, double[] parameters, double[] axes, double x, double y, double z)
    {
        x *= Math.Exp(parameters[PoseProblem.SizeX]);
        y *= Math.Exp(parameters[PoseProblem.SizeY]);
        z *= Math.Exp(parameters[PoseProblem.SizeZ]);
        double right = (axes[0] * x) + (axes[1] * y) + (axes[2] * z) + parameters[PoseProblem.X];
        double down = (axes[3] * x) + (axes[4] * y) + (axes[5] * z) + parameters[PoseProblem.Y];
        double up = (axes[6] * x) + (axes[7] * y) + (axes[8] * z) + parameters[PoseProblem.Z];
        double source = problem.SourceHeight(parameters), larger = source / Math.Max(1, source - up), spacing = problem.Spacing(parameters);
        return new PixelPoint(
            X: ((problem.IsMirrored ? -1 : 1) * (parameters[PoseProblem.SourceX] + ((right - parameters[PoseProblem.SourceX]) * larger)) / spacing) + problem.Setting.CentralRay.X,
            Y: ((parameters[PoseProblem.SourceY] + ((down - parameters[PoseProblem.SourceY]) * larger)) / spacing) + problem.Setting.CentralRay.Y);
    }

    /// <summary>The contours of a mesh: chains of points where its smooth normal is square to the ray.</summary>
    /// <param name="mesh">The mesh.</param>
    /// <param name="frame">Its frame in the part.</param>
    public List<List<ContourPoint>> Chains(ContourMesh mesh, Pose frame)
    {
        Vector3 source = frame.ToLocal(SourceInPart());
        ReadOnlySpan<Vector3> vertices = mesh.Vertices, normals = mesh.Normals;
        ReadOnlySpan<int> corners = mesh.Corners;
        float[] facing = new float[vertices.Length];
        for (int vertex = 0; vertex < facing.Length; vertex++)
        {
            facing[vertex] = Vector3.Dot(normals[vertex], source - vertices[vertex]);
        }

        // Each triangle that the contour crosses joins two of its edges.
        Dictionary<long, ContourPoint> points = [];
        Dictionary<long, (long One, long Other)> joined = [];
        for (int at = 0; at < corners.Length; at += 3)
        {
            long first = -1, second = -1;
            for (int side = 0; side < 3; side++)
            {
                int a = corners[at + side], b = corners[at + ((side + 1) % 3)];
                if (facing[a] < 0 == facing[b] < 0)
                {
                    continue;
                }

                long edge = ((long)Math.Min(a, b) << 32) | (uint)Math.Max(a, b);
                if (!points.ContainsKey(edge))
                {
                    float share = facing[a] / (facing[a] - facing[b]);
                    points[edge] = new ContourPoint(Vector3.Lerp(vertices[a], vertices[b], share), Vector3.Normalize(Vector3.Lerp(normals[a], normals[b], share)));
                }

                (first, second) = first < 0 ? (edge, -1) : (first, edge);
            }

            if (second >= 0)
            {
                Join(joined, first, second);
                Join(joined, second, first);
            }
        }

        List<List<ContourPoint>> chains = [];
        HashSet<long> seen = [];
        foreach (long start in points.Keys)
        {
            if (!seen.Add(start) || !joined.TryGetValue(start, out (long One, long Other) ways))
            {
                continue;
            }

            List<ContourPoint> chain = [points[start]];
            bool closed = Follow(start, ways.One, chain);
            if (!closed && ways.Other >= 0)
            {
                chain.Reverse();
                Follow(start, ways.Other, chain);
            }

            if (closed)
            {
                chain.Add(chain[0]);
            }

            chains.Add(chain);
        }

        return chains;

        bool Follow(long from, long to, List<ContourPoint> chain)
        {
            long begun = from;
            while (to >= 0 && seen.Add(to))
            {
                chain.Add(points[to]);
                (long one, long other) = joined[to];
                (from, to) = (to, one == from ? other : one);
            }

            return to == begun && chain.Count > 2;
        }

        static void Join(Dictionary<long, (long One, long Other)> joined, long from, long to)
            => joined[from] = joined.TryGetValue(from, out (long One, long Other) known) ? (known.One, to) : (to, -1);
    }

    private static Pose Frame(Body body, int surface) => surface < body.Bones.Count ? body.Bones[surface].Pose : Pose.Identity;

    private Body Built(PartPhantom phantom, PartView view, int moved, double step)
    {
        Dictionary<string, double> joints = new(view.Joints);
        for (int joint = 0; joint < problem.Model.Joints.Count; joint++)
        {
            (double low, double high) = problem.Limits(joint);
            joints[problem.Model.Joints[joint].Name] = Math.Clamp(parameters[PoseProblem.FirstJoint + joint] + (joint == moved ? step : 0), low, high) * 180 / Math.PI;
        }

        return phantom.Build(new PartForm { Size = problem.Setting.IsChild ? BodySize.Child : BodySize.Adult, Joints = joints });
    }
}

/// <summary>A point of a contour on its surface, and the surface's outward normal, both in the surface's own frame.</summary>
internal readonly record struct ContourPoint(Vector3 Local, Vector3 Normal);
