using Hotlight.Simulation.Projection;

namespace Hotlight.Simulation.Scene;

/// <summary>Makes a series of scenes out of one, for practice and for testing measures: each is varied in the ways asked for, by a severity that is drawn and kept.</summary>
public static class SceneSeries
{
    /// <summary>What can be varied, with what it does at severity 1.</summary>
    public static IReadOnlyList<(string Name, string Meaning)> Kinds { get; } =
    [
        ("position", "turn up to 20°, tilt up to 10°, lean up to 8°, off centre by up to 20 mm"),
        ("exposure", "mAs for a deviation index of −6 to +6 from the scene's own"),
        ("motion", "a way of up to 3 mm during the exposure"),
        ("collimation", "the field 30 % smaller to 70 % larger each way, off by up to 20 mm, turned by up to 8°"),
        ("marker", "turned up to 90°; from severity 0.5 mirrored, drawn, the wrong letter, beyond the field or left out"),
        ("mask", "from severity 0.5 a mask that crops the field"),
        ("artifact", "a ring, button, pin, zip, wire, electrode or necklace; from severity 0.5 two of them"),
        ("grid", "off centre by up to 60 mm across the strips and tilted by up to 6°; scenes without a grid stay as they are"),
        ("person", "side, habitus 0.8 to 1.4, and a child above severity 0.7"),
        ("receptor", "dead elements and lines, gain steps of up to 2 %, lag of up to 3 %"),
    ];

    /// <summary>A series of varied scenes.</summary>
    /// <param name="scene">The scene to vary; its seed decides the whole series.</param>
    /// <param name="count">Number of scenes, 1 to 10,000.</param>
    /// <param name="kinds">Names of <see cref="Kinds"/>, in any order.</param>
    /// <exception cref="ArgumentException">A kind is unknown or the count is out of range; the message is one sentence.</exception>
    public static IEnumerable<SceneDocument> Vary(SceneDocument scene, int count, IReadOnlyList<string> kinds)
    {
        ArgumentNullException.ThrowIfNull(scene);
        ArgumentNullException.ThrowIfNull(kinds);
        if (count is < 1 or > 10_000)
        {
            throw new ArgumentException($"A series has 1 to 10000 exposures, not {count}.", nameof(count));
        }

        foreach (string kind in kinds)
        {
            if (!Kinds.Any(known => known.Name == kind))
            {
                throw new ArgumentException($"'{kind}' cannot be varied; it is one of {string.Join(", ", Kinds.Select(known => known.Name))}.", nameof(kinds));
            }
        }

        return Enumerable.Range(1, count).Select(number => Varied(scene, number, kinds));
    }

    private static SceneDocument Varied(SceneDocument scene, int number, IReadOnlyList<string> kinds)
    {
        SceneDocument varied = scene with
        {
            Id = FormattableString.Invariant($"{scene.Id}-{number:000}"),
            Seed = scene.Seed + (ulong)number,
        };
        Dictionary<string, double> severities = [];

        // Each kind draws from its own stream, so that adding a kind leaves the others as they were.
        foreach ((string name, _) in Kinds.Where(known => kinds.Contains(known.Name)))
        {
            SplitMix random = new(Stream(scene.Seed, number, name));
            double severity = random.NextUniform() < 0.25 ? 0 : random.NextUniform();
            severities[name] = severity;
            varied = Apply(varied, name, severity, ref random);
        }

        return varied with { Varied = severities };
    }

    private static ulong Stream(ulong seed, int number, string name)
    {
        ulong stream = seed ^ (0xD1B54A32D192ED03UL * (ulong)number);
        foreach (char letter in name)
        {
            stream = (stream ^ letter) * 0x100000001B3UL;
        }

        return stream;
    }

