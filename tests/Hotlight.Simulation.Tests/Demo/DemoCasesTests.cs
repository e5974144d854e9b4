using System.Diagnostics;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Simulation.Scene;
using Hotlight.Testing;

namespace Hotlight.Simulation.Tests.Demo;

public sealed class DemoCasesTests
{
    public static TheoryData<string> Ids => [.. DemoCases.All.Select(demo => demo.Id)];

    [Fact]
    [Trait("evidence", "invariant")]
    public void All_EveryCase_HasItsWordsAndAKnownProjection()
    {
        string[] projections = ["wrist-pa", "wrist-lateral", "elbow-lateral", "knee-ap", "knee-lateral", "chest-pa", "ankle-mortise", "lumbar-spine-ap"];
        Assert.Equal(24, DemoCases.All.Count);
        Assert.Equal(24, DemoCases.All.Select(demo => demo.Id).Distinct().Count());
        Assert.Equal(projections.Order(), DemoCases.All.Select(demo => demo.ProjectionId).Distinct().Order());
        Assert.All(DemoCases.All, demo =>
        {
            Assert.Matches("^[a-z0-9-]+$", demo.Id);
            Assert.StartsWith("Invented:", demo.History, StringComparison.Ordinal);
            Assert.Contains("kVp", demo.Technique, StringComparison.Ordinal);
            Assert.False(string.IsNullOrWhiteSpace(demo.Title));
            Assert.StartsWith("Invented^", demo.Scene.Records.PatientName, StringComparison.Ordinal);
            Assert.Contains("no patient was exposed", demo.Scene.Records.Comments, StringComparison.Ordinal);
        });

        // Good ones, and repeats that name an earlier case of the same patient and projection.
        Assert.True(DemoCases.All.Count(demo => demo.Fault is null) >= 6);
        DemoCase[] repeats = [.. DemoCases.All.Where(demo => demo.RepeatOf is not null)];
        Assert.True(repeats.Length >= 3);
        Assert.All(repeats, repeat =>
        {
            DemoCase earlier = DemoCases.All.Single(demo => demo.Id == repeat.RepeatOf);
            Assert.NotNull(earlier.Fault);
            Assert.Equal(earlier.Scene.Records.PatientId, repeat.Scene.Records.PatientId);
            Assert.Equal(earlier.Scene.Part!.Person, repeat.Scene.Part!.Person);
            Assert.Equal(earlier.ProjectionId, repeat.ProjectionId);
            Assert.True(earlier.Scene.Records.Acquired < repeat.Scene.Records.Acquired);
        });
    }

    [Theory]
    [MemberData(nameof(Ids))]
    [Trait("evidence", "analytic")]
    public void Expose_EveryCase_ReadsBackAsItWasMade(string id)
    {
        SceneDocument scene = Coarse(id);
        LabExposure exposure = Lab.Expose(scene);
        Radiograph read = RadiographReader.Read(exposure.ForPresentation(), id + ".dcm");
        Radiograph made = SceneFile.Radiograph(exposure.Simulated, linear: false);

        Assert.True(System.Runtime.InteropServices.MemoryMarshal.AsBytes(made.Pixels.Samples).SequenceEqual(System.Runtime.InteropServices.MemoryMarshal.AsBytes(read.Pixels.Samples)), "pixels differ");
        Assert.Equal(made.BitsStored, read.BitsStored);
        Assert.Equal(made.HighIsShownDark, read.HighIsShownDark);
        Assert.Equal(made.PresentationIntent, read.PresentationIntent);
        Assert.Equal(made.Relationship, read.Relationship);
        Assert.Equal(scene.Receptor.SpacingMm, read.ReceptorSpacing!.Value.ColumnSpacingMm);
        Assert.Equal(scene.Tube.TubeVoltageKvp, read.Exposure.TubeVoltageKvp);
        Assert.Equal(scene.Tube.ExposureMas, read.Exposure.ExposureMas!.Value, 1e-6);
        Assert.Equal(scene.Tube.SourceImageDistanceMm, read.Exposure.SourceImageDistanceMm);
        Assert.Equal(scene.Marker is { Kind: "annotation" } ? "YES" : "NO", read.Exposure.BurnedInAnnotation);
        Assert.True(read.Exposure.HasAcquisitionTime);
        double product = exposure.Truth.Dose!.KermaAreaProductDgyCm2;
        Assert.Equal(product, read.Exposure.KermaAreaProductDgyCm2!.Value, 0.005 * product);
        Assert.Empty(read.Remarks);

        // The header's three figures obey IEC 62494-1: EI = 100 per µGy, DI = 10·log10(EI/EI_T), as printed (1, and 0.01).
        Assert.Equal(100 * exposure.Truth.MedianKermaMicrogray, read.Exposure.ExposureIndex!.Value, 0.5);
        Assert.Equal(
            10 * Math.Log10(read.Exposure.ExposureIndex.Value / read.Exposure.TargetExposureIndex!.Value),
            read.Exposure.DeviationIndex!.Value,
            0.0051);
    }

