namespace Hotlight.Accuracy.Elsewhere;

/// <summary>A round bar in the plane of the picture, its radius running from one end to the other; seen from above, its thickness is that of a circle.</summary>
/// <param name="X0">Where it begins, in mm.</param>
/// <param name="Y0">Where it begins, in mm.</param>
/// <param name="R0">Radius there, in mm.</param>
/// <param name="X1">Where it ends, in mm.</param>
/// <param name="Y1">Where it ends, in mm.</param>
/// <param name="R1">Radius there, in mm.</param>
/// <param name="Flat">Depth over width.</param>
internal sealed record Capsule(double X0, double Y0, double R0, double X1, double Y1, double R1, double Flat = 1)
{
    private readonly double dx = X1 - X0;
    private readonly double dy = Y1 - Y0;
    private readonly double over = 1 / Math.Max(1e-9, ((X1 - X0) * (X1 - X0)) + ((Y1 - Y0) * (Y1 - Y0)));

    /// <summary>Share of the way along the axis, 0 to 1, and distance from it, in mm.</summary>
    public (double Along, double Across) Place(double x, double y)
    {
        double along = Math.Clamp((((x - X0) * dx) + ((y - Y0) * dy)) * over, 0, 1);
        double ax = x - X0 - (along * dx);
        double ay = y - Y0 - (along * dy);
        return (along, Math.Sqrt((ax * ax) + (ay * ay)));
    }

    /// <summary>Length of the ray in it, in mm.</summary>
    public double Thickness(double x, double y)
    {
        (double along, double across) = Place(x, y);
        double radius = R0 + (along * (R1 - R0));
        return across >= radius ? 0 : 2 * Flat * Math.Sqrt((radius * radius) - (across * across));
    }
}

/// <summary>A body whose outline is |u|ⁿ + |v|ⁿ = 1: an ellipse at 2, a rounded box above.</summary>
/// <param name="X">Centre, in mm.</param>
/// <param name="Y">Centre, in mm.</param>
/// <param name="HalfWidth">Half axis, in mm.</param>
/// <param name="HalfHeight">Half axis, in mm.</param>
/// <param name="HalfDepth">Half the length of the ray at its middle, in mm.</param>
/// <param name="Power">The power n.</param>
/// <param name="TurnDegrees">Turn, clockwise on the picture.</param>
internal sealed record Lump(double X, double Y, double HalfWidth, double HalfHeight, double HalfDepth, double Power = 2, double TurnDegrees = 0)
{
    private readonly double cosine = Math.Cos(TurnDegrees * Math.PI / 180);
    private readonly double sine = Math.Sin(TurnDegrees * Math.PI / 180);

    /// <summary>Length of the ray in it, in mm.</summary>
    public double Thickness(double x, double y)
    {
        double u = Math.Abs(((x - X) * cosine) + ((y - Y) * sine)) / HalfWidth;
        double v = Math.Abs(((y - Y) * cosine) - ((x - X) * sine)) / HalfHeight;
        if (u >= 1 || v >= 1)
        {
            return 0;
        }

        double left = Power == 2 ? 1 - (u * u) - (v * v) : 1 - Math.Pow(u, Power) - Math.Pow(v, Power);
        return left <= 0 ? 0 : 2 * HalfDepth * (Power == 2 ? Math.Sqrt(left) : Math.Pow(left, 1 / Power));
    }
}

/// <summary>A long bone: a bar with a shell of cortex that is thick at its middle and thin at its ends, which flare.</summary>
/// <param name="Axis">Its bar; the radii are those of the shaft.</param>
/// <param name="CortexMm">Thickness of the cortex at the middle, in mm.</param>
/// <param name="Flare">How much wider the ends are than the shaft, as a share.</param>
internal sealed record LongBone(Capsule Axis, double CortexMm, double Flare)
{
    /// <summary>Lengths of the ray in cortex and in what the cortex holds, in mm.</summary>
    public (double Cortex, double Inner) Lengths(double x, double y)
    {
        (double along, double across) = Axis.Place(x, y);
        double end = Math.Pow(Math.Abs((2 * along) - 1), 6);
        double radius = (Axis.R0 + (along * (Axis.R1 - Axis.R0))) * (1 + (Flare * end));
        if (across >= radius)
        {
            return (0, 0);
        }

        double hole = Math.Max(0, radius - Math.Max(0.4, CortexMm * (1 - (0.75 * end))));
        double inner = across < hole ? 2 * Math.Sqrt((hole * hole) - (across * across)) : 0;
        return ((2 * Math.Sqrt((radius * radius) - (across * across))) - inner, inner);
    }
}

