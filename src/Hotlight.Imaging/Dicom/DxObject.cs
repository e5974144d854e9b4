using System.Globalization;
using System.Runtime.InteropServices;
using System.Security.Cryptography;
using System.Text;
using Hotlight.Core;

namespace Hotlight.Imaging.Dicom;

/// <summary>What a digital x-ray object says besides its radiograph: study, series and codes. None of it names a person.</summary>
public sealed record DxDescription
{
    /// <summary>Patient ID (0010,0020) of an invented patient; null leaves it empty.</summary>
    public string? PatientId { get; init; }

    /// <summary>Patient's name (0010,0010) of an invented patient, family^given; null leaves it empty.</summary>
    public string? PatientName { get; init; }

    /// <summary>Date and time of acquisition; null leaves them out.</summary>
    public DateTime? Acquired { get; init; }

    /// <summary>Anatomic region code (0008,2218), SNOMED CT; null leaves the sequence empty.</summary>
    public DxCode? AnatomicRegion { get; init; }

    /// <summary>View code (0054,0220), SNOMED CT; null leaves the sequence out.</summary>
    public DxCode? View { get; init; }

    /// <summary>Image comments (0020,4000), such as "invented demo case"; null leaves them out.</summary>
    public string? Comments { get; init; }

    /// <summary>What tells this object from others: unique identifiers are made of it and of the pixels, so that the same input gives the same file.</summary>
    public string Seed { get; init; } = "";
}

/// <summary>A code of SNOMED CT with its meaning.</summary>
/// <param name="Value">Code Value (0008,0100).</param>
/// <param name="Meaning">Code Meaning (0008,0104).</param>
public sealed record DxCode(string Value, string Meaning);

