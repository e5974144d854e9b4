using System.Diagnostics;
using System.Runtime.InteropServices;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Simulation.Projection;
using Hotlight.Simulation.Scene;
using Hotlight.Testing;

namespace Hotlight.Simulation.Tests.Demo;

public sealed class DemoCasesTests
{
    [Fact]
    [Trait("evidence", "invariant")]
    public void All_EveryCase_HasItsWordsAndAKnownProjection()
    {
        string[] projections = ["wrist-pa", "wrist-lateral", "elbow-lateral", "knee-ap", "knee-lateral", "chest-pa"];
        Assert.InRange(DemoCases.All.Count, 8, 12);
        Assert.Equal(DemoCases.All.Count, DemoCases.All.Select(demo => demo.Id).Distinct().Count());
        Assert.Equal(projections.Order(), DemoCases.All.Select(demo => demo.ProjectionId).Distinct().Order());
        Assert.All(DemoCases.All, demo =>
        {
            Assert.Matches("^[a-z0-9-]+$", demo.Id);
            Assert.StartsWith("Invented:", demo.History, StringComparison.Ordinal);
            Assert.Contains("kVp", demo.Technique, StringComparison.Ordinal);
            Assert.False(string.IsNullOrWhiteSpace(demo.Title));
        });
        Assert.Contains(DemoCases.All, demo => demo.Fault is null);
    }

    public static TheoryData<string> Ids => [.. DemoCases.Recipes().Select(recipe => recipe.Id)];

