using Hotlight.Catalogue;
using Hotlight.Core;
using Hotlight.Measure.Landmarks;

namespace Hotlight.Positioning;

/// <summary>Decides the relations of a projection by marked landmarks.</summary>
/// <remarks>
/// <para>Lengths are brought from the receptor to the object by the magnification. A shift between two places that lie one behind the other along the beam is a turn: sin of the angle = shift / separation (closed form), after the share that comes from lying off the central ray is taken off.</para>
/// <para>One image tells no turn about the beam's own axis as a fault of position, and no turn where the separation differs too much between people; the catalogue then has no rule and only the direction is given. Method and evidence: docs/methods/positioning.md.</para>
/// </remarks>
public static class RelationMeasurer
{
    /// <summary>Decides every relation that the catalogue gives a measure, in its order.</summary>
    /// <param name="projection">The projection.</param>
    /// <param name="marked">What the reader marked.</param>
    /// <param name="geometry">The exposure.</param>
    /// <exception cref="ArgumentException">The marks are for another projection, or name a landmark it does not have.</exception>
    public static IReadOnlyList<RelationFinding> Measure(Projection projection, MarkedLandmarks marked, ExposureGeometry geometry)
    {
        ArgumentNullException.ThrowIfNull(projection);
        ArgumentNullException.ThrowIfNull(marked);
        ArgumentNullException.ThrowIfNull(geometry);
        if (marked.ProjectionId != projection.Id)
        {
            throw new ArgumentException($"The landmarks are for '{marked.ProjectionId}', but '{projection.Id}' is judged.", nameof(marked));
        }

        foreach (string id in marked.Points.Keys.Where(id => projection.Landmarks.All(landmark => landmark.Id != id)))
        {
            string near = Nearest.To(id, projection.Landmarks.Select(landmark => landmark.Id)) is { } best ? $"; did you mean '{best}'?" : ".";
            throw new ArgumentException($"'{id}' is not a landmark of {projection.Id}{near}", nameof(marked));
        }

        Figure<Magnification> magnification = Magnification.Of(geometry, projection, marked);
        return [.. projection.Relations.Where(relation => relation.Measure is not null).Select(relation => Decide(projection, relation, relation.Measure!, marked, geometry, magnification))];
    }

    private static RelationFinding Decide(Projection projection, PositionRelation relation, RelationMeasure rule, MarkedLandmarks marked, ExposureGeometry geometry, Figure<Magnification> magnification)
    {
        string[] needed = Needed(rule);
        RelationFinding Cannot(string why, params string[] missing) => new(relation, null, why, missing);
        string Name(string id) => projection.Landmarks.Single(landmark => landmark.Id == id).Name;

        string[] missing = [.. needed.Where(id => !marked.Points.ContainsKey(id))];
        if (missing.Length > 0)
        {
            return Cannot(Texts.Get("relation.why.mark-also", string.Join("; ", missing.Select(Name))), missing);
        }

        string[] outside = [.. needed.Where(id => !Inside(marked.Points[id].Point, geometry))];
        if (outside.Length > 0)
        {
            string names = string.Join("; ", outside.Select(Name));
            return Cannot(outside.Length == 1 ? Texts.Get("relation.why.outside.one", names) : Texts.Get("relation.why.outside.several", names));
        }

        for (int one = 0; one < needed.Length; one++)
        {
            for (int other = one + 1; other < needed.Length; other++)
            {
                // Two landmarks that the relation compares may fall together; two that give a direction may not.
                bool givesDirection = GivesDirection(rule, needed[one], needed[other]);
                if (givesDirection && marked.Points[needed[one]].Point.DistancePixelsTo(marked.Points[needed[other]].Point) < 1)
                {
                    return Cannot(Texts.Get("relation.why.same-place", Capital(Name(needed[one])), Name(needed[other])));
                }
            }
        }

        bool isLength = rule.Kind is RelationKind.Offset or RelationKind.Distance or RelationKind.Difference;
        if (isLength && geometry.Spacing is null)
        {
            return Cannot(Texts.Get("relation.why.no-spacing"));
        }

        if (isLength && !magnification.IsMeasured)
        {
            return Cannot(magnification.Why);
        }

        Propagated figure = Reckon(rule, marked, geometry);
        if (!double.IsFinite(figure.Value))
        {
            return Cannot(Texts.Get("relation.why.nothing-to-compare"));
        }

        double value = figure.Value, uncertainty = figure.Uncertainty;
        if (isLength)
        {
            Magnification scale = magnification.Value!;
            value /= scale.Factor;
            double byScale = value * scale.Uncertainty / scale.Factor;
            uncertainty = Math.Sqrt(Math.Pow(uncertainty / scale.Factor, 2) + (byScale * byScale));
        }

        (RelationState state, string? miss) = Compare(rule, value, uncertainty);
        return new RelationFinding(
            relation,
            new RelationResult
            {
                RelationId = relation.Id,
                Kind = rule.Kind,
                Value = value,
                Uncertainty = uncertainty,
                Unit = isLength ? "mm" : rule.Kind == RelationKind.Angle ? "°" : string.Empty,
                State = state,
                MissId = miss,
                Turn = rule.Turn is { } turn && !geometry.IsChild ? TurnOf(rule, turn, value, uncertainty, marked, geometry, magnification.Value!, projection) : null,
                Magnification = isLength ? magnification.Value : null,
            },
            null,
            []);
    }

