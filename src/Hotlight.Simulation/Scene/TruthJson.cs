using System.Text;
using System.Text.Json;
using Hotlight.Core;

namespace Hotlight.Simulation.Scene;

/// <summary>Writes what is true of an exposure, in the terms of the measurement document, with pose, landmarks, dose and the scene.</summary>
internal static class TruthJson
{
    /// <summary>The only schema that is written.</summary>
    public const string SchemaName = "hotlight.truth/1";

    public static string Write(SimulatedExposure exposure, IReadOnlyList<string> files)
    {
        SceneTruth truth = exposure.Truth;
        SceneDocument scene = exposure.Setup.Scene;
        using MemoryStream stream = new();
        using (Utf8JsonWriter json = new(stream, new JsonWriterOptions { Indented = true, NewLine = "\n", Encoder = System.Text.Encodings.Web.JavaScriptEncoder.UnsafeRelaxedJsonEscaping }))
        {
            json.WriteStartObject();
            json.WriteString("schema", SchemaName);
            json.WriteString("notice", "Simulated: no patient was exposed. For education and quality improvement; not a diagnostic image.");
            json.WriteStartArray("files");
            foreach (string file in files)
            {
                json.WriteStringValue(file);
            }

            json.WriteEndArray();
            Image(json, exposure);
            Field(json, truth);
            json.WriteStartObject("anatomy");
            Number(json, "percentOfField", truth.AnatomyPercentOfField, 2);
            Number(json, "boneIsPercentOfAnatomy", truth.BonePercentOfAnatomy, 2);
            json.WriteEndObject();
            json.WriteStartObject("collimation");
            Number(json, "emptyPercentOfField", truth.EmptyPercentOfField, 2);
            json.WriteEndObject();
            json.WriteStartObject("exposure");
            Number(json, "exposureIndex", truth.ExposureIndex, 2);
            Number(json, "targetExposureIndex", truth.TargetExposureIndex, 1);
            if (double.IsFinite(truth.DeviationIndex))
            {
                Number(json, "deviationIndex", truth.DeviationIndex, 3);
            }

            Number(json, "receptorAirKermaMicrogray", truth.MedianKermaMicrogray, 4);
            Number(json, "meanReceptorAirKermaMicrogray", truth.MeanKermaMicrogray, 4);
            Number(json, "scatterPercentOfSignal", truth.ScatterPercentOfSignal, 1);
            Number(json, "gridCutOffShare", truth.GridCutOffShare, 3);
            json.WriteEndObject();
            json.WriteStartObject("mottle");
            Number(json, "relativeNoisePercent", truth.RelativeNoisePercent, 3);
            if (truth.RelativeNoisePercent > 0)
            {
                Number(json, "signalToNoise", 100 / truth.RelativeNoisePercent, 1);
            }

            json.WriteEndObject();
            json.WriteStartObject("clipping");
            Number(json, "saturatedPercentOfAnatomy", truth.SaturatedPercentOfAnatomy, 3);
            json.WriteEndObject();
            if (truth.Sharpness is { } sharpness)
            {
                json.WriteStartObject("sharpness");
                Number(json, "edgeBlurMm", sharpness.EdgeBlurMm, 4);
                Number(json, "directionRatio", sharpness.DirectionRatio, 3);
                Number(json, "directionDegrees", sharpness.DirectionDegrees, 1);
                json.WriteString("motion", sharpness.MotionMm > 0 ? "present" : "none");
                Number(json, "motionMm", sharpness.MotionMm, 3);
                json.WriteEndObject();
            }

            Markers(json, truth);
            Artifacts(json, truth);
            if (truth.Dose is { } dose)
            {
                json.WriteStartObject("dose");
                Number(json, "incidentAirKermaMicrogray", dose.IncidentAirKermaMicrogray, 2);
                Number(json, "entranceSurfaceKermaMicrogray", dose.EntranceSurfaceKermaMicrogray, 2);
                Number(json, "kermaAreaProductDgyCm2", dose.KermaAreaProductDgyCm2, 5);
                json.WriteEndObject();
            }

            Pose(json, exposure);
            json.WriteStartObject("landmarks");
            foreach (LandmarkTruth landmark in truth.Landmarks)
            {
                json.WriteStartObject(landmark.Name);
                Point(json, "pixel", landmark.Pixel);
                Number(json, "heightMm", landmark.HeightMm, 2);
                json.WriteBoolean("insideField", landmark.InsideField);
                json.WriteEndObject();
            }

            json.WriteEndObject();
            if (scene.Varied.Count > 0)
            {
                json.WriteStartObject("varied");
                foreach ((string what, double severity) in scene.Varied)
                {
                    Number(json, what, severity, 3);
                }

                json.WriteEndObject();
            }

            json.WritePropertyName("scene");
            json.WriteRawValue(SceneJson.Write(scene));
            json.WriteEndObject();
        }

        return Encoding.UTF8.GetString(stream.ToArray()) + "\n";
    }

