using Hotlight.Simulation.Phantom;

namespace Hotlight.Simulation.Scene;

/// <summary>Checks a scene before anything is computed.</summary>
internal static class SceneChecks
{
    /// <summary>Largest number of pixels of one exposure.</summary>
    public const long MostPixels = 36_000_000;

    /// <exception cref="UnreadableSceneException">A member is beyond what can be exposed.</exception>
    public static void Check(SceneDocument scene, string file)
    {
        void Range(double value, double low, double high, string name, string unit)
        {
            if (!(value >= low && value <= high))
            {
                throw new UnreadableSceneException(file, FormattableString.Invariant($"{name} is {value}; it goes from {low} to {high}{(unit.Length > 0 ? " " + unit : "")}."));
            }
        }

        void One(string? value, string name, params string[] allowed)
        {
            if (value is not null && !allowed.Contains(value, StringComparer.Ordinal))
            {
                throw new UnreadableSceneException(file, $"{name} is '{value}'; it is one of {string.Join(", ", allowed)}.");
            }
        }

        void Vector(IReadOnlyList<double> value, int count, double reach, string name)
        {
            if (value.Count != count)
            {
                throw new UnreadableSceneException(file, $"{name} has {value.Count} numbers; it takes {count}.");
            }

            foreach (double each in value)
            {
                Range(each, -reach, reach, name, "");
            }
        }

        if (scene.Id.Length is 0 or > 64 || scene.Id.Any(letter => !(char.IsAsciiLetterLower(letter) || char.IsAsciiDigit(letter) || letter == '-')))
        {
            throw new UnreadableSceneException(file, "id names the files: lower case letters, digits and hyphens, at most 64.");
        }

        if (scene.Part is null && scene.Meshes.Count == 0 && scene.Objects.Count == 0)
        {
            throw new UnreadableSceneException(file, "nothing is in the beam; give a part, meshes or objects.");
        }

        if (scene.Part is { } part)
        {
            try
            {
                PartPhantom phantom = PartPhantoms.ByName(part.Name);
                phantom.View(part.View);
                phantom.Check(part.Joints);
            }
            catch (ArgumentException error)
            {
                throw new UnreadableSceneException(file, Lower(error.Message), error);
            }

            One(part.Side, "part.side", "R", "L");
            One(part.Size, "part.size", "adult", "child");
            Range(part.Habitus, 0.7, 1.5, "part.habitus", "");
            Range(part.TurnDegrees, -180, 180, "part.turnDegrees", "degrees");
            Range(part.TiltDegrees, -60, 60, "part.tiltDegrees", "degrees");
            Range(part.LeanDegrees, -180, 180, "part.leanDegrees", "degrees");
            Range(part.LiftMm, 0, 400, "part.liftMm", "mm");
            Vector(part.ShiftMm, 2, 500, "part.shiftMm");
        }

        foreach (SceneMesh mesh in scene.Meshes)
        {
            One(mesh.Unit, "meshes.unit", "mm", "cm", "m");
            Known(mesh.Material);
            Known(mesh.Replaces);
            Range(mesh.Share, 0.001, 1, "meshes.share", "");
            Vector(mesh.TurnDegrees, 3, 360, "meshes.turnDegrees");
            Vector(mesh.CentreMm, 3, 800, "meshes.centreMm");
            if (Path.IsPathRooted(mesh.File) || mesh.File.Split('/', '\\').Contains(".."))
            {
                throw new UnreadableSceneException(file, $"meshes.file '{mesh.File}' leads out of the scene's folder; put the mesh beside the scene.");
            }
        }

        SceneTube tube = scene.Tube;
        Range(tube.TubeVoltageKvp, 40, 150, "tube.tubeVoltageKvp", "kVp");
        Range(tube.ExposureMas, 0.01, 1000, "tube.exposureMas", "mAs");
        Range(tube.ExposureTimeMs, 1, 10000, "tube.exposureTimeMs", "ms");
        Range(tube.SourceImageDistanceMm, 500, 4000, "tube.sourceImageDistanceMm", "mm");
        Range(tube.FocalSpotMm, 0, 3, "tube.focalSpotMm", "mm");
        Range(tube.AnodeAngleDegrees, 6, 25, "tube.anodeAngleDegrees", "degrees");
        Range(tube.RipplePercent, 0, 100, "tube.ripplePercent", "percent");
        One(tube.AnodeSide, "tube.anodeSide", "top", "right", "bottom", "left");
        Vector(tube.AngleDegrees, 2, 60, "tube.angleDegrees");
        Vector(tube.CentreMm, 2, 500, "tube.centreMm");
        void Known(string? material)
        {
            if (material is null)
            {
                return;
            }

            try
            {
                Attenuation.Material.ByName(material);
            }
            catch (ArgumentException error)
            {
                throw new UnreadableSceneException(file, Lower(error.Message), error);
            }
        }

        foreach (SceneFilter filter in tube.Filters)
        {
            Known(filter.Material);
            Range(filter.ThicknessMm, 0, 50, "tube.filters.thicknessMm", "mm");
        }

        if (scene.Grid is { } grid)
        {
            Range(grid.Ratio, 3, 20, "grid.ratio", "");
            Range(grid.LinesPerCm, 20, 100, "grid.linesPerCm", "per cm");
            One(grid.Strips, "grid.strips", "down", "across");
            Range(grid.OffCentreMm, -200, 200, "grid.offCentreMm", "mm");
            Range(grid.TiltDegrees, -30, 30, "grid.tiltDegrees", "degrees");
            if (grid.FocalDistanceMm is double focal)
            {
                Range(focal, 500, 4000, "grid.focalDistanceMm", "mm");
            }
        }

        SceneCollimator collimator = scene.Collimator;
        Range(collimator.WidthMm, 5, 700, "collimator.widthMm", "mm");
        Range(collimator.HeightMm, 5, 700, "collimator.heightMm", "mm");
        Range(collimator.TurnDegrees, -45, 45, "collimator.turnDegrees", "degrees");
        Range(collimator.LeafDistanceMm, 100, 450, "collimator.leafDistanceMm", "mm");
        Vector(collimator.CentreMm, 2, 500, "collimator.centreMm");

        SceneReceptor receptor = scene.Receptor;
        One(receptor.Kind, "receptor.kind", "caesium-iodide", "selenium", "storage-phosphor");
        Range(receptor.WidthMm, 20, 600, "receptor.widthMm", "mm");
        Range(receptor.HeightMm, 20, 600, "receptor.heightMm", "mm");
        Range(receptor.SpacingMm, 0.05, 2, "receptor.spacingMm", "mm");
        Range(receptor.GapMm, 0, 300, "receptor.gapMm", "mm");
        Range(receptor.DeadElements, 0, 10000, "receptor.deadElements", "");
        Range(receptor.DeadLines, 0, 50, "receptor.deadLines", "");
        Range(receptor.GainStepPercent, 0, 20, "receptor.gainStepPercent", "percent");
        Range(receptor.LagPercent, 0, 20, "receptor.lagPercent", "percent");
        if (receptor.WidthMm / receptor.SpacingMm * (receptor.HeightMm / receptor.SpacingMm) > MostPixels)
        {
            throw new UnreadableSceneException(file, $"the receptor has more than {MostPixels / 1_000_000} million pixels; make receptor.spacingMm larger.");
        }

        if (scene.Marker is { } marker)
        {
            One(marker.Letter, "marker.letter", "R", "L");
            if (marker.Word is { } word && (word.Length is < 2 or > 8 || !word.All(char.IsAsciiLetterUpper)))
            {
                throw new UnreadableSceneException(file, $"marker.word has 2 to 8 capital letters A to Z; '{word}' has not.");
            }

            One(marker.Kind, "marker.kind", "lead", "annotation");
            Vector(marker.CentreMm, 2, 400, "marker.centreMm");
            Range(marker.HeightMm, 3, 50, "marker.heightMm", "mm");
            Range(marker.AboveReceptorMm, 0, 400, "marker.aboveReceptorMm", "mm");
            Range(marker.TurnDegrees, -360, 360, "marker.turnDegrees", "degrees");
        }

        foreach (SceneObject thing in scene.Objects)
        {
            One(thing.Kind, "objects.kind", "ring", "zip", "pin", "necklace", "button", "wire", "electrode", "cast", "shield", "screw-plate", "slab");
            Known(thing.Material);
            Vector(thing.CentreMm, 3, 600, "objects.centreMm");
            Range(thing.TurnDegrees, -360, 360, "objects.turnDegrees", "degrees");
            Range(thing.LengthMm ?? 10, 1, 600, "objects.lengthMm", "mm");
            Range(thing.WidthMm ?? 10, 0.2, 600, "objects.widthMm", "mm");
            Range(thing.ThicknessMm ?? 1, 0.01, 400, "objects.thicknessMm", "mm");
            if (thing.Bone is not null && scene.Part is null)
            {
                throw new UnreadableSceneException(file, $"an object lies at the bone '{thing.Bone}', but the scene has no part.");
            }
        }

        if (scene.Motion is { } motion)
        {
            Vector(motion.ShiftMm, 2, 100, "motion.shiftMm");
            Range(motion.TurnDegrees, -45, 45, "motion.turnDegrees", "degrees");
            Range(motion.LeanDegrees, -45, 45, "motion.leanDegrees", "degrees");
            Range(motion.Slices, 0, 64, "motion.slices", "");
        }

        if (scene.SecondExposure is { } second)
        {
            Vector(second.ShiftMm, 2, 400, "secondExposure.shiftMm");
            Range(second.ExposureShare, 0.01, 10, "secondExposure.exposureShare", "");
        }

        Range(scene.Rendering.SharpeningShare, 0, 5, "rendering.sharpeningShare", "");
        Range(scene.Rendering.SharpeningMm, 0.1, 50, "rendering.sharpeningMm", "mm");
        Range(scene.Rendering.WindowWidthShare, 0.1, 5, "rendering.windowWidthShare", "");
        Range(scene.Rendering.WindowDarkTail, 0, 0.5, "rendering.windowDarkTail", "");
        if (scene.Rendering.Mask is { } mask)
        {
            Range(mask.WidthMm, 5, 700, "rendering.mask.widthMm", "mm");
            Range(mask.HeightMm, 5, 700, "rendering.mask.heightMm", "mm");
            Vector(mask.CentreMm, 2, 400, "rendering.mask.centreMm");
        }

        Range(scene.Records.TargetExposureIndex, 10, 10000, "records.targetExposureIndex", "");
        One(scene.Records.Laterality, "records.laterality", "R", "L", "U");
        if (scene.Records.PatientName.Length > 64 || scene.Records.PatientId.Length > 64)
        {
            throw new UnreadableSceneException(file, "records.patientName and records.patientId have at most 64 letters.");
        }
    }

    private static string Lower(string sentence)
    {
        int newLine = sentence.IndexOf(" (Parameter", StringComparison.Ordinal);
        string text = newLine > 0 ? sentence[..newLine] : sentence;
        return char.ToLowerInvariant(text[0]) + text[1..];
    }
}
