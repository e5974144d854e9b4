using Hotlight.Core;
using Hotlight.Measure.Landmarks;

namespace Hotlight.Poses;

/// <summary>Marked points, the phantom's points and what is known beforehand: the function that a fit makes least.</summary>
/// <remarks>
/// Parameters: turn, tilt, lean (radians), the centring point's place (mm), three logarithms of sizes along the part's axes, the plumb point of the source (mm),
/// logarithm of the source's height over the expected one, joints (radians), and logarithm of the spacing over the assumed one where it is not known.
/// Everything is a right side: marks of a left one are mirrored first.
/// </remarks>
internal sealed class PoseProblem
{
    public const int Turn = 0, Tilt = 1, Lean = 2, X = 3, Y = 4, Z = 5, SizeX = 6, SizeY = 7, SizeZ = 8, SourceX = 9, SourceY = 10, SourceZ = 11, FirstJoint = 12;

    private const double Radian = Math.PI / 180;

    private readonly PlaceTable table;
    private readonly double[] markX;
    private readonly double[] markY;
    private readonly double[] covarianceXX;
    private readonly double[] covarianceXY;
    private readonly double[] covarianceYY;
    private readonly int[] points;
    private readonly double[,] priorInverse;
    private readonly SmoothShape shape;

    public PoseProblem(PoseSetting setting, IReadOnlyDictionary<string, LandmarkPoint> marks, bool mirrored)
    {
        Setting = setting;
        IsMirrored = mirrored;
        table = PlaceTable.Of(setting.Model, setting.IsChild);
        points = [.. Enumerable.Range(0, setting.Model.Points.Count).Where(index => table.Has[index] && marks.ContainsKey(setting.Model.Points[index].Id))];
        Count = FirstJoint + setting.Model.Joints.Count + (setting.SpacingIsKnown ? 0 : 1);
        markX = new double[points.Length];
        markY = new double[points.Length];
        covarianceXX = new double[points.Length];
        covarianceXY = new double[points.Length];
        covarianceYY = new double[points.Length];
        double scale = setting.SpacingMm;
        for (int point = 0; point < points.Length; point++)
        {
            LandmarkPoint mark = marks[setting.Model.Points[points[point]].Id];
            markX[point] = Sign * (mark.Point.X - setting.CentralRay.X) * scale;
            markY[point] = (mark.Point.Y - setting.CentralRay.Y) * scale;
            covarianceXX[point] = mark.VarianceX * scale * scale;
            covarianceXY[point] = Sign * mark.Covariance * scale * scale;
            covarianceYY[point] = mark.VarianceY * scale * scale;
        }

        Expected = new double[Count];
        Expected[Z] = setting.HeightMm;
        Expected[SourceX] = Sign * setting.SourceRightMm;
        Expected[SourceY] = setting.SourceDownMm;
        double[,] prior = new double[Count, Count];
        void Spread(int index, double deviation) => prior[index, index] = deviation * deviation;
        Spread(Turn, PoseSetting.TurnSpreadDegrees * Radian);
        Spread(Tilt, PoseSetting.TurnSpreadDegrees * Radian);
        Spread(Lean, PoseSetting.LeanSpreadDegrees * Radian);
        Spread(X, PoseSetting.ShiftSpreadMm);
        Spread(Y, PoseSetting.ShiftSpreadMm);
        Spread(Z, setting.HeightSpreadMm);
        double size = setting.Model.Size.SpreadPercent / 100, stretch = setting.Model.Size.StretchPercent / 100;
        for (int one = SizeX; one <= SizeZ; one++)
        {
            for (int other = SizeX; other <= SizeZ; other++)
            {
                prior[one, other] = (size * size) + (one == other ? stretch * stretch : 0);
            }
        }

        Spread(SourceX, setting.CentralRaySpreadMm);
        Spread(SourceY, setting.CentralRaySpreadMm);
        Spread(SourceZ, setting.SourceHeightSpreadShare);
        for (int joint = 0; joint < setting.Model.Joints.Count; joint++)
        {
            Expected[FirstJoint + joint] = setting.Model.Joints[joint].ExpectedDegrees * Radian;
            Spread(FirstJoint + joint, setting.Model.Joints[joint].SpreadDegrees * Radian);
        }

        if (!setting.SpacingIsKnown)
        {
            Spread(Count - 1, PoseSetting.SpacingSpreadShare);
        }

        Span<double> places = stackalloc double[table.Stride];
        Read(Expected, places);
        shape = SmoothShape.Of([.. points.Select(point => setting.Model.Points[point].SpreadMm)], places, points);
        PriorVariance = [.. Enumerable.Range(0, Count).Select(index => prior[index, index])];
        priorInverse = Matrices.Inverse(prior)!;
    }

