using System.Text.Json;
using System.Text.Json.Nodes;
using Hotlight.Accuracy.Scoring;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Imaging.Dicom;

namespace Hotlight.Accuracy.Elsewhere;

/// <summary>Writes an exposure of the second generator as the phantom lab writes its own: for presentation, for processing, and what is true of it.</summary>
internal static class ElsewhereFiles
{
    private const int PresentationBits = 12;
    private const int ProcessingBits = 14;

    /// <summary>Writes NAME.presentation.dcm, NAME.processing.dcm and NAME.truth.json.</summary>
    /// <param name="folder">Where to.</param>
    /// <param name="name">Their name.</param>
    /// <param name="exposure">The exposure.</param>
    public static void Write(string folder, string name, ElsewhereExposure exposure)
    {
        ElsewherePlan plan = exposure.Plan;
        byte[] covered = Mask(plan);
        Raster<ushort> linear = Linear(exposure, covered);
        (Raster<ushort> shown, double centre, double width) = Presentation(exposure, covered);
        double index = 100 * exposure.MedianMicrogray;
        var record = new ExposureRecord
        {
            TubeVoltageKvp = plan.Form.Kvp,
            ExposureIndex = plan.TellsIndex ? Math.Round(index) : null,
            TargetExposureIndex = plan.TellsIndex ? plan.Form.TargetIndex : null,
            DeviationIndex = plan.TellsIndex ? Math.Round(10 * Math.Log10(Math.Round(index) / plan.Form.TargetIndex), 1) : null,
            SourceImageDistanceMm = 1100,
            Modality = "DX",
            SaysIdentityRemoved = true,
        };
        Radiograph processing = new()
        {
            FileName = name + ".processing.dcm",
            Source = ImageSource.Dicom,
            Pixels = linear.AsReadOnly(),
            BitsStored = ProcessingBits,
            ReceptorSpacing = new PixelSpacing(plan.Spacing, plan.Spacing),
            HighIsShownDark = true,
            PresentationIntent = PresentationIntent.ForProcessing,
            Relationship = plan.Logarithmic ? PixelRelationship.Logarithmic : PixelRelationship.Linear,
            RelationshipSign = 1,
            Encoding = "uncompressed",
            Exposure = record,
        };
        Radiograph presentation = processing with
        {
            FileName = name + ".presentation.dcm",
            Pixels = shown.AsReadOnly(),
            BitsStored = PresentationBits,
            HighIsShownDark = plan.HighIsDark,
            PresentationIntent = PresentationIntent.ForPresentation,
            Relationship = PixelRelationship.Unknown,
            RelationshipSign = plan.HighIsDark ? 1 : -1,
            Windows = [new VoiTransform { Center = centre, Width = width, Function = WindowFunction.Linear }],
        };
        var description = new DxDescription { Comments = "Invented exposure: no patient was exposed. Not a diagnostic image.", Seed = name, PatientId = "INVENTED-000" };
        using (FileStream stream = File.Create(Path.Combine(folder, name + ".processing.dcm")))
        {
            DxObject.Write(stream, processing, description);
        }

        using (FileStream stream = File.Create(Path.Combine(folder, name + ".presentation.dcm")))
        {
            DxObject.Write(stream, presentation, description);
        }

        JsonObject truth = Truth(exposure, covered, shown, centre, width);
        File.WriteAllText(Path.Combine(folder, name + ".truth.json"), truth.ToJsonString(new JsonSerializerOptions { WriteIndented = true }));
    }

    /// <summary>1 where a mask covers the picture.</summary>
    private static byte[] Mask(ElsewherePlan plan)
    {
        byte[] covered = new byte[plan.Rows * plan.Columns];
        if (plan.Mask is { } mask)
        {
            Parallel.For(0, plan.Rows, row =>
            {
                for (int column = 0; column < plan.Columns; column++)
                {
                    covered[(row * plan.Columns) + column] = Polygon.Holds(mask, column, row) ? (byte)0 : (byte)1;
                }
            });
        }

        return covered;
    }

