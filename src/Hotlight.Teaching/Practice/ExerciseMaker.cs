using System.Globalization;
using Hotlight.Judgement;
using Hotlight.Simulation.Scene;

namespace Hotlight.Teaching.Practice;

/// <summary>An invented exercise: a scene of the phantom lab with a planted fault, or with none.</summary>
/// <param name="View">What is known of the view.</param>
/// <param name="Kind">What is planted.</param>
/// <param name="Difficulty">How plain it is.</param>
/// <param name="Scene">The scene.</param>
/// <param name="PlantedLine">The line that the fault is of; null where none is planted.</param>
public sealed record Exercise(PracticeView View, FaultKind Kind, Difficulty Difficulty, SceneDocument Scene, string? PlantedLine);

/// <summary>Makes exercises: the same view, kind, difficulty and seed give the same scene.</summary>
public static class ExerciseMaker
{
    // Least and greatest deviation index that is planted: beyond the bands' target, and a tenth of it or ten times it at most.
    private const double LeastDeviation = 1.8;
    private const double MostDeviation = 8;
    private const double LeastMotionMm = 1.3;
    private const double MostMotionMm = 3.5;
    private const double MarkerFromEdgeMm = 14;

    // A field that is planted far too wide: its area over the projection's own, and how far its edges stay inside the receptor.
    private const double LeastField = 1.45;
    private const double MostField = 2.4;
    private const double EdgeInsideMm = 8;

    /// <summary>Makes an exercise.</summary>
    /// <param name="view">The view.</param>
    /// <param name="kind">The kind of fault; one of <see cref="FaultKinds.Planted"/> or <see cref="FaultKind.None"/>.</param>
    /// <param name="difficulty">How plain the fault is.</param>
    /// <param name="seed">Seed, 0 or more.</param>
    /// <exception cref="ArgumentException">The kind cannot be planted.</exception>
    public static Exercise Make(PracticeView view, FaultKind kind, Difficulty difficulty, int seed)
    {
        ArgumentNullException.ThrowIfNull(view);
        var random = new Random(seed);
        string side = random.Next(2) == 0 ? "R" : "L";
        SceneDocument start = view.Start(side, (ulong)(1000 + random.Next(100_000)));
        SceneDocument scene = start with
        {
            Id = string.Create(CultureInfo.InvariantCulture, $"practice-{view.Projection}-{seed}"),
            Part = start.Part! with { ShiftMm = [Between(random, -2, 2), Between(random, -2, 2)] },
        };

        // How far beyond the tolerance: 0 just beyond, 1 as far as is planted.
        double severity = difficulty switch
        {
            Difficulty.Plain => Between(random, 0.75, 1),
            Difficulty.Moderate => Between(random, 0.4, 0.75),
            _ => Between(random, 0.05, 0.4),
        };
        (SceneDocument planted, string? line) = kind switch
        {
            FaultKind.None => (scene, null),
            FaultKind.Position => Position(view, scene, severity, random),
            FaultKind.Clipping => Clipping(view, scene, severity, random),
            FaultKind.Exposure => Exposure(scene, severity, random),
            FaultKind.Motion => Motion(scene, severity, random),
            FaultKind.Marker => Marker(view, scene, difficulty, random),
            FaultKind.Artifact => Artifact(view, scene, difficulty, random),
            FaultKind.Collimation => Collimation(view, scene, difficulty, severity),
            _ => throw new ArgumentException($"Faults of the kind {kind} are not planted.", nameof(kind)),
        };
        return new Exercise(view, kind, difficulty, planted, line);
    }

    private static (SceneDocument Scene, string Line) Position(PracticeView view, SceneDocument scene, double severity, Random random)
    {
        PracticePosition[] can = [.. view.Positions.Where(each => each is { Planted: true, Follows: false } && (each.Above ?? each.Below) is not null)];
        PracticePosition of = can[random.Next(can.Length)];
        bool isAbove = of.Above is not null && (of.Below is null || random.Next(2) == 0);
        double off = Math.Round(of.MissedFrom + (severity * (of.Most - of.MissedFrom)), 1);
        return (of.Set(scene, of.Rest + (isAbove ? off : -off)), of.Line);
    }

    private static (SceneDocument Scene, string Line) Clipping(PracticeView view, SceneDocument scene, double severity, Random random)
    {
        PracticeAnatomy of = view.Anatomy[random.Next(view.Anatomy.Count)];
        double at = of.CutBeforeMm + (severity * (of.CutMostMm - of.CutBeforeMm));
        bool isLeftSide = view.LabPart.IsPaired && scene.Part!.Side == "L";
        string edge = isLeftSide ? of.Edge switch { "left" => "right", "right" => "left", _ => of.Edge } : of.Edge;
        double shift = edge is "left" or "right" ? scene.Part!.ShiftMm[0] : scene.Part!.ShiftMm[1];
        bool isMirrored = isLeftSide && (of.Edge is "left" or "right");
        double to = Math.Round((isMirrored ? -at : at) + shift, 1);
        return (WithEdge(scene, edge, to), of.Line);
    }

    private static (SceneDocument Scene, string Line) Exposure(SceneDocument scene, double severity, Random random)
    {
        double index = (random.Next(2) == 0 ? 1 : -1) * (LeastDeviation + (severity * (MostDeviation - LeastDeviation)));
        return (scene with { Tube = scene.Tube with { ExposureMas = Math.Round(scene.Tube.ExposureMas * Math.Pow(10, index / 10), 3) } }, "exposure.deviation-index");
    }

