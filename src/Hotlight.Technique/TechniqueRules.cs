namespace Hotlight.Technique;

/// <summary>How a change of thickness is made up for.</summary>
public enum ThicknessRule
{
    /// <summary>By mAs: double for each half-value layer of tissue.</summary>
    HalfValueLayer,

    /// <summary>By voltage: so many kVp for each cm.</summary>
    Voltage,
}

/// <summary>How a generator rectifies, which says how much heat a given kVp · mA · s makes.</summary>
public enum GeneratorWaveform
{
    /// <summary>One phase, full wave: factor 1.00.</summary>
    SinglePhase,

    /// <summary>Three phases, six pulses: factor 1.35.</summary>
    SixPulse,

    /// <summary>Three phases, twelve pulses: factor 1.41.</summary>
    TwelvePulse,

    /// <summary>High frequency: factor 1.45.</summary>
    HighFrequency,
}

/// <summary>Conversion factor of a grid: mAs with it over mAs without.</summary>
/// <param name="Ratio">Grid ratio, such as 8 for 8:1; 0: no grid.</param>
/// <param name="ConversionFactor">mAs with it over mAs without, for the same exposure of the receptor.</param>
/// <param name="OtherAuthor">What another author gives, where one differs; else null.</param>
/// <param name="VoltageInsteadKvp">What authors add to the voltage instead of mAs when the grid is put in, in words; null for no grid.</param>
public sealed record GridFactor(double Ratio, double ConversionFactor, double? OtherAuthor = null, string? VoltageInsteadKvp = null);

/// <summary>What a cast or splint asks for. Authors disagree, so every line is a setting.</summary>
/// <param name="Id">Key, such as "plaster-dry".</param>
/// <param name="Name">Name, such as "dry plaster, small or medium part".</param>
/// <param name="MasFactor">mAs with it over mAs without; 1 where the voltage makes up for it.</param>
/// <param name="TubeVoltageShiftKvp">What is added to the voltage, in kVp.</param>
/// <param name="TubeVoltageShiftUncertaintyKvp">One standard deviation of that, in kVp: the author's range over √12; 0 where none is given.</param>
/// <param name="Basis">Key of the source.</param>
public sealed record CastRule(string Id, string Name, double MasFactor, double TubeVoltageShiftKvp, double TubeVoltageShiftUncertaintyKvp, string Basis);

/// <summary>Longest exposure time that stills the movement of a part.</summary>
/// <param name="Id">Key, such as "chest-child".</param>
/// <param name="Name">Part in words.</param>
/// <param name="LongestMs">Longest time, in ms.</param>
/// <param name="Basis">Key of the source.</param>
public sealed record MotionLimit(string Id, string Name, double LongestMs, string Basis);

/// <summary>What the tube may do. Null: not given, not checked.</summary>
public sealed record TubeLimits
{
    /// <summary>Greatest tube current, in mA.</summary>
    public double? LargestCurrentMa { get; init; }

    /// <summary>Greatest power, in kW: the rating for an exposure of 0.1 s.</summary>
    public double? RatingKw { get; init; }

    /// <summary>Greatest heat of one exposure, in heat units (HU).</summary>
    public double? LargestHeatUnits { get; init; }

    /// <summary>How the generator rectifies.</summary>
    public GeneratorWaveform Waveform { get; init; } = GeneratorWaveform.HighFrequency;
}

/// <summary>Every figure that a technique is worked out with. The default is the one docs/methods/technique.md explains; a clinic reviews it and puts its own in.</summary>
public sealed record TechniqueRules
{
    /// <summary>Schema of a file of rules.</summary>
    public const string SchemaName = "hotlight.technique-rules/1";

    /// <summary>Key of "no cast".</summary>
    public const string NoCast = "none";

    /// <summary>The default rules.</summary>
    public static TechniqueRules Default { get; } = new();

    /// <summary>Schema of the file.</summary>
    public string Schema { get; init; } = SchemaName;

