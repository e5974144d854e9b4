using System.Buffers.Binary;
using System.Collections.Concurrent;
using System.Globalization;
using System.Numerics;
using System.Text.Json;
using Hotlight.Core;
using Hotlight.Simulation.Meshes;
using Hotlight.Simulation.Phantom;
using Hotlight.Simulation.Projection;
using Hotlight.Simulation.Shapes;
using Hotlight.Training.Landmarks;

// Path lengths of bone, lean tissue and fat of the phantoms in random poses, with the places of their landmarks.
if (args.Length != 6
    || Examination.All.FirstOrDefault(each => each.Key == args[0]) is not { } examination
    || !int.TryParse(args[1], NumberStyles.None, CultureInfo.InvariantCulture, out int count)
    || !int.TryParse(args[2], NumberStyles.None, CultureInfo.InvariantCulture, out int pixels)
    || !ulong.TryParse(args[3], NumberStyles.None, CultureInfo.InvariantCulture, out ulong seed))
{
    Console.Error.WriteLine("usage: Hotlight.Training.Landmarks chest|elbow|ankle|knee COUNT PIXELS SEED POSES FOLDER");
    return 1;
}

// A body is drawn once for a few poses: its soft tissue takes most of the time.
const int PosesOfABody = 6;
string folder = Directory.CreateDirectory(args[5]).FullName;
PartPhantom phantom = PartPhantoms.ByName(examination.Part);
double spacing = examination.SideMm / pixels;
int bytes = 3 * pixels * pixels * sizeof(ushort);
IReadOnlyList<PosePoint> points = PosePoint.Read(args[4], examination.Poses);
Lock gate = new();
MeshCache cache = new(40_000_000);
int groups = (count + PosesOfABody - 1) / PosesOfABody;
List<int> order = [];
using FileStream lengths = File.Create(Path.Combine(folder, examination.Key + ".lengths"));
ConcurrentDictionary<int, (float[] Places, float[] Pose)> told = new();
Parallel.For(0, groups, new ParallelOptions { MaxDegreeOfParallelism = Environment.ProcessorCount }, group =>
{
    Random chance = new(unchecked((int)(seed * 1_000_003) + group));
    double Between(double least, double most) => least + ((most - least) * chance.NextDouble());
    PartView view = phantom.View(examination.Views[chance.Next(examination.Views.Length)]);
    PartForm form = new()
    {
        Size = chance.NextDouble() < 0.15 ? BodySize.Child : BodySize.Adult,
        Habitus = Between(0.7, 1.5),
        Joints = examination.Joints.ToDictionary(joint => joint.Key, joint => Between(joint.Value.Least, joint.Value.Most)),
        Seed = (ulong)chance.NextInt64(1, long.MaxValue),
        Breasts = examination.Part == "chest" && chance.NextDouble() < 0.35,
    };
    for (int k = 0; k < PosesOfABody && (group * PosesOfABody) + k < count; k++)
    {
        // Turn and tilt: half the poses within a third of the range.
        double share = chance.NextDouble() < 0.5 ? 1 : 0.35;
        bool left = examination.Part != "chest" && chance.NextDouble() < 0.5;
        PartOffset offset = new(
            share * Between(-examination.TurnDegrees, examination.TurnDegrees),
            share * Between(-examination.TiltDegrees, examination.TiltDegrees),
            Between(-10, 10),
            Between(-15, 15),
            Between(-15, 15),
            Between(0, 40));
        BeamGeometry geometry = new(pixels, pixels, spacing, Between(examination.DistancesMm.Least, examination.DistancesMm.Most));
        Body body = phantom.Place(view, form, left, offset, Lowest);
        BodyProjection projection = new(geometry, form.Seed, cache: cache);
        PathLengths paths = projection.Project(body);

        float[] found = new float[3 * points.Count];
        for (int point = 0; point < points.Count; point++)
        {
            // What a child does not have is at no place.
            Vector3? place = points[point].In(body, form.Size == BodySize.Child);
            Vector3 inRoom = place is { } known ? body.Placement.ToOuter(known) : default;
            PixelPoint pixel = place is null ? new PixelPoint(X: -9999, Y: -9999) : geometry.Project(inRoom);
            found[3 * point] = (float)pixel.X;
            found[(3 * point) + 1] = (float)pixel.Y;
            found[(3 * point) + 2] = inRoom.Z;
        }

        byte[] sample = new byte[bytes];
        Write(paths.Bone, sample.AsSpan(0, bytes / 3));
        Write(paths.Soft, sample.AsSpan(bytes / 3, bytes / 3));
        Write(paths.Fat, sample.AsSpan(2 * bytes / 3, bytes / 3));
        int index = (group * PosesOfABody) + k;
        told[index] = (found, [(float)offset.TurnDegrees, (float)offset.TiltDegrees, (float)offset.LeanDegrees, left ? 1 : 0, form.Size == BodySize.Child ? 1 : 0, (float)geometry.SourceImageDistanceMm, group]);
        lock (gate)
        {
            order.Add(index);
            lengths.Write(sample);
        }
    }
});

// In the order of the file of lengths, which depends on the processors.
float[] all = [.. order.SelectMany(index => told[index].Places)];
float[] poses = [.. order.SelectMany(index => told[index].Pose)];
WriteFloats(all, Path.Combine(folder, examination.Key + ".places"));
WriteFloats(poses, Path.Combine(folder, examination.Key + ".poses"));
File.WriteAllText(
    Path.Combine(folder, examination.Key + ".json"),
    JsonSerializer.Serialize(new { key = examination.Key, count, pixels, spacingMm = spacing, lengthUnitMm = 0.01, points = points.Select(point => point.Id) }));
return 0;

static void Write(Raster<float> raster, Span<byte> to)
{
    // 0.01 mm, up to 655 mm.
    for (int at = 0; at < raster.Samples.Length; at++)
    {
        BinaryPrimitives.WriteUInt16LittleEndian(to[(2 * at)..], (ushort)Math.Clamp(raster.Samples[at] * 100, 0, ushort.MaxValue));
    }
}

static void WriteFloats(float[] values, string path)
{
    byte[] all = new byte[values.Length * sizeof(float)];
    Buffer.BlockCopy(values, 0, all, 0, all.Length);
    File.WriteAllBytes(path, all);
}

static float Lowest(Shape skin, Pose pose)
{
    float lowest = float.MaxValue;
    for (int corner = 0; corner < 8; corner++)
    {
        Vector3 at = new(
            (corner & 1) == 0 ? skin.Bounds.Minimum.X : skin.Bounds.Maximum.X,
            (corner & 2) == 0 ? skin.Bounds.Minimum.Y : skin.Bounds.Maximum.Y,
            (corner & 4) == 0 ? skin.Bounds.Minimum.Z : skin.Bounds.Maximum.Z);
        lowest = MathF.Min(lowest, pose.ToOuter(at).Z);
    }

    return lowest;
}
