using Hotlight.Simulation.Scene;

namespace Hotlight.Simulation;

/// <summary>One invented exposure as a file, and what is true of it.</summary>
/// <param name="Dicom">A DICOM digital x-ray object, PS3.10, explicit little endian; owned by the caller.</param>
/// <param name="Truth">What is true of it, in the terms of the measurement document.</param>
public sealed record DemoExposure(byte[] Dicom, SceneTruth Truth);

/// <summary>One case of the fictional Saltmarsh Lane teaching clinic. Patient, history and image are invented; nobody was exposed.</summary>
public sealed record DemoCase
{
    /// <summary>Short name in lower case with hyphens, such as "wrist-pa-good"; also the file's name without its ending.</summary>
    public required string Id { get; init; }

    /// <summary>One line for a list.</summary>
    public required string Title { get; init; }

    /// <summary>The invented request, one or two sentences.</summary>
    public required string History { get; init; }

    /// <summary>How the exposure was made, one line with units.</summary>
    public required string Technique { get; init; }

    /// <summary>Identifier of the projection in the catalogue, such as "wrist-pa".</summary>
    public required string ProjectionId { get; init; }

    /// <summary>What this case teaches, one sentence; null for a good image.</summary>
    public string? Fault { get; init; }

    /// <summary>Identifier of the case that this one repeats, or null.</summary>
    public string? RepeatOf { get; init; }

    /// <summary>The scene that is exposed.</summary>
    public required SceneDocument Scene { get; init; }

    /// <summary>Name of the file to write it to.</summary>
    public string FileName => Id + ".dcm";

    /// <summary>Makes the exposure, stored FOR PRESENTATION: pixels logarithmic in the receptor's signal, 1000 steps a factor of ten, sharpened (the chests harder than the limbs; the header says how), MONOCHROME2 with a sigmoid window. Takes a second or two; the same case gives the same bytes on one kind of machine.</summary>
    /// <param name="cancellation">Stops the work.</param>
    /// <exception cref="OperationCanceledException">The work was stopped.</exception>
    public DemoExposure Expose(CancellationToken cancellation = default)
    {
        LabExposure exposure = Lab.Expose(Scene, cancellation: cancellation);
        return new DemoExposure(exposure.ForPresentation(), exposure.Truth);
    }

    /// <summary>The same exposure stored FOR PROCESSING: pixels proportional to the receptor's signal, 125 steps a µGy, MONOCHROME1, without sharpening or window.</summary>
    /// <param name="cancellation">Stops the work.</param>
    /// <exception cref="OperationCanceledException">The work was stopped.</exception>
    public DemoExposure ExposeForProcessing(CancellationToken cancellation = default)
    {
        LabExposure exposure = Lab.Expose(Scene, cancellation: cancellation);
        return new DemoExposure(exposure.ForProcessing(), exposure.Truth);
    }
}