    private static string[] Needed(RelationMeasure rule)
        => [.. rule.Points.Concat(rule.Axis is { } axis ? [axis.From, axis.To, .. axis.Toward is { } toward ? new[] { toward } : []] : Array.Empty<string>()).Distinct(StringComparer.Ordinal)];

    private static bool GivesDirection(RelationMeasure rule, string one, string other)
    {
        bool Both(string first, string second) => (one == first && other == second) || (one == second && other == first);
        return rule.Kind switch
        {
            RelationKind.Offset => Both(rule.Axis!.From, rule.Axis.To),
            RelationKind.Angle => Both(rule.Points[0], rule.Points[1]) || Both(rule.Points[2], rule.Points[3]),
            RelationKind.Fraction => Both(rule.Points[2], rule.Points[3]),
            _ => false,
        };
    }

    private static bool Inside(PixelPoint point, ExposureGeometry geometry)
        => double.IsFinite(point.X) && double.IsFinite(point.Y) && point.X >= -0.5 && point.Y >= -0.5 && point.X <= geometry.Columns - 0.5 && point.Y <= geometry.Rows - 0.5;

    /// <summary>The figure on the receptor: mm, a fraction or degrees.</summary>
    private static Propagated Reckon(RelationMeasure rule, MarkedLandmarks marked, ExposureGeometry geometry)
    {
        (double scaleX, double scaleY) = geometry.Spacing is { } spacing ? (spacing.ColumnSpacingMm, spacing.RowSpacingMm) : (1, 1);
        string[] names = Needed(rule);
        LandmarkPoint[] points = [.. names.Select(name => marked.Points[name])];

        double Of(double[] at)
        {
            (double X, double Y) Place(string name)
            {
                int index = Array.IndexOf(names, name);
                return (at[2 * index] * scaleX, at[(2 * index) + 1] * scaleY);
            }

            double Length(string from, string to)
            {
                (double ax, double ay) = Place(from);
                (double bx, double by) = Place(to);
                return Math.Sqrt(((bx - ax) * (bx - ax)) + ((by - ay) * (by - ay)));
            }

            return rule.Kind switch
            {
                RelationKind.Offset => Offset(rule, Place),
                RelationKind.Distance => Length(rule.Points[0], rule.Points[1]),
                RelationKind.Fraction => Length(rule.Points[0], rule.Points[1]) / Length(rule.Points[2], rule.Points[3]),
                RelationKind.Difference when rule.Points[0] == rule.Points[2] => FromTheMiddle(Place(rule.Points[0]), Place(rule.Points[1]), Place(rule.Points[3])),
                RelationKind.Difference => Length(rule.Points[0], rule.Points[1]) - Length(rule.Points[2], rule.Points[3]),
                _ => AngleDegrees(Place(rule.Points[0]), Place(rule.Points[1]), Place(rule.Points[2]), Place(rule.Points[3])),
            };
        }

        double[] middle = [.. points.SelectMany(point => new[] { point.Point.X, point.Point.Y })];
        return new Propagated(Of(middle), Propagation.Deviations(points, at => [Of(at)])[0]);
    }

    private static double Offset(RelationMeasure rule, Func<string, (double X, double Y)> place)
    {
        (double x, double y) = Direction(rule.Axis!, place);
        (double ax, double ay) = place(rule.Points[0]);
        (double bx, double by) = place(rule.Points[1]);
        return ((bx - ax) * x) + ((by - ay) * y);
    }

    /// <summary>Unit vector of an axis's positive direction on the receptor.</summary>
    private static (double X, double Y) Direction(RelationAxis axis, Func<string, (double X, double Y)> place)
    {
        (double fx, double fy) = place(axis.From);
        (double x, double y) = Toward((fx, fy), place(axis.To));
        if (axis.Direction == AxisDirection.Along)
        {
            return (x, y);
        }

        (double px, double py) = place(axis.Toward!);
        double side = ((px - fx) * -y) + ((py - fy) * x);
        return side >= 0 ? (-y, x) : (y, -x);
    }