    private static SceneDocument Apply(SceneDocument scene, string kind, double severity, ref SplitMix random)
    {
        double Signed(double most, ref SplitMix source) => severity * most * ((2 * source.NextUniform()) - 1);
        switch (kind)
        {
            case "position" when scene.Part is { } part:
                return scene with
                {
                    Part = part with
                    {
                        TurnDegrees = part.TurnDegrees + Signed(20, ref random),
                        TiltDegrees = part.TiltDegrees + Signed(10, ref random),
                        LeanDegrees = part.LeanDegrees + Signed(8, ref random),
                        ShiftMm = [part.ShiftMm[0] + Signed(20, ref random), part.ShiftMm[1] + Signed(20, ref random)],
                    },
                };
            case "exposure":
                return scene with { Tube = scene.Tube with { ExposureMas = Math.Round(scene.Tube.ExposureMas * Math.Pow(10, Signed(6, ref random) / 10), 3) } };
            case "motion" when severity > 0 && scene.Part is not null:
                double direction = 2 * Math.PI * random.NextUniform();
                return scene with { Motion = new SceneMotion { ShiftMm = [3 * severity * Math.Cos(direction), 3 * severity * Math.Sin(direction)] } };
            case "collimation":
                SceneCollimator opening = scene.Collimator;
                return scene with
                {
                    Collimator = opening with
                    {
                        WidthMm = opening.WidthMm * Scale(severity, ref random),
                        HeightMm = opening.HeightMm * Scale(severity, ref random),
                        CentreMm = [opening.CentreMm[0] + Signed(20, ref random), opening.CentreMm[1] + Signed(20, ref random)],
                        TurnDegrees = opening.TurnDegrees + Signed(8, ref random),
                    },
                };
            case "marker" when scene.Marker is { } marker:
                marker = marker with { TurnDegrees = marker.TurnDegrees + Signed(90, ref random) };
                return (severity < 0.5 ? -1 : (int)(5 * random.NextUniform())) switch
                {
                    0 => scene with { Marker = marker with { Mirrored = true } },
                    1 => scene with { Marker = marker with { Kind = "annotation" } },
                    2 => scene with { Marker = marker with { Letter = marker.Letter == "R" ? "L" : "R" } },
                    3 => scene with { Marker = marker with { CentreMm = [(scene.Collimator.WidthMm / 2) + 9, marker.CentreMm[1]] } },
                    4 => scene with { Marker = null },
                    _ => scene with { Marker = marker },
                };
            case "mask" when severity >= 0.5:
                return scene with
                {
                    Rendering = scene.Rendering with
                    {
                        Mask = new SceneMask
                        {
                            CentreMm = [.. scene.Collimator.CentreMm],
                            WidthMm = scene.Collimator.WidthMm * (1.1 - (0.5 * severity)),
                            HeightMm = scene.Collimator.HeightMm * (1.1 - (0.5 * severity)),
                        },
                    },
                };
            case "artifact" when severity > 0:
                string[] things = ["button", "pin", "zip", "wire", "electrode", "necklace", "ring"];
                List<SceneObject> objects = [.. scene.Objects];
                int most = severity < 0.5 ? 1 : 2;
                for (int k = 0; k < most; k++)
                {
                    objects.Add(new SceneObject
                    {
                        Kind = things[(int)(things.Length * random.NextUniform())],
                        CentreMm =
                        [
                            scene.Collimator.CentreMm[0] + (scene.Collimator.WidthMm * 0.4 * ((2 * random.NextUniform()) - 1)),
                            scene.Collimator.CentreMm[1] + (scene.Collimator.HeightMm * 0.4 * ((2 * random.NextUniform()) - 1)),
                            5,
                        ],
                        TurnDegrees = 360 * random.NextUniform(),
                    });
                }

                return scene with { Objects = objects };
            case "grid" when scene.Grid is { } grid:
                return scene with { Grid = grid with { OffCentreMm = grid.OffCentreMm + Signed(60, ref random), TiltDegrees = grid.TiltDegrees + Signed(6, ref random) } };
            case "person" when scene.Part is { } person:
                return scene with
                {
                    Part = person with
                    {
                        Side = random.NextUniform() < 0.5 ? "R" : "L",
                        Habitus = Math.Clamp(person.Habitus + (severity * ((0.6 * random.NextUniform()) - 0.2)), 0.8, 1.4),
                        Size = severity > 0.7 ? "child" : person.Size,
                    },
                };
            case "receptor":
                return scene with
                {
                    Receptor = scene.Receptor with
                    {
                        DeadElements = (int)(severity * 40 * random.NextUniform()),
                        DeadLines = severity > 0.5 ? 1 : 0,
                        GainStepPercent = severity * 2 * random.NextUniform(),
                        LagPercent = severity * 3 * random.NextUniform(),
                    },
                };
            default:
                return scene;
        }
    }

    private static double Scale(double severity, ref SplitMix random)
    {
        double drawn = (2 * random.NextUniform()) - 1;
        return 1 + (severity * (drawn < 0 ? 0.3 * drawn : 0.7 * drawn));
    }
}