    /// <summary>What is not about exposure is exposed well: good cases within half a deviation index of the target, the rest within one, where no change is made (docs/methods/judgement.md).</summary>
    [Theory]
    [MemberData(nameof(Ids))]
    public void Truth_DeviationIndex_IsWithinOneButWhereTheCaseTeachesExposure(string id)
    {
        // The one that lies close to its limit is exposed as it is shipped; a coarse receptor moves the median by some hundredths of an index.
        double index = Lab.Expose(id == "chest-pa-shallow" ? DemoCases.All.Single(one => one.Id == id).Scene : Coarse(id)).Truth.DeviationIndex;
        switch (id)
        {
            case "knee-ap-underexposed" or "lumbar-spine-ap-cut-off":
                Assert.True(index < -2, $"deviation index {index}");
                break;
            case "ankle-mortise-overexposed":
                Assert.True(index > 3, $"deviation index {index}");
                break;
            default:
                double most = DemoCases.All.Single(demo => demo.Id == id).Fault is null ? 0.5 : 1;
                Assert.InRange(index, -most, most);
                break;
        }
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void ForProcessing_Pixels_AreTheSignalTimes125PerMicrogray()
    {
        LabExposure exposure = Lab.Expose(Coarse("knee-ap-underexposed"));
        Radiograph read = RadiographReader.Read(exposure.ForProcessing(), "linear.dcm");
        Raster<float> signal = exposure.Simulated.SignalMicrogray;
        double full = Math.Min(16383, Math.Round(exposure.Simulated.SaturationMicrogray * 125));
        Assert.Equal(PresentationIntent.ForProcessing, read.PresentationIntent);
        Assert.Equal(PixelRelationship.Linear, read.Relationship);
        Assert.Equal(1, read.RelationshipSign);
        int worst = 0;
        for (int row = 0; row < read.Rows; row++)
        {
            for (int column = 0; column < read.Columns; column++)
            {
                worst = Math.Max(worst, Math.Abs(read.Pixels[row, column] - (int)Math.Clamp(Math.Round(signal[row, column] * 125.0), 0, full)));
            }
        }

        Assert.Equal(0, worst);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void ForPresentation_Pixels_FollowTheLogarithmOfTheSignalWithinTheSharpening()
    {
        // One factor of ten is 1000 steps, 0 at the receptor's limit; sharpening moves a pixel by at most 0.3·0.15 decades.
        LabExposure exposure = Lab.Expose(Coarse("wrist-pa-good"));
        Radiograph read = SceneFile.Radiograph(exposure.Simulated, linear: false);
        Raster<float> signal = exposure.Simulated.SignalMicrogray;
        double limit = exposure.Simulated.SaturationMicrogray;
        double worst = 0;
        for (int row = 0; row < read.Rows; row++)
        {
            for (int column = 0; column < read.Columns; column++)
            {
                double expected = 1000 * (Math.Log10(limit) - Math.Log10(Math.Clamp(signal[row, column], 0.012, limit)));
                worst = Math.Max(worst, Math.Abs(read.Pixels[row, column] - Math.Clamp(expected, 0, 4095)));
            }
        }

        Assert.True(worst <= 45.6, $"largest departure {worst} steps");
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Truth_OfEachFault_ShowsTheFault()
    {
        SceneTruth Of(string id) => Lab.Expose(Coarse(id)).Truth;
        Assert.True(Of("wrist-pa-wide").EmptyPercentOfField > 50);
        Assert.All(Of("wrist-lateral-tilted").Sides, side => Assert.Equal(12, side.TiltDegrees, 1e-3));
        SceneTruth masked = Of("wrist-pa-masked");
        Assert.All(masked.Sides, side => Assert.Equal(TrueEdge.Mask, side.Edge));
        Assert.Equal(TrueMarkerKind.Annotation, masked.Marker!.Kind);
        Assert.True(Of("knee-ap-underexposed").DeviationIndex < -3);
        Assert.True(Of("ankle-mortise-overexposed").DeviationIndex > 3);
        Assert.True(Of("wrist-pa-moved").Sharpness!.DirectionRatio > 2);
        Assert.Contains(Of("wrist-pa-ring").Artifacts, artifact => artifact.Thing == "ring");
        Assert.True(Of("lumbar-spine-ap-cut-off").GridCutOffShare < 0.7);
        Assert.True(Of("knee-ap-mirrored").Marker!.Mirrored);
        Assert.Contains(Of("chest-pa-clipped").Landmarks, landmark => landmark.Name.Contains("ostophrenic", StringComparison.Ordinal) && !landmark.InsideField);
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Expose_Cancelled_Stops()
    {
        using CancellationTokenSource stop = new();
        stop.Cancel();
        Assert.ThrowsAny<OperationCanceledException>(() => Lab.Expose(Coarse("wrist-pa-good"), cancellation: stop.Token));
    }

    [SystemFileFact("/usr/bin/dcmdump")]
    [Trait("evidence", "independent")]
    public void ForPresentation_File_IsReadByAnotherAuthorsDump()
    {
        string text = Run("/usr/bin/dcmdump", Lab.Expose(Coarse("chest-pa-good")).ForPresentation(), "+P", "0008,0016", "+P", "0010,0010", "+P", "0018,1411", "+P", "0028,1040");
        Assert.Contains("DigitalXRayImageStorageForPresentation", text, StringComparison.Ordinal);
        Assert.Contains("Invented^", text, StringComparison.Ordinal);
        Assert.Contains("[LOG]", text, StringComparison.Ordinal);
    }

    /// <summary>The verifier of the dicom3tools (Debian) knows the modules of a digital x-ray image and their types.</summary>
    [SystemFileFact("/usr/bin/dciodvfy")]
    [Trait("evidence", "independent")]
    public void Files_OfACase_HaveNoErrorForAnotherAuthorsVerifier()
    {
        foreach (string id in new[] { "wrist-pa-masked", "chest-pa-good", "ankle-mortise-good", "lumbar-spine-ap-good" })
        {
            LabExposure exposure = Lab.Expose(Coarse(id));
            string presentation = Run("/usr/bin/dciodvfy", exposure.ForPresentation());
            Assert.Contains("DXImageForPresentation", presentation, StringComparison.Ordinal);
            Assert.DoesNotContain("Error", presentation, StringComparison.Ordinal);
            string processing = Run("/usr/bin/dciodvfy", exposure.ForProcessing());
            Assert.Contains("DXImageForProcessing", processing, StringComparison.Ordinal);
            Assert.DoesNotContain("Error", processing, StringComparison.Ordinal);
        }
    }

    private static string Run(string program, byte[] dicom, params string[] arguments)
    {
        string path = Path.Combine(Path.GetTempPath(), $"hotlight-{Guid.NewGuid():N}.dcm");
        try
        {
            File.WriteAllBytes(path, dicom);
            ProcessStartInfo start = new(program) { RedirectStandardOutput = true, RedirectStandardError = true };
            foreach (string argument in arguments)
            {
                start.ArgumentList.Add(argument);
            }

            start.ArgumentList.Add(path);
            using Process process = Process.Start(start)!;
            Task<string> errors = process.StandardError.ReadToEndAsync();
            string text = process.StandardOutput.ReadToEnd();
            process.WaitForExit();
            Assert.Equal(0, process.ExitCode);
            return text + errors.Result;
        }
        finally
        {
            File.Delete(path);
        }
    }

    /// <summary>A case at a fifth of the pixels along each side: the same scene, quick to make.</summary>
    private static SceneDocument Coarse(string id)
    {
        SceneDocument scene = DemoCases.All.Single(one => one.Id == id).Scene;
        return scene with { Receptor = scene.Receptor with { SpacingMm = scene.Receptor.SpacingMm * 5 } };
    }
}