    /// <summary>Conversion factors of grids. [grid-conversion]</summary>
    public IReadOnlyList<GridFactor> Grids { get; init; } =
    [
        new(0, 1),
        new(5, 2, VoltageInsteadKvp: "8"),
        new(6, 3, VoltageInsteadKvp: "12"),
        new(8, 4, VoltageInsteadKvp: "15"),
        new(10, 5, OtherAuthor: 4, VoltageInsteadKvp: "15"),
        new(12, 5, VoltageInsteadKvp: "20 to 25"),
        new(16, 6, VoltageInsteadKvp: "20 to 25"),
    ];

    /// <summary>Form of the voltage rule.</summary>
    public VoltageRule VoltageRule { get; init; } = VoltageRule.FifteenPercent;

    /// <summary>Lower end of the voltages the rule holds for, in kVp. [al-balool-1998]</summary>
    public double VoltageRuleFromKvp { get; init; } = 50;

    /// <summary>Upper end of the voltages the rule holds for, in kVp. [al-balool-1998]</summary>
    public double VoltageRuleToKvp { get; init; } = 100;

    /// <summary>Thickest part the voltage rule holds for, in mm of tissue. [al-balool-1998]</summary>
    public double VoltageRuleToThicknessMm { get; init; } = 150;

    /// <summary>How a change of thickness is made up for.</summary>
    public ThicknessRule ThicknessRule { get; init; } = ThicknessRule.HalfValueLayer;

    /// <summary>Thickness of tissue that doubles the mAs, in mm: the half-value layer of water behind the 25 % rule. [al-balool-1998]</summary>
    public double TissueHalfValueLayerMm { get; init; } = 30;

    /// <summary>What other authors give for it at most, in mm: mAs doubles for every 4 to 5 cm. [thickness-teaching]</summary>
    public double OtherTissueHalfValueLayerMm { get; init; } = 50;

    /// <summary>Voltage for each cm of thickness, in kVp. [thickness-teaching]</summary>
    public double VoltagePerCmKvp { get; init; } = 2;

    /// <summary>Casts and splints. [cast-teaching]</summary>
    public IReadOnlyList<CastRule> Casts { get; init; } =
    [
        new(NoCast, "no cast", 1, 0, 0, "cast-teaching"),
        new("fibreglass", "fibreglass", 1, 0, 0, "cast-teaching"),
        new("air-splint", "air splint", 1, 0, 0, "cast-teaching"),
        new("plaster-dry", "dry plaster, small or medium part", 1, 6, 2 / 3.4641016151377544, "cast-teaching"),
        new("plaster-voltage", "plaster, by voltage (another author)", 1, 9, 2 / 3.4641016151377544, "cast-teaching"),
        new("plaster-mas", "plaster, by mAs (the same other author)", 2, 0, 0, "cast-teaching"),
        new("plaster-wet", "wet or large plaster", 3, 0, 0, "cast-teaching"),
    ];

    /// <summary>How much lower the tube is set on its scale for each 5 degrees of angle, in mm: about one inch. [tube-angle-teaching]</summary>
    public double DistancePerFiveDegreesMm { get; init; } = 25.4;

    /// <summary>A change of mAs below this is not visible, in percent. [visible-mas-change]</summary>
    public double HiddenChangePercent { get; init; } = 20;

    /// <summary>A change of mAs from this on is visible, in percent. [visible-mas-change]</summary>
    public double VisibleChangePercent { get; init; } = 30;

    /// <summary>A part thicker than this is exposed with a grid, in mm. [grid-10cm]</summary>
    public double GridFromThicknessMm { get; init; } = 100;

    /// <summary>Series of the generator's mAs.</summary>
    public string Series { get; init; } = "r10";

    /// <summary>Longest times against movement.</summary>
    public IReadOnlyList<MotionLimit> MotionLimits { get; init; } =
    [
        new("chest-child", "chest of a child", 10, "chest-time-child"),
        new("chest", "chest PA of an adult", 20, "eur-16260"),
        new("chest-lateral", "lateral chest of an adult", 40, "eur-16260"),
        new("pelvis", "pelvis AP of an adult", 400, "eur-16260"),
        new("lumbar-spine", "lumbar spine AP of an adult", 400, "eur-16260"),
        new("lumbar-spine-lateral", "lateral lumbar spine of an adult", 1000, "eur-16260"),
    ];

    /// <summary>What the tube may do.</summary>
    public TubeLimits Tube { get; init; } = new();
}
