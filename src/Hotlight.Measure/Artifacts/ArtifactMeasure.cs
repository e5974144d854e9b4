using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Document;
using Hotlight.Measure.Histogram;
using Hotlight.Measure.Markers;
using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Artifacts;

/// <summary>Finds what does not belong in the image: faults of the receptor, lines of a grid, bands, dense objects with sharp edges.</summary>
/// <remarks>
/// <para>Method, limits of detection and measured accuracy: docs/methods/artifacts.md.</para>
/// <para>Holds when: the field is found. Nothing found means nothing above those limits, not a faultless image.</para>
/// <para>Not: a judgement of what an object is or whether it matters. An implant is a dense object with sharp edges too.</para>
/// </remarks>
public static class ArtifactMeasure
{
    // The penumbra and the step at a mask are left out, in mm; in pixels where spacing is unknown.
    private const double FieldMarginMm = 3;
    private const double FieldMarginPixels = 12;

    // Lines and bands weaker than this are not seen by anyone, in percent of the signal or of the field's range.
    private const double LeastVisiblePercent = 0.15;

    // How far inside a found side its own shadow may lie, in mm: a side across thick anatomy is found that badly at times.
    private const double SideShadowMm = 15;

    // A receptor is put together of a few parts; more steps than this come from resampling or compression.
    private const int MostSteps = 6;

    // More clusters than this over a field are no single elements but a texture (a dithered or resampled picture).
    private const int MostClusters = 2000;

    /// <summary>Measures one radiograph.</summary>
    /// <param name="radiograph">The radiograph; borrowed.</param>
    /// <param name="regions">Its regions.</param>
    /// <param name="options">What the caller knows.</param>
    /// <param name="markers">Markers found in it: they are no artifacts. Null where markers could not be looked for; then dense objects of a letter's size beside the body are left out too.</param>
    public static Figure<ArtifactsMeasurement> Measure(Radiograph radiograph, RadiographRegions regions, MeasureOptions options, IReadOnlyList<FoundMarker>? markers)
        => Measure(radiograph, regions, options, markers, histogram: null);

