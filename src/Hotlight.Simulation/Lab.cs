using Hotlight.Core;
using Hotlight.Simulation.Phantom;
using Hotlight.Simulation.Scene;

namespace Hotlight.Simulation;

/// <summary>The phantom lab: exposures whose truth is known. Nobody is exposed.</summary>
public static class Lab
{
    /// <summary>Energies of a preview's beam.</summary>
    private const int PreviewEnergies = 10;

    /// <summary>The parts of the body that can be exposed.</summary>
    public static IReadOnlyList<LabPart> Parts { get; } = [.. PartPhantoms.All.Select(phantom => new LabPart(
        phantom.Name,
        [.. phantom.Views.Select(view => new LabView(view.Name, view.ProjectionId, view.Joints))],
        [.. phantom.Joints.Select(joint => new LabJoint(joint.Name, joint.DefaultDegrees, joint.MinimumDegrees, joint.MaximumDegrees, joint.Meaning))]))];

    /// <summary>Makes the exposure of a scene.</summary>
    /// <param name="scene">The scene.</param>
    /// <param name="folder">Folder that the scene's mesh files are relative to; null where it has none.</param>
    /// <param name="progress">Told the share that is done, 0 to 1.</param>
    /// <param name="cancellation">Stops the work.</param>
    /// <exception cref="UnreadableSceneException">Something the scene names cannot be used; the message is one sentence.</exception>
    /// <exception cref="OperationCanceledException">The work was stopped.</exception>
    public static LabExposure Expose(SceneDocument scene, string? folder = null, IProgress<double>? progress = null, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(scene);
        SceneChecks.Check(scene, scene.Id);
        return new LabExposure(SceneSimulator.Expose(new SceneSetup(scene, folder), progress, cancellation));
    }

    /// <summary>A quick look at a scene with few pixels, for dragging a pose: the same exposure as <see cref="Expose"/> gives, read with larger elements, so that it shows less noise and detail.</summary>
    /// <param name="scene">The scene.</param>
    /// <param name="longestSide">Pixels along the longer side, 64 to 1024.</param>
    /// <param name="cancellation">Stops the work.</param>
    /// <exception cref="UnreadableSceneException">Something the scene names cannot be used; the message is one sentence.</exception>
    /// <exception cref="OperationCanceledException">The work was stopped.</exception>
    public static LabPreview Preview(SceneDocument scene, int longestSide = 512, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(scene);
        Preconditions.Within(longestSide, 64, 1024);
        SceneChecks.Check(scene, scene.Id);
        SceneReceptor receptor = scene.Receptor;
        double spacing = Math.Max(receptor.SpacingMm, Math.Max(receptor.WidthMm, receptor.HeightMm) / longestSide);
        SceneDocument coarse = scene with { Receptor = receptor with { SpacingMm = spacing } };
        SimulatedExposure exposure = SceneSimulator.Expose(new SceneSetup(coarse, null), null, cancellation, PreviewEnergies);
        return new LabPreview(Imaging.Display.DisplayTable.Render(SceneFile.Radiograph(exposure, linear: false)).AsReadOnly(), spacing, exposure.Truth);
    }

    /// <summary>A scene's picture for looking at while pose, joints, beam or exposure change: the physics of <see cref="Expose"/> on few pixels, with coarser surfaces and no truth but where the landmarks fall.</summary>
    /// <param name="scene">The scene; mesh files are not read.</param>
    /// <param name="longestSide">Pixels along the receptor's longer side, 64 to 1024.</param>
    /// <param name="noise">Whether quanta and the receptor's electronics make noise, that of elements as large as the picture's pixels.</param>
    /// <param name="cancellation">Stops the work.</param>
    /// <remarks>Method and how much it differs from an exposure: docs/methods/pose-picture.md. It is a simulation with a generic anatomy and has to be shown as one.</remarks>
    /// <exception cref="UnreadableSceneException">Something the scene names cannot be used; the message is one sentence.</exception>
    /// <exception cref="OperationCanceledException">The work was stopped.</exception>
    public static LabLook Look(SceneDocument scene, int longestSide = 512, bool noise = true, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(scene);
        Preconditions.Within(longestSide, 64, 1024);
        SceneChecks.Check(scene, scene.Id);
        return SceneLook.Take(scene, Math.Max(scene.Receptor.WidthMm, scene.Receptor.HeightMm) / longestSide, noise, cancellation);
    }

    /// <summary>Where the landmarks of a scene's part fall on the receptor: the pose alone, no exposure; a few milliseconds.</summary>
    /// <param name="scene">The scene.</param>
    /// <exception cref="UnreadableSceneException">The scene cannot be built.</exception>
    public static LabPlacement Place(SceneDocument scene)
    {
        ArgumentNullException.ThrowIfNull(scene);
        SceneChecks.Check(scene, scene.Id);
        var setup = new SceneSetup(scene, null);
        return new LabPlacement(
            setup.Geometry.Rows,
            setup.Geometry.Columns,
            scene.Receptor.SpacingMm,
            scene.Tube.SourceImageDistanceMm,
            setup.CentralRay,
            SceneTruthBuilder.Landmarks(setup, null));
    }

    /// <summary>Names of a part's landmarks and bones, for scene files.</summary>
    /// <param name="part">Name of the part.</param>
    /// <exception cref="ArgumentException">There is no such part.</exception>
    public static (IReadOnlyList<string> Landmarks, IReadOnlyList<string> Bones) Anatomy(string part)
    {
        Body body = PartPhantoms.ByName(part).Build(new PartForm());
        return ([.. body.Landmarks.Keys], [.. body.Bones.Select(bone => bone.Name)]);
    }
}

