using System.Buffers.Binary;
using System.Globalization;
using Hotlight.Core;

namespace Hotlight.Imaging.Dicom;

/// <summary>Turns a DICOM file into a radiograph.</summary>
internal static class DicomRadiographReader
{
    /// <summary>Largest spacing that is taken for one, in mm: above it a frame of 35 cm would have fewer than 70 pixels a side.</summary>
    private const double MaximumSpacingMm = 5;

    public static Radiograph Read(ReadOnlyMemory<byte> content, string fileName, CancellationToken cancellation)
    {
        DicomFile file = DicomParser.Parse(content, cancellation);
        List<string> remarks = [.. file.Remarks];
        ObjectPolicy.Check(file, remarks);
        StoredImage image = PixelDecoder.Decode(file, cancellation);
        remarks.AddRange(image.Remarks);

        DicomDataset dataset = file.Dataset;
        bool isSigned = image.StoredMinimum < 0;
        ModalityTransform modality = ReadModality(dataset, isSigned, remarks);
        (PixelSpacing? spacing, string? basis) = ReadSpacing(dataset, remarks);
        return new Radiograph
        {
            FileName = fileName,
            Source = ImageSource.Dicom,
            Pixels = image.Pixels,
            StoredMinimum = image.StoredMinimum,
            BitsStored = image.BitsStored,
            ReceptorSpacing = spacing,
            SpacingBasis = basis,
            HighIsShownDark = ReadPolarity(dataset, remarks),
            PresentationIntent = dataset.Text(Tags.PresentationIntentType) switch
            {
                "FOR PROCESSING" => PresentationIntent.ForProcessing,
                "FOR PRESENTATION" => PresentationIntent.ForPresentation,
                _ => dataset.Text(Tags.SopClassUid) == "1.2.840.10008.5.1.4.1.1.1.1.1" ? PresentationIntent.ForProcessing : PresentationIntent.Unknown,
            },
            Relationship = dataset.Text(Tags.PixelIntensityRelationship) switch
            {
                "LIN" => PixelRelationship.Linear,
                "LOG" => PixelRelationship.Logarithmic,
                _ => PixelRelationship.Unknown,
            },
            RelationshipSign = dataset.Integer(Tags.PixelIntensityRelationshipSign) is int sign and (1 or -1) ? sign : null,
            Modality = modality,
            Windows = ReadWindows(dataset, modality, isSigned, remarks),
            Padding = ReadPadding(dataset, isSigned),
            Overlays = ReadOverlays(dataset, image, remarks),
            Shutter = ReadOpening(dataset, 0x1600, "display shutter", image, remarks),
            HeaderCollimator = ReadOpening(dataset, 0x1700, "collimator", image, remarks),
            LossyCompressed = dataset.Text(Tags.LossyImageCompression) switch
            {
                "01" => true,
                "00" => image.IsLossy ?? false,
                _ => image.IsLossy == true ? true : null,
            },
            Encoding = image.Encoding,
            Exposure = ReadExposure(dataset, remarks),
            Remarks = [.. remarks.Select(PlainText.Of)],
        };
    }

    private static bool ReadPolarity(DicomDataset dataset, List<string> remarks)
    {
        bool monochrome1 = dataset.Text(Tags.PhotometricInterpretation) == "MONOCHROME1";
        string? shape = dataset.Text(Tags.PresentationLutShape);
        if ((shape == "INVERSE" && !monochrome1) || (shape == "IDENTITY" && monochrome1))
        {
            // PS3.3 table C.8-71 pairs IDENTITY with MONOCHROME2 and INVERSE with MONOCHROME1; the photometric interpretation is the older and the compulsory one.
            remarks.Add($"Presentation LUT Shape {shape} contradicts {(monochrome1 ? "MONOCHROME1" : "MONOCHROME2")}; the photometric interpretation was followed.");
        }

        return monochrome1;
    }