    // Two distances from one place, read along the line between their ends: beyond an end the plain lengths would stop growing apart.
    private static double FromTheMiddle((double X, double Y) common, (double X, double Y) one, (double X, double Y) other)
    {
        (double x, double y) = Toward(one, other);
        return (((2 * common.X) - one.X - other.X) * x) + (((2 * common.Y) - one.Y - other.Y) * y);
    }

    private static (double X, double Y) Toward((double X, double Y) from, (double X, double Y) to)
    {
        double x = to.X - from.X, y = to.Y - from.Y, length = Math.Sqrt((x * x) + (y * y));
        return (x / length, y / length);
    }

    private static double AngleDegrees((double X, double Y) a, (double X, double Y) b, (double X, double Y) c, (double X, double Y) d)
    {
        double ux = b.X - a.X, uy = b.Y - a.Y, vx = d.X - c.X, vy = d.Y - c.Y;
        return Math.Abs(Math.Atan2((ux * vy) - (uy * vx), (ux * vx) + (uy * vy))) * 180 / Math.PI;
    }

    private static (RelationState State, string? Miss) Compare(RelationMeasure rule, double value, double uncertainty)
    {
        double low = rule.Accept.From ?? double.NegativeInfinity, high = rule.Accept.To ?? double.PositiveInfinity;
        if (value < low)
        {
            return (low - value > uncertainty ? RelationState.Missed : RelationState.AtTheLimit, rule.Below);
        }

        if (value > high)
        {
            return (value - high > uncertainty ? RelationState.Missed : RelationState.AtTheLimit, rule.Above);
        }

        bool nearLow = value - low <= uncertainty, nearHigh = high - value <= uncertainty;
        return (nearLow, nearHigh) switch
        {
            (false, false) => (RelationState.Holds, null),
            (true, false) => (RelationState.AtTheLimit, rule.Below),
            (false, true) => (RelationState.AtTheLimit, rule.Above),
            _ => (RelationState.AtTheLimit, null),
        };
    }

    private static Turn? TurnOf(RelationMeasure rule, TurnRule turn, double value, double uncertainty, MarkedLandmarks marked, ExposureGeometry geometry, Magnification scale, Projection projection)
    {
        double separation = turn.SeparationMm.Value;
        double source = geometry.SourceImageDistanceMm is > 0 and var known ? known : projection.SourceImageDistanceMm.Value;
        double toObject = source / scale.Factor;

        // Of a difference each of the two distances takes half.
        double half = rule.Kind == RelationKind.Difference ? 0.5 : 1;
        double shift = half * value, byMarks = half * uncertainty;
        double? offCentre = null;
        double byRay = 0;
        if (geometry.CentralRay is { } ray)
        {
            // Two places on one line through the part at distance x from the central ray are thrown apart by x·separation/(source to object): the nearer to the tube, the further out.
            (double scaleX, double scaleY) = (geometry.Spacing!.Value.ColumnSpacingMm, geometry.Spacing.Value.RowSpacingMm);
            (double X, double Y) Place(string name) => (marked.Points[name].Point.X * scaleX, marked.Points[name].Point.Y * scaleY);
            string[] ends = [.. rule.Points.Distinct(StringComparer.Ordinal)];

            // An offset is second less first, so a first place thrown outward makes it smaller; a difference grows as its common place moves from the second toward the fourth.
            bool grows = rule.Kind == RelationKind.Difference;
            (double dx, double dy) = grows ? Toward(Place(rule.Points[1]), Place(rule.Points[3])) : Direction(rule.Axis!, Place);
            double x = ((ends.Average(name => Place(name).X) - (ray.X * scaleX)) * dx) + ((ends.Average(name => Place(name).Y) - (ray.Y * scaleY)) * dy);
            double outward = x / scale.Factor * separation / toObject;
            offCentre = turn.FirstNearerTube == grows ? outward : -outward;
            shift -= offCentre.Value;
            byRay = geometry.CentralRayUncertaintyMm / scale.Factor * separation / toObject;
        }

        double sine = Math.Clamp(shift / separation, -1, 1);
        double cosine = Math.Sqrt(Math.Max(1 - (sine * sine), 0.01));
        double bySeparation = sine * turn.SeparationMm.Uncertainty;
        double deviation = Math.Sqrt((byMarks * byMarks) + (bySeparation * bySeparation) + (byRay * byRay)) / (separation * cosine);
        return new Turn(turn.About, Math.Abs(double.RadiansToDegrees(Math.Asin(sine))), double.RadiansToDegrees(deviation), offCentre) { Sign = Math.Sign(shift) };
    }

    private static string Capital(string text) => text.Length == 0 ? text : char.ToUpperInvariant(text[0]) + text[1..];

    private readonly record struct Propagated(double Value, double Uncertainty);
}
