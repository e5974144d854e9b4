using Hotlight.Accuracy.Elsewhere;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure;
using Hotlight.Measure.Document;
using Hotlight.Measure.Exposure;
using Hotlight.Measure.Markers;

namespace Hotlight.Accuracy.Scoring;

/// <summary>One measured exposure beside its truth; null where the document cannot tell or truth has nothing to compare.</summary>
internal sealed record Outcome
{
    /// <summary>Name of the exposure.</summary>
    public required string Name { get; init; }

    /// <summary>What was varied: the first word of its name.</summary>
    public required string Kind { get; init; }

    /// <summary>none, slight, marked or mixed.</summary>
    public required string Severity { get; init; }

    /// <summary>Projection, or form of the second generator.</summary>
    public required string View { get; init; }

    /// <summary>As stored for processing, else for presentation.</summary>
    public required bool ForProcessing { get; init; }

    /// <summary>What is true of it.</summary>
    public required TruthRecord Truth { get; init; }

    /// <summary>What failed, or null: the exposure then counts as not told.</summary>
    public string? Failure { get; init; }

    /// <summary>Largest distance of a true corner to the nearest one found, in mm.</summary>
    public double? CornerMm { get; init; }

    /// <summary>Intersection over union of the fields; 0 where none was told.</summary>
    public double Overlap { get; init; }

    /// <summary>Sides whose kind of edge is right, 0 to 4.</summary>
    public int SidesRight { get; init; }

    /// <summary>Share of the anatomy found less the true one, in points.</summary>
    public double? AnatomyError { get; init; }

    /// <summary>Share of bone found less the true one, in points.</summary>
    public double? BoneError { get; init; }

    /// <summary>Exposure index from the pixels over the true one, less 1, in percent.</summary>
    public double? IndexErrorPercent { get; init; }

    /// <summary>Noise found over the true one, less 1, in percent; only on the scale of the signal.</summary>
    public double? MottleErrorPercent { get; init; }

    /// <summary>Saturated share found less the true one, in points.</summary>
    public double? SaturatedError { get; init; }

    /// <summary>Blur found over the true one, less 1, in percent.</summary>
    public double? BlurErrorPercent { get; init; }

    /// <summary>Whether motion was seen.</summary>
    public bool? MotionSeen { get; init; }

    /// <summary>Direction of the motion found against the true one, 0 to 90; only where it was seen.</summary>
    public double? MotionDirectionError { get; init; }

    /// <summary>Markers; null where the document cannot tell.</summary>
    public MarkerMatch? Markers { get; init; }

    /// <summary>Artifacts by kind; null where the document cannot tell.</summary>
    public IReadOnlyList<ArtifactMatch>? Artifacts { get; init; }

    /// <summary>Kinds of processing that were seen; null where the document cannot tell.</summary>
    public IReadOnlyList<ProcessingKind>? Processing { get; init; }

    /// <summary>Brightness found less the true one, in points.</summary>
    public double? BrightnessError { get; init; }

    /// <summary>Contrast found less the true one, in points.</summary>
    public double? ContrastError { get; init; }

    /// <summary>Figures with a stated uncertainty: name and error over one standard deviation.</summary>
    public IReadOnlyList<(string Figure, double Deviations)> Stated { get; init; } = [];