    private static (PixelSpacing? Spacing, string? Basis) ReadSpacing(DicomDataset dataset, List<string> remarks)
    {
        PixelSpacing? imager = Spacing(dataset, Tags.ImagerPixelSpacing, "Imager Pixel Spacing", remarks);
        PixelSpacing? pixel = Spacing(dataset, Tags.PixelSpacing, "Pixel Spacing", remarks);
        string? calibration = dataset.Text(Tags.PixelSpacingCalibrationType);
        if (imager is not null)
        {
            return (imager, "Imager Pixel Spacing (0018,1164)");
        }

        if (pixel is { } known)
        {
            if (calibration is null)
            {
                return (pixel, "Pixel Spacing (0028,0030), which the file does not call calibrated");
            }

            double? magnification = dataset.Number(Tags.EstimatedRadiographicMagnificationFactor);
            if (calibration == "GEOMETRY" && magnification is >= 1 and < 10)
            {
                return (new PixelSpacing(known.RowSpacingMm * magnification.Value, known.ColumnSpacingMm * magnification.Value),
                    "Pixel Spacing (0028,0030), calibrated by geometry, times the magnification factor (0018,1114)");
            }

            remarks.Add($"Pixel Spacing is calibrated ({calibration}) to a plane in the patient and the file does not say how that plane is magnified, so the spacing at the receptor is unknown.");
            return (null, null);
        }

        if (Spacing(dataset, Tags.ImagePlanePixelSpacing, "Image Plane Pixel Spacing", remarks) is { } plane)
        {
            return (plane, "Image Plane Pixel Spacing (3002,0011)");
        }

        return Spacing(dataset, Tags.NominalScannedPixelSpacing, "Nominal Scanned Pixel Spacing", remarks) is { } scanned
            ? (scanned, "Nominal Scanned Pixel Spacing (0018,2010)")
            : (null, null);
    }

    private static PixelSpacing? Spacing(DicomDataset dataset, DicomTag tag, string name, List<string> remarks)
    {
        if (dataset.Texts(tag) is null)
        {
            return null;
        }

        double[] values = dataset.Numbers(tag) ?? [];
        if (values.Length >= 2 && values.Take(2).All(value => value is > 0 and <= MaximumSpacingMm))
        {
            return new PixelSpacing(rowSpacingMm: values[0], columnSpacingMm: values[1]);
        }

        remarks.Add($"{name} {tag} is '{string.Join('\\', dataset.Texts(tag)!)}', which is no spacing, and was left out.");
        return null;
    }

    private static ModalityTransform ReadModality(DicomDataset dataset, bool isSigned, List<string> remarks)
    {
        if (dataset.Items(Tags.ModalityLutSequence) is [{ } item, ..])
        {
            if (ReadTable(item, isSigned) is { } table)
            {
                return new ModalityTransform { Table = table };
            }

            remarks.Add("The Modality LUT Sequence holds no usable table and was left out.");
        }

        double slope = dataset.Number(Tags.RescaleSlope) ?? 1;
        double intercept = dataset.Number(Tags.RescaleIntercept) ?? 0;
        if (slope == 0)
        {
            remarks.Add("Rescale Slope is 0, which would make every pixel equal, and was left out.");
            return ModalityTransform.Identity;
        }

        return slope == 1 && intercept == 0 ? ModalityTransform.Identity : new ModalityTransform { Slope = slope, Intercept = intercept };
    }

    /// <summary>A lookup table item, PS3.3 C.11.1.1: descriptor (entries, first input value, bits) and data.</summary>
    private static LookupTable? ReadTable(DicomDataset item, bool firstIsSigned)
    {
        if (item.Find(Tags.LutDescriptor) is not { Value.Length: >= 6 } descriptor || item.Find(Tags.LutData) is not { Value.Length: > 0 } data)
        {
            return null;
        }

        int[] words = new int[3];
        for (int i = 0; i < 3; i++)
        {
            words[i] = Word(descriptor, i);
        }

        int count = words[0] == 0 ? 65_536 : words[0];
        int first = firstIsSigned || descriptor.Vr == "SS" ? (short)words[1] : words[1];
        int bits = words[2];
        if (bits is < 1 or > 16)
        {
            return null;
        }

        ushort[] entries;
        if (data.Value.Length >= count * 2)
        {
            entries = new ushort[count];
            for (int i = 0; i < count; i++)
            {
                entries[i] = (ushort)Word(data, i);
            }
        }
        else if (bits <= 8 && data.Value.Length >= count)
        {
            entries = new ushort[count];
            for (int i = 0; i < count; i++)
            {
                entries[i] = data.Value.Span[i];
            }
        }
        else
        {
            return null;
        }

        return new LookupTable(first, bits, entries);
    }