    /// <summary>Pixels for processing: steps of signal, or of its logarithm.</summary>
    private static Raster<ushort> Linear(ElsewhereExposure exposure, byte[] covered)
    {
        ElsewherePlan plan = exposure.Plan;
        int full = (1 << ProcessingBits) - 1;
        double gain = full / exposure.Saturation;
        double floor = exposure.Saturation / 4000;
        var pixels = new Raster<ushort>(plan.Rows, plan.Columns);
        Parallel.For(0, plan.Rows, row =>
        {
            for (int column = 0; column < plan.Columns; column++)
            {
                double signal = exposure.Read[row, column];
                double value = plan.Logarithmic ? full * Math.Log10(Math.Max(floor, signal) / floor) / Math.Log10(4000) : gain * signal;
                pixels[row, column] = (ushort)Math.Clamp(Math.Round(value), 0, full);
            }
        });
        Drawn(exposure, pixels, covered, white: 0, black: (ushort)full);
        return pixels;
    }

    /// <summary>Pixels for presentation: a curve, local contrast, edges, then a linear window over the anatomy.</summary>
    private static (Raster<ushort> Pixels, double Centre, double Width) Presentation(ElsewhereExposure exposure, byte[] covered)
    {
        ElsewherePlan plan = exposure.Plan;
        double mean = exposure.MeanMicrogray;
        var curve = new Raster<float>(plan.Rows, plan.Columns);
        Parallel.For(0, plan.Rows, row =>
        {
            for (int column = 0; column < plan.Columns; column++)
            {
                double signal = Math.Max(1e-4, exposure.Read[row, column]);
                curve[row, column] = (float)(plan.Curve switch
                {
                    0 => -Math.Pow(signal / mean, 0.38),
                    1 => -Math.Atan(0.9 * Math.Log(signal / mean)) / Math.PI * 2,
                    _ => -Math.Log10((signal / mean) + 0.06),
                });
            }
        });
        Raster<float> wide = Blurs.Gaussian(curve, 6 / plan.Spacing);
        Raster<float> narrow = Blurs.Gaussian(curve, 0.45 / plan.Spacing);
        float[] values = curve.Samples.ToArray();
        Array.Sort(values);
        double range = values[(int)(0.995 * values.Length)] - values[(int)(0.005 * values.Length)];
        Parallel.For(0, plan.Rows, row =>
        {
            Span<float> line = curve.Row(row);
            for (int column = 0; column < line.Length; column++)
            {
                // Both enhancements end at a share of the range, so that the beam's edge keeps its form.
                double local = Math.Clamp(line[column] - wide[row, column], -0.1 * range, 0.1 * range);
                double edge = Math.Clamp(line[column] - narrow[row, column], -0.05 * range, 0.05 * range);
                line[column] += (float)((plan.LocalShare * local) + (plan.SharpShare * edge));
            }
        });
        values = curve.Samples.ToArray();
        Array.Sort(values);
        double low = values[(int)(0.002 * values.Length)];
        double high = values[(int)(0.998 * values.Length)];
        int full = (1 << PresentationBits) - 1;
        var pixels = new Raster<ushort>(plan.Rows, plan.Columns);
        List<double> anatomy = [];
        for (int row = 0; row < plan.Rows; row++)
        {
            for (int column = 0; column < plan.Columns; column++)
            {
                double value = Math.Clamp(Math.Round(60 + ((full - 120) * (curve[row, column] - low) / (high - low))), 0, full);
                pixels[row, column] = (ushort)(plan.HighIsDark ? full - value : value);
                if (row % 3 == 0 && column % 3 == 0 && exposure.Skin[row, column] > 3)
                {
                    (double x, double y) = exposure.Place(row, column);
                    if (exposure.InsideBeam(x, y) > 2 && covered[(row * plan.Columns) + column] == 0)
                    {
                        anatomy.Add(pixels[row, column]);
                    }
                }
            }
        }

        anatomy.Sort();
        double from = anatomy[(int)(0.01 * anatomy.Count)];
        double to = anatomy[(int)(0.99 * anatomy.Count)];
        Drawn(exposure, pixels, covered, white: (ushort)(plan.HighIsDark ? 0 : full), black: (ushort)(plan.HighIsDark ? full : 0));
        return (pixels, Math.Round((from + to) / 2), Math.Max(2, Math.Round(1.15 * (to - from))));
    }