/// <summary>Makes a Digital X-Ray Image object (PS3.3 A.26) of a radiograph.</summary>
public static class DxObject
{
    /// <summary>The data set of a radiograph, uncompressed, ready for <see cref="DicomWriter"/>.</summary>
    /// <remarks>Everything the radiograph knows is written; compulsory attributes it does not know are written empty where the standard lets them be (type 2), image laterality as U, and the sign of the pixel intensity relationship as the polarity implies for a radiograph with bright bone.</remarks>
    /// <param name="radiograph">The radiograph; borrowed, its pixels are copied.</param>
    /// <param name="description">What it doesn't say itself; null for nothing.</param>
    /// <exception cref="ArgumentException">Its pixels are signed or have fewer than 6 bits: a digital x-ray image has neither (PS3.3 C.8.11.3).</exception>
    public static DicomDataset Create(Radiograph radiograph, DxDescription? description = null)
    {
        ArgumentNullException.ThrowIfNull(radiograph);
        description ??= new DxDescription();
        if (radiograph.StoredMinimum != 0 || radiograph.BitsStored < 6)
        {
            throw new ArgumentException($"A digital x-ray image has unsigned pixels of 6 to 16 bits; this radiograph's have {radiograph.BitsStored} from {radiograph.StoredMinimum}.", nameof(radiograph));
        }

        bool forProcessing = radiograph.PresentationIntent == PresentationIntent.ForProcessing;
        ExposureRecord exposure = radiograph.Exposure;
        byte[] digest = Digest(radiograph, description.Seed);
        string sopClass = forProcessing ? "1.2.840.10008.5.1.4.1.1.1.1.1" : "1.2.840.10008.5.1.4.1.1.1.1";
        DicomDataset dataset = new DicomDataset()
            .SetText(Tags.SpecificCharacterSet, "CS", "ISO_IR 192")
            .SetText(Tags.ImageType, "CS", "ORIGINAL", "PRIMARY", "")
            .SetText(Tags.SopClassUid, "UI", sopClass)
            .SetText(Tags.SopInstanceUid, "UI", Uid(digest, "instance"))
            .SetText(Tags.StudyInstanceUid, "UI", Uid(digest, "study"))
            .SetText(Tags.SeriesInstanceUid, "UI", Uid(digest, "series"))
            .SetText(Tags.StudyId, "SH", "1")
            .SetText(Tags.AccessionNumber, "SH")
            .SetText(Tags.ReferringPhysicianName, "PN")
            .SetText(Tags.PatientName, "PN", Values(description.PatientName))
            .SetText(Tags.PatientId, "LO", Values(description.PatientId))
            .SetText(Tags.PatientBirthDate, "DA")
            .SetText(Tags.PatientSex, "CS")
            .SetText(Tags.Modality, "CS", "DX")
            .SetText(Tags.PresentationIntentType, "CS", forProcessing ? "FOR PROCESSING" : "FOR PRESENTATION")
            .SetText(Tags.Manufacturer, "LO", Values(exposure.Manufacturer))
            .SetText(Tags.SeriesNumber, "IS", "1")
            .SetText(Tags.InstanceNumber, "IS", "1")
            .SetText(Tags.PatientOrientation, "CS", exposure.PatientOrientation?.Split('\\') ?? [])
            .SetText(Tags.ImageLaterality, "CS", exposure.Laterality is "R" or "L" or "B" ? exposure.Laterality : "U")
            .SetText(Tags.BurnedInAnnotation, "CS", exposure.BurnedInAnnotation ?? "NO")
            .SetText(Tags.LossyImageCompression, "CS", radiograph.LossyCompressed == true ? "01" : "00")
            .SetText(Tags.DetectorType, "CS", Values(exposure.DetectorType))
            .SetText(Tags.PositionerType, "CS")
            .SetItems(Tags.AcquisitionContextSequence)
            .SetItems(Tags.AnatomicRegionSequence, Codes(description.AnatomicRegion));
        if (radiograph.LossyCompressed == true)
        {
            // The ratio is compulsory beside "01"; an unknown one is written as 1 (nothing was compressed here).
            dataset.SetNumbers(Tags.LossyImageCompressionRatio, "DS", 1);
        }

        if (exposure.SaysIdentityRemoved)
        {
            dataset.SetText(Tags.PatientIdentityRemoved, "CS", "YES").SetText(Tags.DeidentificationMethod, "LO", "no patient: the case is invented");
        }

        if (description.View is not null || exposure.ViewCode is not null)
        {
            dataset.SetItems(Tags.ViewCodeSequence, Codes(description.View ?? new DxCode(exposure.ViewCode!, exposure.ViewCode!)));
        }

        if (description.Comments is not null)
        {
            dataset.SetText(new DicomTag(0x0020, 0x4000), "LT", description.Comments);
        }

        if (description.Acquired is { } acquired)
        {
            string date = acquired.ToString("yyyyMMdd", CultureInfo.InvariantCulture);
            string time = acquired.ToString("HHmmss", CultureInfo.InvariantCulture);
            dataset.SetText(Tags.StudyDate, "DA", date).SetText(Tags.StudyTime, "TM", time)
                .SetText(Tags.AcquisitionDate, "DA", date).SetText(Tags.AcquisitionTime, "TM", time)
                .SetText(Tags.ContentDate, "DA", date).SetText(Tags.ContentTime, "TM", time);
        }
        else
        {
            dataset.SetText(Tags.StudyDate, "DA").SetText(Tags.StudyTime, "TM");
        }

        SetExposure(dataset, exposure);
        SetImage(dataset, radiograph, forProcessing);
        return dataset;
    }

    /// <summary>Writes a radiograph as a DICOM file.</summary>
    /// <param name="stream">Where to; stays open.</param>
    /// <param name="radiograph">The radiograph; borrowed.</param>
    /// <param name="description">What it doesn't say itself; null for nothing.</param>
    /// <param name="encoding">How.</param>
    /// <exception cref="ArgumentException">As for <see cref="Create"/>.</exception>
    public static void Write(Stream stream, Radiograph radiograph, DxDescription? description = null, DicomEncoding encoding = DicomEncoding.ExplicitLittleEndian)
        => DicomWriter.Write(stream, Create(radiograph, description), encoding);