    public PoseSetting Setting { get; }

    public PoseModel Model => Setting.Model;

    /// <summary>Whether the marks are mirrored first: the phantom's left side.</summary>
    public bool IsMirrored { get; }

    /// <summary>Number of parameters.</summary>
    public int Count { get; }

    /// <summary>Number of marked points.</summary>
    public int PointCount => points.Length;

    /// <summary>Number of ways in which a person's shape differs smoothly from the phantom's, in each direction of the image.</summary>
    public int ShapeCount => shape.Count;

    /// <summary>What the parameters are expected to be.</summary>
    public double[] Expected { get; }

    /// <summary>Variance of each parameter beforehand.</summary>
    public double[] PriorVariance { get; }

    public IReadOnlyList<string> ParameterNames =>
    [
        "turn", "tilt", "lean", "right", "down", "height", "sizeX", "sizeY", "sizeZ", "sourceRight", "sourceDown", "sourceHeight",
        .. Model.Joints.Select(joint => joint.Name),
        .. Setting.SpacingIsKnown ? Array.Empty<string>() : ["spacing"],
    ];

    private int Sign => IsMirrored ? -1 : 1;

    /// <summary>Identifier of a marked point.</summary>
    public string Id(int point) => Model.Points[points[point]].Id;

    /// <summary>Limits of a joint, in radians.</summary>
    public (double Low, double High) Limits(int joint) => (table.Minimum[joint] * Radian, table.Maximum[joint] * Radian);

    /// <summary>The prior's part of the cost.</summary>
    public double PriorCost(ReadOnlySpan<double> parameters)
    {
        double cost = 0;
        for (int row = 0; row < Count; row++)
        {
            double sum = 0;
            for (int column = 0; column < Count; column++)
            {
                sum += priorInverse[row, column] * (parameters[column] - Expected[column]);
            }

            cost += sum * (parameters[row] - Expected[row]);
        }

        return cost;
    }

    /// <summary>An entry of the prior's precision.</summary>
    public double PriorPrecision(int row, int column) => priorInverse[row, column];

    /// <summary>How far a marked point moves with one way of differing, in mm of the part, where that way is one standard deviation.</summary>
    public double ShapeMm(int point, int way) => shape.Share(point, way);

    /// <summary>Where the marked points fall, less their marks, in mm of the assumed spacing: x and y of each in turn.</summary>
    public void Residuals(ReadOnlySpan<double> parameters, Span<double> result)
    {
        Span<double> places = stackalloc double[table.Stride];
        Read(parameters, places);
        Project(parameters, places, result, null, null);
    }

    /// <summary>The same with places that were read before: only joints change them.</summary>
    public void Residuals(ReadOnlySpan<double> parameters, ReadOnlySpan<double> places, Span<double> result) => Project(parameters, places, result, null, null);

    /// <summary>Numbers that <see cref="Read"/> fills.</summary>
    public int Stride => table.Stride;

    /// <summary>Covariances of the residuals at a pose: marking, and how people differ seen through the projection. xx, xy, yy of each in turn.</summary>
    public void Covariances(ReadOnlySpan<double> parameters, Span<double> result)
    {
        Span<double> places = stackalloc double[table.Stride];
        Span<double> residuals = stackalloc double[2 * points.Length];
        Span<double> magnifications = stackalloc double[points.Length];
        Read(parameters, places);
        Project(parameters, places, residuals, result, magnifications);
        for (int point = 0; point < points.Length; point++)
        {
            double smooth = magnifications[point] * magnifications[point] * shape.Variance(point);
            result[3 * point] += smooth;
            result[(3 * point) + 2] += smooth;
        }
    }

    /// <summary>Residuals, the part of their covariances that each point has for itself, and how much a mm of shape at each point is on the image: what a solver needs.</summary>
    public void Linear(ReadOnlySpan<double> parameters, ReadOnlySpan<double> places, Span<double> residuals, Span<double> own, Span<double> magnifications)
        => Project(parameters, places, residuals, own, magnifications);