    /// <summary>Draws the mask, then letters.</summary>
    private static void Drawn(ElsewhereExposure exposure, Raster<ushort> pixels, byte[] covered, ushort white, ushort black)
    {
        ElsewherePlan plan = exposure.Plan;
        ushort veil = plan.MaskIsWhite ? white : black;
        for (int k = 0; k < covered.Length; k++)
        {
            if (covered[k] == 1)
            {
                pixels.Samples[k] = veil;
            }
        }

        List<StrokeText> texts = [.. plan.DrawnTexts];
        if (plan.Marker is { } marker && plan.Make is MarkerMake.Drawn or MarkerMake.Boxed)
        {
            texts.Add(plan.Marker!);
        }

        foreach (StrokeText text in texts)
        {
            PixelPoint middle = plan.Pixel(text.X, text.Y);
            int reach = (int)Math.Ceiling(text.ReachMm * 1.3 / plan.Spacing);
            bool boxed = text == plan.Marker && plan.Make == MarkerMake.Boxed;
            ushort grey = (ushort)((0.45 * white) + (0.55 * black));
            for (int row = Math.Max(0, (int)middle.Y - reach); row < Math.Min(plan.Rows, (int)middle.Y + reach); row++)
            {
                for (int column = Math.Max(0, (int)middle.X - reach); column < Math.Min(plan.Columns, (int)middle.X + reach); column++)
                {
                    (double x, double y) = exposure.Place(row, column);
                    if (text.Distance(x, y) < 0)
                    {
                        pixels[row, column] = white;
                    }
                    else if (boxed)
                    {
                        (double u, double v) = text.Own(x, y);
                        if (u > -0.6 && u < (0.85 * (text.Text.Length - 1)) + 0.6 && Math.Abs(v) < 0.8)
                        {
                            pixels[row, column] = grey;
                        }
                    }
                }
            }
        }
    }