    internal static Figure<ArtifactsMeasurement> Measure(Radiograph radiograph, RadiographRegions regions, MeasureOptions options, IReadOnlyList<FoundMarker>? markers, FieldHistogram? histogram)
    {
        ArgumentNullException.ThrowIfNull(radiograph);
        ArgumentNullException.ThrowIfNull(regions);
        ArgumentNullException.ThrowIfNull(options);
        if (!regions.Field.IsMeasured)
        {
            return Figure<ArtifactsMeasurement>.CannotTell("Artifacts are looked for inside the exposed field, and the field could not be told.");
        }

        histogram ??= FieldHistogram.Count(radiograph, regions.Map);
        PixelSpacing? spacing = radiograph.ReceptorSpacing ?? options.ReceptorSpacing;
        if (AttenuationScale.Of(radiograph, regions.ExposureSign, options.Calibration, histogram) is not { } scale)
        {
            return Figure<ArtifactsMeasurement>.CannotTell("All pixels of the field have one value, so nothing can be seen on it.");
        }

        double pixelMm = spacing is { } s ? Math.Sqrt(s.RowSpacingMm * s.ColumnSpacingMm) : double.NaN;
        double margin = spacing is null ? FieldMarginPixels : FieldMarginMm / pixelMm;
        FieldSpan span = FieldSpan.Of(radiograph.Rows, radiograph.Columns, regions.Field.Value.Outline, margin);
        ArtifactScan scan = ArtifactScan.Of(radiograph.Pixels, scale, span, spacing);
        var found = new List<FoundArtifact>();
        var cannot = new List<string>();

        // A side's own penumbra runs along rows or columns too: lines that close to it are not looked for.
        FieldSpan inner = FieldSpan.Of(radiograph.Rows, radiograph.Columns, regions.Field.Value.Outline, 2 * margin);
        LineFaults.Result columns = LineFaults.Find(radiograph.Pixels, scale, inner, scan, alongColumns: true);
        LineFaults.Result rows = LineFaults.Find(radiograph.Pixels, scale, inner, scan, alongColumns: false);
        var columnLines = new HashSet<int>();
        var rowLines = new HashSet<int>();
        int steps = columns.Faults.Concat(rows.Faults).Count(fault => fault.IsStep);
        if (steps > MostSteps)
        {
            cannot.Add($"Steps lie along {steps} rows and columns: more than a receptor has parts, so they come from the picture's own processing and no gain step can be told.");
        }

        // An element or a line that fails is one pixel wide. A picture that does not say how wide its pixels were on the receptor may have been made smaller or larger since.
        if (spacing is null)
        {
            cannot.Add("Dead elements and dead lines are not looked for: the file does not give the pixel spacing on the receptor, so its pixels may be no receptor's own. If it was never made smaller or larger, give the spacing.");
        }

        foreach (LineFault fault in columns.Faults.Concat(rows.Faults).Where(fault => fault.IsStep ? steps <= MostSteps : spacing is not null))
        {
            found.Add(Line(fault, scale, spacing));
            for (int index = fault.First; index <= fault.Last && !fault.IsStep; index++)
            {
                (fault.AlongColumns ? columnLines : rowLines).Add(index);
            }
        }

        double cellMm = double.IsNaN(pixelMm) ? 0.3 : pixelMm * scan.Step;
        bool isCoarse = ForeignObjects.IsCoarse(pixelMm, Math.Max(radiograph.Rows, radiograph.Columns));
        if (isCoarse)
        {
            cannot.Add("Thin dense objects such as wires and pins are not looked for: the pixels are too wide to tell them from the cortex of a bone. Only wide ones with the edges of metal are.");
        }

        List<DenseObject> objects = ForeignObjects.Find(radiograph.Pixels, scale, span, scan, regions.Map, cellMm, isCoarse);
        if (FieldSpectrum.Of(radiograph.Pixels, scale.ByPixelValue, span, HoldsObject) is { } spectrum)
        {
            LinePatterns.Result patterns = LinePatterns.Find(spectrum, radiograph.Pixels, scale, span);
            bool isPeriodic = patterns.BlocksPerPixel is not null;
            foreach (LinePattern pattern in patterns.Patterns.Where(pattern => scale.Percent(pattern.Amplitude) >= LeastVisiblePercent))
            {
                isPeriodic = true;
                found.Add(Pattern(pattern, scale, span, spacing, regions.Field.Value));
            }

            if (!isPeriodic)
            {
                AddBanding(columns, alongColumns: true);
                AddBanding(rows, alongColumns: false);
            }
        }
        else
        {
            cannot.Add("The field is too small to look for grid lines in it: eight squares of 64 pixels are needed.");
        }

        if (radiograph.LossyCompressed == true)
        {
            cannot.Add("Single dead elements are not looked for in an image that was compressed with loss: the compression smears them and makes specks of its own.");
        }
        else if (spacing is not null)
        {
            AddDots();
        }

        AddObjects();
        AddCutOff();
        AddDouble();
        return Figure<ArtifactsMeasurement>.Measured(new ArtifactsMeasurement
        {
            Found = [.. found.OrderByDescending(artifact => artifact.Confidence)],
            CannotTell = cannot.Count == 0 ? null : cannot,
        });

        // The teeth of a zip are evenly spaced too.
        bool HoldsObject(int row, int column, int side)
        {
            foreach (DenseObject item in objects)
            {
                if (item.Right >= column && item.Left < column + side && item.Bottom >= row && item.Top < row + side)
                {
                    return true;
                }
            }

            return false;
        }

        void AddBanding(LineFaults.Result result, bool alongColumns)
        {
            if (result.BandingSigma <= 0 || scale.Percent(result.BandingSigma) < LeastVisiblePercent)
            {
                return;
            }

            found.Add(new FoundArtifact
            {
                Kind = ArtifactKind.Banding,
                Center = Middle(span),
                AngleDegrees = alongColumns ? 90 : 0,
                ContrastPercent = Math.Round(scale.Percent(result.BandingSigma), 3),
                ContrastBasis = scale.ContrastBasis,
                Confidence = Confidence(result.BandingStrength / 2),
            });
        }

        void AddDots()
        {
            List<(PixelPoint Center, int Pixels, double Amplitude, double Sigmas)> dots = DeadPixels.Find(radiograph.Pixels, scale, scan.Dots, columnLines, rowLines);
            if (dots.Count is 0 or > MostClusters)
            {
                return;
            }

            int count = dots.Sum(dot => dot.Pixels);
            found.Add(new FoundArtifact
            {
                Kind = ArtifactKind.DeadPixels,
                Center = dots.Count == 1 ? Round(dots[0].Center) : Round(new PixelPoint(X: dots.Average(dot => dot.Center.X), Y: dots.Average(dot => dot.Center.Y))),
                AreaMm2 = spacing is { } of ? Math.Round(count * of.RowSpacingMm * of.ColumnSpacingMm, 3) : null,
                Pixels = count,
                Places = [.. dots.OrderByDescending(dot => dot.Pixels).ThenByDescending(dot => dot.Sigmas).Take(200).Select(dot => Round(dot.Center))],
                ContrastPercent = Math.Round(scale.Percent(dots.Select(dot => Math.Abs(dot.Amplitude)).Order().ElementAt(dots.Count / 2)), 1),
                ContrastBasis = scale.ContrastBasis,
                Confidence = Confidence(dots.Max(dot => dot.Sigmas) / 8),
            });
        }

        void AddCutOff()
        {
            // An even loss is never told; a one-sided one where direct exposure shows it.
            if (!scale.IsLogarithm)
            {
                cannot.Add("Grid cut-off cannot be told from this image: its pixel values are not known to follow the exposure.");
                return;
            }

            List<SignalFall> falls = GridCutOff.Falls(scale, scan, span, regions.Map, scale.ByPixelValue.Min());
            if (falls.Count == 0)
            {
                cannot.Add("Grid cut-off cannot be told from this image: direct exposure, not burned out, does not lie on two opposite sides of the field.");
                return;
            }

            SignalFall fall = falls[0];
            double least = -Math.Log(1 - GridCutOff.MostOfHeel);
            if (fall.Fall - (3 * fall.FallSigma) > least)
            {
                PixelPoint middle = Middle(span);
                double reach = 0.4 * (fall.IsAcross ? span.Row((int)middle.Y).End - span.Row((int)middle.Y).First : span.Rows * 0.8) * (fall.TowardsHigher ? 1 : -1);
                found.Add(new FoundArtifact
                {
                    Kind = ArtifactKind.GridCutOff,
                    Center = middle,
                    AreaMm2 = regions.Field.Value.AreaMm2,
                    LineFrom = Round(fall.IsAcross ? new PixelPoint(X: middle.X - reach, Y: middle.Y) : new PixelPoint(X: middle.X, Y: middle.Y - reach)),
                    LineTo = Round(fall.IsAcross ? new PixelPoint(X: middle.X + reach, Y: middle.Y) : new PixelPoint(X: middle.X, Y: middle.Y + reach)),
                    ContrastPercent = Math.Round(scale.Percent(fall.Fall), 1),
                    ContrastPercentUncertainty = Math.Round(100 * Math.Exp(-fall.Fall) * fall.FallSigma, 2),
                    ContrastBasis = scale.ContrastBasis,
                    Confidence = Confidence(fall.Fall / least),
                });
            }

            cannot.Add("Of grid cut-off only a fall to one side by more than a third is told: less may be the heel effect, and a grid off centre lowers the exposure evenly, as a low mAs does.");
        }

        void AddDouble()
        {
            if (DoubleExposure.Find(scan, scale, span, cellMm) is not { } sign)
            {
                return;
            }

            found.Add(new FoundArtifact
            {
                Kind = ArtifactKind.DoubleExposure,
                Center = Round(new PixelPoint(X: (sign.From.X + sign.To.X) / 2, Y: (sign.From.Y + sign.To.Y) / 2)),
                LineFrom = Round(sign.From),
                LineTo = Round(sign.To),
                ContrastPercent = Math.Round(scale.Percent(sign.Contrast), 1),
                ContrastBasis = scale.ContrastBasis,
                Confidence = Confidence(sign.Strength),
            });
        }

        void AddObjects()
        {
            int withheld = 0;
            foreach (DenseObject item in objects)
            {
                if (IsShadowOfSide(item, regions.Field.Value.Outline, cellMm / scan.Step))
                {
                    continue;
                }

                if (markers is null ? MayBeMarker(item) : IsMarker(item, markers, cellMm / scan.Step))
                {
                    withheld += markers is null ? 1 : 0;
                    continue;
                }

                found.Add(new FoundArtifact
                {
                    Kind = ArtifactKind.ForeignObject,
                    Center = Round(item.Center),
                    AreaMm2 = spacing is { } of ? Math.Round(item.AreaPixels * of.RowSpacingMm * of.ColumnSpacingMm, 1) : null,
                    Outline = [.. item.Outline.Select(Round)],
                    ContrastPercent = Math.Round(scale.Percent(item.Contrast), 1),
                    ContrastBasis = scale.ContrastBasis,
                    Confidence = Confidence(item.Strength),
                });
            }

            if (withheld > 0)
            {
                cannot.Add("Side markers were not looked for, so a dense object of a letter's size beside the body is not named as an object.");
            }
        }

        // A letter is 4 to 32 mm high and lies beside the body, where direct exposure or a dense thing is labelled.
        bool MayBeMarker(DenseObject item)
        {
            double pixel = double.IsNaN(pixelMm) ? 0.15 : pixelMm, width = (item.Right - item.Left) * pixel, height = (item.Bottom - item.Top) * pixel;
            return Math.Max(width, height) is > 4 and < 32 && !RegionMap.IsAnatomy(regions.Map.At((int)item.Center.Y, (int)item.Center.X));
        }
    }