    private static (SceneDocument Scene, string Line) Motion(SceneDocument scene, double severity, Random random)
    {
        double way = LeastMotionMm + (severity * (MostMotionMm - LeastMotionMm));
        double angle = Between(random, 0, Math.PI);
        return (scene with { Motion = new SceneMotion { ShiftMm = [Math.Round(way * Math.Cos(angle), 2), Math.Round(way * Math.Sin(angle), 2)] } }, "sharpness.edges");
    }

    private static (SceneDocument Scene, string Line) Marker(PracticeView view, SceneDocument scene, Difficulty difficulty, Random random)
    {
        SceneMarker right = scene.Marker!;
        SceneMarker? marker = difficulty switch
        {
            Difficulty.Plain => random.Next(2) == 0 ? null : right with { CentreMm = [Math.Round(scene.Part!.ShiftMm[0] + Between(random, -6, 6), 1), Math.Round((0.5 * (view.CoreMm[1] + view.CoreMm[3])) + Between(random, -10, 10), 1)] },
            Difficulty.Moderate => random.Next(2) == 0 ? right with { Letter = right.Letter == "R" ? "L" : "R" } : right with { Mirrored = true },
            _ => right with { Kind = "annotation" },
        };
        return (scene with { Marker = marker }, "marker.side");
    }

    /// <summary>The field open as wide as the receptor, or less wide where the receptor has room for a field that is still far too wide with its edges seen.</summary>
    private static (SceneDocument Scene, string Line) Collimation(PracticeView view, SceneDocument scene, Difficulty difficulty, double severity)
    {
        double needed = FieldEdges.OnReceptor(view.Start(scene.Part!.Side, 1)).AreaMm2;
        double widest = scene.Receptor.WidthMm - (2 * EdgeInsideMm), tallest = scene.Receptor.HeightMm - (2 * EdgeInsideMm);
        double area = Math.Min(widest * tallest, needed * (LeastField + (severity * (MostField - LeastField))));
        SceneDocument open = scene with { Collimator = scene.Collimator with { WidthMm = scene.Receptor.WidthMm, HeightMm = scene.Receptor.HeightMm, CentreMm = [0, 0] } };
        if (difficulty == Difficulty.Plain || area < LeastField * needed)
        {
            return (open, SceneReferee.SavedPercent(view, open) >= SceneReferee.FarTooWideFromPercent ? "collimation.size" : "collimation.edges");
        }

        double width = Math.Min(widest, scene.Collimator.WidthMm * Math.Sqrt(area / needed));
        double height = Math.Min(tallest, area / width);
        width = Math.Min(widest, area / height);
        return (scene with { Collimator = scene.Collimator with { WidthMm = Math.Round(width, 1), HeightMm = Math.Round(height, 1), CentreMm = [0, 0] } }, "collimation.size");
    }

    private static (SceneDocument Scene, string Line) Artifact(PracticeView view, SceneDocument scene, Difficulty difficulty, Random random)
    {
        const string Line = "artifacts.clear";
        if (difficulty == Difficulty.Subtle && random.Next(2) == 0)
        {
            return (scene with { Receptor = scene.Receptor with { DeadLines = 1 } }, Line);
        }

        PracticeObject of = difficulty == Difficulty.Subtle ? view.Objects[^1] : view.Objects[random.Next(view.Objects.Count)];
        bool isLeft = view.LabPart.IsPaired && scene.Part!.Side == "L";
        var thing = new SceneObject
        {
            Kind = of.Kind,
            CentreMm = [Math.Round(((isLeft ? -1 : 1) * of.CentreMm[0]) + Between(random, -4, 4), 1), Math.Round(of.CentreMm[1] + Between(random, -4, 4), 1), of.CentreMm[2]],
            TurnDegrees = Math.Round(Between(random, -60, 60), 0),
            LengthMm = of.Kind == "necklace" ? 130 : null,
        };
        return (scene with { Objects = [thing] }, Line);
    }

    /// <summary>A scene with one edge of the field elsewhere; the marker keeps its distance from the edges, so that it does not leave the field.</summary>
    private static SceneDocument WithEdge(SceneDocument scene, string edge, double toMm)
    {
        FieldEdges old = FieldEdges.OnReceptor(scene);
        FieldEdges now = edge switch
        {
            "left" => old with { LeftMm = toMm },
            "right" => old with { RightMm = toMm },
            "top" => old with { TopMm = toMm },
            _ => old with { BottomMm = toMm },
        };
        SceneMarker marker = scene.Marker!;
        return scene with
        {
            Collimator = scene.Collimator with
            {
                WidthMm = now.RightMm - now.LeftMm,
                HeightMm = now.BottomMm - now.TopMm,
                CentreMm = [(now.LeftMm + now.RightMm) / 2, (now.TopMm + now.BottomMm) / 2],
            },
            Marker = marker with
            {
                CentreMm =
                [
                    Math.Clamp(marker.CentreMm[0], now.LeftMm + MarkerFromEdgeMm, now.RightMm - MarkerFromEdgeMm),
                    Math.Clamp(marker.CentreMm[1], now.TopMm + MarkerFromEdgeMm, now.BottomMm - MarkerFromEdgeMm),
                ],
            },
        };
    }

    private static double Between(Random random, double from, double to) => from + (random.NextDouble() * (to - from));
}
