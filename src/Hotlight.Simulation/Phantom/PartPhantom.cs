using System.Numerics;
using Hotlight.Core;
using Hotlight.Simulation.Shapes;

namespace Hotlight.Simulation.Phantom;

/// <summary>Grown up, or a child of about eight years with open growth plates.</summary>
internal enum BodySize
{
    Adult,
    Child,
}

/// <summary>A joint of a part that can be set.</summary>
/// <param name="Name">Name in scene files, camel case, such as "kneeFlexion".</param>
/// <param name="DefaultDegrees">Setting where nothing is said, in degrees.</param>
/// <param name="MinimumDegrees">Least setting, in degrees.</param>
/// <param name="MaximumDegrees">Greatest setting, in degrees.</param>
/// <param name="Meaning">What a positive setting does, one sentence.</param>
internal sealed record JointRange(string Name, double DefaultDegrees, double MinimumDegrees, double MaximumDegrees, string Meaning);

/// <summary>How a part lies on the receptor for one projection.</summary>
/// <param name="Name">Name in scene files, in the trade's words with hyphens, such as "pa" or "lateral".</param>
/// <param name="Orientation">The part's frame in the room (x along columns, y down the rows, z towards the tube) when positioned as the projection demands; its origin is not used.</param>
/// <param name="Centring">Landmark that the central ray enters through.</param>
/// <param name="ProjectionId">Identifier of the projection in the catalogue, such as "knee-ap".</param>
internal sealed record PartView(string Name, Pose Orientation, string Centring, string ProjectionId)
{
    /// <summary>Settings of joints that this projection demands; the others keep their defaults.</summary>
    public IReadOnlyDictionary<string, double> Joints { get; init; } = new Dictionary<string, double>();
}

/// <summary>What a part is built with.</summary>
internal sealed record PartForm
{
    public BodySize Size { get; init; } = BodySize.Adult;

    /// <summary>Settings of joints in degrees; a joint that is missing takes its default.</summary>
    public IReadOnlyDictionary<string, double> Joints { get; init; } = new Dictionary<string, double>();

    /// <summary>Thickness of fat and muscle over that of an average body, 0.7 to 1.5.</summary>
    public double Habitus { get; init; } = 1;

    /// <summary>Whether the chest has a woman's breasts.</summary>
    public bool Breasts { get; init; }

    /// <summary>Seed of what differs between people, such as the lungs' vessels.</summary>
    public ulong Seed { get; init; } = 1;
}

/// <summary>How far a part is from the position that its projection demands.</summary>
/// <param name="TurnDegrees">Turn about the room's y axis (the length of a part that hangs along the rows): positive brings the edge on the viewer's right towards the tube.</param>
/// <param name="TiltDegrees">Turn about the room's x axis: positive brings the lower end (larger y) towards the tube.</param>
/// <param name="LeanDegrees">Turn in the receptor's plane, positive clockwise as seen on the image.</param>
/// <param name="ShiftXMm">Where the centring landmark lies over the receptor, from the origin under the central ray, to the right.</param>
/// <param name="ShiftYMm">The same, downwards.</param>
/// <param name="LiftMm">Gap between the lowest skin and the receptor.</param>
internal sealed record PartOffset(double TurnDegrees = 0, double TiltDegrees = 0, double LeanDegrees = 0, double ShiftXMm = 0, double ShiftYMm = 0, double LiftMm = 0);

/// <summary>A posable part of the body. Drawn for this project; no disease is drawn.</summary>
internal abstract class PartPhantom
{
    private static readonly Lock Gate = new();

    /// <summary>Name in scene files, such as "wrist".</summary>
    public abstract string Name { get; }

    public abstract IReadOnlyList<JointRange> Joints { get; }

    public abstract IReadOnlyList<PartView> Views { get; }

    /// <summary>Whether bodies of different seeds differ in more than the texture of their bones.</summary>
    protected virtual bool DiffersBySeed => false;

    /// <summary>A view by name.</summary>
    /// <exception cref="ArgumentException">The part has no such view.</exception>
    public PartView View(string name)
        => Views.FirstOrDefault(view => view.Name == name)
            ?? throw new ArgumentException($"The {Name} has no view '{name}'. It has: {string.Join(", ", Views.Select(view => view.Name))}.", nameof(name));

