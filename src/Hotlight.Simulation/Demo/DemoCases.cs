using System.Numerics;
using Hotlight.Simulation.Phantom;
using Hotlight.Simulation.Scene;
using Hotlight.Simulation.Shapes;

namespace Hotlight.Simulation;

/// <summary>The demo set of the fictional Saltmarsh Lane teaching clinic: simulated radiographs with the faults a teacher meets, and good ones.</summary>
public static class DemoCases
{
    private const double LimbSpacingMm = 0.16;

    /// <summary>All cases, in the order a newcomer should open them.</summary>
    public static IReadOnlyList<DemoCase> All { get; } = [.. Recipes().Select(recipe => recipe.ToCase())];

    /// <summary>The recipes behind <see cref="All"/>.</summary>
    internal static IEnumerable<DemoRecipe> Recipes() => [.. Wrists(), .. Elbows(), .. Knees(), .. Chests()];

    private static Body Wrist(Vector3 centre, float turnDegrees, float leanDegrees)
        => new WristPhantom().Build(new PartForm()) with { Placement = Hung(-1).Within(Pose.Turned(Vector3.Zero, 0, turnDegrees, 0)).Within(Pose.Turned(centre, 0, 0, leanDegrees)) };

    private static Body Elbow(Vector3 centre, float shoulderLowDegrees)
        => new ElbowPhantom().Build(new PartForm()) with { Placement = Pose.Turned(Vector3.Zero, -shoulderLowDegrees, 0, 0).Within(Hung(1)) with { Origin = centre } };

    private static Body KneeFrontal(Vector3 centre) => new KneePhantom().Build(new PartForm()) with { Placement = Hung(1) with { Origin = centre } };

    private static Body KneeSideways(Vector3 centre, float bendDegrees, float turnDegrees)
        => new KneePhantom().Build(new PartForm { Joints = new Dictionary<string, double> { ["kneeFlexion"] = bendDegrees } }) with
        {
            Placement = Pose.Turned(Vector3.Zero, 0, turnDegrees, 0).Within(new Pose(Vector3.Zero, Vector3.UnitZ, -Vector3.UnitY, -Vector3.UnitX)) with { Origin = centre },
        };

    private static Body Chest(Vector3 centre, float turnDegrees, float leanDegrees, ulong seed)
        => new ChestPhantom().Build(new PartForm { Seed = seed }) with
        {
            Placement = Pose.Turned(Vector3.Zero, 0, -turnDegrees, 0).Within(Hung(1)).Within(Pose.Turned(centre, 0, 0, leanDegrees)),
        };

    private static Pose Hung(float x) => new(Vector3.Zero, x * Vector3.UnitX, -Vector3.UnitY, Vector3.UnitZ);

    private static Technique Limb(double tubeVoltageKvp, double exposureMas, double exposureTimeMs) => new()
    {
        TubeVoltageKvp = tubeVoltageKvp,
        ExposureMas = exposureMas,
        ExposureTimeMs = exposureTimeMs,
        SourceImageDistanceMm = 1000,
        FocalSpotMm = 0.6,
        FiltrationMmAluminium = 3,
    };

