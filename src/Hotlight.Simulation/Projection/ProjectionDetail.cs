namespace Hotlight.Simulation.Projection;

/// <summary>How finely a body is projected: factors of the cells that an exposure's meshes have, and what is left out.</summary>
internal sealed record ProjectionDetail
{
    /// <summary>Steps of the part of a body that is meshed where only what lies over the receptor is, in mm.</summary>
    public const float StepMm = 24;

    /// <summary>As for an exposure.</summary>
    public static ProjectionDetail Full { get; } = new();

    /// <summary>For a picture that follows a joint as it moves: soft surfaces in coarser cells, and only where rays to the receptor pass.</summary>
    public static ProjectionDetail Quick { get; } = new() { SkinCells = 2, MuscleCells = 1.5f, PadCells = 1.5f, AirCells = 2, CoarsestBoneCellMm = 1.6f, TubeParts = 16, TubeStep = 2, StrandParts = 5, TrunkGrainSamples = 4, PlaneStepMm = 2.8, TrunkPlaneStepMm = 4.2, OnlyOverReceptor = true };

    /// <summary>Factor of the skin's cells.</summary>
    public float SkinCells { get; init; } = 1;

    /// <summary>Factor of the muscle's cells in a limb, where a tendon is thin; in a trunk it is that of the skin.</summary>
    public float MuscleCells { get; init; } = 1;

    /// <summary>Factor of the fat pads' cells.</summary>
    public float PadCells { get; init; } = 1;

    /// <summary>Factor of the cells of lungs and gas.</summary>
    public float AirCells { get; init; } = 1;

    /// <summary>Bones in finer cells than this get cells up to 1.4 times as large, but not beyond it; 0: as for an exposure.</summary>
    public float CoarsestBoneCellMm { get; init; }

    /// <summary>Facets around a rib or a clavicle.</summary>
    public int TubeParts { get; init; } = 28;

    /// <summary>Of the stations along a rib or a clavicle one of this many is taken, and the last.</summary>
    public int TubeStep { get; init; } = 1;

    /// <summary>Facets around a vessel of the lungs.</summary>
    public int StrandParts { get; init; } = 8;

    /// <summary>Most places along a ray at which the spongy bone's texture is looked up in a limb; with fewer than there are struts its spread is scaled to theirs.</summary>
    public int GrainSamples { get; init; } = 12;

    /// <summary>The same in a trunk, whose pixels are larger than struts: another texture of the same spread.</summary>
    public int TrunkGrainSamples { get; init; } = 12;

    /// <summary>Distance at the receptor of the rays that fat planes between muscles of a limb are looked up on, in mm.</summary>
    public double PlaneStepMm { get; init; } = 1.6;

    /// <summary>The same in a trunk.</summary>
    public double TrunkPlaneStepMm { get; init; } = 1.6;

    /// <summary>Whether soft surfaces are meshed only where rays to the receptor cross them.</summary>
    public bool OnlyOverReceptor { get; init; }
}