    /// <summary>Measures an exposure of either generator.</summary>
    /// <param name="path">Its path without ending.</param>
    /// <param name="forProcessing">Which of its two files.</param>
    /// <param name="words">Whether the generators' marker words are given.</param>
    public static Outcome Of(string path, bool forProcessing, bool words = false)
    {
        TruthRecord truth = TruthRecord.Read(path + ".truth.json");
        string name = Path.GetFileName(path);
        string[] parts = name.Split('-', 3);
        double? severity = truth.Varied.Count == 1 ? truth.Varied.Values.Single() : null;
        var outcome = new Outcome
        {
            Name = name,
            Kind = parts[0],
            Severity = severity switch { null => "mixed", <= 0 => "none", < 0.5 => "slight", _ => "marked" },
            View = parts[2],
            ForProcessing = forProcessing,
            Truth = truth,
        };
        try
        {
            Radiograph radiograph = RadiographReader.Read(path + (forProcessing ? ".processing.dcm" : ".presentation.dcm"));
            string[] listed = ElsewherePlan.Words;
            var options = new MeasureOptions { MarkerWords = words ? MarkerWords.Of(listed[..(listed.Length / 2)], listed[(listed.Length / 2)..]) : null };
            if (forProcessing)
            {
                // The header's index is taken out and the generator's relation given, so that the index comes from the pixels.
                radiograph = radiograph with { Exposure = radiograph.Exposure with { ExposureIndex = null, DeviationIndex = null, RelativeXRayExposure = null, Sensitivity = null } };
                options = options with { Calibration = truth.StepsPerMicrogray is double steps ? new Calibration { Relationship = PixelRelationship.Linear, Gain = steps } : null };
            }

            return outcome.With(RadiographMeasure.Measure(radiograph, options));
        }
        catch (Exception problem) when (problem is not OutOfMemoryException)
        {
            // One exposure that breaks a measure is reported and never stops the rest.
            return outcome with { Failure = $"{problem.GetType().Name}: {problem.Message}" };
        }
    }

    /// <summary>The same with what a document says.</summary>
    /// <param name="document">The document.</param>
    public Outcome With(MeasurementDocument document)
    {
        List<(string, double)> stated = [];
        void State(string figure, double error, double? sigma)
        {
            if (sigma is double one and > 0)
            {
                stated.Add((figure, Math.Abs(error) / one));
            }
        }

        Outcome outcome = this;
        if (document.Field.IsMeasured)
        {
            FieldMeasurement field = document.Field.Value;
            FieldSideMeasurement[] sides = [.. field.Sides.OrderBy(side => side.Side)];
            outcome = outcome with
            {
                CornerMm = Polygon.CornerError(Truth.Outline, field.Outline) * Truth.SpacingMm,
                Overlap = Polygon.Overlap(Truth.Outline, field.Outline),
                SidesRight = sides.Where((side, k) => k < 4 && side.Edge.ToString().Equals(Truth.Edges[k], StringComparison.OrdinalIgnoreCase)).Count(),
            };
            if (field.AreaMm2 is double area)
            {
                State("field area", area - Truth.AreaMm2, field.AreaMm2Uncertainty);
            }

            for (int k = 0; k < Math.Min(4, sides.Length); k++)
            {
                if (sides[k].Edge == FieldEdge.Beam && Truth.Edges[k] == "beam")
                {
                    State("tilt of a side", sides[k].TiltDegrees - Truth.Tilts[k], sides[k].TiltDegreesUncertainty);
                }
            }
        }

        if (document.Anatomy.IsMeasured)
        {
            AnatomyMeasurement anatomy = document.Anatomy.Value;
            double error = anatomy.PercentOfField - Truth.AnatomyPercent;
            State("anatomy share", error, anatomy.PercentOfFieldUncertainty);
            outcome = outcome with { AnatomyError = error };
            if (anatomy.BoneIsPercentOfAnatomy is double bone)
            {
                outcome = outcome with { BoneError = bone - Truth.BonePercent };
                State("bone share", bone - Truth.BonePercent, anatomy.BoneIsPercentOfAnatomyUncertainty);
            }
        }

        if (ForProcessing && document.Exposure.IsMeasured && document.Exposure.Value.Basis == ExposureBasis.Pixels && Truth.ExposureIndex > 0)
        {
            ExposureMeasurement exposure = document.Exposure.Value;
            outcome = outcome with { IndexErrorPercent = 100 * ((exposure.ExposureIndex / Truth.ExposureIndex) - 1) };
            State("exposure index from pixels", exposure.ExposureIndex - Truth.ExposureIndex, exposure.ExposureIndexUncertainty);
        }

        if (document.Mottle.IsMeasured && document.Mottle.Value.Scale == "linear signal" && Truth.NoisePercent > 0)
        {
            // Noise of rendered pixel values is another quantity than noise of the signal.
            MottleMeasurement mottle = document.Mottle.Value;
            outcome = outcome with { MottleErrorPercent = 100 * ((mottle.RelativeNoisePercent / Truth.NoisePercent) - 1) };
            State("mottle", mottle.RelativeNoisePercent - Truth.NoisePercent, mottle.RelativeNoisePercentUncertainty);
        }

        if (document.Clipping.IsMeasured)
        {
            ClippingMeasurement clipping = document.Clipping.Value;
            outcome = outcome with { SaturatedError = clipping.SaturatedPercentOfAnatomy - Truth.SaturatedPercent };
            State("saturated share", clipping.SaturatedPercentOfAnatomy - Truth.SaturatedPercent, clipping.SaturatedPercentOfAnatomyUncertainty);
        }

        if (document.Sharpness.IsMeasured && Truth.EdgeBlurMm > 0)
        {
            outcome = outcome.WithSharpness(document.Sharpness.Value, State);
        }

        if (document.Markers.IsMeasured)
        {
            MarkerMatch match = MarkerMatch.Of(Truth.Markers, document.Markers.Value.Found, 8 / Truth.SpacingMm);
            outcome = outcome with { Markers = match };
            foreach ((TrueMarker there, FoundMarker found) in match.Pairs.Where(pair => pair.Truth.Mirrored == pair.Found.Mirrored))
            {
                State("rotation of a marker", MarkerMatch.Turn(there.RotationDegrees, found.RotationDegrees), found.RotationDegreesUncertainty);
            }
        }

        if (document.Artifacts.IsMeasured)
        {
            outcome = outcome with { Artifacts = ArtifactMatch.Of(Truth.Artifacts, document.Artifacts.Value.Found, Truth.SpacingMm, Truth.OtherLead) };
        }

        if (document.Processing.IsMeasured)
        {
            outcome = outcome with { Processing = [.. document.Processing.Value.Details?.Select(sign => sign.Kind) ?? []] };
        }

        if (document.Display.IsMeasured && !ForProcessing && Truth.MeanBrightnessPercent is double bright)
        {
            outcome = outcome with
            {
                BrightnessError = document.Display.Value.MeanBrightnessPercent - bright,
                ContrastError = document.Display.Value.ContrastPercent - Truth.ContrastPercent!.Value,
            };
        }

        return outcome with { Stated = stated };
    }