    private static int Word(DicomElement element, int index)
    {
        ReadOnlySpan<byte> place = element.Value.Span[(index * 2)..];
        return element.IsBigEndian ? BinaryPrimitives.ReadUInt16BigEndian(place) : BinaryPrimitives.ReadUInt16LittleEndian(place);
    }

    private static List<VoiTransform> ReadWindows(DicomDataset dataset, ModalityTransform modality, bool isSigned, List<string> remarks)
    {
        List<VoiTransform> windows = [];
        double[] centers = dataset.Numbers(Tags.WindowCenter) ?? [];
        double[] widths = dataset.Numbers(Tags.WindowWidth) ?? [];
        string[] explanations = dataset.Texts(Tags.WindowCenterWidthExplanation) ?? [];
        WindowFunction function = dataset.Text(Tags.VoiLutFunction) switch
        {
            "SIGMOID" => WindowFunction.Sigmoid,
            "LINEAR_EXACT" => WindowFunction.LinearExact,
            _ => WindowFunction.Linear,
        };
        for (int i = 0; i < Math.Min(centers.Length, widths.Length); i++)
        {
            // PS3.3 C.11.2.1.2.1: at least 1 for LINEAR, above 0 for the others.
            if (widths[i] < (function == WindowFunction.Linear ? 1 : double.Epsilon))
            {
                remarks.Add(string.Create(CultureInfo.InvariantCulture, $"Window Width {widths[i]} is too small for a window and was left out."));
                continue;
            }

            windows.Add(new VoiTransform
            {
                Center = centers[i],
                Width = widths[i],
                Function = function,
                Explanation = i < explanations.Length && explanations[i].Length > 0 ? explanations[i] : null,
            });
        }

        bool inputIsSigned = modality.Table is null && (isSigned || modality.Intercept < 0 || modality.Slope < 0);
        foreach (DicomDataset item in dataset.Items(Tags.VoiLutSequence))
        {
            if (ReadTable(item, inputIsSigned) is { } table)
            {
                windows.Add(new VoiTransform
                {
                    Center = table.FirstMapped + (table.Entries.Length / 2.0),
                    Width = table.Entries.Length,
                    Table = table,
                    Explanation = item.Text(Tags.LutExplanation),
                });
            }
            else
            {
                remarks.Add("An item of the VOI LUT Sequence holds no usable table and was left out.");
            }
        }

        return windows;
    }

    private static PixelPadding? ReadPadding(DicomDataset dataset, bool isSigned)
    {
        int? value = PaddingValue(dataset, Tags.PixelPaddingValue, isSigned);
        if (value is not int first)
        {
            return null;
        }

        int last = PaddingValue(dataset, Tags.PixelPaddingRangeLimit, isSigned) ?? first;
        return new PixelPadding(Math.Min(first, last), Math.Max(first, last));
    }

    /// <summary>US or SS by Pixel Representation; files get the value representation wrong, so the two bytes are read anew.</summary>
    private static int? PaddingValue(DicomDataset dataset, DicomTag tag, bool isSigned)
        => dataset.Find(tag) is { Value.Length: >= 2, Vr: "US" or "SS" or "OW" or "UN" } element
            ? (isSigned ? (short)Word(element, 0) : Word(element, 0))
            : dataset.Integer(tag);

