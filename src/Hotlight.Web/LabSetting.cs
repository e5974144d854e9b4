using System.Globalization;
using Hotlight.Simulation;
using Hotlight.Simulation.Scene;

namespace Hotlight.Web;

/// <summary>One value of a scene that the phantom lab's page lets a reader set.</summary>
/// <param name="Key">Name of its own, in lower case with hyphens.</param>
/// <param name="Group">Heading that it stands under.</param>
/// <param name="Name">What it is called.</param>
/// <param name="Unit">Its unit; empty for none.</param>
/// <param name="Minimum">Where the slider begins, in <paramref name="Unit"/>; a number may lie beyond.</param>
/// <param name="Maximum">Where the slider ends, in <paramref name="Unit"/>; a number may lie beyond.</param>
/// <param name="Step">Step of the slider, in <paramref name="Unit"/>; ignored where it is logarithmic.</param>
/// <param name="Get">Reads it from a scene.</param>
/// <param name="Set">A scene with another value.</param>
public sealed record LabSetting(
    string Key, string Group, string Name, string Unit, double Minimum, double Maximum, double Step, Func<SceneDocument, double> Get, Func<SceneDocument, double, SceneDocument> Set)
{
    private const double MostDecimals = 1000;

    /// <summary>What a positive value does; null where the name says it.</summary>
    public string? Hint { get; init; }

    /// <summary>Whether equal steps of the slider are equal factors.</summary>
    public bool IsLogarithmic { get; init; }

    /// <summary>The slider's least position.</summary>
    public double First => IsLogarithmic ? 0 : Minimum;

    /// <summary>The slider's greatest position; a logarithmic one goes by percent of its way.</summary>
    public double Last => IsLogarithmic ? 100 : Maximum;

    /// <summary>The slider's step.</summary>
    public double SliderStep => IsLogarithmic ? 1 : Step;

    /// <summary>Where the slider stands for a value.</summary>
    /// <param name="value">The value, in <see cref="Unit"/>.</param>
    public double Position(double value)
    {
        double within = Math.Clamp(value, Minimum, Maximum);
        return IsLogarithmic ? 100 * Math.Log(within / Minimum) / Math.Log(Maximum / Minimum) : within;
    }

    /// <summary>The value that a slider's position stands for, in <see cref="Unit"/>.</summary>
    /// <param name="position">The slider's position.</param>
    public double At(double position)
    {
        if (!IsLogarithmic)
        {
            return position;
        }

        // Two digits are what a technique is set by.
        double value = Minimum * Math.Pow(Maximum / Minimum, position / 100);
        double digit = Math.Pow(10, Math.Floor(Math.Log10(value)) - 1);
        return Math.Round(Math.Round(value / digit) * digit, 6);
    }

    /// <summary>A value as it stands in the number box.</summary>
    /// <param name="value">The value, in <see cref="Unit"/>.</param>
    public static string Written(double value) => (Math.Round(value * MostDecimals) / MostDecimals).ToString("0.###", CultureInfo.InvariantCulture);

    /// <summary>A value with its unit, as it is said.</summary>
    /// <param name="value">The value, in <see cref="Unit"/>.</param>
    public string Said(double value) => Unit.Length == 0 ? Written(value) : Unit == "°" ? $"{Written(value)}°" : $"{Written(value)} {Unit}";

    /// <summary>What can be set in scenes that start from a given one.</summary>
    /// <param name="start">The scene to start from; it has a part.</param>
    /// <param name="part">Its part.</param>
    public static IReadOnlyList<LabSetting> For(SceneDocument start, LabPart part)
    {
        ArgumentNullException.ThrowIfNull(start);
        ArgumentNullException.ThrowIfNull(part);
        const string Position = "Position";
        const string Joints = "Joints";
        const string Technique = "Technique";
        const string Field = "Field and person";
        LabView view = part.Views.First(each => each.Name == start.Part!.View);
        List<LabSetting> settings =
        [
            new("turn", Position, "Turn", "°", -45, 45, 1, Of(lies => lies.TurnDegrees), With((lies, value) => lies with { TurnDegrees = value }))
            { Hint = "positive: the right edge towards the tube" },
            new("tilt", Position, "Tilt", "°", -30, 30, 1, Of(lies => lies.TiltDegrees), With((lies, value) => lies with { TiltDegrees = value }))
            { Hint = "positive: the lower end towards the tube" },
            new("lean", Position, "Lean", "°", -45, 45, 1, Of(lies => lies.LeanDegrees), With((lies, value) => lies with { LeanDegrees = value }))
            { Hint = "positive: clockwise" },
            new("shift-x", Position, "Shift to the right", "mm", -100, 100, 1, Of(lies => lies.ShiftMm[0]), With((lies, value) => lies with { ShiftMm = [value, lies.ShiftMm[1]] })),
            new("shift-y", Position, "Shift down", "mm", -100, 100, 1, Of(lies => lies.ShiftMm[1]), With((lies, value) => lies with { ShiftMm = [lies.ShiftMm[0], value] })),
            .. part.Joints.Select(joint => new LabSetting(
                "joint-" + joint.Name.ToLowerInvariant(), Joints, Words.OfLab(joint.Name), "°", joint.MinimumDegrees, joint.MaximumDegrees, 1,
                Of(lies => lies.Joints.GetValueOrDefault(joint.Name, view.Joints.GetValueOrDefault(joint.Name, joint.DefaultDegrees))),
                With((lies, value) => lies with { Joints = new Dictionary<string, double>(lies.Joints) { [joint.Name] = value } }))
            { Hint = joint.Meaning }),
            new("kvp", Technique, "Tube voltage", "kVp", 40, 150, 1, scene => scene.Tube.TubeVoltageKvp, (scene, value) => scene with { Tube = scene.Tube with { TubeVoltageKvp = value } }),
            new("mas", Technique, "Tube current-time product", "mAs", start.Tube.ExposureMas / 10, start.Tube.ExposureMas * 10, 0, scene => scene.Tube.ExposureMas, (scene, value) => scene with { Tube = scene.Tube with { ExposureMas = value } })
            { IsLogarithmic = true },
            new("sid", Technique, "Source-image distance", "mm", 700, 2000, 10, scene => scene.Tube.SourceImageDistanceMm, (scene, value) => scene with { Tube = scene.Tube with { SourceImageDistanceMm = value } }),
        ];
        if (start.Grid is not null)
        {
            settings.Add(new("grid-off-centre", Technique, "Grid off centre", "mm", -120, 120, 1, scene => scene.Grid?.OffCentreMm ?? 0, (scene, value) => scene.Grid is null ? scene : scene with { Grid = scene.Grid with { OffCentreMm = value } })
            { Hint = "across its strips, from the receptor's middle" });
        }

        settings.AddRange(
        [
            new("motion", Technique, "Motion during the exposure", "mm", 0, 6, 0.1, scene => scene.Motion is { } motion ? Math.Sqrt(motion.ShiftMm.Sum(each => each * each)) : 0,
                (scene, value) => scene with { Motion = value == 0 ? null : (scene.Motion ?? new SceneMotion()) with { ShiftMm = [value, 0] } })
            { Hint = "of the part, to the right" },
            new("field-width", Field, "Field width", "mm", 20, start.Receptor.WidthMm + 60, 1, scene => scene.Collimator.WidthMm, (scene, value) => scene with { Collimator = scene.Collimator with { WidthMm = value } }),
            new("field-height", Field, "Field height", "mm", 20, start.Receptor.HeightMm + 60, 1, scene => scene.Collimator.HeightMm, (scene, value) => scene with { Collimator = scene.Collimator with { HeightMm = value } }),
            new("field-x", Field, "Field centre to the right", "mm", -100, 100, 1, scene => scene.Collimator.CentreMm[0], (scene, value) => scene with { Collimator = scene.Collimator with { CentreMm = [value, scene.Collimator.CentreMm[1]] } }),
            new("field-y", Field, "Field centre down", "mm", -100, 100, 1, scene => scene.Collimator.CentreMm[1], (scene, value) => scene with { Collimator = scene.Collimator with { CentreMm = [scene.Collimator.CentreMm[0], value] } }),
            new("habitus", Field, "Habitus", "", 0.7, 1.5, 0.05, Of(lies => lies.Habitus), With((lies, value) => lies with { Habitus = value }))
            { Hint = "fat and muscle over those of an average body" },
        ]);
        return settings;

        static Func<SceneDocument, double> Of(Func<ScenePart, double> get) => scene => get(scene.Part!);

        static Func<SceneDocument, double, SceneDocument> With(Func<ScenePart, double, ScenePart> set) => (scene, value) => scene with { Part = set(scene.Part!, value) };
    }
}
