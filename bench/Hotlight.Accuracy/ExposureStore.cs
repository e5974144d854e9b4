using Hotlight.Accuracy.Elsewhere;
using Hotlight.Simulation;
using Hotlight.Simulation.Scene;

namespace Hotlight.Accuracy;

/// <summary>Exposures on disk: NAME.presentation.dcm, NAME.processing.dcm and NAME.truth.json, written once.</summary>
internal static class ExposureStore
{
    // Spread so that every kind meets every projection and no two kinds begin with the same one.
    private static readonly (string Part, string View)[] Views =
    [
        ("wrist", "pa"), ("elbow", "lateral"), ("knee", "ap"), ("chest", "pa"), ("wrist", "lateral"), ("foot", "ankle-mortise"), ("lumbarSpine", "ap"), ("knee", "lateral"),
    ];

    /// <summary>Kinds of fault of the lab, and all of them at once.</summary>
    public static string[] LabKinds { get; } = [.. SceneSeries.Kinds.Select(kind => kind.Name), "all"];

    /// <summary>Makes what is missing of a series of the lab and returns the exposures' paths without their endings.</summary>
    /// <param name="folder">Where they lie.</param>
    /// <param name="perKind">Exposures a kind.</param>
    /// <param name="seed">Seed of the series.</param>
    public static List<string> Lab(string folder, int perKind, ulong seed)
    {
        folder = Path.Combine(folder, $"lab-{seed}");
        Directory.CreateDirectory(folder);
        List<string> paths = [];
        for (int number = 0; number < perKind; number++)
        {
            for (int kind = 0; kind < LabKinds.Length; kind++)
            {
                (string part, string view) = Views[(number + kind) % Views.Length];
                string path = Path.Combine(folder, $"{LabKinds[kind]}-{number:000}-{part}-{view}");
                paths.Add(path);
                if (File.Exists(path + ".truth.json"))
                {
                    continue;
                }

                Console.Error.Write($"\rmaking {paths.Count} of {perKind * LabKinds.Length}  {Path.GetFileName(path),-44}");
                SceneDocument start = SceneStarts.For(part, view);
                start = start with { Seed = seed + (ulong)(1000 * number) };
                string[] kinds = LabKinds[kind] == "all" ? LabKinds[..^1] : [LabKinds[kind]];
                LabExposure exposure = Simulation.Lab.Expose(SceneSeries.Vary(start, 1, kinds).Single());
                string name = Path.GetFileName(path);
                File.WriteAllBytes(path + ".processing.dcm", exposure.ForProcessing());
                File.WriteAllBytes(path + ".presentation.dcm", exposure.ForPresentation());

                // Last, so that an exposure that was broken off is made again.
                File.WriteAllText(path + ".truth.json", exposure.TruthFile([name + ".processing.dcm", name + ".presentation.dcm"]));
            }
        }

        Console.Error.WriteLine();
        return paths;
    }

    /// <summary>The same of the second generator.</summary>
    /// <param name="folder">Where they lie.</param>
    /// <param name="count">How many.</param>
    /// <param name="seed">Seed of the series.</param>
    public static List<string> Elsewhere(string folder, int count, ulong seed)
    {
        folder = Path.Combine(folder, $"elsewhere-{seed}");
        Directory.CreateDirectory(folder);
        List<string> paths = [];
        for (int number = 0; number < count; number++)
        {
            var plan = new ElsewherePlan(number, seed);
            string path = Path.Combine(folder, $"{plan.Kind}-{number:000}-{plan.Form.Name}");
            paths.Add(path);
            if (!File.Exists(path + ".truth.json"))
            {
                Console.Error.Write($"\rmaking {paths.Count} of {count}  {Path.GetFileName(path),-44}");
                ElsewhereFiles.Write(folder, Path.GetFileName(path), new ElsewhereExposure(plan));
            }
        }

        Console.Error.WriteLine();
        return paths;
    }
}