    private static void SetExposure(DicomDataset dataset, ExposureRecord exposure)
    {
        void Number(DicomTag tag, string vr, double? value)
        {
            if (value is double known)
            {
                dataset.SetNumbers(tag, vr, known);
            }
        }

        void Text(DicomTag tag, string vr, string? value)
        {
            if (value is not null)
            {
                dataset.SetText(tag, vr, value);
            }
        }

        Number(Tags.ExposureIndex, "DS", exposure.ExposureIndex);
        Number(Tags.TargetExposureIndex, "DS", exposure.TargetExposureIndex);
        Number(Tags.DeviationIndex, "DS", exposure.DeviationIndex);
        Number(Tags.RelativeXRayExposure, "IS", exposure.RelativeXRayExposure);
        Number(Tags.Sensitivity, "DS", exposure.Sensitivity);
        Number(Tags.Kvp, "DS", exposure.TubeVoltageKvp);
        if (exposure.ExposureMas is double mas)
        {
            dataset.SetNumbers(Tags.Exposure, "IS", Math.Round(mas)).SetNumbers(Tags.ExposureInMicroAmpereSeconds, "IS", Math.Round(mas * 1000));
        }

        Number(Tags.ExposureTime, "IS", exposure.ExposureTimeMs);
        Number(Tags.XRayTubeCurrent, "IS", exposure.TubeCurrentMa);
        Number(Tags.DistanceSourceToDetector, "DS", exposure.SourceImageDistanceMm);
        Number(Tags.DistanceSourceToPatient, "DS", exposure.SourceObjectDistanceMm);
        Number(Tags.EstimatedRadiographicMagnificationFactor, "DS", exposure.MagnificationFactor);
        Number(Tags.FocalSpots, "DS", exposure.FocalSpotMm);
        if (exposure.Grid is not null)
        {
            dataset.SetText(Tags.Grid, "CS", exposure.Grid.Split(' '));
        }

        Number(Tags.ImageAndFluoroscopyAreaDoseProduct, "DS", exposure.KermaAreaProductDgyCm2);
        Number(Tags.EntranceDoseInMilliGray, "DS", exposure.EntranceDoseMgy);
        Number(Tags.BodyPartThickness, "DS", exposure.BodyPartThicknessMm);
        Text(Tags.ManufacturerModelName, "LO", exposure.ManufacturerModel);
        Text(Tags.StationName, "SH", exposure.StationName);
        Text(Tags.DetectorId, "SH", exposure.DetectorId);
        Text(Tags.ExposureControlMode, "CS", exposure.ExposureControlMode);
        Text(Tags.BodyPartExamined, "CS", exposure.BodyPart);
        Text(Tags.ViewPosition, "CS", exposure.ViewPosition);
        Text(Tags.AcquisitionDeviceProcessingDescription, "LO", exposure.ProcessingDescription);
    }