    [Theory]
    [MemberData(nameof(Ids))]
    [Trait("evidence", "analytic")]
    public void Expose_EveryCase_ReadsBackAsItWasMade(string id)
    {
        DemoRecipe recipe = Coarse(id);
        DemoExposure exposure = recipe.ToCase().Expose();
        Radiograph read = RadiographReader.Read(exposure.Dicom, id + ".dcm");
        Radiograph made = recipe.MakeRadiograph(linear: false, default, out SceneTruth truth);

        Assert.True(MemoryMarshal.AsBytes(made.Pixels.Samples).SequenceEqual(MemoryMarshal.AsBytes(read.Pixels.Samples)), "pixels differ");
        Assert.Equal(made.BitsStored, read.BitsStored);
        Assert.Equal(made.HighIsShownDark, read.HighIsShownDark);
        Assert.Equal(made.PresentationIntent, read.PresentationIntent);
        Assert.Equal(made.Relationship, read.Relationship);
        Assert.Equal(recipe.SpacingMm, read.ReceptorSpacing!.Value.ColumnSpacingMm);
        Assert.Equal(recipe.Technique.TubeVoltageKvp, read.Exposure.TubeVoltageKvp);
        Assert.Equal(recipe.Technique.ExposureMas, read.Exposure.ExposureMas!.Value, 1e-6);
        Assert.Equal(recipe.Technique.SourceImageDistanceMm, read.Exposure.SourceImageDistanceMm);
        Assert.Equal(recipe.Laterality, read.Exposure.Laterality ?? "U");
        Assert.Equal(recipe.Marker?.Kind == TrueMarkerKind.Annotation ? "YES" : "NO", read.Exposure.BurnedInAnnotation);
        Assert.True(read.Exposure.HasAcquisitionTime);
        double product = ExposureSimulator.KermaAreaProductDgyCm2(recipe.Scene(recipe.SpacingMm));
        Assert.Equal(product, read.Exposure.KermaAreaProductDgyCm2!.Value, 0.005 * product);
        Assert.Empty(read.Remarks);

        // The header's three figures obey IEC 62494-1: EI = 100 per µGy, DI = 10·log10(EI/EI_T), as printed (1, and 0.01).
        Assert.Equal(100 * truth.MeanKermaMicrogray, read.Exposure.ExposureIndex!.Value, 0.5);
        Assert.Equal(
            10 * Math.Log10(read.Exposure.ExposureIndex.Value / read.Exposure.TargetExposureIndex!.Value),
            read.Exposure.DeviationIndex!.Value,
            0.0051);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void ExposeForProcessing_Pixels_AreTheSignalTimes125PerMicrogray()
    {
        DemoRecipe recipe = Coarse("knee-ap-underexposed");
        Radiograph read = RadiographReader.Read(recipe.ToCase().ExposeForProcessing().Dicom, "linear.dcm");
        ExposureScene scene = recipe.Scene(recipe.SpacingMm);
        Raster<float> signal = ExposureSimulator.Expose(scene, default).SignalMicrogray;
        Assert.Equal(PresentationIntent.ForProcessing, read.PresentationIntent);
        Assert.Equal(PixelRelationship.Linear, read.Relationship);
        Assert.Equal(1, read.RelationshipSign);
        int worst = 0;
        for (int row = 0; row < read.Rows; row++)
        {
            for (int column = 0; column < read.Columns; column++)
            {
                worst = Math.Max(worst, Math.Abs(read.Pixels[row, column] - (int)Math.Round(Math.Clamp(signal[row, column] * 125.0, 0, 15000))));
            }
        }

        Assert.Equal(0, worst);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Expose_Pixels_FollowTheLogarithmOfTheSignalWithinTheSharpening()
    {
        // One factor of ten is 1000 steps, 0 at the receptor's limit of 120 µGy; sharpening moves a pixel by at most 0.3·0.15 decades.
        DemoRecipe recipe = Coarse("wrist-pa-good");
        Radiograph read = recipe.MakeRadiograph(linear: false, default, out _);
        Raster<float> signal = ExposureSimulator.Expose(recipe.Scene(recipe.SpacingMm), default).SignalMicrogray;
        double worst = 0;
        for (int row = 0; row < read.Rows; row++)
        {
            for (int column = 0; column < read.Columns; column++)
            {
                double expected = 1000 * (Math.Log10(120) - Math.Log10(Math.Clamp(signal[row, column], 0.012, 120)));
                worst = Math.Max(worst, Math.Abs(read.Pixels[row, column] - Math.Clamp(expected, 0, 4095)));
            }
        }

        Assert.True(worst <= 45.6, $"largest departure {worst} steps");
    }

    [Theory]
    [InlineData("wrist-pa-good")]
    [InlineData("chest-pa-good")]
    [Trait("evidence", "invariant")]
    public void Expose_Twice_GivesTheSameBytes(string id)
    {
        DemoRecipe recipe = Coarse(id);
        Assert.Equal(recipe.ToCase().Expose().Dicom, recipe.ToCase().Expose().Dicom);
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Truth_OfEachFault_ShowsTheFault()
    {
        SceneTruth wide = Coarse("wrist-pa-wide").ToCase().Expose().Truth;
        Assert.True(wide.EmptyPercentOfField > 50);
        SceneTruth tilted = Coarse("wrist-lateral-tilted").ToCase().Expose().Truth;
        Assert.All(tilted.Sides, side => Assert.Equal(12, side.TiltDegrees));
        SceneTruth masked = Coarse("wrist-pa-masked").ToCase().Expose().Truth;
        Assert.All(masked.Sides, side => Assert.Equal(TrueEdge.Mask, side.Edge));
        Assert.Equal(TrueMarkerKind.Annotation, masked.Marker!.Kind);
        SceneTruth under = Coarse("knee-ap-underexposed").ToCase().Expose().Truth;
        Assert.True(under.DeviationIndex < -3);
        Assert.All(DemoCases.Recipes(), recipe => Assert.NotNull(recipe.Marker));
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Expose_Cancelled_Stops()
    {
        using CancellationTokenSource stop = new();
        stop.Cancel();
        Assert.ThrowsAny<OperationCanceledException>(() => Coarse("wrist-pa-good").ToCase().Expose(stop.Token));
    }

    [SystemFileFact("/usr/bin/dcmdump")]
    [Trait("evidence", "independent")]
    public void Expose_File_IsReadByAnotherAuthorsDump()
    {
        string path = Path.Combine(Path.GetTempPath(), $"hotlight-{Guid.NewGuid():N}.dcm");
        try
        {
            File.WriteAllBytes(path, Coarse("chest-pa-good").ToCase().Expose().Dicom);
            ProcessStartInfo start = new("/usr/bin/dcmdump") { RedirectStandardOutput = true, RedirectStandardError = true };
            foreach (string argument in new[] { "+P", "0008,0016", "+P", "0010,0010", "+P", "0018,1411", "+P", "0028,1040", path })
            {
                start.ArgumentList.Add(argument);
            }

            using Process dump = Process.Start(start)!;
            string errors = dump.StandardError.ReadToEnd();
            string text = dump.StandardOutput.ReadToEnd();
            dump.WaitForExit();
            Assert.Equal(0, dump.ExitCode);
            Assert.Equal("", errors);
            Assert.Contains("DigitalXRayImageStorageForPresentation", text, StringComparison.Ordinal);
            Assert.Contains("Invented^", text, StringComparison.Ordinal);
            Assert.Contains("[LOG]", text, StringComparison.Ordinal);
        }
        finally
        {
            File.Delete(path);
        }
    }

    /// <summary>A case at a quarter of the pixels along each side: the same scene, quick to make.</summary>
    private static DemoRecipe Coarse(string id)
    {
        DemoRecipe recipe = DemoCases.Recipes().Single(one => one.Id == id);
        return recipe with { SpacingMm = recipe.SpacingMm * 5 };
    }
}
