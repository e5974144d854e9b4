namespace Hotlight.Simulation.Scene;

/// <summary>A scene: everything that is in one exposure, as a file says it. Lengths in mm, angles in degrees; image directions are x to the right and y down, z from the receptor to the tube.</summary>
/// <remarks>Read and written by <see cref="SceneJson"/>. Members left out take the values given here.</remarks>
public sealed record SceneDocument
{
    /// <summary>The only schema this version reads and writes.</summary>
    public const string SchemaName = "hotlight.scene/1";

    /// <summary>The schema of the file; <see cref="SchemaName"/>.</summary>
    public required string Schema { get; init; }

    /// <summary>Short name, in lower case with hyphens; names the files.</summary>
    public string Id { get; init; } = "exposure";

    /// <summary>Seed of everything random: noise, trabeculae, vessels. The same scene and seed give the same bytes on one kind of machine.</summary>
    public ulong Seed { get; init; } = 1;

    /// <summary>The part of the body; null for meshes or objects alone.</summary>
    public ScenePart? Part { get; init; }

    /// <summary>Surface meshes of the user's own.</summary>
    public IReadOnlyList<SceneMesh> Meshes { get; init; } = [];

    /// <summary>Tube and technique.</summary>
    public SceneTube Tube { get; init; } = new();

    /// <summary>Anti-scatter grid; null for none.</summary>
    public SceneGrid? Grid { get; init; }

    /// <summary>Collimator.</summary>
    public SceneCollimator Collimator { get; init; } = new();

    /// <summary>Image receptor.</summary>
    public SceneReceptor Receptor { get; init; } = new();

    /// <summary>Side marker; null for none.</summary>
    public SceneMarker? Marker { get; init; }

    /// <summary>Things in the beam.</summary>
    public IReadOnlyList<SceneObject> Objects { get; init; } = [];

    /// <summary>Motion of the part during the exposure; null for none.</summary>
    public SceneMotion? Motion { get; init; }

    /// <summary>A second exposure on the same receptor before it is read; null for none.</summary>
    public SceneSecondExposure? SecondExposure { get; init; }

    /// <summary>How the receptor's signal becomes an image for presentation, and what is put over it.</summary>
    public SceneRendering Rendering { get; init; } = new();

    /// <summary>What the header says; the image doesn't depend on it.</summary>
    public SceneRecords Records { get; init; } = new();

    /// <summary>What was varied from another scene, with the severity, 0 to 1; empty for a scene of its own.</summary>
    public IReadOnlyDictionary<string, double> Varied { get; init; } = new Dictionary<string, double>();
}

/// <summary>A part of the body and how it lies.</summary>
public sealed record ScenePart
{
    /// <summary>Name of the part, such as "wrist"; <c>hotlight expose --parts</c> lists them with their views, joints and landmarks.</summary>
    public required string Name { get; init; }

    /// <summary>View, such as "pa".</summary>
    public required string View { get; init; }

    /// <summary>Side, "R" or "L"; parts in the middle of the body ignore it.</summary>
    public string Side { get; init; } = "R";

    /// <summary>"adult", or "child" for a child of about eight years.</summary>
    public string Size { get; init; } = "adult";

    /// <summary>Thickness of fat and muscle over that of an average body, 0.7 to 1.5.</summary>
    public double Habitus { get; init; } = 1;

    /// <summary>Seed of what differs between people: trabeculae, vessels, bowel gas. Exposures of one person share it; 0 takes the scene's seed.</summary>
    public ulong Person { get; init; }

    /// <summary>Joints by name, in degrees; those left out are set as the view demands.</summary>
    public IReadOnlyDictionary<string, double> Joints { get; init; } = new Dictionary<string, double>();

    /// <summary>Turn about the image's y axis, from what the view demands; positive brings the edge on the viewer's right towards the tube (for a left side: as its mirror image).</summary>
    public double TurnDegrees { get; init; }

    /// <summary>Turn about the image's x axis; positive brings the lower end towards the tube.</summary>
    public double TiltDegrees { get; init; }