    /// <summary>Whether the object is a strip along a side of the field: the side's own shadow, where the side was found a few millimetres too far out.</summary>
    private static bool IsShadowOfSide(DenseObject item, IReadOnlyList<PixelPoint> outline, double pixelMm)
    {
        for (int corner = 0; corner < outline.Count; corner++)
        {
            PixelPoint a = outline[corner], b = outline[(corner + 1) % outline.Count];
            double length = a.DistancePixelsTo(b);
            if (length < 1)
            {
                continue;
            }

            double tx = (b.X - a.X) / length, ty = (b.Y - a.Y) / length;
            double nearest = double.PositiveInfinity, farthest = 0, first = double.PositiveInfinity, last = double.NegativeInfinity;
            foreach (PixelPoint point in item.Outline)
            {
                double away = Math.Abs(((point.X - a.X) * ty) - ((point.Y - a.Y) * tx)), along = ((point.X - a.X) * tx) + ((point.Y - a.Y) * ty);
                nearest = Math.Min(nearest, away);
                farthest = Math.Max(farthest, away);
                first = Math.Min(first, along);
                last = Math.Max(last, along);
            }

            // A strip four times as long as wide, within 15 mm of the side.
            if (farthest * pixelMm < SideShadowMm && last - first > 4 * (farthest - nearest))
            {
                return true;
            }
        }

        return false;
    }