/// <summary>A part of the body as the lab knows it.</summary>
/// <param name="Name">Name in scene files.</param>
/// <param name="Views">How it can be laid on the receptor.</param>
/// <param name="Joints">Joints that can be set.</param>
public sealed record LabPart(string Name, IReadOnlyList<LabView> Views, IReadOnlyList<LabJoint> Joints)
{
    /// <summary>Whether the body has a right and a left one; what lies in the middle ignores the side.</summary>
    public bool IsPaired => Examination.IsPaired(new ScenePart { Name = Name, View = Views[0].Name });
}

/// <summary>A view of a part.</summary>
/// <param name="Name">Name in scene files.</param>
/// <param name="ProjectionId">Identifier of the projection in the catalogue.</param>
/// <param name="Joints">Joints that the view sets, in degrees.</param>
public sealed record LabView(string Name, string ProjectionId, IReadOnlyDictionary<string, double> Joints);

/// <summary>A joint of a part.</summary>
/// <param name="Name">Name in scene files.</param>
/// <param name="DefaultDegrees">Setting where nothing is said, in degrees.</param>
/// <param name="MinimumDegrees">Least setting, in degrees.</param>
/// <param name="MaximumDegrees">Greatest setting, in degrees.</param>
/// <param name="Meaning">What a positive setting does.</param>
public sealed record LabJoint(string Name, double DefaultDegrees, double MinimumDegrees, double MaximumDegrees, string Meaning);

/// <summary>A quick look at a scene.</summary>
/// <param name="Grey">The image as it is shown, 0 black to 255 white, rows × columns.</param>
/// <param name="SpacingMm">Distance of pixel centres, in mm.</param>
/// <param name="Truth">What is true of it; places in pixels of <paramref name="Grey"/>. The noise is that of the larger elements.</param>
public sealed record LabPreview(ReadOnlyRaster<byte> Grey, double SpacingMm, SceneTruth Truth);

/// <summary>A scene's picture for looking at while it is moved; rasters are rows × columns of one size, the receptor's middle is theirs.</summary>
public sealed record LabLook
{
    /// <summary>The image as it is shown, 0 black to 255 white.</summary>
    public required ReadOnlyRaster<byte> Grey { get; init; }

    /// <summary>Distance of pixel centres, in mm.</summary>
    public required double SpacingMm { get; init; }

    /// <summary>Where the central ray meets the receptor, in pixels.</summary>
    public required Core.PixelPoint CentralRay { get; init; }

    /// <summary>What the receptor read, in µGy of the calibration beam.</summary>
    public required ReadOnlyRaster<float> SignalMicrogray { get; init; }

    /// <summary>Length of every ray within the surfaces of bones, marrow included, in mm.</summary>
    public required ReadOnlyRaster<float> BoneMm { get; init; }

    /// <summary>Length of every ray within the skin, in mm.</summary>
    public required ReadOnlyRaster<float> SkinMm { get; init; }

    /// <summary>Whether a pixel lies in the collimated field and is left visible by the scene's mask.</summary>
    public required ReadOnlyRaster<bool> InField { get; init; }

    /// <summary>Where the landmarks fall, in pixels.</summary>
    public required IReadOnlyList<LandmarkTruth> Landmarks { get; init; }
}

/// <summary>Where the landmarks of a part fall on the receptor.</summary>
/// <param name="Rows">Rows of the receptor.</param>
/// <param name="Columns">Columns of the receptor.</param>
/// <param name="SpacingMm">Pixel spacing, in mm.</param>
/// <param name="SourceImageDistanceMm">Distance from source to receptor, in mm.</param>
/// <param name="CentralRay">Where the central ray meets the receptor, in pixels.</param>
/// <param name="Landmarks">The landmarks; <see cref="LandmarkTruth.InsideField"/> says whether they lie on the receptor.</param>
public sealed record LabPlacement(int Rows, int Columns, double SpacingMm, double SourceImageDistanceMm, Core.PixelPoint CentralRay, IReadOnlyList<LandmarkTruth> Landmarks);

/// <summary>One exposure of the lab.</summary>
public sealed class LabExposure
{
    private readonly SimulatedExposure exposure;

    internal LabExposure(SimulatedExposure exposure) => this.exposure = exposure;

    /// <summary>What is true of it.</summary>
    public SceneTruth Truth => exposure.Truth;

    /// <summary>The scene it was made from.</summary>
    public SceneDocument Scene => exposure.Setup.Scene;

    internal SimulatedExposure Simulated => exposure;

    /// <summary>A DICOM digital x-ray object for presentation: pixels logarithmic in the receptor's signal, 1000 steps a factor of ten, sharpened, MONOCHROME2 with a sigmoid window.</summary>
    public byte[] ForPresentation() => SceneFile.Dicom(exposure, linear: false);

    /// <summary>A DICOM digital x-ray object for processing: pixels proportional to the receptor's signal, 125 steps a µGy, MONOCHROME1.</summary>
    public byte[] ForProcessing() => SceneFile.Dicom(exposure, linear: true);

    /// <summary>What is true of it as a file, in the terms of the measurement document.</summary>
    /// <param name="files">Names of the image files that it speaks of.</param>
    public string TruthFile(IReadOnlyList<string> files) => TruthJson.Write(exposure, files);
}