    /// <summary>Heights of the marked points over the receptor, in mm.</summary>
    public double[] Heights(double[] parameters)
    {
        double[] heights = new double[points.Length];
        Walk(parameters, points, (point, _, _, z) => heights[point] = z);
        return heights;
    }

    /// <summary>Where a pose has every point of the model in the room, in mm.</summary>
    public IReadOnlyDictionary<string, (double X, double Y, double Z)> Spots(double[] parameters)
    {
        var spots = new Dictionary<string, (double X, double Y, double Z)>(StringComparer.Ordinal);
        int[] all = [.. Enumerable.Range(0, Model.Points.Count).Where(index => table.Has[index])];
        Walk(parameters, all, (index, x, y, z) => spots[Model.Points[all[index]].Id] = (x, y, z));
        return spots;
    }

    /// <summary>Where a pose has every point of the model, in pixels.</summary>
    public IReadOnlyDictionary<string, PixelPoint> Places(double[] parameters)
    {
        var places = new Dictionary<string, PixelPoint>(StringComparer.Ordinal);
        double height = SourceHeight(parameters), spacing = Spacing(parameters);
        int[] all = [.. Enumerable.Range(0, Model.Points.Count).Where(index => table.Has[index])];
        Walk(parameters, all, (index, x, y, z) =>
        {
            int point = all[index];
            double larger = height / (height - z);
            places[Model.Points[point].Id] = new PixelPoint(
                X: (Sign * (parameters[SourceX] + ((x - parameters[SourceX]) * larger)) / spacing) + Setting.CentralRay.X,
                Y: ((parameters[SourceY] + ((y - parameters[SourceY]) * larger)) / spacing) + Setting.CentralRay.Y);
        });
        return places;
    }

    /// <summary>The phantom's places at the joints of some parameters.</summary>
    public void Read(ReadOnlySpan<double> parameters, Span<double> places)
    {
        Span<double> joints = stackalloc double[Model.Joints.Count];
        for (int joint = 0; joint < joints.Length; joint++)
        {
            joints[joint] = parameters[FirstJoint + joint] / Radian;
        }

        table.Read(joints, places);
    }

    public double SourceHeight(ReadOnlySpan<double> parameters) => Setting.SourceHeightMm * Math.Exp(parameters[SourceZ]);

    public double Spacing(ReadOnlySpan<double> parameters) => Setting.SpacingIsKnown ? Setting.SpacingMm : Setting.SpacingMm * Math.Exp(parameters[Count - 1]);

    /// <summary>The parameters as a pose.</summary>
    public PoseState State(double[] parameters) => new()
    {
        TurnDegrees = parameters[Turn] / Radian,
        TiltDegrees = parameters[Tilt] / Radian,
        LeanDegrees = Math.IEEERemainder(parameters[Lean] / Radian, 360),
        Joints = Model.Joints.Select((joint, index) => (joint.Name, Degrees: Math.Clamp(parameters[FirstJoint + index] / Radian, table.Minimum[index], table.Maximum[index]))).ToDictionary(joint => joint.Name, joint => joint.Degrees, StringComparer.Ordinal),
        CentreRightMm = Sign * parameters[X],
        CentreDownMm = parameters[Y],
        CentreHeightMm = parameters[Z],
        AxisSizes = [Math.Exp(parameters[SizeX]), Math.Exp(parameters[SizeY]), Math.Exp(parameters[SizeZ])],
        SourceRightMm = Sign * parameters[SourceX],
        SourceDownMm = parameters[SourceY],
        SourceHeightMm = SourceHeight(parameters),
        SpacingMm = Spacing(parameters),
    };