    private static JsonObject Truth(ElsewhereExposure exposure, byte[] covered, Raster<ushort> shown, double centre, double width)
    {
        ElsewherePlan plan = exposure.Plan;
        PixelPoint[] beam = [.. Enumerable.Range(0, 4).Select(k =>
        {
            // Upper left is where left and top meet, then clockwise.
            (double x, double y) = plan.Sides[(k + 3) % 4].Meets(plan.Sides[k]);
            return plan.Pixel(x, y);
        })];
        PixelPoint[] image = [new(X: -0.5, Y: -0.5), new(X: plan.Columns - 0.5, Y: -0.5), new(X: plan.Columns - 0.5, Y: plan.Rows - 0.5), new(X: -0.5, Y: plan.Rows - 0.5)];
        IReadOnlyList<PixelPoint> outline = Polygon.Clip(beam, image);
        JsonArray sides = [];
        string[] names = ["top", "right", "bottom", "left"];
        for (int side = 0; side < 4; side++)
        {
            PixelPoint a = beam[side];
            PixelPoint b = beam[(side + 1) % 4];
            bool beyond = side switch { 0 => a.Y < 0 && b.Y < 0, 1 => a.X > plan.Columns && b.X > plan.Columns, 2 => a.Y > plan.Rows && b.Y > plan.Rows, _ => a.X < 0 && b.X < 0 };
            double tilt = Math.Atan2(plan.Sides[side].OutY, plan.Sides[side].OutX) * 180 / Math.PI;
            tilt = beyond ? 0 : ((tilt - (90 * (side - 1)) + 540) % 360) - 180;
            string edge = beyond ? "receptor" : "beam";
            if (plan.Mask is { } mask)
            {
                PixelPoint c = mask[side];
                PixelPoint d = mask[(side + 1) % 4];
                edge = "mask";
                tilt = (Math.Atan2(d.Y - c.Y, d.X - c.X) * 180 / Math.PI) - (90 * side);
                tilt = ((tilt + 540) % 360) - 180;
            }

            sides.Add(new JsonObject { ["side"] = names[side], ["edge"] = edge, ["tiltDegrees"] = Math.Round(tilt, 3) });
        }

        if (plan.Mask is { } hole)
        {
            outline = Polygon.Clip([.. outline], hole);
        }

        Tally tally = new(exposure, covered, shown, centre, width);
        double sigma = Blurs.NearestGaussian() * plan.BlurMm;
        double along = Math.Sqrt((sigma * sigma) + (plan.MotionMm * plan.MotionMm / 12));
        JsonObject truth = new()
        {
            ["schema"] = "hotlight.truth/1",
            ["notice"] = "Simulated: no patient was exposed. For education and quality improvement; not a diagnostic image.",
            ["image"] = new JsonObject { ["columns"] = plan.Columns, ["rows"] = plan.Rows, ["pixelSpacingMm"] = plan.Spacing },
            ["field"] = new JsonObject { ["outline"] = Points(outline), ["areaMm2"] = Math.Round(Polygon.Area(outline) * plan.Spacing * plan.Spacing, 1), ["sides"] = sides },
            ["anatomy"] = new JsonObject { ["percentOfField"] = Math.Round(tally.AnatomyPercent, 2), ["boneIsPercentOfAnatomy"] = Math.Round(tally.BonePercent, 2) },
            ["exposure"] = new JsonObject
            {
                ["exposureIndex"] = Math.Round(100 * exposure.MedianMicrogray, 2),
                ["targetExposureIndex"] = plan.Form.TargetIndex,
                ["receptorAirKermaMicrogray"] = Math.Round(exposure.MedianMicrogray, 4),
                ["meanReceptorAirKermaMicrogray"] = Math.Round(exposure.MeanMicrogray, 4),
                ["gridCutOffShare"] = Math.Round(1 - plan.CutOffShare, 3),
                ["stepsPerMicrogray"] = plan.Logarithmic ? null : ((1 << ProcessingBits) - 1) / exposure.Saturation,
            },
            ["mottle"] = new JsonObject { ["relativeNoisePercent"] = Math.Round(tally.NoisePercent, 3) },
            ["clipping"] = new JsonObject { ["saturatedPercentOfAnatomy"] = Math.Round(tally.SaturatedPercent, 3) },
            ["sharpness"] = new JsonObject
            {
                ["edgeBlurMm"] = Math.Round(sigma, 4),
                ["directionRatio"] = Math.Round(along / sigma, 3),
                ["directionDegrees"] = Math.Round(plan.MotionDegrees, 1),
                ["motionMm"] = Math.Round(plan.MotionMm, 3),
            },
            ["display"] = new JsonObject { ["meanBrightnessPercent"] = Math.Round(tally.MeanBrightness, 2), ["contrastPercent"] = Math.Round(tally.Contrast, 2) },
            ["varied"] = new JsonObject { [plan.Kind] = Math.Round(plan.Severity, 3) },
            ["form"] = plan.Form.Name,
        };
        JsonArray markers = [];
        if (plan.Marker is { } marker)
        {
            (double middleX, double middleY) = marker.Middle;
            PixelPoint place = plan.Pixel(middleX, middleY);
            markers.Add(new JsonObject
            {
                ["letter"] = plan.WordIsLeft is { } left ? left ? "L" : "R" : marker.Text,
                ["word"] = plan.WordIsLeft is null ? null : marker.Text,
                ["kind"] = plan.Make is MarkerMake.Drawn or MarkerMake.Boxed ? "annotation" : "lead",
                ["make"] = plan.Make.ToString(),
                ["mirrored"] = marker.Mirrored,
                ["rotationDegrees"] = Math.Round(marker.RotationDegrees, 2),
                ["center"] = Point(place),
                ["heightMm"] = Math.Round(marker.HeightMm, 2),
                ["insideField"] = Polygon.Holds(outline, place.X, place.Y),
            });
        }

        truth["markers"] = new JsonObject { ["found"] = markers };
        truth["leadTexts"] = new JsonArray([.. plan.LeadTexts.Select(text => Point(plan.Pixel(text.X, text.Y)))]);
        truth["artifacts"] = new JsonObject { ["found"] = Artifacts(exposure, outline) };
        return truth;
    }