    /// <summary>Turn in the receptor's plane, clockwise (for a left side: as its mirror image).</summary>
    public double LeanDegrees { get; init; }

    /// <summary>Where the view's centring point lies over the receptor, from the middle of the receptor: right, down.</summary>
    public IReadOnlyList<double> ShiftMm { get; init; } = [0, 0];

    /// <summary>Gap between the skin and the receptor.</summary>
    public double LiftMm { get; init; }
}

/// <summary>A closed surface mesh from a file (STL, OBJ, PLY).</summary>
public sealed record SceneMesh
{
    /// <summary>File, relative to the scene's folder.</summary>
    public required string File { get; init; }

    /// <summary>Unit of the file's coordinates: "mm", "cm" or "m".</summary>
    public required string Unit { get; init; }

    /// <summary>What fills it, such as "cortical bone".</summary>
    public string Material { get; init; } = "cortical bone";

    /// <summary>Share of the volume that is the material, the rest is soft tissue; 1 for solid.</summary>
    public double Share { get; init; } = 1;

    /// <summary>Material that it takes the place of, such as the "soft tissue" of a slab around it; null where it stands in air.</summary>
    public string? Replaces { get; init; }

    /// <summary>Turns about the image's x, then y, then z, from the file's x to the right, its y up the image and its z to the tube.</summary>
    public IReadOnlyList<double> TurnDegrees { get; init; } = [0, 0, 0];

    /// <summary>Where the middle of the mesh's bounds lies over the receptor: right, down, up.</summary>
    public IReadOnlyList<double> CentreMm { get; init; } = [0, 0, 50];
}

/// <summary>A filter in the beam.</summary>
public sealed record SceneFilter
{
    /// <summary>Material, such as "aluminium" or "copper".</summary>
    public required string Material { get; init; }

    /// <summary>Thickness, in mm.</summary>
    public required double ThicknessMm { get; init; }
}

/// <summary>Tube and technique.</summary>
public sealed record SceneTube
{
    /// <summary>Tube voltage, in kVp, 40 to 150.</summary>
    public double TubeVoltageKvp { get; init; } = 60;

    /// <summary>Tube current-time product, in mAs.</summary>
    public double ExposureMas { get; init; } = 2;

    /// <summary>Exposure time, in ms.</summary>
    public double ExposureTimeMs { get; init; } = 10;

    /// <summary>Source-image distance along the central ray, in mm.</summary>
    public double SourceImageDistanceMm { get; init; } = 1000;

    /// <summary>Nominal focal spot, in mm.</summary>
    public double FocalSpotMm { get; init; } = 0.6;

    /// <summary>Filters, the tube's own included.</summary>
    public IReadOnlyList<SceneFilter> Filters { get; init; } = [new SceneFilter { Material = "aluminium", ThicknessMm = 3 }];

    /// <summary>Anode angle, in degrees.</summary>
    public double AnodeAngleDegrees { get; init; } = 12;

    /// <summary>Voltage ripple, in percent of the peak; 0 for constant potential.</summary>
    public double RipplePercent { get; init; }

    /// <summary>Where the anode lies: "top", "right", "bottom" or "left" of the image.</summary>
    public string AnodeSide { get; init; } = "top";

    /// <summary>Turn of the tube about the image's x axis: positive sends the central ray towards the image's top; and about the y axis: positive sends it towards the right.</summary>
    public IReadOnlyList<double> AngleDegrees { get; init; } = [0, 0];

    /// <summary>Where the central ray meets the receptor, from its middle: right, down.</summary>
    public IReadOnlyList<double> CentreMm { get; init; } = [0, 0];
}

/// <summary>An anti-scatter grid.</summary>
public sealed record SceneGrid
{
    /// <summary>Grid ratio: height of the strips over the width of the interspace.</summary>
    public double Ratio { get; init; } = 10;

    /// <summary>Strips per cm.</summary>
    public double LinesPerCm { get; init; } = 40;

    /// <summary>Focal distance, in mm; null for a parallel grid.</summary>
    public double? FocalDistanceMm { get; init; } = 1100;

    /// <summary>Direction of the strips: "down" the rows or "across" them.</summary>
    public string Strips { get; init; } = "down";