    private static IEnumerable<DemoRecipe> Wrists()
    {
        DemoRecipe good = new()
        {
            Id = "wrist-pa-good",
            Title = "Right wrist PA, as it should be",
            History = "Invented: fell from a bicycle onto the outstretched hand; tender over the distal radius.",
            ProjectionId = "wrist-pa",
            Examination = Examination.WristPa,
            Laterality = "R",
            PatientNumber = 1,
            Acquired = new DateTime(2026, 3, 2, 9, 12, 0),
            Technique = Limb(55, 1.4, 10),
            Target = 400,
            SpacingMm = LimbSpacingMm,
            SizeMm = (180, 240),
            Body = () => Wrist(new Vector3(-3, 4, 27), 0, 0),
            Field = new FieldMm(-11, 4, 138, 150, 0.4),
            Marker = new MarkerMm('R', TrueMarkerKind.Lead, 43, 62, 11, -4),
            Seed = 101,
        };
        yield return good;
        yield return good with
        {
            Id = "wrist-pa-wide",
            Title = "Right wrist PA, field far too wide",
            History = "Invented: caught the hand in a closing gate; pain on the thumb side.",
            Fault = "The collimator was left open: more than half of the field shows nothing of the patient.",
            PatientNumber = 2,
            Acquired = new DateTime(2026, 3, 2, 10, 40, 0),
            Technique = Limb(55, 1.3, 10),
            SizeMm = (240, 240),
            Body = () => Wrist(new Vector3(-20, -6, 27), 0, -3),
            Field = new FieldMm(3, -2, 214, 218, -0.8),
            Marker = new MarkerMm('R', TrueMarkerKind.Lead, 72, -66, 11, 8),
            Seed = 102,
        };
        yield return good with
        {
            Id = "wrist-pa-masked",
            Title = "Right wrist PA, cropped with a mask instead of the collimator",
            History = "Invented: slipped on the quay steps; swollen wrist.",
            Fault = "A black mask hides how wide the beam was: the patient was exposed far beyond what is shown, and the side letter was drawn afterwards.",
            PatientNumber = 3,
            Acquired = new DateTime(2026, 3, 3, 8, 55, 0),
            Technique = Limb(55, 1.2, 10),
            SizeMm = (200, 240),
            Body = () => Wrist(new Vector3(-6, 10, 27), -5, 2),
            Field = new FieldMm(2, 0, 178, 216, 0.3),
            Mask = new FieldMm(-2, 6, 108, 146, 0),
            Marker = new MarkerMm('R', TrueMarkerKind.Annotation, 40, -54, 10, 0),
            Seed = 103,
        };
        DemoRecipe lateral = good with
        {
            ProjectionId = "wrist-lateral",
            Examination = Examination.WristLateral,
            Technique = Limb(57, 1.6, 10),
        };
        yield return lateral with
        {
            Id = "wrist-lateral-rotated",
            Title = "Right wrist lateral, rotated",
            History = "Invented: fell from a bicycle onto the outstretched hand; second view.",
            Fault = "The wrist is not lateral: radius and ulna lie side by side instead of over each other.",
            PatientNumber = 1,
            Acquired = new DateTime(2026, 3, 2, 9, 16, 0),
            Body = () => Wrist(new Vector3(2, 4, 52), 66, 0),
            Field = new FieldMm(0, 2, 100, 152, 0.2),
            Marker = new MarkerMm('R', TrueMarkerKind.Lead, 37, 58, 11, 3),
            Seed = 104,
        };
        yield return lateral with
        {
            Id = "wrist-lateral-tilted",
            Title = "Right wrist lateral, field tilted in the frame",
            History = "Invented: control after six weeks in a cast.",
            Fault = "Positioned well, but the receptor lay askew: the field is tilted by about 12 degrees in the frame.",
            PatientNumber = 4,
            Acquired = new DateTime(2026, 3, 3, 11, 20, 0),
            Body = () => Wrist(new Vector3(3, 2, 52), 90, 12),
            Field = new FieldMm(-1, 1, 96, 150, 12),
            Marker = new MarkerMm('R', TrueMarkerKind.Lead, 24, 62, 11, 14),
            Seed = 105,
        };
    }

    private static IEnumerable<DemoRecipe> Elbows()
    {
        yield return new DemoRecipe
        {
            Id = "elbow-lateral-low",
            Title = "Right elbow lateral, shoulder end too low",
            History = "Invented: fell against a table edge; cannot stretch the elbow.",
            Fault = "Shoulder and elbow are not on one level: the epicondyles are not over each other and the radial head is thrown forward.",
            ProjectionId = "elbow-lateral",
            Examination = Examination.ElbowLateral,
            Laterality = "R",
            PatientNumber = 5,
            Acquired = new DateTime(2026, 3, 4, 9, 30, 0),
            Technique = Limb(60, 1.7, 12),
            Target = 400,
            SpacingMm = LimbSpacingMm,
            SizeMm = (240, 240),
            Body = () => Elbow(new Vector3(-32, 30, 52), 13),
            Field = new FieldMm(-2, 0, 186, 178, 0.5),
            Marker = new MarkerMm('R', TrueMarkerKind.Lead, 66, -64, 12, -6),
            Seed = 106,
        };
    }

