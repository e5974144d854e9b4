namespace Hotlight.Simulation.Scene;

/// <summary>Scenes to start from: a part in a view with a usual technique. Voltages, distances and grids are common practice, no source; the target exposure index is what the technique gives an adult of average habitus in the lab, to two digits.</summary>
public static class SceneStarts
{
    private static readonly Dictionary<string, Start> Starts = new(StringComparer.Ordinal)
    {
        ["wrist:pa"] = new(55, 0.92, 180, 240, 138, 150, 340),
        ["wrist:oblique"] = new(55, 1, 180, 240, 138, 150, 310),
        ["wrist:lateral"] = new(57, 1.3, 180, 240, 100, 152, 250),
        ["wrist:hand-pa"] = new(55, 0.71, 240, 300, 190, 230, 360),
        ["wrist:hand-oblique"] = new(55, 0.7, 240, 300, 190, 230, 320),
        ["wrist:hand-lateral"] = new(57, 0.9, 240, 300, 150, 230, 340),
        ["elbow:lateral"] = new(60, 1.1, 240, 240, 186, 178, 300),
        ["elbow:ap"] = new(60, 1.1, 180, 240, 130, 200, 330),
        ["shoulder:ap"] = new(70, 2.9, 300, 240, 240, 200, 230) { Grid = true },
        ["shoulder:ap-internal"] = new(70, 2.9, 300, 240, 240, 200, 230) { Grid = true },
        ["shoulder:scapular-y"] = new(75, 4, 240, 300, 180, 240, 79) { Grid = true },
        ["shoulder:axial"] = new(65, 1.6, 240, 240, 200, 180, 250),
        ["foot:ankle-ap"] = new(58, 2.2, 180, 240, 130, 190, 250),
        ["foot:ankle-mortise"] = new(58, 2.3, 180, 240, 130, 190, 270),
        ["foot:ankle-lateral"] = new(58, 1.4, 240, 240, 200, 200, 310),
        ["foot:foot-dp"] = new(55, 1.4, 240, 300, 130, 270, 310),
        ["foot:foot-oblique"] = new(56, 1.3, 240, 300, 140, 270, 280),
        ["foot:foot-lateral"] = new(58, 1.4, 300, 240, 280, 140, 280),
        ["knee:ap"] = new(62, 1.3, 180, 240, 150, 204, 260),
        ["knee:lateral"] = new(62, 1.4, 180, 240, 152, 200, 240),
        ["pelvis:ap"] = new(75, 10, 430, 430, 400, 340, 170) { Grid = true, DistanceMm = 1150, Letter = "L" },
        ["pelvis:frog"] = new(75, 9.1, 430, 430, 400, 340, 140) { Grid = true, DistanceMm = 1150, Letter = "L" },
        ["pelvis:hip-ap"] = new(75, 6.6, 240, 300, 220, 260, 140) { Grid = true, DistanceMm = 1150 },
        ["pelvis:hip-frog"] = new(75, 10, 240, 300, 220, 260, 130) { Grid = true, DistanceMm = 1150 },
        ["chest:pa"] = new(110, 2.2, 380, 430, 356, 392, 180) { Grid = true, DistanceMm = 1800, Chest = true, Letter = "L" },
        ["chest:ap"] = new(100, 0.48, 430, 380, 400, 360, 210) { DistanceMm = 1200, Chest = true, Letter = "L" },
        ["chest:lateral"] = new(117, 4, 350, 430, 320, 400, 110) { Grid = true, DistanceMm = 1800, Chest = true, Letter = "L" },
        ["lumbarSpine:ap"] = new(75, 36, 300, 430, 220, 400, 360) { Grid = true, DistanceMm = 1150, Letter = "L" },
        ["lumbarSpine:lateral"] = new(85, 23, 300, 430, 220, 400, 110) { Grid = true, DistanceMm = 1150 },
    };

    /// <summary>A scene of a part in a view, right side, adult, positioned and collimated as the projection demands.</summary>
    /// <param name="part">Name of the part.</param>
    /// <param name="view">Name of the view.</param>
    public static SceneDocument For(string part, string view)
    {
        Start start = Starts.GetValueOrDefault($"{part}:{view}") ?? new Start(65, 4, 300, 300, 240, 240, 400);
        return new SceneDocument
        {
            Schema = SceneDocument.SchemaName,
            Id = $"{part.ToLowerInvariant()}-{view}",
            Part = new ScenePart { Name = part, View = view },
            Tube = new SceneTube
            {
                TubeVoltageKvp = start.Kvp,
                ExposureMas = start.Mas,
                ExposureTimeMs = start.Mas > 10 ? 80 : 10,
                SourceImageDistanceMm = start.DistanceMm,
                FocalSpotMm = start.Grid ? 1 : 0.6,
            },
            Grid = start.Grid ? new SceneGrid { FocalDistanceMm = start.DistanceMm } : null,
            Collimator = new SceneCollimator { WidthMm = start.FieldWidth, HeightMm = start.FieldHeight },
            Receptor = new SceneReceptor { WidthMm = start.Width, HeightMm = start.Height, SpacingMm = start.Width > 300 || start.Height > 400 ? 0.2 : 0.15, GapMm = start.Grid ? 30 : 5 },
            Marker = new SceneMarker { Letter = start.Letter, CentreMm = [(start.FieldWidth / 2) - 14, (-start.FieldHeight / 2) + 14] },
            Rendering = start.Chest
                ? new SceneRendering { SharpeningShare = 0.9, SharpeningMm = 9, WindowDarkTail = 0.04, WindowWidthShare = 0.85 }
                : new SceneRendering(),
            Records = new SceneRecords { TargetExposureIndex = start.Target },
        };
    }

    private sealed record Start(double Kvp, double Mas, double Width, double Height, double FieldWidth, double FieldHeight, double Target)
    {
        public bool Grid { get; init; }

        public bool Chest { get; init; }

        // The letter lies on the viewer's right: of a trunk from the front or behind that is the patient's left.
        public string Letter { get; init; } = "R";

        public double DistanceMm { get; init; } = 1000;
    }
}