    /// <summary>Distance of the grid's middle line from the receptor's middle across the strips, in mm.</summary>
    public double OffCentreMm { get; init; }

    /// <summary>Turn of the grid about its strips, in degrees.</summary>
    public double TiltDegrees { get; init; }

    /// <summary>Whether it lies with its tube side down.</summary>
    public bool UpsideDown { get; init; }

    /// <summary>Whether it stands still, so that its strips are seen.</summary>
    public bool Stationary { get; init; }
}

/// <summary>The collimator's opening, given at the source-image distance across the central ray.</summary>
public sealed record SceneCollimator
{
    /// <summary>Width across the central ray at the source-image distance, in mm.</summary>
    public double WidthMm { get; init; } = 200;

    /// <summary>Height, in mm.</summary>
    public double HeightMm { get; init; } = 240;

    /// <summary>Middle of the opening from the central ray: right, down.</summary>
    public IReadOnlyList<double> CentreMm { get; init; } = [0, 0];

    /// <summary>Turn of the collimator about the central ray, clockwise on the image.</summary>
    public double TurnDegrees { get; init; }

    /// <summary>Distance of the leaves from the source, in mm.</summary>
    public double LeafDistanceMm { get; init; } = 250;
}

/// <summary>The image receptor.</summary>
public sealed record SceneReceptor
{
    /// <summary>"caesium-iodide", "selenium" or "storage-phosphor".</summary>
    public string Kind { get; init; } = "caesium-iodide";

    /// <summary>Width, in mm.</summary>
    public double WidthMm { get; init; } = 240;

    /// <summary>Height, in mm.</summary>
    public double HeightMm { get; init; } = 300;

    /// <summary>Pixel spacing, in mm.</summary>
    public double SpacingMm { get; init; } = 0.15;

    /// <summary>Distance of the receptor's front from the part's support, in mm; grids lie in it.</summary>
    public double GapMm { get; init; } = 0;

    /// <summary>Dead elements, scattered by the seed.</summary>
    public int DeadElements { get; init; }

    /// <summary>Dead rows or columns, scattered by the seed.</summary>
    public int DeadLines { get; init; }

    /// <summary>Standard deviation of the gain between read-out blocks of 36 mm after an imperfect correction, in percent.</summary>
    public double GainStepPercent { get; init; }

    /// <summary>What is left of an earlier exposure, in percent of its signal; the earlier one is the same part, mirrored and shifted.</summary>
    public double LagPercent { get; init; }
}

/// <summary>A side marker.</summary>
public sealed record SceneMarker
{
    /// <summary>The letter, "R" or "L"; of a word the side it stands for.</summary>
    public required string Letter { get; init; }

    /// <summary>A word of 2 to 8 capitals in place of the letter, such as "RIGHT"; null for the letter.</summary>
    public string? Word { get; init; }

    /// <summary>"lead": exposed with the patient, or "annotation": drawn afterwards.</summary>
    public string Kind { get; init; } = "lead";

    /// <summary>Where it lies, from the middle of the receptor: right, down.</summary>
    public required IReadOnlyList<double> CentreMm { get; init; }

    /// <summary>Height above the receptor, in mm; lead only.</summary>
    public double AboveReceptorMm { get; init; } = 1;

    /// <summary>Height of the letter, in mm.</summary>
    public double HeightMm { get; init; } = 11;

    /// <summary>Clockwise turn from upright.</summary>
    public double TurnDegrees { get; init; }

    /// <summary>Whether it lies face down, so that it reads only from behind.</summary>
    public bool Mirrored { get; init; }
}

/// <summary>A thing in the beam.</summary>
public sealed record SceneObject
{
    /// <summary>"ring", "zip", "pin", "necklace", "button", "wire", "electrode", "cast", "shield", "screw-plate" or "slab".</summary>
    public required string Kind { get; init; }

    /// <summary>Where its middle lies over the receptor: right, down, up. Where a bone is named: from that bone's middle.</summary>
    public IReadOnlyList<double> CentreMm { get; init; } = [0, 0, 0];

