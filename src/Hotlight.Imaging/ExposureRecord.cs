namespace Hotlight.Imaging;

/// <summary>What the header says of the examination and of how the exposure was made. Null: not in the file.</summary>
/// <remarks>No member identifies the patient. Whether identifying attributes are present is said by <see cref="CarriesPatientIdentity"/>.</remarks>
public sealed record ExposureRecord
{
    /// <summary>Exposure Index (0018,1411), IEC 62494-1.</summary>
    public double? ExposureIndex { get; init; }

    /// <summary>Target Exposure Index (0018,1412).</summary>
    public double? TargetExposureIndex { get; init; }

    /// <summary>Deviation Index (0018,1413).</summary>
    public double? DeviationIndex { get; init; }

    /// <summary>Relative X-Ray Exposure (0018,1405): a maker's own scale.</summary>
    public double? RelativeXRayExposure { get; init; }

    /// <summary>Sensitivity (0018,6000): the read-out sensitivity, a maker's own scale.</summary>
    public double? Sensitivity { get; init; }

    /// <summary>Tube voltage (0018,0060), in kV peak.</summary>
    public double? TubeVoltageKvp { get; init; }

    /// <summary>Tube current times time, in mAs (0018,9332; 0018,1153 in µAs; or 0018,1152).</summary>
    public double? ExposureMas { get; init; }

    /// <summary>Exposure time, in ms (0018,9328 or 0018,1150).</summary>
    public double? ExposureTimeMs { get; init; }

    /// <summary>Tube current, in mA (0018,9330 or 0018,1151).</summary>
    public double? TubeCurrentMa { get; init; }

    /// <summary>Distance from the source to the receptor, in mm (0018,1110).</summary>
    public double? SourceImageDistanceMm { get; init; }

    /// <summary>Distance from the source to the patient, in mm (0018,1111).</summary>
    public double? SourceObjectDistanceMm { get; init; }

    /// <summary>Estimated Radiographic Magnification Factor (0018,1114).</summary>
    public double? MagnificationFactor { get; init; }

    /// <summary>Nominal focal spot, in mm (0018,1190), the first value.</summary>
    public double? FocalSpotMm { get; init; }

    /// <summary>Grid (0018,1166), the file's terms joined by a space.</summary>
    public string? Grid { get; init; }

    /// <summary>Kerma-area product, in dGy·cm² (0018,115E).</summary>
    public double? KermaAreaProductDgyCm2 { get; init; }

    /// <summary>Entrance dose, in mGy (0040,8302).</summary>
    public double? EntranceDoseMgy { get; init; }

    /// <summary>Body part thickness, in mm (0018,11A0).</summary>
    public double? BodyPartThicknessMm { get; init; }

    /// <summary>Type of receptor (0018,7004).</summary>
    public string? DetectorType { get; init; }

    /// <summary>Exposure control mode (0018,7060).</summary>
    public string? ExposureControlMode { get; init; }

    /// <summary>Modality (0008,0060).</summary>
    public string? Modality { get; init; }

    /// <summary>Body part examined (0018,0015).</summary>
    public string? BodyPart { get; init; }

    /// <summary>View position (0018,5101).</summary>
    public string? ViewPosition { get; init; }

    /// <summary>Code value of the first View Code Sequence (0054,0220) item.</summary>
    public string? ViewCode { get; init; }

    /// <summary>Image laterality (0020,0062) or, failing that, laterality (0020,0060): R, L, U or B.</summary>
    public string? Laterality { get; init; }

    /// <summary>Patient orientation (0020,0020): directions of the row and of the column, joined by a backslash.</summary>
    public string? PatientOrientation { get; init; }

    /// <summary>Burned in annotation (0028,0301): YES or NO.</summary>
    public string? BurnedInAnnotation { get; init; }

    /// <summary>Acquisition device processing description (0018,1400).</summary>
    public string? ProcessingDescription { get; init; }

    /// <summary>Manufacturer (0008,0070).</summary>
    public string? Manufacturer { get; init; }

    /// <summary>Manufacturer's Model Name (0008,1090).</summary>
    public string? ManufacturerModel { get; init; }

    /// <summary>Station Name (0008,1010).</summary>
    public string? StationName { get; init; }

    /// <summary>Detector ID (0018,700A).</summary>
    public string? DetectorId { get; init; }

    /// <summary>Patient's age (0010,1010), in years; null where it is not recorded. Landmarks of a child lie closer together.</summary>
    public double? PatientAgeYears { get; init; }

    /// <summary>Whether date and time of acquisition are recorded.</summary>
    public bool HasAcquisitionTime { get; init; }

    /// <summary>Whether the file carries a patient's name, identifier, or birth date that is not empty.</summary>
    public bool CarriesPatientIdentity { get; init; }

    /// <summary>Whether the file says that patient identity was removed (0012,0062).</summary>
    public bool SaysIdentityRemoved { get; init; }
}