    private static void Image(Utf8JsonWriter json, SimulatedExposure exposure)
    {
        json.WriteStartObject("image");
        json.WriteString("source", "dicom");
        json.WriteNumber("columns", exposure.SignalMicrogray.Columns);
        json.WriteNumber("rows", exposure.SignalMicrogray.Rows);
        json.WriteNumber("pixelSpacingMm", exposure.Setup.Scene.Receptor.SpacingMm);
        json.WriteString("boneIs", "bright");
        json.WriteEndObject();
    }

    private static void Field(Utf8JsonWriter json, SceneTruth truth)
    {
        json.WriteStartObject("field");
        Outline(json, "outline", truth.FieldOutline);
        Outline(json, "beamOutline", truth.BeamOutline);
        Number(json, "areaMm2", truth.FieldAreaMm2, 1);
        json.WriteStartArray("sides");
        foreach (SideTruth side in truth.Sides)
        {
            json.WriteStartObject();
            json.WriteString("side", side.Side.ToString().ToLowerInvariant());
            json.WriteString("edge", side.Edge.ToString().ToLowerInvariant());
            Number(json, "tiltDegrees", side.TiltDegrees, 3);
            json.WriteEndObject();
        }

        json.WriteEndArray();
        json.WriteEndObject();
    }

    private static void Markers(Utf8JsonWriter json, SceneTruth truth)
    {
        json.WriteStartObject("markers");
        json.WriteStartArray("found");
        if (truth.Marker is { } marker)
        {
            json.WriteStartObject();
            json.WriteString("letter", marker.Letter.ToString());
            if (marker.Word is not null)
            {
                json.WriteString("word", marker.Word);
            }

            json.WriteString("kind", marker.Kind == TrueMarkerKind.Lead ? "lead" : "annotation");
            json.WriteBoolean("mirrored", marker.Mirrored);
            Number(json, "rotationDegrees", marker.RotationDegrees, 2);
            Point(json, "center", marker.Center);
            json.WriteBoolean("insideField", marker.InsideField);
            json.WriteEndObject();
        }

        json.WriteEndArray();
        json.WriteEndObject();
    }

    private static void Artifacts(Utf8JsonWriter json, SceneTruth truth)
    {
        json.WriteStartObject("artifacts");
        json.WriteStartArray("found");
        foreach (ArtifactTruth artifact in truth.Artifacts)
        {
            json.WriteStartObject();
            json.WriteString("kind", artifact.Kind);
            if (artifact.Thing is not null)
            {
                json.WriteString("thing", artifact.Thing);
            }

            if (artifact.Center is { } centre)
            {
                Point(json, "center", centre);
            }

            if (artifact.AreaMm2 is double area)
            {
                Number(json, "areaMm2", area, 2);
            }

            if (artifact.LinesPerMm is double lines)
            {
                Number(json, "linesPerMm", lines, 4);
            }

            json.WriteEndObject();
        }

        json.WriteEndArray();
        json.WriteEndObject();
    }

    private static void Pose(Utf8JsonWriter json, SimulatedExposure exposure)
    {
        if (exposure.Setup.Body is not { } body)
        {
            return;
        }

        // Where the part's frame lies in the room: origin and axes; the room's origin is where the central ray meets the receptor.
        json.WriteStartObject("pose");
        foreach ((string name, System.Numerics.Vector3 value) in new[] { ("originMm", body.Placement.Origin), ("x", body.Placement.X), ("y", body.Placement.Y), ("z", body.Placement.Z) })
        {
            json.WriteStartArray(name);
            foreach (float each in new[] { value.X, value.Y, value.Z })
            {
                json.WriteNumberValue(Math.Round(each, 5));
            }

            json.WriteEndArray();
        }

        json.WriteEndObject();
    }

    private static void Outline(Utf8JsonWriter json, string name, IReadOnlyList<PixelPoint> outline)
    {
        json.WriteStartArray(name);
        foreach (PixelPoint point in outline)
        {
            json.WriteStartArray();
            json.WriteNumberValue(Math.Round(point.X, 3));
            json.WriteNumberValue(Math.Round(point.Y, 3));
            json.WriteEndArray();
        }

        json.WriteEndArray();
    }

    private static void Point(Utf8JsonWriter json, string name, PixelPoint point)
    {
        json.WriteStartArray(name);
        json.WriteNumberValue(Math.Round(point.X, 3));
        json.WriteNumberValue(Math.Round(point.Y, 3));
        json.WriteEndArray();
    }

    private static void Number(Utf8JsonWriter json, string name, double value, int digits) => json.WriteNumber(name, Math.Round(value, digits) + 0.0);
}
