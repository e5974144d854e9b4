using Hotlight.Core;

namespace Hotlight.Poses.Tests;

/// <summary>How far fitted poses of other people are off, axis by axis.</summary>
internal sealed class PoseTally
{
    private readonly Dictionary<string, AxisTally> axes = new(StringComparer.Ordinal);

    /// <summary>Axes in the order in which they came: turn, tilt, lean, then joints.</summary>
    public IReadOnlyDictionary<string, AxisTally> Axes => axes;

    /// <summary>Radiographs that no pose was fitted to.</summary>
    public int Refused { get; private set; }

    /// <summary>Radiographs that were taken for a mirror image.</summary>
    public int Mirrored { get; private set; }

    /// <summary>Fits the next radiographs of some people.</summary>
    public PoseTally Add(PoseModel model, OtherPeople people, int count)
    {
        for (int pose = 0; pose < count; pose++)
        {
            Add(model, people.Next());
        }

        return this;
    }

    /// <summary>Fits one radiograph.</summary>
    public void Add(PoseModel model, MarkedRadiograph radiograph)
    {
        Figure<PoseFit> figure = PoseFitter.Fit(model, radiograph.Marks, radiograph.Geometry, radiograph.Side);
        if (!figure.IsMeasured)
        {
            Refused++;
            return;
        }

        PoseFit fit = figure.Value;
        Mirrored += fit.IsMirrored ? 1 : 0;
        Add("turn", fit.Turn, fit.State.TurnDegrees - radiograph.TurnDegrees);
        Add("tilt", fit.Tilt, fit.State.TiltDegrees - radiograph.TiltDegrees);
        Add("lean", fit.Lean, Math.IEEERemainder(fit.State.LeanDegrees - radiograph.LeanDegrees, 360));
        foreach (PoseJoint joint in fit.Joints)
        {
            Add(joint.Name, joint.Angle, fit.State.Joints[joint.Name] - radiograph.Joints[joint.Name]);
        }
    }

    private void Add(string axis, Figure<PoseAngle> figure, double error)
    {
        if (!axes.TryGetValue(axis, out AxisTally? tally))
        {
            axes[axis] = tally = new AxisTally();
        }

        tally.Add(error, figure.IsMeasured ? figure.Value.UncertaintyDegrees : null);
    }
}

/// <summary>Errors about one axis, in degrees.</summary>
internal sealed class AxisTally
{
    private readonly List<double> all = [];
    private readonly List<double> determined = [];
    private double signed;

    /// <summary>Fits.</summary>
    public int Count => all.Count;

    /// <summary>Fits whose angle was said.</summary>
    public int Determined => determined.Count;

    /// <summary>Of those, how many lie within one stated standard deviation.</summary>
    public int Covered { get; private set; }

    /// <summary>Errors of the angles that were said, from the least.</summary>
    public IReadOnlyList<double> Errors => [.. determined.Order()];

    /// <summary>Errors of all, said or not, from the least.</summary>
    public IReadOnlyList<double> AllErrors => [.. all.Order()];

    /// <summary>Mean of all errors with their signs: what is off in every pose.</summary>
    public double MeanError => signed / Math.Max(1, all.Count);

    /// <summary>Adds a fit.</summary>
    /// <param name="error">Fitted less true, in degrees.</param>
    /// <param name="deviation">The stated standard deviation; null where the angle was not said.</param>
    public void Add(double error, double? deviation)
    {
        signed += error;
        all.Add(Math.Abs(error));
        if (deviation is { } known)
        {
            determined.Add(Math.Abs(error));
            Covered += Math.Abs(error) <= known ? 1 : 0;
        }
    }

    /// <summary>The error that a share of errors lies below; not a number of none.</summary>
    public static double Share(IReadOnlyList<double> sorted, double share) => sorted.Count == 0 ? double.NaN : sorted[Math.Min(sorted.Count - 1, (int)(share * sorted.Count))];
}
