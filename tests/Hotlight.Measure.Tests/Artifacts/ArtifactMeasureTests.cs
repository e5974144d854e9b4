using System.Text.Json;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Artifacts;
using Hotlight.Measure.Document;
using Hotlight.Measure.Regions;
using Hotlight.Measure.Tests.Document;
using Hotlight.Measure.Tests.Mottle;
using Hotlight.Testing;

namespace Hotlight.Measure.Tests.Artifacts;

public class ArtifactMeasureTests
{
    private const int Rows = 640;
    private const int Columns = 560;
    private const double SpacingMm = 0.2;

    [Theory]
    [Trait("evidence", "invariant")]
    [InlineData(1, true)]
    [InlineData(2, true)]
    [InlineData(3, false)]
    public void Measure_NoiseOnASlope_FindsNothing(int seed, bool isLinear)
    {
        Assert.Empty(Found(Clean(seed), isLinear));
    }

    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(true, 0.0)]
    [InlineData(false, 0.0)]
    [InlineData(true, 0.97)]
    public void Measure_DeadOrWeakLine_IsFoundAtItsPlace(bool isColumn, double gain)
    {
        // One line at 0, or 3 % low. Its area is its length times the square of the spacing.
        Func<int, int, double> clean = Clean(4);
        FoundArtifact line = Assert.Single(Found((row, column) => clean(row, column) * ((isColumn ? column : row) == 201 ? gain : 1)));

        Assert.Equal(ArtifactKind.DeadLine, line.Kind);
        Assert.Equal(201, isColumn ? line.Center.X : line.Center.Y);
        Assert.Equal(isColumn ? 90 : 0, line.AngleDegrees);
        Assert.Equal((isColumn ? Rows : Columns) * SpacingMm * SpacingMm, line.AreaMm2!.Value, 0.01);
        if (gain > 0)
        {
            Assert.Equal(3, line.ContrastPercent!.Value, 4 * line.ContrastPercentUncertainty!.Value);
        }
    }

    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(0.6)]
    [InlineData(1.0)]
    [InlineData(-2.0)]
    public void Measure_StepOfGain_IsFoundWithItsSize(double percent)
    {
        Func<int, int, double> clean = Clean(5);
        FoundArtifact step = Assert.Single(Found((row, column) => clean(row, column) * (column >= 300 ? 1 + (percent / 100) : 1)));

        Assert.Equal(ArtifactKind.GainStep, step.Kind);
        Assert.Equal(299.5, step.Center.X);

        // The document's contrast is 100·(1 − exp(−|x|)): |percent| to second order. Four of its own deviations and 0.02 for that order.
        Assert.InRange(step.ContrastPercent!.Value, Math.Abs(percent) - (4 * step.ContrastPercentUncertainty!.Value) - 0.03, Math.Abs(percent) + (4 * step.ContrastPercentUncertainty.Value) + 0.03);
        Assert.InRange(step.ContrastPercentUncertainty.Value, 0.01, 0.15);
    }

    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(3, 3)]
    [InlineData(8, 0)]
    public void Measure_StepsAlongManyColumns_AreNoStepsOfGain(int planted, int told)
    {
        // A receptor is put together of a few parts: our own limit is six.
        Func<int, int, double> clean = Clean(5);
        double Stepped(int row, int column) => clean(row, column) * Math.Pow(1.02, Math.Clamp((column - 60) / 40, 0, planted));

        Assert.Equal(told, Found(Stepped).Count(artifact => artifact.Kind == ArtifactKind.GainStep));
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Measure_StepBelowTheLimit_IsNotReported()
    {
        Func<int, int, double> clean = Clean(6);

        Assert.Empty(Found((row, column) => clean(row, column) * (column >= 300 ? 1.001 : 1)));
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Measure_EdgeOfAnatomyAlongAColumn_IsNoStep()
    {
        // An edge as steep as a receptor's blur of one pixel lets it be, exactly along the columns: 30 % over the whole height.
        Func<int, int, double> clean = Clean(7);

        Assert.DoesNotContain(Found((row, column) => clean(row, column) * (1 - (0.3 / (1 + Math.Exp(-(column - 250) / 0.8))))), artifact => artifact.Kind is ArtifactKind.GainStep or ArtifactKind.DeadLine);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Measure_DeadElements_AreCounted()
    {
        // Ten single ones and two clusters of 2 × 2: 18 elements of 0.04 mm².
        Func<int, int, double> clean = Clean(8);
        FoundArtifact dead = Assert.Single(Found((row, column) => IsDead(row, column) ? 0 : clean(row, column)));

        Assert.Equal(ArtifactKind.DeadPixels, dead.Kind);
        Assert.Equal(18, dead.Pixels);
        Assert.Equal(0.72, dead.AreaMm2!.Value, 0.001);
        Assert.Equal(12, dead.Places!.Count);

        static bool IsDead(int row, int column)
            => (row % 60 == 31 && row < 600 && column == 40 + (row / 60 * 45)) || (row is 200 or 201 && column is 500 or 501) || (row is 400 or 401 && column is 60 or 61);
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Measure_SpecksThroughTheBlur_AreNoDeadElements()
    {
        // As deep as dead ones at their middle, but with the blur of one pixel that all that is exposed has.
        Func<int, int, double> clean = Clean(9);
        IReadOnlyList<FoundArtifact> found = Found((row, column) =>
        {
            double dy = (row % 80) - 40, dx = (column % 80) - 40;
            return clean(row, column) * (1 - (0.5 * Math.Exp(-((dx * dx) + (dy * dy)) / 2)));
        });

        Assert.DoesNotContain(found, artifact => artifact.Kind == ArtifactKind.DeadPixels);
    }

    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(3.97, 1.2)]
    [InlineData(6.1, 88.5)]
    [InlineData(1.73, 0.0)]
    public void Measure_GridLines_AreFoundAtTheAliasedFrequency(double linesPerMm, double turnDegrees)
    {
        // Lines of 2 % amplitude sampled at 5 per mm show at |f − 5·round(f/5)| along each axis (sampling theorem).
        (double sine, double cosine) = Math.SinCos(turnDegrees * Math.PI / 180);
        double fx = linesPerMm * cosine, fy = linesPerMm * sine;
        double seen = Math.Sqrt(Math.Pow(fx - (5 * Math.Round(fx / 5)), 2) + Math.Pow(fy - (5 * Math.Round(fy / 5)), 2));
        Func<int, int, double> clean = Clean(10);
        FoundArtifact lines = Assert.Single(Found((row, column) => clean(row, column) * (1 + (0.02 * Math.Cos(2 * Math.PI * SpacingMm * ((fx * column) + (fy * row)))))));

        Assert.Equal(ArtifactKind.GridLines, lines.Kind);
        Assert.InRange(Math.Abs(lines.LinesPerMm!.Value - seen), 0, (4 * lines.LinesPerMmUncertainty!.Value) + 1e-3);
        Assert.InRange(lines.ContrastPercent!.Value, 1.8, 2.2);
    }

    [Theory]
    [Trait("evidence", "invariant")]
    [InlineData(0.5)]
    [InlineData(0.7)]
    public void Measure_LinesOverAPartOfTheField_AreNoGrid(double share)
    {
        // Evenly spaced and as strong as a grid's that is found, but a texture of what lies in a part of the field: a grid covers the receptor.
        Func<int, int, double> clean = Clean(10);

        Assert.DoesNotContain(
            Found((row, column) => clean(row, column) * (column < share * Columns ? 1 + (0.02 * Math.Cos(2 * Math.PI * ((0.13 * column) + (0.05 * row)))) : 1)),
            artifact => artifact.Kind is ArtifactKind.GridLines or ArtifactKind.Banding);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void MediansBeside_AtEveryPlace_IsTheMeanOfTheFifthAndSixthOfTen()
    {
        var field = new NoiseField(18);
        float[] steps = [.. Enumerable.Range(0, 101).Select(_ => (float)field.Gaussian())];
        float[] medians = LineFaults.MediansBeside(steps);

        for (int at = 6; at < steps.Length - 7; at++)
        {
            float[] ten = [.. steps[(at - 6)..(at - 1)].Concat(steps[(at + 2)..(at + 7)]).Order()];
            Assert.Equal((ten[4] + ten[5]) / 2, medians[at]);
        }
    }

    [Fact]
    [Trait("evidence", "independent")]
    public void Find_LinesInNoise_AgreeWithScipysPeriodogram()
    {
        using JsonDocument reference = JsonDocument.Parse(File.ReadAllText(Path.Combine(SharedData.RepositoryRoot, "tests", "reference", "line-spectrum", "lines.json")));
        int side = reference.RootElement.GetProperty("side").GetInt32();
        double mean = reference.RootElement.GetProperty("mean").GetDouble(), sigma = reference.RootElement.GetProperty("sigma").GetDouble();
        foreach (JsonElement entry in reference.RootElement.GetProperty("lines").EnumerateArray())
        {
            double perPixel = entry.GetProperty("perPixel").GetDouble(), amplitude = entry.GetProperty("amplitude").GetDouble();
            double[,] noise = White(side, entry.GetProperty("seed").GetUInt64());
            Radiograph radiograph = HandDrawn.Radiograph(side, side, 14, (row, column) => mean + (sigma * noise[row, column]) + (amplitude * Math.Cos(2 * Math.PI * perPixel * column))) with
            {
                Relationship = PixelRelationship.Unknown,
                PresentationIntent = PresentationIntent.ForPresentation,
            };

            // Ours is of the image's pixels, on a scale of −1 a grey step; all regions are soft tissue and the field is the image.
            FoundArtifact lines = Assert.Single(ArtifactMeasure.Measure(radiograph, HandDrawn.AllSoftTissue(radiograph), new MeasureOptions(), []).Value!.Found);

            // Cramér–Rao bound of theirs and of ours at this amplitude: √6·σ / (π·N·A·√(N²/2)) = √12·80 / (π·512²·40) = 8.4e-6 at the weakest, 1.5 times that for the window; four deviations of the difference.
            Assert.Equal(entry.GetProperty("foundPerPixel").GetDouble(), lines.LinesPerPixel!.Value, 7.5e-5);
            double ours = lines.ContrastPercent!.Value / 100 * Range(radiograph);

            // A tone's amplitude in 512² pixels of deviation 80: √(2/512²)·80·√1.5 = 0.27; four of the difference, and the contrast's printed digits (0.001 % of about 500).
            Assert.Equal(entry.GetProperty("foundAmplitude").GetDouble(), ours, (4 * 0.27 * Math.Sqrt(2)) + 0.01);
        }
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Measure_BandsOfEightRows_AreBanding()
    {
        Func<int, int, double> clean = Clean(11);
        FoundArtifact bands = Assert.Single(Found((row, column) => clean(row, column) * (1 + (0.01 * Math.Cos(2 * Math.PI * row / 8.0)))));

        Assert.Equal(ArtifactKind.Banding, bands.Kind);
        Assert.Equal(0.125, bands.LinesPerPixel!.Value, 1e-4);
        Assert.Equal(0, bands.AngleDegrees!.Value, 0.3);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Measure_RowsWithOffsetsOfTheirOwn_AreBanding()
    {
        var field = new NoiseField(12);
        double[] offsets = [.. Enumerable.Range(0, Rows).Select(_ => 0.01 * field.Gaussian())];
        Func<int, int, double> clean = Clean(12);
        FoundArtifact bands = Assert.Single(Found((row, column) => clean(row, column) * (1 + offsets[row])), artifact => artifact.Kind == ArtifactKind.Banding);

        Assert.Equal(0, bands.AngleDegrees);

        // The rows' deviation is 1 %; the estimate rests on clipped steps, which keep 0.6 to 1 of it.
        Assert.InRange(bands.ContrastPercent!.Value, 0.5, 1.2);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Measure_SharpDiscOfMetal_IsAnObjectWithItsArea()
    {
        // A disc of 4 mm radius that lets 5 % through: 50.27 mm², to a block of 0.2 mm along its rim of 25 mm.
        Func<int, int, double> clean = Clean(13);
        FoundArtifact disc = Assert.Single(Found((row, column) => clean(row, column) * Metal(Distance(row, column, 300, 200) - 20)));

        Assert.Equal(ArtifactKind.ForeignObject, disc.Kind);
        Assert.InRange(disc.Center.DistancePixelsTo(new PixelPoint(X: 200, Y: 300)), 0, 1.5);
        Assert.InRange(disc.AreaMm2!.Value, 50.3 - 5.1, 50.3 + 5.1);
        Assert.InRange(disc.ContrastPercent!.Value, 90, 100);
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Measure_SoftEdgedDenseThing_IsNoObject()
    {
        // As dense, but over 6 mm: a bone's end on, a thick fold.
        Func<int, int, double> clean = Clean(14);

        Assert.Empty(Found((row, column) => clean(row, column) * (1 - (0.8 / (1 + Math.Exp((Distance(row, column, 300, 200) - 60) / 8))))));
    }

    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(true)]
    [InlineData(false)]
    public void Measure_CortexOfAShaft_IsNoObjectAndAWireBesideItIs(bool isLinear)
    {
        // What a ray passes in a tube of 8 and 5 mm: 2·(√(64 − x²) − √(25 − x²)) mm, of 0.1 per mm here: 1.25 above the flesh beside it and 0.65 above the marrow.
        // A wire of 0.8 mm radius, as dense at its middle, stands 1.25 above what is on either side.
        Func<int, int, double> clean = Clean(18);
        double Shaft(double mm) => 0.1 * (Chord(8, mm) - Chord(5, mm));
        double Value(int row, int column) => clean(row, column) * Math.Exp(-Shaft((column - 200) * SpacingMm));

        Assert.DoesNotContain(Found(Value, isLinear), artifact => artifact.Kind == ArtifactKind.ForeignObject);

        // Its edge through a blur: five samples over two pixels.
        double Wire(int column) => Enumerable.Range(-2, 5).Average(part => Math.Exp(-1.25 / 1.6 * Chord(0.8, (column + (0.5 * part) - 400) * SpacingMm)));
        FoundArtifact wire = Assert.Single(Found((row, column) => Value(row, column) * Wire(column), isLinear), artifact => artifact.Kind == ArtifactKind.ForeignObject);
        Assert.Equal(400, wire.Center.X, 1.5);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Measure_DrawnBar_IsNoDenseObjectThoughItsValuesVary()
    {
        // An edge from one pixel to the next; through a blur of 0.6 pixels it is metal's. Values vary as after compression with loss.
        Func<int, int, double> clean = Clean(19);
        bool IsBar(int row, int column) => row is >= 200 and < 230 && column is >= 150 and < 260;

        Assert.DoesNotContain(Found((row, column) => IsBar(row, column) ? 0.05 * clean(row, column) : clean(row, column)), artifact => artifact.Kind == ArtifactKind.ForeignObject);
        Assert.Single(Found((row, column) => clean(row, column) * Metal(Math.Max(Math.Abs(row - 214.5) - 15, Math.Abs(column - 204.5) - 55))), artifact => artifact.Kind == ArtifactKind.ForeignObject);
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Measure_SpacingUnknown_DeadElementsAndLinesAreLeftOpen()
    {
        Func<int, int, double> clean = Clean(8);
        Radiograph radiograph = Draw((row, column) => column == 201 || (row % 60 == 31 && column == 100) ? 0 : clean(row, column), isLinear: true) with { ReceptorSpacing = null };
        ArtifactsMeasurement artifacts = ArtifactMeasure.Measure(radiograph, HandDrawn.AllSoftTissue(radiograph), new MeasureOptions(), []).Value!;

        Assert.DoesNotContain(artifacts.Found, artifact => artifact.Kind is ArtifactKind.DeadPixels or ArtifactKind.DeadLine);
        Assert.Contains(artifacts.CannotTell!, sentence => sentence.StartsWith("Dead elements and dead lines are not looked for", StringComparison.Ordinal));
    }

    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(0.41, 4000, true)]
    [InlineData(0.2, 400, false)]
    [InlineData(double.NaN, 500, true)]
    [InlineData(double.NaN, 640, false)]
    public void IsCoarse_AtWidePixelsOrInASmallPicture_IsTrue(double pixelMm, int longerSide, bool expected)
    {
        // 240 mm, the shortest usual longer side, over 0.4 mm: 600 pixels.
        Assert.Equal(expected, ForeignObjects.IsCoarse(pixelMm, longerSide));
    }

    [Fact]
    public void Measure_MarkerAtTheObject_IsNotReported()
    {
        Func<int, int, double> clean = Clean(15);
        Radiograph radiograph = Draw((row, column) => clean(row, column) * Metal(Distance(row, column, 300, 200) - 20), isLinear: true);
        var marker = new FoundMarker { Letter = "R", Kind = MarkerKind.Lead, Mirrored = false, RotationDegrees = 0, Center = new PixelPoint(X: 205, Y: 296), InsideField = true, OverAnatomy = true };

        Assert.Empty(ArtifactMeasure.Measure(radiograph, HandDrawn.AllSoftTissue(radiograph), new MeasureOptions(), [marker]).Value!.Found);

        // Markers not looked for: beside the body a thing of a letter's size is left open, over the body it is named.
        RadiographRegions beside = HandDrawn.Regions(radiograph, (row, column) => Distance(row, column, 300, 200) <= 60 ? RegionLabel.Direct : RegionLabel.SoftTissue);
        ArtifactsMeasurement open = ArtifactMeasure.Measure(radiograph, beside, new MeasureOptions(), null).Value!;
        Assert.Empty(open.Found);
        Assert.Contains(open.CannotTell!, sentence => sentence.Contains("markers", StringComparison.Ordinal));
        Assert.Single(ArtifactMeasure.Measure(radiograph, HandDrawn.AllSoftTissue(radiograph), new MeasureOptions(), null).Value!.Found);
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Measure_ImageOnItsSide_FindsTheSameThingsThere()
    {
        Func<int, int, double> clean = Clean(16);
        double Upright(int row, int column) => clean(row, column) * (column >= 300 ? 1.012 : 1) * (row == 401 ? 0 : 1) * Metal(Distance(row, column, 200, 150) - 15);
        IReadOnlyList<FoundArtifact> one = Found(Upright);
        Radiograph turned = HandDrawn.Radiograph(Columns, Rows, 14, (row, column) => Upright(Rows - 1 - column, row));
        IReadOnlyList<FoundArtifact> other = ArtifactMeasure.Measure(turned, HandDrawn.AllSoftTissue(turned), new MeasureOptions(), []).Value!.Found;

        Assert.Equal("DeadLine,ForeignObject,GainStep", string.Join(",", one.Select(artifact => artifact.Kind.ToString()).Order()));
        Assert.Equal(one.Select(artifact => artifact.Kind).Order(), other.Select(artifact => artifact.Kind).Order());
        foreach (FoundArtifact artifact in one)
        {
            // (x, y) of the upright image lies at (rows − 1 − y, x); blocks of two pixels fall the same way as both sides are even.
            FoundArtifact same = other.Single(item => item.Kind == artifact.Kind);
            Assert.InRange(same.Center.DistancePixelsTo(new PixelPoint(X: Rows - 1 - artifact.Center.Y, Y: artifact.Center.X)), 0, 1.01);
        }
    }

    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(0.5, true)]
    [InlineData(0.25, false)]
    public void Measure_DirectExposureFallsToTheRight_IsCutOffBeyondTheHeelEffect(double share, bool told)
    {
        // The signal falls by a constant factor a pixel, by the share from the left to the right; the body in the middle is twice as dense and falls the same way.
        Func<int, int, double> noise = Clean(19);
        static bool IsBody(int row, int column) => column is > 200 and < 360 && row > 80;
        double Value(int row, int column) => noise(row, column) / (1 + (0.4 * row / Rows)) * Math.Pow(1 - share, (double)column / Columns) * (IsBody(row, column) ? 0.5 : 1);
        Radiograph radiograph = Draw(Value, isLinear: true);
        RadiographRegions regions = HandDrawn.Regions(radiograph, (row, column) => IsBody(row, column) ? RegionLabel.SoftTissue : RegionLabel.Direct);
        ArtifactsMeasurement artifacts = ArtifactMeasure.Measure(radiograph, regions, new MeasureOptions(), []).Value!;
        FoundArtifact[] falls = [.. artifacts.Found.Where(artifact => artifact.Kind == ArtifactKind.GridCutOff)];

        Assert.Equal(told ? 1 : 0, falls.Length);
        Assert.Contains(artifacts.CannotTell!, sentence => sentence.Contains("heel", StringComparison.Ordinal));
        if (told)
        {
            // Medians of hundreds of cells of 1 % noise: four of the stated deviations and the printed digit.
            Assert.InRange(Math.Abs(falls[0].ContrastPercent!.Value - (100 * share)), 0, (4 * falls[0].ContrastPercentUncertainty!.Value) + 0.1);
            Assert.True(falls[0].LineTo!.Value.X > falls[0].LineFrom!.Value.X);
        }
    }

    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(true, true)]
    [InlineData(false, false)]
    public void Measure_DirectExposureOnOneSideOnlyOrUnknownScale_CutOffCannotBeTold(bool isLinear, bool bodyReachesTheSide)
    {
        Func<int, int, double> noise = Clean(20);
        bool IsBody(int row, int column) => bodyReachesTheSide ? column > 300 : column is > 200 and < 360;
        double Value(int row, int column) => noise(row, column) / (1 + (0.4 * row / Rows)) * Math.Pow(0.4, (double)column / Columns) * (IsBody(row, column) ? 0.5 : 1);
        Radiograph radiograph = Draw(Value, isLinear);
        RadiographRegions regions = HandDrawn.Regions(radiograph, (row, column) => IsBody(row, column) || (bodyReachesTheSide && row > 300) ? RegionLabel.SoftTissue : RegionLabel.Direct);
        ArtifactsMeasurement artifacts = ArtifactMeasure.Measure(radiograph, regions, new MeasureOptions(), []).Value!;

        Assert.DoesNotContain(artifacts.Found, artifact => artifact.Kind == ArtifactKind.GridCutOff);
        Assert.Contains(artifacts.CannotTell!, sentence => sentence.StartsWith("Grid cut-off cannot be told", StringComparison.Ordinal));
    }

    [Fact]
    public void Measure_FieldNotFound_CannotTell()
    {
        Radiograph radiograph = Draw(Clean(17), isLinear: true);
        Figure<ArtifactsMeasurement> artifacts = ArtifactMeasure.Measure(radiograph, HandDrawn.NothingFound(radiograph), new MeasureOptions(), []);

        Assert.False(artifacts.IsMeasured);
        Assert.Contains("field", artifacts.Why, StringComparison.Ordinal);
    }

    private static double Distance(int row, int column, double toRow, double toColumn) => Math.Sqrt(((row - toRow) * (row - toRow)) + ((column - toColumn) * (column - toColumn)));

    /// <summary>What metal that lets 5 % through leaves, at a distance from its rim in pixels, negative inside; its edge through a blur of 0.6 pixels.</summary>
    private static double Metal(double away) => 0.05 + (0.95 / (1 + Math.Exp(-1.702 * away / 0.6)));

    /// <summary>What a ray passes in a cylinder, in its radius' unit.</summary>
    private static double Chord(double radius, double away) => 2 * Math.Sqrt(Math.Max(0, (radius * radius) - (away * away)));

    /// <summary>5000 steps with a slope of 40 % down the rows and noise of 1 %.</summary>
    private static Func<int, int, double> Clean(int seed)
    {
        var field = new NoiseField(seed);
        var values = new double[Rows, Columns];
        for (int row = 0; row < Rows; row++)
        {
            for (int column = 0; column < Columns; column++)
            {
                values[row, column] = 5000 * (1 + (0.4 * row / Rows)) * (1 + (0.01 * field.Gaussian()));
            }
        }

        return (row, column) => values[row, column];
    }

    private static Radiograph Draw(Func<int, int, double> value, bool isLinear)
    {
        Radiograph radiograph = HandDrawn.Radiograph(Rows, Columns, 14, value);
        return isLinear ? radiograph : radiograph with { Relationship = PixelRelationship.Unknown, PresentationIntent = PresentationIntent.ForPresentation };
    }

    private static IReadOnlyList<FoundArtifact> Found(Func<int, int, double> value, bool isLinear = true)
    {
        Radiograph radiograph = Draw(value, isLinear);
        return ArtifactMeasure.Measure(radiograph, HandDrawn.AllSoftTissue(radiograph), new MeasureOptions(), []).Value!.Found;
    }

    private static double Range(Radiograph radiograph)
    {
        ushort[] sorted = radiograph.Pixels.Samples.ToArray();
        Array.Sort(sorted);
        return sorted[(int)Math.Ceiling(0.99 * sorted.Length) - 1] - sorted[(int)Math.Ceiling(0.01 * sorted.Length) - 1];
    }

    /// <summary>The noise of tests/reference/line-spectrum/build.py: sums of twelve 16-bit uniform numbers from splitmix64, over 65536.</summary>
    private static double[,] White(int side, ulong seed)
    {
        var noise = new double[side, side];
        ulong index = 0;
        for (int row = 0; row < side; row++)
        {
            for (int column = 0; column < side; column++)
            {
                double total = 0;
                for (int word = 0; word < 3; word++)
                {
                    ulong state = seed + (++index * 0x9E3779B97F4A7C15UL);
                    state = (state ^ (state >> 30)) * 0xBF58476D1CE4E5B9UL;
                    state = (state ^ (state >> 27)) * 0x94D049BB133111EBUL;
                    state ^= state >> 31;
                    for (int part = 0; part < 4; part++)
                    {
                        total += (state >> (16 * part)) & 0xFFFF;
                    }
                }

                noise[row, column] = (total - (12 * 32767.5)) / 65536;
            }
        }

        return noise;
    }
}
