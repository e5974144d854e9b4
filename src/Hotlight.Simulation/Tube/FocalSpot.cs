using Hotlight.Core;

namespace Hotlight.Simulation.Tube;

/// <summary>The focal spot: a uniform rectangle on the inclined target, named by its size as seen along the beam's axis.</summary>
/// <param name="WidthMm">Effective width across the tube's axis, in mm, above 0.</param>
/// <param name="LengthMm">Effective length along the tube's axis as seen along the beam's axis, in mm, above 0.</param>
/// <remarks>Not: the nominal value of IEC 60336, which allows larger sizes (up to about 1.5 times in width for a 1.2; from memory).</remarks>
internal sealed record FocalSpot(double WidthMm, double LengthMm)
{
    /// <summary>Effective length seen from a direction along the tube's axis, projected on a plane across the beam's axis, in mm.</summary>
    /// <remarks>Closed form: the target's line (sin θ, cos θ) seen along (sin β, cos β): L·sin(θ − β)/(sin θ·cos β). 0 where the anode hides the spot.</remarks>
    /// <param name="anodeAngleDegrees">Angle θ of the anode's face to the beam's axis, in degrees.</param>
    /// <param name="towardsAnodeDegrees">Angle β from the beam's axis towards the anode, in degrees.</param>
    public double LengthAtMm(double anodeAngleDegrees, double towardsAnodeDegrees)
    {
        double anode = Preconditions.Within(anodeAngleDegrees, 5, 45) * Math.PI / 180;
        double angle = Preconditions.Within(towardsAnodeDegrees, -60, 60) * Math.PI / 180;
        return Preconditions.AboveZero(LengthMm) * Math.Max(0, Math.Sin(anode - angle) / (Math.Sin(anode) * Math.Cos(angle)));
    }

    /// <summary>Width of the penumbra at the receptor of an object's edge, in mm: F·OID/SOD.</summary>
    /// <param name="sizeMm">Effective size of the spot in the direction of the penumbra, in mm.</param>
    /// <param name="sourceImageMm">Distance from source to receptor, in mm.</param>
    /// <param name="objectImageMm">Distance from object to receptor, in mm, 0 or more, below the first.</param>
    public static double PenumbraMm(double sizeMm, double sourceImageMm, double objectImageMm)
    {
        Preconditions.Within(objectImageMm, 0, sourceImageMm * 0.999);
        return sizeMm * objectImageMm / (sourceImageMm - objectImageMm);
    }
}