    private static bool IsMarker(DenseObject item, IReadOnlyList<FoundMarker> markers, double pixelMm)
    {
        foreach (FoundMarker marker in markers)
        {
            // A word's strokes lie in its box.
            if (marker is { Word: not null, Corners: { } box } && MarkerPlace.Contains(box, item.Center))
            {
                return true;
            }

            // A letter is no larger than 30 mm; its middle lies in the object's bounds or the object's in reach of it.
            bool holds = marker.Center.X >= item.Left && marker.Center.X <= item.Right && marker.Center.Y >= item.Top && marker.Center.Y <= item.Bottom;
            if ((holds && Math.Max(item.Right - item.Left, item.Bottom - item.Top) * pixelMm < 45) || marker.Center.DistancePixelsTo(item.Center) * pixelMm < 12)
            {
                return true;
            }
        }

        return false;
    }

    private static FoundArtifact Line(LineFault fault, AttenuationScale scale, PixelSpacing? spacing)
    {
        double index = fault.IsStep ? fault.First - 0.5 : (fault.First + fault.Last) / 2.0;
        PixelPoint from = fault.AlongColumns ? new PixelPoint(X: index, Y: fault.From) : new PixelPoint(X: fault.From, Y: index);
        PixelPoint to = fault.AlongColumns ? new PixelPoint(X: index, Y: fault.To) : new PixelPoint(X: fault.To, Y: index);
        int wide = fault.IsStep ? 0 : fault.Last - fault.First + 1;
        return new FoundArtifact
        {
            Kind = fault.IsStep ? ArtifactKind.GainStep : ArtifactKind.DeadLine,
            Center = new PixelPoint(X: (from.X + to.X) / 2, Y: (from.Y + to.Y) / 2),
            AreaMm2 = fault.IsStep || spacing is not { } of ? null : Math.Round((fault.To - fault.From + 1) * wide * of.RowSpacingMm * of.ColumnSpacingMm, 2),
            LineFrom = from,
            LineTo = to,
            AngleDegrees = fault.AlongColumns ? 90 : 0,
            Pixels = fault.IsStep ? null : wide,
            ContrastPercent = Math.Round(scale.Percent(fault.Size), 2),
            ContrastPercentUncertainty = Math.Round(scale.Percent(fault.SizeSigma), 3),
            ContrastBasis = scale.ContrastBasis,
            Confidence = Confidence(fault.Strength),
        };
    }

