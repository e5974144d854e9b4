namespace Hotlight.Technique;

/// <summary>The rule behind a step, in the order in which steps are taken.</summary>
public enum TechniqueRule
{
    /// <summary>Undoes a deviation index.</summary>
    DeviationIndex,

    /// <summary>Square law of distance.</summary>
    Distance,

    /// <summary>Shorter distance for an angled tube.</summary>
    TubeAngle,

    /// <summary>Grid conversion.</summary>
    Grid,

    /// <summary>Thickness of the part.</summary>
    Thickness,

    /// <summary>Cast or splint.</summary>
    Cast,

    /// <summary>Voltage rule.</summary>
    Voltage,
}

/// <summary>One step from the technique used to the next one. mAs factors multiply, in the order of the steps; shifts of voltage add.</summary>
public sealed record TechniqueStep
{
    /// <summary>The rule.</summary>
    public required TechniqueRule Rule { get; init; }

    /// <summary>What changes, such as "1,000 to 1,150 mm".</summary>
    public required string Change { get; init; }

    /// <summary>The formula in words.</summary>
    public required string Formula { get; init; }

    /// <summary>mAs after the step over mAs before.</summary>
    public required double MasFactor { get; init; }

    /// <summary>One standard deviation of the factor; null where none is known.</summary>
    public double? MasFactorUncertainty { get; init; }

    /// <summary>What the step adds to the voltage, in kVp.</summary>
    public double TubeVoltageShiftKvp { get; init; }

    /// <summary>Where the tube is set on its scale, straight above the receptor's plane, in mm; null: the step says nothing of it.</summary>
    public double? ScaleDistanceMm { get; init; }

    /// <summary>Why it goes that way, in one plain sentence.</summary>
    public required string Reason { get; init; }

    /// <summary>Keys of the sources.</summary>
    public required IReadOnlyList<string> Basis { get; init; }
}

/// <summary>What a warning is about.</summary>
public enum TechniqueWarningKind
{
    /// <summary>The change is too small to be seen.</summary>
    NotVisible,

    /// <summary>Outside the voltages the voltage rule holds for.</summary>
    VoltageRange,

    /// <summary>The part is thicker than the voltage rule holds for.</summary>
    VoltageThickness,

    /// <summary>Authors give other figures.</summary>
    AuthorsDisagree,

    /// <summary>A thick part without a grid.</summary>
    NoGrid,

    /// <summary>The exposure takes longer than the part keeps still.</summary>
    Motion,

    /// <summary>The tube may not do that.</summary>
    TubeLoading,

    /// <summary>A rule of thumb that geometry does not bear out.</summary>
    Geometry,
}

/// <summary>Something to mind.</summary>
/// <param name="Kind">What it is about.</param>
/// <param name="Sentence">One sentence.</param>
/// <param name="Basis">Key of the source.</param>
public sealed record TechniqueWarning(TechniqueWarningKind Kind, string Sentence, string Basis);

/// <summary>How long the exposure takes.</summary>
public sealed record ExposureTiming
{
    /// <summary>Tube current asked for, in mA; null: not given.</summary>
    public double? TubeCurrentMa { get; init; }

    /// <summary>Exposure time at that current, in ms.</summary>
    public double? ExposureTimeMs { get; init; }

    /// <summary>The greatest current the tube allows at the new voltage, in mA; null: the tube's limits were not given.</summary>
    public double? LargestCurrentMa { get; init; }

    /// <summary>Shortest exposure time, at that current, in ms.</summary>
    public double? ShortestTimeMs { get; init; }

    /// <summary>The limit against movement that was asked for.</summary>
    public MotionLimit? Limit { get; init; }

    /// <summary>Whether the time at the current given, or else the shortest, keeps the limit; null where there is no limit or no time.</summary>
    public bool? IsWithinLimit { get; init; }
}

/// <summary>What the exposure asks of the tube.</summary>
public sealed record TubeLoad
{
    /// <summary>Power, in kW: kVp · mA / 1000; null where the current is not known.</summary>
    public double? PowerKw { get; init; }

    /// <summary>Heat, in heat units: kVp · mAs · factor of the generator.</summary>
    public required double HeatUnits { get; init; }

    /// <summary>Factor of the generator.</summary>
    public required double WaveformFactor { get; init; }
}

/// <summary>The next exposure, the steps that lead to it and what to mind.</summary>
public sealed record TechniquePlan
{
    /// <summary>Schema of the plan and the dose as JSON.</summary>
    public const string SchemaName = "hotlight.technique/1";

    /// <summary>The technique used.</summary>
    public required ExposureTechnique From { get; init; }

    /// <summary>The next technique; its mAs is the generator's step.</summary>
    public required ExposureTechnique To { get; init; }

    /// <summary>The steps, in the order in which they are taken.</summary>
    public required IReadOnlyList<TechniqueStep> Steps { get; init; }

    /// <summary>mAs before rounding over mAs used: the product of the steps.</summary>
    public required double MasFactor { get; init; }

    /// <summary>One standard deviation of it from the steps that state one, in quadrature of relative deviations; null where none does.</summary>
    public double? MasFactorUncertainty { get; init; }

    /// <summary>mAs before rounding; null where the mAs used is not known.</summary>
    public double? MasBeforeRounding { get; init; }

    /// <summary>The generator's step; null where the mAs used is not known.</summary>
    public GeneratorStep? Generator { get; init; }

    /// <summary>Exposure time; null where nothing is known of it.</summary>
    public ExposureTiming? Timing { get; init; }

    /// <summary>Tube loading; null where mAs or voltage is not known.</summary>
    public TubeLoad? Load { get; init; }

    /// <summary>What to mind.</summary>
    public required IReadOnlyList<TechniqueWarning> Warnings { get; init; }
}
