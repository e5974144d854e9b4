using Hotlight.Core;
using Hotlight.Simulation.Attenuation;
using Hotlight.Simulation.Projection;
using Hotlight.Simulation.Tube;

namespace Hotlight.Simulation.Grid;

/// <summary>A linear anti-scatter grid in front of the receptor.</summary>
/// <remarks>Terms of IEC 60627. The strips lie in the plane of the receptor; a strip at the distance c from the grid's centre line leans by c/f towards the focal line. See docs/methods/grid.md.</remarks>
internal sealed record AntiScatterGrid
{
    /// <summary>Height of the strips over the width of the interspace.</summary>
    public double Ratio { get; init; } = 10;

    /// <summary>Strips per cm.</summary>
    public double LinesPerCm { get; init; } = 40;

    /// <summary>Distance of the focal line, in mm; infinity for parallel strips.</summary>
    public double FocalDistanceMm { get; init; } = 1150;

    /// <summary>Thickness of a strip, in mm; below the distance of two strips.</summary>
    public double StripMm { get; init; } = 0.05;

    /// <summary>Material of the strips.</summary>
    public Material Strip { get; init; } = Material.Lead;

    /// <summary>Material between the strips.</summary>
    public Material Interspace { get; init; } = Material.Aluminium;

    /// <summary>Covers on both sides together.</summary>
    public IReadOnlyList<FilterLayer> Covers { get; init; } = [new(Material.CarbonFibre, 0.6)];

    /// <summary>Direction of the strips: 0 for along the columns (down the image), 90 for along the rows, in degrees, turning from +y towards +x.</summary>
    public double OrientationDegrees { get; init; }

    /// <summary>True where the grid moves during the exposure: no lines are left.</summary>
    public bool Moving { get; init; }

    /// <summary>Where the grid's centre line lies across the strips, in mm from the room's origin.</summary>
    public double CentreMm { get; init; }

    /// <summary>Tilt of the grid about the direction of its strips, in degrees.</summary>
    public double TiltDegrees { get; init; }

    /// <summary>True where the grid lies with its tube side to the receptor.</summary>
    public bool UpsideDown { get; init; }

    /// <summary>Distance from the grid's middle to the receptor, in mm.</summary>
    public double ReceptorGapMm { get; init; } = 10;

    /// <summary>Distance of two strips, in mm.</summary>
    public double PeriodMm => 10 / LinesPerCm;

    /// <summary>Width of an interspace, in mm.</summary>
    public double InterspaceMm => PeriodMm - StripMm;

    /// <summary>Height of the strips, in mm.</summary>
    public double HeightMm => Ratio * InterspaceMm;

    /// <summary>How the grid works in a beam.</summary>
    /// <param name="beam">The beam that arrives, behind the part: use a beam behind some water.</param>
    /// <param name="geometry">Where source and receptor are.</param>
    /// <param name="beamKey">Tells this beam from all others, so that what is tabulated is kept; null: nothing is.</param>
    public GridTransmission In(BeamEnergies beam, BeamGeometry geometry, string? beamKey = null) => new(this, beam, geometry, beamKey);
}