    private static FoundArtifact Pattern(LinePattern pattern, AttenuationScale scale, FieldSpan span, PixelSpacing? spacing, FieldMeasurement field)
    {
        double perMm = spacing is { } s ? Math.Sqrt(Math.Pow(pattern.PerPixelX / s.ColumnSpacingMm, 2) + Math.Pow(pattern.PerPixelY / s.RowSpacingMm, 2)) : double.NaN;
        double period = 1 / pattern.PerPixel, nearest = Math.Round(period);

        // A read-out repeats after a whole number of lines, exactly along them; strips of a grid have no reason to.
        bool isBanding = pattern.IsAlongAxis && nearest is >= 2 and <= 64 && Math.Abs(pattern.PerPixel - (1 / nearest)) < Math.Max(3 * pattern.PerPixelSigma, 5e-6);
        double angle = Math.Atan2(pattern.PerPixelY / (spacing?.RowSpacingMm ?? 1), pattern.PerPixelX / (spacing?.ColumnSpacingMm ?? 1)) * 180 / Math.PI;
        return new FoundArtifact
        {
            Kind = isBanding ? ArtifactKind.Banding : ArtifactKind.GridLines,
            Center = Middle(span),
            AreaMm2 = field.AreaMm2,
            LinesPerMm = double.IsNaN(perMm) ? null : Math.Round(perMm, 4),
            LinesPerMmUncertainty = double.IsNaN(perMm) ? null : Math.Round(Math.Max(1e-4, perMm * pattern.PerPixelSigma / pattern.PerPixel), 4),
            LinesPerPixel = Math.Round(pattern.PerPixel, 5),
            AngleDegrees = Math.Round((angle + 270) % 180, 2) % 180,
            ContrastPercent = Math.Round(scale.Percent(pattern.Amplitude), 3),
            ContrastPercentUncertainty = Math.Round(scale.Percent(pattern.AmplitudeSigma), 3),
            ContrastBasis = scale.ContrastBasis,
            Confidence = Confidence(pattern.Strength),
        };
    }

    private static PixelPoint Middle(FieldSpan span)
    {
        double x = 0, y = 0, count = 0;
        for (int row = 0; row < span.Rows; row++)
        {
            (int first, int end) = span.Row(row);
            if (end > first)
            {
                x += (end - first) * ((first + end - 1) / 2.0);
                y += (double)(end - first) * row;
                count += end - first;
            }
        }

        return count > 0 ? Round(new PixelPoint(X: x / count, Y: y / count)) : default;
    }

    private static double Confidence(double strength) => Math.Round(1 - (0.5 * Math.Exp(1 - Math.Max(1, strength))), 3);

    private static PixelPoint Round(PixelPoint point) => new(X: Math.Round(point.X, 1), Y: Math.Round(point.Y, 1));
}
