using System.Numerics;
using Hotlight.Core;
using Hotlight.Simulation;
using Hotlight.Simulation.Scene;
using Hotlight.Simulation.Shapes;

namespace Hotlight.Poses;

/// <summary>A place of a bone's contour whose edge was looked for in the image.</summary>
/// <param name="FromCentre">Its place in the part's frame, from the centring point, in mm.</param>
/// <param name="JointSlopes">How that moves by each joint, in mm per radian.</param>
/// <param name="Pixel">Where the pose has it, in pixels of the image.</param>
/// <param name="NormalX">Unit vector across the contour, out of the bone, on the image.</param>
/// <param name="NormalY">The same, downwards.</param>
/// <param name="OffMm">How far outwards of the phantom's edge the image's lies, in mm at the receptor; NaN where none was found.</param>
/// <param name="Likeness">Correlation of both edges' profiles, −1 to 1.</param>
/// <param name="Block">Number of the piece of contour that it belongs to.</param>
internal readonly record struct EdgeSample(Vector3 FromCentre, Vector3[] JointSlopes, PixelPoint Pixel, double NormalX, double NormalY, double OffMm, double Likeness, int Block);

/// <summary>Looks for the phantom's edges in the real image: across each place of a contour the slopes of both profiles are laid over each other where they are most alike.</summary>
internal static class EdgeSamples
{
    /// <summary>Distance of places along a contour, in mm at the receptor.</summary>
    public const double StepMm = 2.5;

    /// <summary>Length of the pieces that are dealt out in turn to what is fitted and to what is held back, in mm: longer than people's bones differ alike.</summary>
    public const double BlockMm = 40;

    /// <summary>Least correlation of two profiles that counts as the same edge.</summary>
    public const double LeastLikeness = 0.75;

    // A landmark nearer than this to a bone lies on it.
    private const float OnBoneMm = 4;

    // Half the length of the phantom's profile that is compared, in mm.
    private const double TemplateMm = 3;

    // An edge of the phantom that changes its picture by less than this share of the picture's whole range shows nothing.
    private const double LeastEdge = 0.015;

    /// <summary>Takes the samples of a pose.</summary>
    /// <param name="problem">The fit's problem.</param>
    /// <param name="parameters">The pose.</param>
    /// <param name="scene">The pose as a scene.</param>
    /// <param name="image">The real image.</param>
    /// <param name="searchMm">How far off an edge is looked for, in mm.</param>
    /// <param name="cancellation">Stops the work.</param>
    public static List<EdgeSample> Of(PoseProblem problem, double[] parameters, SceneDocument scene, PoseImage image, double searchMm, CancellationToken cancellation)
    {
        int side = Math.Max(image.Raster.Rows, image.Raster.Columns);
        LabLook look = Lab.Look(scene, Math.Clamp(side, 64, 1024), noise: false, cancellation);
        Raster<float> phantom = Decades(look);
        SceneSetup setup = new(scene with { Receptor = scene.Receptor with { SpacingMm = look.SpacingMm } }, null, quick: true);
        PoseView view = new(problem, parameters, withJoints: true);
        double pixelMm = problem.Spacing(parameters) * image.Factor;
        bool[] isMarked = Marked(problem, view);
        List<EdgeSample>[] found = new List<EdgeSample>[view.SurfaceCount];
        Parallel.For(0, found.Length, new ParallelOptions { CancellationToken = cancellation }, surface =>
        {
            Pose frame = view.Frame(surface);
            Pose inRoom = frame.Within(setup.Body!.Placement);
            List<EdgeSample> own = [];
            found[surface] = own;
            if (!isMarked[surface])
            {
                return;
            }

            foreach (List<ContourPoint> chain in view.Chains(view.Mesh(surface), frame))
            {
                double along = 0, next = 0.5 * StepMm;
                PixelPoint last = default;
                for (int at = 0; at < chain.Count; at++)
                {
                    Vector3 place = view.FromCentre(frame.ToOuter(chain[at].Local));
                    PixelPoint pixel = image.Scaled(view.Project(place));
                    along += at == 0 ? 0 : pixel.DistancePixelsTo(last) * pixelMm;
                    last = pixel;
                    if (along < next)
                    {
                        continue;
                    }

                    next = along + StepMm;
                    PixelPoint outside = image.Scaled(view.Project(place + (0.5f * frame.TurnToOuter(chain[at].Normal))));
                    double x = outside.X - pixel.X, y = outside.Y - pixel.Y, length = Math.Sqrt((x * x) + (y * y));
                    if (length < 1e-6)
                    {
                        continue;
                    }

                    (x, y) = (x / length, y / length);
                    PixelPoint drawn = setup.Geometry.Project(inRoom.ToOuter(chain[at].Local));
                    (double off, double likeness) = Match(phantom, drawn, image.Raster, pixel, x, y, pixelMm, searchMm);
                    int block = (surface * 1009) + (int)(along / BlockMm);
                    own.Add(new EdgeSample(place, view.JointSlopes(surface, chain[at].Local), pixel, x, y, off, likeness, block));
                }
            }
        });
        return [.. found.SelectMany(own => own)];
    }

