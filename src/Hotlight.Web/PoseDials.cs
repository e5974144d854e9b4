using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Poses;
using Hotlight.Simulation.Scene;

namespace Hotlight.Web;

/// <summary>What can be set otherwise for the picture of a repeat: exposure, distance, tube and collimation. Lengths are those of the room, whatever size the phantom is drawn at.</summary>
internal sealed class PoseDials
{
    private const string Exposure = "Exposure";
    private const string Tube = "Tube and field";
    private readonly Dictionary<string, double> set = new(StringComparer.Ordinal);

    /// <summary>Creates the dials for a scene.</summary>
    /// <param name="scene">The fitted pose as a scene.</param>
    /// <param name="sizeShare">Size of the person over that of the phantom: the room of the scene is drawn smaller by it.</param>
    public PoseDials(SceneDocument scene, double sizeShare)
    {
        ArgumentNullException.ThrowIfNull(scene);
        Start = scene;
        double Mm(double length) => Math.Round(length * sizeShare, 1);
        double width = Mm(scene.Collimator.WidthMm), height = Mm(scene.Collimator.HeightMm);
        Settings =
        [
            new("pose-kvp", Exposure, "Tube voltage", "kVp", 40, 150, 1, scene => scene.Tube.TubeVoltageKvp, (scene, value) => scene with { Tube = scene.Tube with { TubeVoltageKvp = value } }),
            new("pose-mas", Exposure, "Tube current-time product", "mAs", scene.Tube.ExposureMas / 10, scene.Tube.ExposureMas * 10, 0, scene => scene.Tube.ExposureMas, (scene, value) => scene with { Tube = scene.Tube with { ExposureMas = value } })
            { IsLogarithmic = true },
            new("pose-sid", Tube, "Source-image distance", "mm", 700, 2000, 10, scene => Mm(scene.Tube.SourceImageDistanceMm), (scene, value) => scene with { Tube = scene.Tube with { SourceImageDistanceMm = value / sizeShare } }),
            new("pose-angle-top", Tube, "Tube angle, up and down", "°", -30, 30, 1, scene => scene.Tube.AngleDegrees[0], (scene, value) => scene with { Tube = scene.Tube with { AngleDegrees = [value, scene.Tube.AngleDegrees[1]] } })
            { Hint = "positive: the ray goes towards the image's top" },
            new("pose-angle-right", Tube, "Tube angle, sideways", "°", -30, 30, 1, scene => scene.Tube.AngleDegrees[1], (scene, value) => scene with { Tube = scene.Tube with { AngleDegrees = [scene.Tube.AngleDegrees[0], value] } })
            { Hint = "positive: the ray goes towards the right" },
            new("pose-field-width", Tube, "Field width", "mm", 20, width, 1, scene => Mm(scene.Collimator.WidthMm), (scene, value) => scene with { Collimator = scene.Collimator with { WidthMm = value / sizeShare } }),
            new("pose-field-height", Tube, "Field height", "mm", 20, height, 1, scene => Mm(scene.Collimator.HeightMm), (scene, value) => scene with { Collimator = scene.Collimator with { HeightMm = value / sizeShare } }),
        ];
    }

    /// <summary>What can be set.</summary>
    public IReadOnlyList<LabSetting> Settings { get; }

    /// <summary>The scene that they start from.</summary>
    public SceneDocument Start { get; }

    /// <summary>Whether something is set otherwise than at the start.</summary>
    public bool IsChanged => set.Count > 0;

    /// <summary>The technique that the simulation starts from: what the header records where it does, the lab's usual one for the view otherwise.</summary>
    /// <param name="model">The model.</param>
    /// <param name="exposure">What the header says.</param>
    public static SceneDocument Technique(PoseModel model, ExposureRecord exposure)
    {
        ArgumentNullException.ThrowIfNull(model);
        ArgumentNullException.ThrowIfNull(exposure);
        SceneDocument usual = SceneStarts.For(model.Part, model.View);
        return usual with
        {
            Tube = usual.Tube with
            {
                TubeVoltageKvp = exposure.TubeVoltageKvp is >= 40 and <= 150 and var voltage ? voltage : usual.Tube.TubeVoltageKvp,
                ExposureMas = exposure.ExposureMas is >= 0.05 and <= 500 and var product ? product : usual.Tube.ExposureMas,
            },
        };
    }

    /// <summary>A setting's value.</summary>
    /// <param name="setting">The setting.</param>
    public double Of(LabSetting setting) => set.GetValueOrDefault(setting.Key, setting.Get(Start));

    /// <summary>Sets a value; the one it starts from takes the setting back.</summary>
    /// <param name="setting">The setting.</param>
    /// <param name="value">The value, in the setting's unit.</param>
    public void Set(LabSetting setting, double value)
    {
        ArgumentNullException.ThrowIfNull(setting);
        if (LabSetting.Written(value) == LabSetting.Written(setting.Get(Start)))
        {
            set.Remove(setting.Key);
        }
        else
        {
            set[setting.Key] = value;
        }
    }

    /// <summary>Takes all back.</summary>
    public void Reset() => set.Clear();

    /// <summary>Takes over what is set on other dials, as far as it can be set here.</summary>
    /// <param name="other">The other dials; null: nothing is taken over.</param>
    public void Take(PoseDials? other)
    {
        foreach ((string key, double value) in other?.set ?? [])
        {
            set[key] = value;
        }
    }

    /// <summary>A scene with everything that is set.</summary>
    /// <param name="scene">The scene.</param>
    public SceneDocument On(SceneDocument scene)
    {
        foreach (LabSetting setting in Settings)
        {
            if (set.TryGetValue(setting.Key, out double value))
            {
                scene = setting.Set(scene, value);
            }
        }

        return scene;
    }

    /// <summary>What is set otherwise, in words; empty where nothing is.</summary>
    public string Said => string.Join("; ", Settings.Where(setting => set.ContainsKey(setting.Key)).Select(setting => $"{setting.Name.ToLowerInvariant()} {setting.Said(set[setting.Key])} instead of {setting.Said(setting.Get(Start))}"));
}