    /// <summary>A pose as parameters.</summary>
    public double[] Parameters(PoseState state)
    {
        double[] parameters = new double[Count];
        parameters[Turn] = state.TurnDegrees * Radian;
        parameters[Tilt] = state.TiltDegrees * Radian;
        parameters[Lean] = state.LeanDegrees * Radian;
        parameters[X] = Sign * state.CentreRightMm;
        parameters[Y] = state.CentreDownMm;
        parameters[Z] = state.CentreHeightMm;
        for (int axis = 0; axis < 3; axis++)
        {
            parameters[SizeX + axis] = Math.Log(state.AxisSizes[axis]);
        }

        parameters[SourceX] = Sign * state.SourceRightMm;
        parameters[SourceY] = state.SourceDownMm;
        parameters[SourceZ] = Math.Log(state.SourceHeightMm / Setting.SourceHeightMm);
        for (int joint = 0; joint < Model.Joints.Count; joint++)
        {
            parameters[FirstJoint + joint] = state.Joints[Model.Joints[joint].Name] * Radian;
        }

        if (!Setting.SpacingIsKnown)
        {
            parameters[Count - 1] = Math.Log(state.SpacingMm / Setting.SpacingMm);
        }

        return parameters;
    }

    /// <summary>The part's axes in the room for angles in radians: a matrix by rows from the part's frame to the room's.</summary>
    public double[] Axes(ReadOnlySpan<double> parameters)
    {
        double[] axes = new double[9];
        Axes(parameters, axes);
        return axes;
    }

    /// <summary>Brings a start near: lean, place and size by the best turn, shift and scale of the flat picture.</summary>
    public double[] Start(double turn, double tilt)
    {
        double[] parameters = [.. Expected];
        parameters[Turn] = turn;
        parameters[Tilt] = tilt;
        Span<double> at = stackalloc double[2 * points.Length];
        Residuals(parameters, at);
        double meanX = 0, meanY = 0, markMeanX = 0, markMeanY = 0;
        for (int point = 0; point < points.Length; point++)
        {
            at[2 * point] += markX[point];
            at[(2 * point) + 1] += markY[point];
            meanX += at[2 * point] / points.Length;
            meanY += at[(2 * point) + 1] / points.Length;
            markMeanX += markX[point] / points.Length;
            markMeanY += markY[point] / points.Length;
        }

        double dot = 0, cross = 0, own = 0;
        for (int point = 0; point < points.Length; point++)
        {
            double x = at[2 * point] - meanX, y = at[(2 * point) + 1] - meanY;
            double u = markX[point] - markMeanX, v = markY[point] - markMeanY;
            dot += (x * u) + (y * v);
            cross += (x * v) - (y * u);
            own += (x * x) + (y * y);
        }

        double angle = Math.Atan2(cross, dot), scale = Math.Sqrt((dot * dot) + (cross * cross)) / Math.Max(own, 1e-9);
        parameters[Lean] = angle;
        if (Setting.SpacingIsKnown)
        {
            double size = Math.Clamp(Math.Log(Math.Max(scale, 1e-6)), -0.35, 0.35);
            parameters[SizeX] = parameters[SizeY] = parameters[SizeZ] = size;
            scale = Math.Exp(size);
        }
        else
        {
            // The marks' unit is not known: it is taken so that the size is the usual one.
            parameters[Count - 1] = -Math.Log(Math.Max(scale, 1e-6));
            (markMeanX, markMeanY) = (markMeanX / scale, markMeanY / scale);
            scale = 1;
        }

        double larger = Setting.SourceHeightMm / (Setting.SourceHeightMm - Setting.HeightMm);
        double cosine = Math.Cos(angle) * scale, sine = Math.Sin(angle) * scale;
        parameters[X] = (markMeanX - ((cosine * meanX) - (sine * meanY))) / larger;
        parameters[Y] = (markMeanY - ((sine * meanX) + (cosine * meanY))) / larger;
        return parameters;
    }

    private static void Axes(ReadOnlySpan<double> parameters, Span<double> result, ReadOnlySpan<double> orientation)
    {
        (double st, double ct) = Math.SinCos(-parameters[Turn]);
        (double sx, double cx) = Math.SinCos(parameters[Tilt]);
        (double sl, double cl) = Math.SinCos(parameters[Lean]);

        // Lean after tilt after turn, each about the room's axes; then the view's own frame within.
        ReadOnlySpan<double> turned =
        [
            (cl * ct) - (sl * sx * st), -sl * cx, (cl * st) + (sl * sx * ct),
            (sl * ct) + (cl * sx * st), cl * cx, (sl * st) - (cl * sx * ct),
            -cx * st, sx, cx * ct,
        ];
        for (int row = 0; row < 3; row++)
        {
            for (int column = 0; column < 3; column++)
            {
                result[(3 * row) + column] = (turned[3 * row] * orientation[column]) + (turned[(3 * row) + 1] * orientation[3 + column]) + (turned[(3 * row) + 2] * orientation[6 + column]);
            }
        }
    }