    /// <summary>Builds the part of a right side (or the middle of the body) in its own frame. Its shapes are shared with other bodies of the same form.</summary>
    /// <exception cref="ArgumentException">A joint is unknown or beyond its range.</exception>
    public Body Build(PartForm form)
    {
        Check(form.Joints);
        Preconditions.Within(form.Habitus, 0.7, 1.5);
        string key = FormattableString.Invariant($"{Name}/{form.Size}/{form.Habitus:R}/{form.Breasts}/{(DiffersBySeed ? form.Seed : 0)}/")
            + string.Join('/', Joints.Select(joint => FormattableString.Invariant($"{Setting(form, joint.Name):R}")));
        lock (Gate)
        {
            if (Built.Find(key) is { } known)
            {
                return Own(known);
            }
        }

        Body body = Draw(form);
        lock (Gate)
        {
            Built.Keep(key, body);
        }

        return Own(body);
    }

    /// <summary>Checks settings of joints.</summary>
    /// <exception cref="ArgumentException">A joint is unknown or beyond its range.</exception>
    public void Check(IReadOnlyDictionary<string, double> joints)
    {
        foreach ((string joint, double degrees) in joints)
        {
            JointRange range = Joints.FirstOrDefault(each => each.Name == joint)
                ?? throw new ArgumentException($"The {Name} has no joint '{joint}'. It has: {string.Join(", ", Joints.Select(each => each.Name))}.", nameof(joints));
            if (!(degrees >= range.MinimumDegrees && degrees <= range.MaximumDegrees))
            {
                throw new ArgumentException(FormattableString.Invariant($"{joint} of the {Name} goes from {range.MinimumDegrees} to {range.MaximumDegrees} degrees, not {degrees}."), nameof(joints));
            }
        }
    }

    /// <summary>Builds the part with a view's joints, orients it, sets it askew as asked and lays it over the receptor's origin; the left side is the mirror image of the right.</summary>
    /// <param name="view">A view of this part.</param>
    /// <param name="form">Size and joints; joints given here win over the view's.</param>
    /// <param name="left">Whether it is a left side.</param>
    /// <param name="offset">How far it is from the demanded position.</param>
    /// <param name="lowest">Finds the lowest z of a skin in a pose, in mm, so that it can be laid on the receptor.</param>
    public Body Place(PartView view, PartForm form, bool left, PartOffset offset, Func<Shape, Pose, float> lowest)
    {
        Dictionary<string, double> joints = new(view.Joints);
        foreach ((string joint, double degrees) in form.Joints)
        {
            joints[joint] = degrees;
        }

        Body body = Build(form with { Joints = joints });
        Pose askew = BodyBuilder.About(Vector3.Zero, Vector3.UnitY, -offset.TurnDegrees)
            .Within(BodyBuilder.About(Vector3.Zero, Vector3.UnitX, offset.TiltDegrees))
            .Within(BodyBuilder.About(Vector3.Zero, Vector3.UnitZ, offset.LeanDegrees));
        Pose placed = (view.Orientation with { Origin = Vector3.Zero }).Within(askew);
        if (left)
        {
            placed = placed.Within(new Pose(Vector3.Zero, -Vector3.UnitX, Vector3.UnitY, Vector3.UnitZ));
        }

        Vector3 centre = placed.ToOuter(body.Landmarks[view.Centring]);
        float bottom = lowest(body.Skin, placed);
        return body with
        {
            Placement = placed with { Origin = new Vector3((float)offset.ShiftXMm - centre.X, (float)offset.ShiftYMm - centre.Y, (float)offset.LiftMm - bottom) },
        };
    }

    /// <summary>The joint's setting, or its default.</summary>
    protected double Setting(PartForm form, string joint)
        => form.Joints.TryGetValue(joint, out double degrees) ? degrees : Joints.First(each => each.Name == joint).DefaultDegrees;

    /// <summary>Draws the part of a right side in its own frame; joints are within their ranges.</summary>
    protected abstract Body Draw(PartForm form);

    // The caller's own lists of bones and landmarks; shapes and strands are shared and never change.
    private static Body Own(Body body) => body with { Bones = [.. body.Bones], Landmarks = new Dictionary<string, Vector3>(body.Landmarks) };

    /// <summary>The bodies that were built last: the same shapes again, so that their meshes are found again.</summary>
    private static class Built
    {
        private const int Most = 24;
        private static readonly LinkedList<(string Key, Body Body)> ByUse = [];

        public static Body? Find(string key)
        {
            for (LinkedListNode<(string Key, Body Body)>? node = ByUse.First; node is not null; node = node.Next)
            {
                if (node.Value.Key == key)
                {
                    ByUse.Remove(node);
                    ByUse.AddFirst(node);
                    return node.Value.Body;
                }
            }

            return null;
        }

        public static void Keep(string key, Body body)
        {
            ByUse.AddFirst((key, body));
            if (ByUse.Count > Most)
            {
                ByUse.RemoveLast();
            }
        }
    }
}
