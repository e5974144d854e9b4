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
                Write(path, SceneSeries.Vary(start, 1, kinds).Single());
            }
        }

        Console.Error.WriteLine();
        return paths;
    }

    /// <summary>Makes what is missing of a series of the lab with words in place of letters, 6 to 25 mm high, and returns the exposures' paths without their endings.</summary>
    /// <param name="folder">Where they lie.</param>
    /// <param name="count">How many.</param>
    /// <param name="seed">Seed of the series.</param>
    public static List<string> LabWords(string folder, int count, ulong seed)
    {
        folder = Path.Combine(folder, $"lab-words-{seed}");
        Directory.CreateDirectory(folder);
        List<string> paths = [];
        for (int number = 0; number < count; number++)
        {
            (string part, string view) = Views[number % Views.Length];
            string path = Path.Combine(folder, $"word-{number:000}-{part}-{view}");
            paths.Add(path);
            if (File.Exists(path + ".truth.json"))
            {
                continue;
            }

            Console.Error.Write($"\rmaking {paths.Count} of {count}  {Path.GetFileName(path),-44}");
            var random = new Random(unchecked((int)((seed * 0x9E3779B97F4A7C15UL) ^ ((ulong)number * 3266489917UL))));
            double In(double from, double to) => from + ((to - from) * random.NextDouble());
            SceneDocument start = SceneStarts.For(part, view);
            string[] words = ElsewherePlan.Words;
            int which = random.Next(words.Length);
            double width = start.Collimator.WidthMm, tall = start.Collimator.HeightMm;

            // The lab's letters are about 0.8 of their height from one to the next.
            double half = (0.4 * words[which].Length) + 0.2;
            double height = In(6, Math.Max(6, Math.Min(25, 0.4 * Math.Min(width, tall) / half)));
            double turn = random.Next(3) == 0 ? In(-9, 9) : In(-180, 180);
            double c = Math.Abs(Math.Cos(turn * Math.PI / 180)), s = Math.Abs(Math.Sin(turn * Math.PI / 180));
            double reachX = height * ((half * c) + (0.8 * s)) + 5, reachY = height * ((half * s) + (0.8 * c)) + 5;
            bool drawn = random.Next(5) == 0;
            SceneMarker marker = start.Marker! with
            {
                Letter = which < words.Length / 2 ? "L" : "R",
                Word = words[which],
                Kind = drawn ? "annotation" : "lead",
                HeightMm = height,
                TurnDegrees = drawn ? 0 : turn,
                Mirrored = !drawn && random.Next(4) == 0,
                CentreMm = [(random.Next(2) == 0 ? 1 : -1) * ((width / 2) - reachX), (random.Next(2) == 0 ? 1 : -1) * ((tall / 2) - reachY)],
            };
            Write(path, start with { Seed = seed + (ulong)(1000 * number), Marker = marker });
        }

        Console.Error.WriteLine();
        return paths;
    }

    /// <summary>Makes what is missing of a series of the lab exposed twice, the part moved between, and returns the exposures' paths without their endings.</summary>
    /// <param name="folder">Where they lie.</param>
    /// <param name="count">How many.</param>
    /// <param name="seed">Seed of the series.</param>
    public static List<string> LabDoubles(string folder, int count, ulong seed)
    {
        folder = Path.Combine(folder, $"lab-doubles-{seed}");
        Directory.CreateDirectory(folder);
        List<string> paths = [];
        for (int number = 0; number < count; number++)
        {
            (string part, string view) = Views[number % Views.Length];
            string path = Path.Combine(folder, $"double-{number:000}-{part}-{view}");
            paths.Add(path);
            if (File.Exists(path + ".truth.json"))
            {
                continue;
            }

            Console.Error.Write($"\rmaking {paths.Count} of {count}  {Path.GetFileName(path),-44}");
            var random = new Random(unchecked((int)((seed * 0x9E3779B97F4A7C15UL) ^ ((ulong)number * 668265263UL))));
            double In(double from, double to) => from + ((to - from) * random.NextDouble());
            (double sin, double cos) = Math.SinCos(In(0, 2 * Math.PI));
            double way = In(6, 35);
            double turn = random.Next(2) == 0 ? 0 : In(-12, 12);
            double lean = random.Next(2) == 0 ? 0 : In(-12, 12);
            SceneDocument start = SceneStarts.For(part, view) with
            {
                Seed = seed + (ulong)(1000 * number),
                SecondExposure = new SceneSecondExposure { ShiftMm = [way * cos, way * sin], TurnDegrees = turn, LeanDegrees = lean, ExposureShare = In(0.3, 1) },
            };
            Write(path, start);
        }

        Console.Error.WriteLine();
        return paths;
    }

    /// <summary>Makes what is missing of a series of the second generator with two bodies and two beams on each receptor, and returns the exposures' paths without their endings.</summary>
    /// <param name="folder">Where they lie.</param>
    /// <param name="count">How many.</param>
    /// <param name="seed">Seed of the series.</param>
    public static List<string> ElsewhereDoubles(string folder, int count, ulong seed)
    {
        folder = Path.Combine(folder, $"elsewhere-doubles-{seed}");
        Directory.CreateDirectory(folder);
        List<string> paths = [];
        for (int number = 0; number < count; number++)
        {
            var plan = new ElsewherePlan(number, seed);
            string path = Path.Combine(folder, $"double-{number:000}-{plan.Form.Name}");
            paths.Add(path);
            if (!File.Exists(path + ".truth.json"))
            {
                Console.Error.Write($"\rmaking {paths.Count} of {count}  {Path.GetFileName(path),-44}");
                double share = 0.3 + (0.7 * new Random(unchecked((int)((seed * 0x9E3779B97F4A7C15UL) ^ ((ulong)number * 374761393UL)))).NextDouble());

                // The same form again, drawn anew: its number is the same but for whole rounds of the forms.
                var second = new ElsewherePlan(number + (BodyForm.All.Length * 1000), seed);
                ElsewhereFiles.Write(folder, Path.GetFileName(path), new ElsewhereExposure(plan, second, share));
            }
        }

        Console.Error.WriteLine();
        return paths;
    }

    /// <summary>The same of the second generator.</summary>
    /// <param name="folder">Where they lie.</param>
    /// <param name="count">How many.</param>
    /// <param name="seed">Seed of the series.</param>
    /// <param name="words">Whether every exposure has a word in place of a letter.</param>
    public static List<string> Elsewhere(string folder, int count, ulong seed, bool words = false)
    {
        folder = Path.Combine(folder, $"elsewhere-{(words ? "words-" : string.Empty)}{seed}");
        Directory.CreateDirectory(folder);
        List<string> paths = [];
        for (int number = 0; number < count; number++)
        {
            var plan = new ElsewherePlan(number, seed, words);
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

    private static void Write(string path, SceneDocument scene)
    {
        LabExposure exposure = Simulation.Lab.Expose(scene);
        string name = Path.GetFileName(path);
        File.WriteAllBytes(path + ".processing.dcm", exposure.ForProcessing());
        File.WriteAllBytes(path + ".presentation.dcm", exposure.ForPresentation());

        // Last, so that an exposure that was broken off is made again.
        File.WriteAllText(path + ".truth.json", exposure.TruthFile([name + ".processing.dcm", name + ".presentation.dcm"]));
    }
}
