using System.ComponentModel;
using System.Globalization;
using Hotlight.Cli.Rendering;
using Hotlight.Core;
using Hotlight.Simulation;
using Hotlight.Simulation.Scene;
using Spectre.Console.Cli;

namespace Hotlight.Cli.Commands;

/// <summary>hotlight expose SCENE.json --out DIR.</summary>
internal sealed class ExposeCommand : Command<ExposeCommand.Settings>
{
    public override int Execute(CommandContext context, Settings settings, CancellationToken cancellationToken)
    {
        if (settings.Parts)
        {
            ListParts();
            return HotlightCommandLine.Done;
        }

        if (settings.Example is { } example)
        {
            Terminal.Output.Write(ExampleOf(example));
            return HotlightCommandLine.Done;
        }

        if (settings.Scene is not { } file)
        {
            throw new RefusedException("name a scene file; 'hotlight expose --example wrist:pa' prints one to start from.");
        }

        if (settings.Out is not { } folder)
        {
            throw new RefusedException("say where the exposure goes: --out DIR.");
        }

        if (File.Exists(folder))
        {
            throw new RefusedException($"the exposure cannot be written to '{folder}': there is a file of that name; give a folder.");
        }

        SceneDocument scene = Read(file);
        if (settings.Seed is { } seed)
        {
            scene = scene with { Seed = seed };
        }

        IReadOnlyList<SceneDocument> scenes = Scenes(scene, settings);
        string meshes = Path.GetDirectoryName(Path.GetFullPath(file))!;
        using ProgressLine progress = ProgressLine.ForSteps(Terminal.Errors, scenes.Count);
        for (int number = 0; number < scenes.Count; number++)
        {
            SceneDocument each = scenes[number];
            int done = number;
            progress.Report(done, each.Id);
            try
            {
                LabExposure exposure = Lab.Expose(each, meshes, new Told<double>(share => progress.Report(done, each.Id, share)), cancellationToken);
                Write(exposure, scenes.Count == 1 ? folder : Path.Combine(folder, each.Id), settings);
            }
            catch (UnreadableSceneException error)
            {
                throw new RefusedException($"{Path.GetFileName(file)}: {error.Reason}");
            }
            catch (Exception error) when (error is IOException or UnauthorizedAccessException)
            {
                throw new RefusedException($"the exposure cannot be written to '{folder}': {Terminal.Reason(error)}.");
            }
        }

        return HotlightCommandLine.Done;
    }

    private static SceneDocument Read(string file)
    {
        try
        {
            if (new FileInfo(file) is { Exists: true, Length: > 4_000_000 })
            {
                throw new RefusedException($"'{file}' is too large for a scene.");
            }

            return SceneJson.Read(File.ReadAllText(file), Path.GetFileName(file));
        }
        catch (UnreadableSceneException error)
        {
            throw new RefusedException(error.Message);
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            throw new RefusedException($"'{file}' cannot be read: {Terminal.Reason(error)}.");
        }
    }

    private static IReadOnlyList<SceneDocument> Scenes(SceneDocument scene, Settings settings)
    {
        if (settings.Series is not { } count)
        {
            return settings.Vary is null
                ? [scene]
                : throw new RefusedException("--vary goes with --series: say how many exposures, such as --series 20.");
        }

        try
        {
            string[] kinds = (settings.Vary ?? "position,exposure").Split(',', StringSplitOptions.TrimEntries | StringSplitOptions.RemoveEmptyEntries);
            return [.. SceneSeries.Vary(scene, count, [.. kinds.Select(kind => kind.ToLowerInvariant())])];
        }
        catch (ArgumentException error)
        {
            int parameter = error.Message.IndexOf(" (Parameter", StringComparison.Ordinal);
            string text = parameter > 0 ? error.Message[..parameter] : error.Message;
            throw new RefusedException(char.ToLowerInvariant(text[0]) + text[1..]);
        }
    }