    /// <summary>Bone that it goes round (ring) or lies at; see <c>hotlight expose --parts</c>.</summary>
    public string? Bone { get; init; }

    /// <summary>Clockwise turn in the receptor's plane.</summary>
    public double TurnDegrees { get; init; }

    /// <summary>Greatest length, in mm; null for the kind's usual size.</summary>
    public double? LengthMm { get; init; }

    /// <summary>Width of a shield or a slab, in mm; null for the kind's usual.</summary>
    public double? WidthMm { get; init; }

    /// <summary>Thickness of a cast, a shield or a slab along z, in mm; null for the kind's usual.</summary>
    public double? ThicknessMm { get; init; }

    /// <summary>Material; null for the kind's usual.</summary>
    public string? Material { get; init; }
}

/// <summary>Motion during the exposure: from the scene's position to the one given here, at constant speed.</summary>
public sealed record SceneMotion
{
    /// <summary>Shift by the end of the exposure: right, down.</summary>
    public IReadOnlyList<double> ShiftMm { get; init; } = [0, 0];

    /// <summary>Change of the turn by the end.</summary>
    public double TurnDegrees { get; init; }

    /// <summary>Change of the lean by the end.</summary>
    public double LeanDegrees { get; init; }

    /// <summary>Number of positions that stand for the course, 2 to 64; 0 chooses by the length of the way.</summary>
    public int Slices { get; init; }
}

/// <summary>A second exposure on the same receptor.</summary>
public sealed record SceneSecondExposure
{
    /// <summary>Shift of the part against the first exposure: right, down.</summary>
    public IReadOnlyList<double> ShiftMm { get; init; } = [0, 0];

    /// <summary>Change of the part's turn.</summary>
    public double TurnDegrees { get; init; }

    /// <summary>Change of the part's lean.</summary>
    public double LeanDegrees { get; init; }

    /// <summary>Its mAs over the first's.</summary>
    public double ExposureShare { get; init; } = 0.5;
}

/// <summary>A rectangle left visible by a mask, from the middle of the receptor.</summary>
public sealed record SceneMask
{
    /// <summary>Middle: right, down.</summary>
    public IReadOnlyList<double> CentreMm { get; init; } = [0, 0];

    /// <summary>Width, in mm.</summary>
    public required double WidthMm { get; init; }

    /// <summary>Height, in mm.</summary>
    public required double HeightMm { get; init; }
}

/// <summary>Rendering for presentation.</summary>
public sealed record SceneRendering
{
    /// <summary>Share of the detail that is added (sharpening).</summary>
    public double SharpeningShare { get; init; } = 0.3;

    /// <summary>Size of what counts as detail, in mm (sigma).</summary>
    public double SharpeningMm { get; init; } = 2.5;

    /// <summary>Width of the window over the anatomy's range of values.</summary>
    public double WindowWidthShare { get; init; } = 0.8;

    /// <summary>Share of the anatomy that may be shown darker than the window's dark end.</summary>
    public double WindowDarkTail { get; init; } = 0.01;

    /// <summary>A mask put over the image; null for none.</summary>
    public SceneMask? Mask { get; init; }
}

/// <summary>What the header says.</summary>
public sealed record SceneRecords
{
    /// <summary>Identifier of the projection in the catalogue; null: as the view says.</summary>
    public string? Projection { get; init; }

    /// <summary>Target exposure index.</summary>
    public double TargetExposureIndex { get; init; } = 400;

    /// <summary>Image laterality "R", "L" or "U"; null: the part's side.</summary>
    public string? Laterality { get; init; }

    /// <summary>Patient ID of an invented patient.</summary>
    public string PatientId { get; init; } = "INVENTED-000";

    /// <summary>Name of an invented patient, family^given.</summary>
    public string PatientName { get; init; } = "Invented^Exposure";

    /// <summary>When it is said to have been made.</summary>
    public DateTime? Acquired { get; init; }

    /// <summary>Image comments.</summary>
    public string Comments { get; init; } = "Invented exposure of the phantom lab: simulated, no patient was exposed. For education; not a diagnostic image.";
}