    private static IEnumerable<DemoRecipe> Knees()
    {
        yield return new DemoRecipe
        {
            Id = "knee-ap-underexposed",
            Title = "Right knee AP, underexposed",
            History = "Invented: knee gives way on stairs; weeks of pain on the inner side.",
            Fault = "Too little exposure at the receptor: mottle is seen over bone and soft tissue.",
            ProjectionId = "knee-ap",
            Examination = Examination.KneeAp,
            Laterality = "R",
            PatientNumber = 6,
            Acquired = new DateTime(2026, 3, 4, 13, 5, 0),
            Technique = Limb(60, 0.5, 5),
            Target = 400,
            SpacingMm = LimbSpacingMm,
            SizeMm = (180, 240),
            Body = () => KneeFrontal(new Vector3(0, 2, 58)),
            Field = new FieldMm(1, 0, 150, 204, -0.4),
            Marker = new MarkerMm('R', TrueMarkerKind.Lead, -65, -84, 12, 0),
            ScatterPerMm = 0.006,
            DetectorType = "STORAGE",
            DetectedShare = 0.2,
            Seed = 107,
        };
        yield return new DemoRecipe
        {
            Id = "knee-lateral-rotated",
            Title = "Right knee lateral, condyles not over each other",
            History = "Invented: knee gives way on stairs; second view.",
            Fault = "The leg is turned: the femoral condyles lie one behind the other and the patellofemoral space is closed.",
            ProjectionId = "knee-lateral",
            Examination = Examination.KneeLateral,
            Laterality = "R",
            PatientNumber = 6,
            Acquired = new DateTime(2026, 3, 4, 13, 9, 0),
            Technique = Limb(62, 2.6, 16),
            Target = 400,
            SpacingMm = LimbSpacingMm,
            SizeMm = (180, 240),
            Body = () => KneeSideways(new Vector3(14, 4, 60), 35, 13),
            Field = new FieldMm(0, 0, 152, 200, 0.6),
            Marker = new MarkerMm('R', TrueMarkerKind.Lead, -62, 82, 12, 0),
            ScatterPerMm = 0.006,
            Seed = 108,
        };
    }

    private static IEnumerable<DemoRecipe> Chests()
    {
        DemoRecipe good = new()
        {
            Id = "chest-pa-good",
            Title = "Chest PA, as it should be",
            History = "Invented: examination before a planned operation; no complaints.",
            ProjectionId = "chest-pa",
            Examination = Examination.ChestPa,
            Laterality = "U",
            PatientNumber = 7,
            Acquired = new DateTime(2026, 3, 5, 8, 40, 0),
            Technique = new Technique
            {
                TubeVoltageKvp = 110,
                ExposureMas = 2.5,
                ExposureTimeMs = 10,
                SourceImageDistanceMm = 1800,
                FocalSpotMm = 1,
                FiltrationMmAluminium = 4,
                Grid = true,
            },
            Target = 250,
            SpacingMm = 0.22,
            SizeMm = (380, 430),
            Body = () => Chest(new Vector3(1, -20, 128), 0, 0, 71),
            Field = new FieldMm(0, 0, 356, 392, 0.3),
            Marker = new MarkerMm('L', TrueMarkerKind.Lead, 160, -178, 15, 2),
            Coarsening = 3,
            HeelPerMm = 0.0002,
            WindowDarkTail = 0.04,
            WindowWidthShare = 0.85,
            SharpeningShare = 0.9,
            SharpeningMm = 9,
            Seed = 109,
        };
        yield return good;
        yield return good with
        {
            Id = "chest-pa-clipped",
            Title = "Chest PA, turned, right costophrenic angle cut off",
            History = "Invented: cough for three weeks.",
            Fault = "The field misses the right costophrenic angle, and the front of the chest is turned to the patient's left.",
            PatientNumber = 8,
            Acquired = new DateTime(2026, 3, 5, 10, 15, 0),
            Body = () => Chest(new Vector3(-22, 34, 128), 8, -1.5f, 72),
            Field = new FieldMm(10, -4, 330, 376, -0.5),
            Marker = new MarkerMm('L', TrueMarkerKind.Lead, 152, -172, 15, -3),
            Seed = 110,
        };
    }
}