    private static void Write(LabExposure exposure, string folder, Settings settings)
    {
        Directory.CreateDirectory(folder);
        List<string> files = [];
        string id = exposure.Scene.Id;
        bool both = !settings.ForProcessing && !settings.ForPresentation;
        if (both || settings.ForPresentation)
        {
            files.Add(id + ".dcm");
            WholeFile.Write(Path.Combine(folder, files[^1]), exposure.ForPresentation());
        }

        if (both || settings.ForProcessing)
        {
            files.Add(id + "-for-processing.dcm");
            WholeFile.Write(Path.Combine(folder, files[^1]), exposure.ForProcessing());
        }

        WholeFile.Write(Path.Combine(folder, "truth.json"), System.Text.Encoding.UTF8.GetBytes(exposure.TruthFile(files)));
    }

    private static void ListParts()
    {
        foreach (LabPart part in Lab.Parts)
        {
            (IReadOnlyList<string> landmarks, IReadOnlyList<string> bones) = Lab.Anatomy(part.Name);
            Terminal.Output.WriteLine(part.Name);
            foreach (LabView view in part.Views)
            {
                string joints = string.Join(", ", view.Joints.Select(joint => string.Create(CultureInfo.InvariantCulture, $"{joint.Key} {joint.Value:0.#}")));
                Terminal.Output.WriteLine($"  view      {view.Name,-16}{view.ProjectionId}{(joints.Length > 0 ? $"  ({joints})" : "")}");
            }

            foreach (LabJoint joint in part.Joints)
            {
                Terminal.Output.WriteLine(string.Create(CultureInfo.InvariantCulture, $"  joint     {joint.Name,-16}{joint.MinimumDegrees:0.#} to {joint.MaximumDegrees:0.#}, {joint.DefaultDegrees:0.#} where nothing is said. {joint.Meaning}"));
            }

            Terminal.Output.WriteLine($"  landmarks {string.Join(", ", landmarks)}");
            Terminal.Output.WriteLine($"  bones     {string.Join(", ", bones)}");
        }
    }

    private static string ExampleOf(string example)
    {
        string[] words = example.Split(':');
        LabPart part = Lab.Parts.FirstOrDefault(known => known.Name == words[0])
            ?? throw new RefusedException($"there is no part '{words[0]}'; there are {string.Join(", ", Lab.Parts.Select(known => known.Name))}.");
        string view = words.Length > 1 ? words[1] : part.Views[0].Name;
        if (!part.Views.Any(known => known.Name == view))
        {
            throw new RefusedException($"the {part.Name} has no view '{view}'; it has {string.Join(", ", part.Views.Select(known => known.Name))}.");
        }

        return SceneJson.Write(SceneStarts.For(part.Name, view));
    }

    internal sealed class Settings : CommandSettings
    {
        [CommandArgument(0, "[SCENE]")]
        [Description("Scene file (JSON).")]
        public string? Scene { get; init; }

        [CommandOption("-o|--out <DIR>")]
        [Description("Folder for the DICOM files and truth.json; it is made where needed.")]
        public string? Out { get; init; }

        [CommandOption("--for-processing")]
        [Description("Write only the image for processing; without this and the next, both are written.")]
        public bool ForProcessing { get; init; }

        [CommandOption("--for-presentation")]
        [Description("Write only the image for presentation.")]
        public bool ForPresentation { get; init; }

        [CommandOption("--seed <NUMBER>")]
        [Description("Seed in place of the scene's own.")]
        public ulong? Seed { get; init; }

        [CommandOption("--series <COUNT>")]
        [Description("Make a series of varied exposures, each in a folder of its own.")]
        public int? Series { get; init; }

        [CommandOption("--vary <KINDS>")]
        [Description("What a series varies, with commas: position, exposure, motion, collimation, marker, mask, artifact, grid, person, receptor. Without it: position,exposure.")]
        public string? Vary { get; init; }

        [CommandOption("--parts")]
        [Description("List the parts of the body with their views, joints, landmarks and bones.")]
        public bool Parts { get; init; }

        [CommandOption("--example <PART:VIEW>")]
        [Description("Print a scene to start from, such as wrist:pa.")]
        public string? Example { get; init; }
    }
}