    private static List<OverlayPlane> ReadOverlays(DicomDataset dataset, StoredImage image, List<string> remarks)
    {
        List<OverlayPlane> overlays = [];
        for (ushort group = 0x6000; group <= 0x601E; group += 2)
        {
            double[] origin = dataset.Numbers(new DicomTag(group, 0x0050)) is { Length: >= 2 } given ? given : [1, 1];
            int originRow = (int)origin[0] - 1;
            int originColumn = (int)origin[1] - 1;
            if (image.EmbeddedOverlays.TryGetValue(group, out Raster<byte>? embedded))
            {
                overlays.Add(new OverlayPlane(group, originRow, originColumn, embedded));
                continue;
            }

            if (dataset.Find(new DicomTag(group, 0x3000)) is not { Items: null, Fragments: null } data)
            {
                continue;
            }

            int rows = dataset.Integer(new DicomTag(group, 0x0010)) ?? 0;
            int columns = dataset.Integer(new DicomTag(group, 0x0011)) ?? 0;
            if (rows < 1 || columns < 1 || rows > ImageLimits.MaximumSide || columns > ImageLimits.MaximumSide || (long)rows * columns > ImageLimits.MaximumPixels
                || data.Value.Length < (((long)rows * columns) + 7) / 8)
            {
                remarks.Add(string.Create(CultureInfo.InvariantCulture, $"Overlay {group:X4} does not hold the {rows} rows and {columns} columns it says it has and was left out."));
                continue;
            }

            Raster<byte> bits = new(rows, columns);
            Span<byte> places = bits.Samples;
            ReadOnlySpan<byte> bytes = data.Value.Span;

            // Bit 0 of byte 0 is the first pixel (PS3.5 8.1.2); in big endian words the bytes of a pair stand the other way round.
            int swap = data.IsBigEndian && data.Vr == "OW" ? 1 : 0;
            for (int i = 0; i < places.Length; i++)
            {
                places[i] = (byte)((bytes[Math.Min((i >> 3) ^ swap, bytes.Length - 1)] >> (i & 7)) & 1);
            }

            overlays.Add(new OverlayPlane(group, originRow, originColumn, bits));
        }

        return overlays;
    }

    /// <summary>The opening of a shutter (0018,16xx) or collimator (0018,17xx) as a polygon; of several shapes their common part, PS3.3 C.7.6.11 and C.8.7.3.</summary>
    private static List<PixelPoint>? ReadOpening(DicomDataset dataset, int firstElement, string name, StoredImage image, List<string> remarks)
    {
        if (dataset.Texts(new DicomTag(0x0018, (ushort)firstElement)) is not { } shapes)
        {
            return null;
        }

        List<PixelPoint>? opening = null;
        foreach (string shape in shapes)
        {
            List<PixelPoint>? part = shape switch
            {
                "RECTANGULAR" => Rectangle(dataset, firstElement),
                "CIRCULAR" => Circle(dataset, firstElement),
                "POLYGONAL" => Polygon(dataset, firstElement),
                _ => null,
            };
            if (part is null)
            {
                remarks.Add($"The {name}'s shape {shape} has no usable edges and was left out.");
                continue;
            }

            // A rectangle or circle is convex, so one of the two can always do the cutting; two polygons do not occur.
            opening = opening is null ? part : shape == "POLYGONAL" ? Polygons.Clip(part, opening) : Polygons.Clip(opening, part);
        }

        if (opening is null)
        {
            return null;
        }

        List<PixelPoint> inside = Polygons.Clip(opening, Box(-0.5, -0.5, image.Pixels.Columns - 0.5, image.Pixels.Rows - 0.5));
        if (inside.Count < 3)
        {
            remarks.Add($"The {name} leaves nothing of the image and was left out.");
            return null;
        }

        return inside;
    }

    private static List<PixelPoint>? Rectangle(DicomDataset dataset, int first)
    {
        int? left = dataset.Integer(new DicomTag(0x0018, (ushort)(first + 2)));
        int? right = dataset.Integer(new DicomTag(0x0018, (ushort)(first + 4)));
        int? upper = dataset.Integer(new DicomTag(0x0018, (ushort)(first + 6)));
        int? lower = dataset.Integer(new DicomTag(0x0018, (ushort)(first + 8)));
        return left is int l && right is int r && upper is int u && lower is int o && r > l && o > u ? Box(l - 1, u - 1, r - 1, o - 1) : null;
    }