/// <summary>A short bone: a lump with a thin shell of cortex.</summary>
/// <param name="Outer">Its surface.</param>
/// <param name="CortexMm">Thickness of the shell, in mm.</param>
internal sealed record ShortBone(Lump Outer, double CortexMm)
{
    private readonly Lump hole = Outer with
    {
        HalfWidth = Math.Max(0.2, Outer.HalfWidth - CortexMm),
        HalfHeight = Math.Max(0.2, Outer.HalfHeight - CortexMm),
        HalfDepth = Math.Max(0.2, Outer.HalfDepth - CortexMm),
    };

    /// <summary>Lengths of the ray in cortex and in what the cortex holds, in mm.</summary>
    public (double Cortex, double Inner) Lengths(double x, double y)
    {
        double all = Outer.Thickness(x, y);
        if (all <= 0)
        {
            return (0, 0);
        }

        double inner = Math.Min(all, hole.Thickness(x, y));
        return (all - inner, inner);
    }
}

/// <summary>Lengths of a ray in each material, in mm.</summary>
/// <param name="Soft">Soft tissue, skin to skin, bones and air taken out.</param>
/// <param name="Cortex">Cortical bone.</param>
/// <param name="Spongy">Spongy bone.</param>
/// <param name="Skin">Skin to skin, air within taken in.</param>
internal readonly record struct Lengths(double Soft, double Cortex, double Spongy, double Skin);

/// <summary>A body: soft parts that run into each other, bones and air in them.</summary>
internal sealed class Body
{
    /// <summary>Bars of soft tissue.</summary>
    public List<Capsule> Bars { get; } = [];

    /// <summary>Lumps of soft tissue.</summary>
    public List<Lump> Lumps { get; } = [];

    /// <summary>Long bones.</summary>
    public List<LongBone> LongBones { get; } = [];

    /// <summary>Short bones.</summary>
    public List<ShortBone> ShortBones { get; } = [];

    /// <summary>Air in the body.</summary>
    public List<Lump> Air { get; } = [];

    /// <summary>Lengths at a place, in mm.</summary>
    public Lengths At(double x, double y)
    {
        // Sixth powers: parts side by side join smoothly and never count twice.
        double sum = 0;
        double most = 0;
        int parts = 0;
        foreach (Capsule bar in Bars)
        {
            Add(bar.Thickness(x, y), ref sum, ref most, ref parts);
        }

        foreach (Lump lump in Lumps)
        {
            Add(lump.Thickness(x, y), ref sum, ref most, ref parts);
        }

        if (parts == 0)
        {
            return default;
        }

        double skin = parts == 1 ? most : Math.Pow(sum, 1 / 6.0);
        double cortex = 0;
        double spongy = 0;
        foreach (LongBone bone in LongBones)
        {
            (double shell, double inner) = bone.Lengths(x, y);
            cortex += shell;
            spongy += inner;
        }

        foreach (ShortBone bone in ShortBones)
        {
            (double shell, double inner) = bone.Lengths(x, y);
            cortex += shell;
            spongy += inner;
        }

        double air = 0;
        foreach (Lump bubble in Air)
        {
            air += bubble.Thickness(x, y);
        }

        return new Lengths(Math.Max(0.15 * skin, skin - cortex - spongy - air), cortex, spongy, skin);
    }

    private static void Add(double thickness, ref double sum, ref double most, ref int parts)
    {
        if (thickness > 0)
        {
            double square = thickness * thickness;
            sum += square * square * square;
            most = Math.Max(most, thickness);
            parts++;
        }
    }
}