    private void Axes(ReadOnlySpan<double> parameters, Span<double> result) => Axes(parameters, result, table.Orientation);

    private void Walk(double[] parameters, int[] which, Action<int, double, double, double> each)
    {
        Span<double> places = new double[table.Stride];
        Read(parameters, places);
        double[] axes = Axes(parameters);
        for (int index = 0; index < which.Length; index++)
        {
            int at = 6 * which[index];
            double px = Math.Exp(parameters[SizeX]) * places[at], py = Math.Exp(parameters[SizeY]) * places[at + 1], pz = Math.Exp(parameters[SizeZ]) * places[at + 2];
            each(
                index,
                (axes[0] * px) + (axes[1] * py) + (axes[2] * pz) + parameters[X],
                (axes[3] * px) + (axes[4] * py) + (axes[5] * pz) + parameters[Y],
                (axes[6] * px) + (axes[7] * py) + (axes[8] * pz) + parameters[Z]);
        }
    }

    private void Project(ReadOnlySpan<double> parameters, ReadOnlySpan<double> places, Span<double> result, Span<double> covariances, Span<double> magnifications)
    {
        Span<double> axes = stackalloc double[9];
        Axes(parameters, axes);
        double height = SourceHeight(parameters), sizeX = Math.Exp(parameters[SizeX]), sizeY = Math.Exp(parameters[SizeY]), sizeZ = Math.Exp(parameters[SizeZ]);
        double unit = Setting.SpacingIsKnown ? 1 : Math.Exp(-parameters[Count - 1]);
        for (int point = 0; point < points.Length; point++)
        {
            int at = 6 * points[point];
            double px = sizeX * places[at], py = sizeY * places[at + 1], pz = sizeZ * places[at + 2];
            double x = (axes[0] * px) + (axes[1] * py) + (axes[2] * pz) + parameters[X] - parameters[SourceX];
            double y = (axes[3] * px) + (axes[4] * py) + (axes[5] * pz) + parameters[Y] - parameters[SourceY];
            double z = (axes[6] * px) + (axes[7] * py) + (axes[8] * pz) + parameters[Z];
            double larger = height / Math.Max(height - z, 1);
            result[2 * point] = ((parameters[SourceX] + (x * larger)) * unit) - markX[point];
            result[(2 * point) + 1] = ((parameters[SourceY] + (y * larger)) * unit) - markY[point];
            if (covariances.IsEmpty)
            {
                continue;
            }

            // What moves by one mm in the room moves so on the image.
            double perMm = larger * unit, slantX = x * larger / Math.Max(height - z, 1) * unit, slantY = y * larger / Math.Max(height - z, 1) * unit;
            // Of the spread, what goes with the neighbours is the shape's; along the beam it does so little that all of it stays here.
            double spread = Model.Points[points[point]].SpreadMm, across = Math.Max(0, (spread * spread) - shape.Variance(point)) * perMm * perMm;
            magnifications[point] = perMm;
            double xx = across + (spread * spread * slantX * slantX), xy = spread * spread * slantX * slantY, yy = across + (spread * spread * slantY * slantY);
            if (Model.Points[points[point]].Along is { } slide)
            {
                double ax = (axes[0] * places[at + 3]) + (axes[1] * places[at + 4]) + (axes[2] * places[at + 5]);
                double ay = (axes[3] * places[at + 3]) + (axes[4] * places[at + 4]) + (axes[5] * places[at + 5]);
                double az = (axes[6] * places[at + 3]) + (axes[7] * places[at + 4]) + (axes[8] * places[at + 5]);
                double u = (perMm * ax) + (slantX * az), v = (perMm * ay) + (slantY * az), variance = slide.SpreadMm * slide.SpreadMm;
                xx += variance * u * u;
                xy += variance * u * v;
                yy += variance * v * v;
            }

            covariances[3 * point] = covarianceXX[point] + xx;
            covariances[(3 * point) + 1] = covarianceXY[point] + xy;
            covariances[(3 * point) + 2] = covarianceYY[point] + yy;
        }
    }
}