    private static List<PixelPoint> Box(double left, double top, double right, double bottom)
        => [new(X: left, Y: top), new(X: right, Y: top), new(X: right, Y: bottom), new(X: left, Y: bottom)];

    private static List<PixelPoint>? Circle(DicomDataset dataset, int first)
    {
        if (dataset.Numbers(new DicomTag(0x0018, (ushort)(first + 0x10))) is not [double row, double column, ..]
            || dataset.Number(new DicomTag(0x0018, (ushort)(first + 0x12))) is not double radius || radius <= 0)
        {
            return null;
        }

        // 180 corners stay within 0.02 % of the radius of the circle.
        const int corners = 180;
        List<PixelPoint> points = new(corners);
        for (int i = 0; i < corners; i++)
        {
            double angle = (i * 2 * Math.PI / corners) - (0.75 * Math.PI);
            points.Add(new PixelPoint(X: column - 1 + (radius * Math.Cos(angle)), Y: row - 1 + (radius * Math.Sin(angle))));
        }

        return points;
    }

    private static List<PixelPoint>? Polygon(DicomDataset dataset, int first)
    {
        if (dataset.Numbers(new DicomTag(0x0018, (ushort)(first + 0x20))) is not { Length: >= 6 and <= 2000 } values)
        {
            return null;
        }

        List<PixelPoint> points = [];
        for (int i = 0; i + 1 < values.Length; i += 2)
        {
            points.Add(new PixelPoint(X: values[i + 1] - 1, Y: values[i] - 1));
        }

        if (points.Count > 3 && points[0] == points[^1])
        {
            points.RemoveAt(points.Count - 1);
        }

        return points.Count >= 3 ? points : null;
    }