    private static void SetImage(DicomDataset dataset, Radiograph radiograph, bool forProcessing)
    {
        int bytesPerPixel = radiograph.BitsStored <= 8 ? 1 : 2;
        ReadOnlySpan<ushort> samples = radiograph.Pixels.Samples;
        byte[] bytes = new byte[(((long)samples.Length * bytesPerPixel) + 1) / 2 * 2];
        if (bytesPerPixel == 2)
        {
            MemoryMarshal.AsBytes(samples).CopyTo(bytes);
        }
        else
        {
            for (int i = 0; i < samples.Length; i++)
            {
                bytes[i] = (byte)samples[i];
            }
        }

        dataset
            .SetNumbers(Tags.SamplesPerPixel, "US", 1)
            .SetText(Tags.PhotometricInterpretation, "CS", radiograph.HighIsShownDark ? "MONOCHROME1" : "MONOCHROME2")
            .SetText(Tags.PresentationLutShape, "CS", radiograph.HighIsShownDark ? "INVERSE" : "IDENTITY")
            .SetNumbers(Tags.Rows, "US", radiograph.Rows)
            .SetNumbers(Tags.Columns, "US", radiograph.Columns)
            .SetNumbers(Tags.BitsAllocated, "US", bytesPerPixel * 8)
            .SetNumbers(Tags.BitsStored, "US", radiograph.BitsStored)
            .SetNumbers(Tags.HighBit, "US", radiograph.BitsStored - 1)
            .SetNumbers(Tags.PixelRepresentation, "US", 0)
            .SetText(Tags.PixelIntensityRelationship, "CS", radiograph.Relationship switch
            {
                PixelRelationship.Linear => "LIN",
                PixelRelationship.Logarithmic => "LOG",
                _ => "DISP",
            })
            .SetNumbers(Tags.RescaleIntercept, "DS", radiograph.Modality.Intercept)
            .SetNumbers(Tags.RescaleSlope, "DS", radiograph.Modality.Slope)
            .SetText(Tags.RescaleType, "LO", "US")
            .Set(DicomElement.OfValue(Tags.PixelData, bytesPerPixel == 1 ? "OB" : "OW", bytes));
        dataset.SetNumbers(Tags.PixelIntensityRelationshipSign, "SS", radiograph.RelationshipSign ?? (radiograph.HighIsShownDark ? 1 : -1));
        if (radiograph.ReceptorSpacing is { } spacing)
        {
            dataset.SetNumbers(Tags.ImagerPixelSpacing, "DS", spacing.RowSpacingMm, spacing.ColumnSpacingMm);
        }

        if (radiograph.Padding is { } padding)
        {
            dataset.SetNumbers(Tags.PixelPaddingValue, "US", padding.FromStoredValue).SetNumbers(Tags.PixelPaddingRangeLimit, "US", padding.ToStoredValue);
        }

        if (forProcessing)
        {
            // An object for processing carries no VOI LUT module (PS3.3 table A.26-1).
            return;
        }

        VoiTransform[] windows = [.. radiograph.Windows.Where(window => window.Table is null)];
        if (windows.Length == 0 && radiograph.Windows.Count == 0)
        {
            windows = [Display.DisplayTable.InUse(radiograph)];
        }

        if (windows.Length > 0)
        {
            dataset.SetNumbers(Tags.WindowCenter, "DS", [.. windows.Select(window => window.Center)])
                .SetNumbers(Tags.WindowWidth, "DS", [.. windows.Select(window => window.Width)])
                .SetText(Tags.VoiLutFunction, "CS", windows[0].Function switch
                {
                    WindowFunction.Sigmoid => "SIGMOID",
                    WindowFunction.LinearExact => "LINEAR_EXACT",
                    _ => "LINEAR",
                });
            if (windows.Any(window => window.Explanation is not null))
            {
                dataset.SetText(Tags.WindowCenterWidthExplanation, "LO", [.. windows.Select(window => window.Explanation ?? "")]);
            }
        }

        DicomDataset[] tables = [.. radiograph.Windows.Where(window => window.Table is not null).Select(window => new DicomDataset()
            .SetNumbers(Tags.LutDescriptor, "US", window.Table!.Entries.Length == 65_536 ? 0 : window.Table.Entries.Length, (ushort)window.Table.FirstMapped, window.Table.BitsPerEntry)
            .SetText(Tags.LutExplanation, "LO", Values(window.Explanation))
            .Set(DicomElement.OfValue(Tags.LutData, "OW", MemoryMarshal.AsBytes<ushort>(window.Table.Entries).ToArray())))];
        if (tables.Length > 0)
        {
            dataset.SetItems(Tags.VoiLutSequence, tables);
        }
    }

    private static string[] Values(string? value) => value is null ? [] : [value];

    private static DicomDataset[] Codes(DxCode? code) => code is null
        ? []
        : [new DicomDataset()
            .SetText(Tags.CodeValue, "SH", code.Value)
            .SetText(Tags.CodingSchemeDesignator, "SH", "SCT")
            .SetText(Tags.CodeMeaning, "LO", code.Meaning)];

    private static byte[] Digest(Radiograph radiograph, string seed)
    {
        using IncrementalHash hash = IncrementalHash.CreateHash(HashAlgorithmName.SHA256);
        hash.AppendData(Encoding.UTF8.GetBytes(seed));
        hash.AppendData(MemoryMarshal.AsBytes(radiograph.Pixels.Samples));
        return hash.GetHashAndReset();
    }

    /// <summary>A unique identifier under 2.25 (PS3.5 B.2): a UUID of version 8 as one decimal number.</summary>
    private static string Uid(byte[] digest, string part)
    {
        byte[] uuid = SHA256.HashData([.. digest, .. Encoding.UTF8.GetBytes(part)])[..16];
        uuid[6] = (byte)((uuid[6] & 0x0F) | 0x80);
        uuid[8] = (byte)((uuid[8] & 0x3F) | 0x80);
        UInt128 number = 0;
        foreach (byte value in uuid)
        {
            number = (number << 8) | value;
        }

        return "2.25." + number.ToString(CultureInfo.InvariantCulture);
    }
}