    private static JsonArray Artifacts(ElsewhereExposure exposure, IReadOnlyList<PixelPoint> outline)
    {
        ElsewherePlan plan = exposure.Plan;
        JsonArray found = [];
        foreach (DenseThing thing in plan.Things)
        {
            PixelPoint place = plan.Pixel(thing.X, thing.Y);
            if (Polygon.Holds(outline, place.X, place.Y))
            {
                found.Add(new JsonObject { ["kind"] = "foreign-object", ["thing"] = thing.Thing, ["center"] = Point(place), ["areaMm2"] = Math.Round(exposure.AreaMm2(thing), 1) });
            }
        }

        foreach (int column in plan.DeadColumns)
        {
            found.Add(new JsonObject { ["kind"] = "dead-line", ["thing"] = "column", ["center"] = Point(new PixelPoint(X: column, Y: plan.Rows / 2.0)) });
        }

        foreach (int row in plan.DeadRows)
        {
            found.Add(new JsonObject { ["kind"] = "dead-line", ["thing"] = "row", ["center"] = Point(new PixelPoint(X: plan.Columns / 2.0, Y: row)) });
        }

        foreach ((int row, int column, int side) in plan.DeadClusters)
        {
            found.Add(new JsonObject { ["kind"] = "dead-pixels", ["thing"] = "cluster", ["center"] = Point(new PixelPoint(X: column + ((side - 1) / 2.0), Y: row + ((side - 1) / 2.0))), ["areaMm2"] = Math.Round(side * side * plan.Spacing * plan.Spacing, 3) });
        }

        if (plan.StepAt > 0)
        {
            PixelPoint place = plan.StepIsRow ? new PixelPoint(X: plan.Columns / 2.0, Y: plan.StepAt - 0.5) : new PixelPoint(X: plan.StepAt - 0.5, Y: plan.Rows / 2.0);
            found.Add(new JsonObject { ["kind"] = "gain-step", ["center"] = Point(place) });
        }

        if (plan.LinesPerMm > 0)
        {
            found.Add(new JsonObject { ["kind"] = "grid-lines", ["linesPerMm"] = Math.Round(plan.LinesPerMm, 4) });
        }

        if (exposure.IsDouble)
        {
            found.Add(new JsonObject { ["kind"] = "double-exposure" });
        }

        if (plan.CutOffShare > 0)
        {
            found.Add(new JsonObject { ["kind"] = "grid-cut-off" });
        }

        return found;
    }

    private static JsonArray Point(PixelPoint place) => [Math.Round(place.X, 2), Math.Round(place.Y, 2)];

    private static JsonArray Points(IEnumerable<PixelPoint> places) => [.. places.Select(Point)];

    /// <summary>Counts over the visible field.</summary>
    private sealed class Tally
    {
        public Tally(ElsewhereExposure exposure, byte[] covered, Raster<ushort> shown, double centre, double width)
        {
            ElsewherePlan plan = exposure.Plan;
            long field = 0;
            long anatomy = 0;
            long bone = 0;
            long saturated = 0;
            double noise = 0;
            long noisy = 0;
            List<double> brightness = [];
            for (int row = 0; row < plan.Rows; row += 2)
            {
                for (int column = 0; column < plan.Columns; column += 2)
                {
                    (double x, double y) = exposure.Place(row, column);
                    double inside = exposure.InsideBeam(x, y);
                    if (inside < 0 || covered[(row * plan.Columns) + column] == 1)
                    {
                        continue;
                    }

                    field++;
                    if (exposure.Skin[row, column] < 1)
                    {
                        continue;
                    }

                    anatomy++;
                    saturated += exposure.Read[row, column] >= exposure.Saturation ? 1 : 0;
                    double bright = Math.Clamp(((shown[row, column] - centre) / width) + 0.5, 0, 1);
                    brightness.Add(100 * (plan.HighIsDark ? 1 - bright : bright));
                    if (exposure.Bone[row, column] >= 1)
                    {
                        bone++;
                    }
                    else if (exposure.Skin[row, column] > 6 && inside > 4)
                    {
                        double relative = (exposure.Read[row, column] / exposure.Clean[row, column]) - 1;
                        if (Math.Abs(relative) < 0.5)
                        {
                            // Faults of the receptor and what is saturated are not noise.
                            noise += relative * relative;
                            noisy++;
                        }
                    }
                }
            }

            brightness.Sort();
            AnatomyPercent = 100.0 * anatomy / Math.Max(1, field);
            BonePercent = 100.0 * bone / Math.Max(1, anatomy);
            SaturatedPercent = 100.0 * saturated / Math.Max(1, anatomy);
            NoisePercent = noisy == 0 || plan.StepAt > 0 || plan.LinesPerMm > 0 ? 0 : 100 * Math.Sqrt(noise / noisy);
            MeanBrightness = brightness.Count == 0 ? 0 : brightness.Average();
            Contrast = brightness.Count == 0 ? 0 : brightness[(int)(0.95 * (brightness.Count - 1))] - brightness[(int)(0.05 * (brightness.Count - 1))];
        }

        public double AnatomyPercent { get; }

        public double BonePercent { get; }

        public double SaturatedPercent { get; }

        public double NoisePercent { get; }

        public double MeanBrightness { get; }

        public double Contrast { get; }
    }
}
