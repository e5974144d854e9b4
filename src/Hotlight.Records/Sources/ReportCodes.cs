namespace Hotlight.Records.Sources;

/// <summary>Codes of DICOM PS3.16 that reports and key object selections are read by; scheme DCM where nothing else is said.</summary>
/// <remarks>Meanings are not looked at: makers and languages spell them as they like.</remarks>
internal static class ReportCodes
{
    public const string DoseReport = "113701";
    public const string ProcedureReported = "121058";
    public const string ProjectionXRay = "113704";
    public const string IrradiationEvent = "113706";
    public const string EventUid = "113769";
    public const string StartedAt = "111526";
    public const string EventType = "113721";
    public const string AcquisitionProtocol = "125203";
    public const string TargetRegion = "123014";
    public const string ImageView = "111031";
    public const string DoseAreaProduct = "122130";
    public const string Kvp = "113733";
    public const string Exposure = "113736";
    public const string ExposureIndex = "113845";
    public const string TargetExposureIndex = "113846";
    public const string DeviationIndex = "113847";
    public const string AcquiredImage = "113795";
    public const string PersonName = "113870";
    public const string RoleInProcedure = "113875";
    public const string Administering = "113851";
    public const string DeviceName = "121013";
    public const string DeviceModel = "121015";
    public const string IsRepeated = "128551";
    public const string ReasonForRepeating = "128552";
    public const string IsRejected = "130503";
    public const string ReasonForRejecting = "130504";
    public const string DocumentTitleModifier = "113011";
    public const string RejectedForQuality = "113001";
    public const string QualityIssue = "113010";
    public const string RejectedForSafety = "113037";

    /// <summary>Laterality, in SNOMED CT and in the older SNOMED RT style.</summary>
    public static bool IsLaterality(string? code) => code is "272741003" or "G-C171";

    /// <summary>Side by its code: R, L, B or U; null where it is none.</summary>
    public static string? SideOf(string? code) => code switch
    {
        "24028007" or "G-A100" => "R",
        "7771000" or "G-A101" => "L",
        "51440002" or "G-A102" => "B",
        "66459002" or "G-A103" => "U",
        _ => null,
    };

    /// <summary>Whether a code says yes, CID 230.</summary>
    public static bool IsYes(string? code) => code is "373066001" or "R-0038D";

    /// <summary>Whether an event of this type is fluoroscopy, whose dose is no radiograph's: in SNOMED CT and in the older style.</summary>
    public static bool IsFluoroscopy(string? code) => code is "44491008" or "P5-06000";
}
