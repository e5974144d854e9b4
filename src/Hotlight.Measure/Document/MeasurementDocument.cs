using Hotlight.Core;

namespace Hotlight.Measure.Document;

/// <summary>All that was measured on one image, in the terms and order of the measurement document, version 1.</summary>
public sealed record MeasurementDocument
{
    /// <summary>The value of <see cref="Schema"/> in this version.</summary>
    public const string SchemaName = "hotlight.measurements/1";

    /// <summary>Name and version of the document's form.</summary>
    public string Schema { get; init; } = SchemaName;

    /// <summary>Name of the image's file, without its folder.</summary>
    public required string File { get; init; }

    /// <summary>The image's own facts.</summary>
    public required Figure<ImageFacts> Image { get; init; }

    /// <summary>The exposed field.</summary>
    public required Figure<FieldMeasurement> Field { get; init; }

    /// <summary>The part of the body in the field.</summary>
    public required Figure<AnatomyMeasurement> Anatomy { get; init; }

    /// <summary>What the field holds that it need not.</summary>
    public required Figure<CollimationMeasurement> Collimation { get; init; }

    /// <summary>The receptor's exposure.</summary>
    public required Figure<ExposureMeasurement> Exposure { get; init; }

    /// <summary>Stochastic noise.</summary>
    public required Figure<MottleMeasurement> Mottle { get; init; }

    /// <summary>Signal lost at either end.</summary>
    public required Figure<ClippingMeasurement> Clipping { get; init; }

    /// <summary>Blur of the sharpest edges, and motion.</summary>
    public required Figure<SharpnessMeasurement> Sharpness { get; init; }

    /// <summary>Side markers.</summary>
    public required Figure<MarkersMeasurement> Markers { get; init; }

    /// <summary>What does not belong in the image.</summary>
    public required Figure<ArtifactsMeasurement> Artifacts { get; init; }

    /// <summary>The image as it is shown.</summary>
    public required Figure<DisplayMeasurement> Display { get; init; }

    /// <summary>Signs of what was done to the pixels after the exposure.</summary>
    public required Figure<ProcessingMeasurement> Processing { get; init; }

    /// <summary>How long it took.</summary>
    public required TimingMs TimingMs { get; init; }

    /// <summary>Which file was measured and with what; only in a file of results.</summary>
    public MeasurementOrigin? Origin { get; init; }
}
