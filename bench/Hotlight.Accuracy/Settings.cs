using System.Globalization;

namespace Hotlight.Accuracy;

/// <summary>What the command line asks for.</summary>
internal sealed record Settings
{
    /// <summary>What is printed on --help.</summary>
    public const string Help = """
        Measures exposures whose truth is known and prints the errors as Markdown tables.

        usage: bench/accuracy [--per-kind N] [--elsewhere N] [--seed S] [--keep FOLDER] [--real FOLDER [--half tune|held|both]] [--list]

          --per-kind N    exposures of the phantom lab for each of its kinds of fault, and N of all faults together; 24 unless told, 0 for none
          --elsewhere N   exposures of the second generator; none unless told
          --words N       N exposures of each generator with words (LEFT, RECHTS, IZQ, ...) in place of letters, measured with those words given; no other series then
          --doubles N     N exposures of each generator exposed twice; no other series then
          --seed S        seed of both series; 1 unless told
          --keep FOLDER   exposures are written there once and read again by later runs; else in a temporary folder that is removed
          --real FOLDER   the shared data folder with radiographs-photo, radiographs-dicom and phantoms, against bench/truth/radiographs.json
          --half HALF     which half of the real images: tune (unless told), held or both
          --list          a line for every exposure before the tables
          --make-only     writes the exposures that are missing and measures nothing

        examples:
          bench/accuracy                                                   the lab, 264 exposures, each for presentation and for processing
          bench/accuracy --per-kind 2 --seed 9                             a quick look with other exposures
          bench/accuracy --elsewhere 120 --keep ../exposures --seed 5      both generators side by side; a second run is fast
          bench/accuracy --per-kind 0 --real ../shared/data                real images only
        """;

    /// <summary>Exposures of the lab a kind.</summary>
    public int PerKind { get; init; } = 24;

    /// <summary>Exposures of the second generator.</summary>
    public int Elsewhere { get; init; }

    /// <summary>Exposures of each generator with words; 0 for the other series.</summary>
    public int Words { get; init; }

    /// <summary>Exposures of each generator exposed twice; 0 for the other series.</summary>
    public int Doubles { get; init; }

    /// <summary>Seed of both.</summary>
    public ulong Seed { get; init; } = 1;

    /// <summary>Where exposures are kept; null for nowhere.</summary>
    public string? Keep { get; init; }

    /// <summary>Folder of the real images; null for none.</summary>
    public string? Real { get; init; }

    /// <summary>Which halves of the real images.</summary>
    public string[] Halves { get; init; } = ["tune"];

    /// <summary>Whether every exposure is listed.</summary>
    public bool List { get; init; }

    /// <summary>Whether nothing is measured.</summary>
    public bool MakeOnly { get; init; }

    /// <summary>Reads the command line.</summary>
    /// <param name="arguments">Its words.</param>
    /// <exception cref="ArgumentException">A word is not understood; the message is one sentence.</exception>
    public static Settings Parse(string[] arguments)
    {
        var settings = new Settings();
        for (int at = 0; at < arguments.Length; at++)
        {
            string option = arguments[at];
            string Next() => at + 1 < arguments.Length ? arguments[++at] : throw new ArgumentException($"{option} needs a value.");
            int Count() => int.TryParse(Next(), NumberStyles.None, CultureInfo.InvariantCulture, out int count) && count <= 10_000 ? count : throw new ArgumentException($"{option} needs a number from 0 to 10000.");
            settings = option switch
            {
                "--per-kind" => settings with { PerKind = Count() },
                "--elsewhere" => settings with { Elsewhere = Count() },
                "--words" => settings with { Words = Count() },
                "--doubles" => settings with { Doubles = Count() },
                "--seed" => settings with { Seed = ulong.TryParse(Next(), NumberStyles.None, CultureInfo.InvariantCulture, out ulong seed) ? seed : throw new ArgumentException("--seed needs a whole number.") },
                "--keep" => settings with { Keep = Next() },
                "--real" => settings with { Real = Next() },
                "--half" => settings with
                {
                    Halves = Next() switch
                    {
                        "tune" => ["tune"],
                        "held" => ["held"],
                        "both" => ["tune", "held"],
                        string other => throw new ArgumentException($"--half is tune, held or both, not {other}."),
                    },
                },
                "--list" => settings with { List = true },
                "--make-only" => settings with { MakeOnly = true },
                _ => throw new ArgumentException($"'{option}' is not understood; --help says what is."),
            };
        }

        return settings;
    }
}