    private Outcome WithSharpness(SharpnessMeasurement sharpness, Action<string, double, double?> state)
    {
        Outcome outcome = this;
        if (sharpness.EdgeBlurMm is double blur)
        {
            outcome = outcome with { BlurErrorPercent = 100 * ((blur / Truth.EdgeBlurMm) - 1) };
            state("edge blur", blur - Truth.EdgeBlurMm, sharpness.EdgeBlurMmUncertainty);
        }

        // An image may hold too few edges to tell of direction and motion.
        double? ratio = sharpness.DirectionRatio;
        double? direction = sharpness.DirectionDegrees;
        MotionSign? motion = sharpness.Motion;
        if (ratio is double worst)
        {
            state("direction ratio", worst - Truth.DirectionRatio, sharpness.DirectionRatioUncertainty);
        }

        outcome = outcome with { MotionSeen = motion is MotionSign sign ? sign == MotionSign.Seen : null };
        if (outcome.MotionSeen == true && direction is double told && Truth.MotionMm > 0)
        {
            double off = Math.Abs(told - Truth.DirectionDegrees) % 180;
            off = Math.Min(off, 180 - off);
            outcome = outcome with { MotionDirectionError = off };
            if (Truth.MotionMm >= 0.8)
            {
                if (sharpness.MotionMm is double length)
                {
                    state("length of motion", length - Truth.MotionMm, sharpness.MotionMmUncertainty);
                }

                state("direction of motion", off, sharpness.DirectionDegreesUncertainty);
            }
        }

        return outcome;
    }
}