    /// <summary>Which bones carry a point of the model. What lies farther along a chain of joints that are not fitted would turn the pose by its own differences.</summary>
    private static bool[] Marked(PoseProblem problem, PoseView view)
    {
        bool[] marked = new bool[view.SurfaceCount];
        float share = PlaceTable.SizeShare(problem.Model.Part, problem.Setting.IsChild);
        List<Simulation.Phantom.Bone> bones = view.Body.Bones;
        foreach (PosePoint point in problem.Model.Points)
        {
            if (point.Bone is { } name)
            {
                marked[bones.FindIndex(bone => bone.Name == name)] = true;
                continue;
            }

            foreach (string landmark in point.Anatomy.Where(view.Body.Landmarks.ContainsKey))
            {
                Vector3 at = view.Body.Landmarks[landmark];
                int nearest = Enumerable.Range(0, bones.Count).MinBy(bone => Away(at, bone));
                marked[nearest] |= Away(at, nearest) < OnBoneMm * share;
            }
        }

        return marked;

        float Away(Vector3 at, int bone) => MathF.Abs(bones[bone].Surface.Distance(bones[bone].Pose.ToLocal(at)));
    }

    /// <summary>Minus the logarithm of the signal over the part's range: 0 to 1, dense parts high.</summary>
    private static Raster<float> Decades(LabLook look)
    {
        Raster<float> decades = new(look.Grey.Rows, look.Grey.Columns);
        float low = float.MaxValue, high = float.MinValue;
        for (int row = 0; row < decades.Rows; row++)
        {
            for (int column = 0; column < decades.Columns; column++)
            {
                float value = -MathF.Log10(MathF.Max(look.SignalMicrogray[row, column], 1e-3f));
                decades[row, column] = value;
                if (look.SkinMm[row, column] > 4)
                {
                    low = MathF.Min(low, value);
                    high = MathF.Max(high, value);
                }
            }
        }

        float range = MathF.Max(high - low, 1e-6f);
        foreach (ref float value in decades.Samples)
        {
            value = (value - low) / range;
        }

        return decades;
    }

    /// <summary>How far outwards the image's edge lies from the phantom's, in mm, and how alike they are.</summary>
    private static (double OffMm, double Likeness) Match(Raster<float> phantom, PixelPoint drawn, Raster<float> image, PixelPoint pixel, double x, double y, double pixelMm, double searchMm)
    {
        double stepMm = Math.Max(0.2, 0.5 * pixelMm), step = stepMm / pixelMm;
        int half = (int)Math.Round(TemplateMm / stepMm), search = (int)Math.Round(searchMm / stepMm);
        Span<float> template = stackalloc float[(2 * half) + 1];
        if (!Slopes(phantom, drawn, x, y, step, template))
        {
            return (double.NaN, 0);
        }

        // The bone's own edge falls outwards, and by something that can be seen.
        float most = 0;
        for (int at = half - (half / 3); at <= half + (half / 3); at++)
        {
            most = MathF.Max(most, -template[at]);
        }

        if (most * half / 3 < LeastEdge)
        {
            return (double.NaN, 0);
        }

        Span<float> slopes = stackalloc float[(2 * (half + search)) + 1];
        if (!Slopes(image, pixel, x, y, step, slopes))
        {
            return (double.NaN, 0);
        }

        Span<double> likeness = stackalloc double[(2 * search) + 1];
        int best = 0;
        for (int at = 0; at < likeness.Length; at++)
        {
            likeness[at] = Correlation(template, slopes.Slice(at, template.Length));
            best = likeness[at] > likeness[best] ? at : best;
        }

        if (best == 0 || best == likeness.Length - 1 || likeness[best] < LeastLikeness)
        {
            return (double.NaN, likeness[best]);
        }

        // Another place that is as good makes neither certain.
        for (int at = 1; at < likeness.Length - 1; at++)
        {
            if (Math.Abs(at - best) * stepMm > 1 && likeness[at] > likeness[at - 1] && likeness[at] >= likeness[at + 1] && likeness[at] > likeness[best] - 0.08)
            {
                return (double.NaN, likeness[best]);
            }
        }

        double before = likeness[best - 1], after = likeness[best + 1], curve = before - (2 * likeness[best]) + after;
        double between = curve < -1e-9 ? Math.Clamp(0.5 * (before - after) / curve, -0.5, 0.5) : 0;
        return ((best - search + between) * stepMm, likeness[best]);
    }

    /// <summary>Slopes of the picture across a contour, mean of three lines; false where it leaves the picture.</summary>
    private static bool Slopes(Raster<float> picture, PixelPoint middle, double x, double y, double step, Span<float> slopes)
    {
        int half = slopes.Length / 2;
        slopes.Clear();
        for (int line = -1; line <= 1; line++)
        {
            double left = middle.X - (line * y * 1.5), top = middle.Y + (line * x * 1.5);
            for (int at = 0; at < slopes.Length; at++)
            {
                double way = (at - half) * step;
                float slope = PoseImage.At(picture, left + ((way + step) * x), top + ((way + step) * y)) - PoseImage.At(picture, left + ((way - step) * x), top + ((way - step) * y));
                if (float.IsNaN(slope))
                {
                    return false;
                }

                slopes[at] += slope / 3;
            }
        }

        return true;
    }

    private static double Correlation(ReadOnlySpan<float> one, ReadOnlySpan<float> other)
    {
        double meanOne = 0, meanOther = 0;
        for (int at = 0; at < one.Length; at++)
        {
            meanOne += one[at];
            meanOther += other[at];
        }

        meanOne /= one.Length;
        meanOther /= one.Length;
        double both = 0, own = 0, theirs = 0;
        for (int at = 0; at < one.Length; at++)
        {
            both += (one[at] - meanOne) * (other[at] - meanOther);
            own += (one[at] - meanOne) * (one[at] - meanOne);
            theirs += (other[at] - meanOther) * (other[at] - meanOther);
        }

        return own > 0 && theirs > 0 ? both / Math.Sqrt(own * theirs) : 0;
    }
}
