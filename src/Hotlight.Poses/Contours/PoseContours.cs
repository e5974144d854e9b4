using Hotlight.Core;
using Hotlight.Simulation.Shapes;

namespace Hotlight.Poses;

/// <summary>A line along which a surface of the phantom turns away from the rays: where its shadow has an edge.</summary>
/// <param name="Structure">Bone of the phantom, "rib" for ribs and clavicles of a trunk, or "skin".</param>
/// <param name="IsSkin">Whether it is the skin's.</param>
/// <param name="Points">The line, in pixels of the radiograph; it may leave the image. The first point is repeated where it is closed.</param>
public sealed record PoseContour(string Structure, bool IsSkin, IReadOnlyList<PixelPoint> Points);

/// <summary>The contours that a pose has on the image: drawn over it, they show whether the phantom explains what is seen.</summary>
/// <remarks>They are those of a generic anatomy, not of the patient. Method: docs/methods/pose-picture.md.</remarks>
public static class PoseContours
{
    /// <summary>Lines shorter than this at the receptor are left out, in mm.</summary>
    public const double LeastMm = 4;

    /// <summary>The contours of a pose.</summary>
    /// <param name="fit">The fit.</param>
    /// <param name="state">The pose; null: the fitted one.</param>
    /// <param name="withSkin">Whether the skin's are wanted too.</param>
    public static IReadOnlyList<PoseContour> Of(PoseFit fit, PoseState? state = null, bool withSkin = true)
    {
        ArgumentNullException.ThrowIfNull(fit);
        PoseProblem problem = fit.Problem;
        double[] parameters = problem.Parameters(state ?? fit.State);
        PoseView view = new(problem, parameters, withJoints: false);
        double spacing = problem.Spacing(parameters);
        List<PoseContour>[] found = new List<PoseContour>[view.SurfaceCount + (withSkin ? 1 : 0)];
        Parallel.For(0, found.Length, surface =>
        {
            bool isSkin = surface == view.SurfaceCount;
            ContourMesh mesh = isSkin ? ContourMesh.OfSkin(view.Body.Skin) : view.Mesh(surface);
            Pose frame = isSkin ? Pose.Identity : view.Frame(surface);
            List<PoseContour> own = [];
            foreach (List<ContourPoint> chain in view.Chains(mesh, frame))
            {
                List<PixelPoint> line = [.. chain.Select(point => view.Project(view.FromCentre(frame.ToOuter(point.Local))))];
                double length = 0;
                for (int at = 1; at < line.Count; at++)
                {
                    length += line[at].DistancePixelsTo(line[at - 1]) * spacing;
                }

                if (length >= LeastMm)
                {
                    own.Add(new PoseContour(isSkin ? "skin" : view.Name(surface), isSkin, line));
                }
            }

            found[surface] = own;
        });
        return [.. found.SelectMany(own => own)];
    }
}