    private static ExposureRecord ReadExposure(DicomDataset dataset, List<string> remarks)
    {
        double? microAmpereSeconds = dataset.Number(Tags.ExposureInMicroAmpereSeconds);
        return new ExposureRecord
        {
            ExposureIndex = dataset.Number(Tags.ExposureIndex),
            TargetExposureIndex = dataset.Number(Tags.TargetExposureIndex),
            DeviationIndex = dataset.Number(Tags.DeviationIndex),
            RelativeXRayExposure = dataset.Number(Tags.RelativeXRayExposure),
            Sensitivity = dataset.Number(Tags.Sensitivity),
            TubeVoltageKvp = Positive(dataset, Tags.Kvp, "KVP", remarks),
            ExposureMas = Positive(dataset, Tags.ExposureInMilliAmpereSeconds, "Exposure in mAs", remarks)
                ?? (microAmpereSeconds > 0 ? microAmpereSeconds / 1000 : null)
                ?? Positive(dataset, Tags.Exposure, "Exposure", remarks),
            ExposureTimeMs = Positive(dataset, Tags.ExposureTimeInMilliseconds, "Exposure Time in ms", remarks) ?? Positive(dataset, Tags.ExposureTime, "Exposure Time", remarks),
            TubeCurrentMa = Positive(dataset, Tags.XRayTubeCurrentInMilliAmperes, "X-Ray Tube Current in mA", remarks) ?? Positive(dataset, Tags.XRayTubeCurrent, "X-Ray Tube Current", remarks),
            SourceImageDistanceMm = Positive(dataset, Tags.DistanceSourceToDetector, "Distance Source to Detector", remarks) ?? Positive(dataset, Tags.RtImageSid, "RT Image SID", remarks),
            SourceObjectDistanceMm = Positive(dataset, Tags.DistanceSourceToPatient, "Distance Source to Patient", remarks),
            MagnificationFactor = Positive(dataset, Tags.EstimatedRadiographicMagnificationFactor, "Estimated Radiographic Magnification Factor", remarks),
            FocalSpotMm = Positive(dataset, Tags.FocalSpots, "Focal Spot(s)", remarks),
            Grid = dataset.Texts(Tags.Grid) is { } grid ? string.Join(' ', grid) : null,
            KermaAreaProductDgyCm2 = Positive(dataset, Tags.ImageAndFluoroscopyAreaDoseProduct, "Image and Fluoroscopy Area Dose Product", remarks),
            EntranceDoseMgy = Positive(dataset, Tags.EntranceDoseInMilliGray, "Entrance Dose in mGy", remarks),
            BodyPartThicknessMm = Positive(dataset, Tags.BodyPartThickness, "Body Part Thickness", remarks),
            DetectorType = dataset.Text(Tags.DetectorType),
            ExposureControlMode = dataset.Text(Tags.ExposureControlMode),
            Modality = dataset.Text(Tags.Modality),
            BodyPart = dataset.Text(Tags.BodyPartExamined),
            ViewPosition = dataset.Text(Tags.ViewPosition),
            ViewCode = dataset.Items(Tags.ViewCodeSequence) is [{ } view, ..] ? view.Text(Tags.CodeValue) : null,
            Laterality = dataset.Text(Tags.ImageLaterality) ?? dataset.Text(Tags.Laterality),
            PatientOrientation = dataset.Texts(Tags.PatientOrientation) is { } orientation ? string.Join('\\', orientation) : null,
            BurnedInAnnotation = dataset.Text(Tags.BurnedInAnnotation),
            ProcessingDescription = dataset.Text(Tags.AcquisitionDeviceProcessingDescription),
            Manufacturer = dataset.Text(Tags.Manufacturer),
            ManufacturerModel = dataset.Text(Tags.ManufacturerModelName),
            StationName = dataset.Text(Tags.StationName),
            DetectorId = dataset.Text(Tags.DetectorId),
            PatientAgeYears = AgeYears(dataset.Text(Tags.PatientAge)),
            HasAcquisitionTime = dataset.Text(Tags.AcquisitionDateTime) is not null
                || (dataset.Text(Tags.AcquisitionDate) is not null && dataset.Text(Tags.AcquisitionTime) is not null),
            CarriesPatientIdentity = (!BearsPseudonym(dataset) && (dataset.Texts(Tags.PatientName) is not null || dataset.Texts(Tags.PatientId) is not null))
                || dataset.Texts(Tags.PatientBirthDate) is not null || dataset.Texts(Tags.OtherPatientIds) is not null,
            SaysIdentityRemoved = dataset.Text(Tags.PatientIdentityRemoved) == "YES",
        };
    }

    // Whether Hotlight took the identity out: name and identifier are then its pseudonym. What other programs say of themselves is not relied on.
    private static bool BearsPseudonym(DicomDataset dataset)
        => dataset.Text(Tags.PatientIdentityRemoved) == "YES" && dataset.Text(Tags.DeidentificationMethod)?.StartsWith("Hotlight: ", StringComparison.Ordinal) == true
            && dataset.Text(Tags.PatientId) is ['P', '-', ..] id && dataset.Text(Tags.PatientName) == $"Patient {id}";

    // An age string (PS3.5 6.2): three digits and D, W, M or Y.
    private static double? AgeYears(string? text)
    {
        if (text is not { Length: 4 } || !int.TryParse(text.AsSpan(0, 3), System.Globalization.NumberStyles.None, System.Globalization.CultureInfo.InvariantCulture, out int count))
        {
            return null;
        }

        return text[3] switch
        {
            'Y' => count,
            'M' => count / 12.0,
            'W' => count / 52.18,
            'D' => count / 365.25,
            _ => null,
        };
    }

    /// <summary>A quantity that is above 0 when it was recorded: consoles write 0 for "not known".</summary>
    private static double? Positive(DicomDataset dataset, DicomTag tag, string name, List<string> remarks)
    {
        if (dataset.Number(tag) is not double value)
        {
            return null;
        }

        if (value > 0)
        {
            return value;
        }

        if (value < 0)
        {
            remarks.Add(string.Create(CultureInfo.InvariantCulture, $"{name} {tag} is {value} and was left out."));
        }

        return null;
    }
}
