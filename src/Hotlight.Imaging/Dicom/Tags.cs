namespace Hotlight.Imaging.Dicom;

/// <summary>The attributes Hotlight reads or writes, PS3.6 chapter 6; names are the standard's keywords.</summary>
internal static class Tags
{
    public static readonly DicomTag FileMetaInformationGroupLength = 0x00020000;
    public static readonly DicomTag FileMetaInformationVersion = 0x00020001;
    public static readonly DicomTag MediaStorageSopClassUid = 0x00020002;
    public static readonly DicomTag MediaStorageSopInstanceUid = 0x00020003;
    public static readonly DicomTag TransferSyntaxUid = 0x00020010;
    public static readonly DicomTag ImplementationClassUid = 0x00020012;
    public static readonly DicomTag ImplementationVersionName = 0x00020013;
    public static readonly DicomTag DirectoryRecordSequence = 0x00041220;
    public static readonly DicomTag SpecificCharacterSet = 0x00080005;
    public static readonly DicomTag ImageType = 0x00080008;
    public static readonly DicomTag SopClassUid = 0x00080016;
    public static readonly DicomTag SopInstanceUid = 0x00080018;
    public static readonly DicomTag StudyDate = 0x00080020;
    public static readonly DicomTag AcquisitionDate = 0x00080022;
    public static readonly DicomTag ContentDate = 0x00080023;
    public static readonly DicomTag AcquisitionDateTime = 0x0008002A;
    public static readonly DicomTag StudyTime = 0x00080030;
    public static readonly DicomTag AcquisitionTime = 0x00080032;
    public static readonly DicomTag ContentTime = 0x00080033;
    public static readonly DicomTag AccessionNumber = 0x00080050;
    public static readonly DicomTag Modality = 0x00080060;
    public static readonly DicomTag PresentationIntentType = 0x00080068;
    public static readonly DicomTag Manufacturer = 0x00080070;
    public static readonly DicomTag StationName = 0x00081010;
    public static readonly DicomTag ManufacturerModelName = 0x00081090;
    public static readonly DicomTag DetectorId = 0x0018700A;
    public static readonly DicomTag ReferringPhysicianName = 0x00080090;
    public static readonly DicomTag CodeValue = 0x00080100;
    public static readonly DicomTag CodingSchemeDesignator = 0x00080102;
    public static readonly DicomTag CodeMeaning = 0x00080104;
    public static readonly DicomTag AnatomicRegionSequence = 0x00082218;
    public static readonly DicomTag PatientName = 0x00100010;
    public static readonly DicomTag PatientId = 0x00100020;
    public static readonly DicomTag PatientBirthDate = 0x00100030;
    public static readonly DicomTag PatientSex = 0x00100040;
    public static readonly DicomTag OtherPatientIds = 0x00101000;
    public static readonly DicomTag PatientIdentityRemoved = 0x00120062;
    public static readonly DicomTag DeidentificationMethod = 0x00120063;
    public static readonly DicomTag BodyPartExamined = 0x00180015;
    public static readonly DicomTag Kvp = 0x00180060;
    public static readonly DicomTag DistanceSourceToDetector = 0x00181110;
    public static readonly DicomTag DistanceSourceToPatient = 0x00181111;
    public static readonly DicomTag EstimatedRadiographicMagnificationFactor = 0x00181114;
    public static readonly DicomTag ExposureTime = 0x00181150;
    public static readonly DicomTag XRayTubeCurrent = 0x00181151;
    public static readonly DicomTag Exposure = 0x00181152;
    public static readonly DicomTag ExposureInMicroAmpereSeconds = 0x00181153;
    public static readonly DicomTag ImageAndFluoroscopyAreaDoseProduct = 0x0018115E;
    public static readonly DicomTag ImagerPixelSpacing = 0x00181164;
    public static readonly DicomTag Grid = 0x00181166;
    public static readonly DicomTag FocalSpots = 0x00181190;
    public static readonly DicomTag BodyPartThickness = 0x001811A0;
    public static readonly DicomTag AcquisitionDeviceProcessingDescription = 0x00181400;
    public static readonly DicomTag RelativeXRayExposure = 0x00181405;
    public static readonly DicomTag ExposureIndex = 0x00181411;
    public static readonly DicomTag TargetExposureIndex = 0x00181412;
    public static readonly DicomTag DeviationIndex = 0x00181413;
    public static readonly DicomTag PositionerType = 0x00181508;
    public static readonly DicomTag ShutterShape = 0x00181600;
    public static readonly DicomTag CollimatorShape = 0x00181700;
    public static readonly DicomTag ViewPosition = 0x00185101;
    public static readonly DicomTag Sensitivity = 0x00186000;
    public static readonly DicomTag NominalScannedPixelSpacing = 0x00182010;
    public static readonly DicomTag DetectorType = 0x00187004;
    public static readonly DicomTag ExposureControlMode = 0x00187060;
    public static readonly DicomTag ExposureTimeInMilliseconds = 0x00189328;
    public static readonly DicomTag XRayTubeCurrentInMilliAmperes = 0x00189330;
    public static readonly DicomTag ExposureInMilliAmpereSeconds = 0x00189332;
    public static readonly DicomTag StudyInstanceUid = 0x0020000D;
    public static readonly DicomTag SeriesInstanceUid = 0x0020000E;
    public static readonly DicomTag StudyId = 0x00200010;
    public static readonly DicomTag SeriesNumber = 0x00200011;
    public static readonly DicomTag InstanceNumber = 0x00200013;
    public static readonly DicomTag PatientOrientation = 0x00200020;
    public static readonly DicomTag PatientAge = 0x00101010;
    public static readonly DicomTag Laterality = 0x00200060;
    public static readonly DicomTag ImageLaterality = 0x00200062;
    public static readonly DicomTag SamplesPerPixel = 0x00280002;
    public static readonly DicomTag PhotometricInterpretation = 0x00280004;
    public static readonly DicomTag PlanarConfiguration = 0x00280006;
    public static readonly DicomTag NumberOfFrames = 0x00280008;
    public static readonly DicomTag Rows = 0x00280010;
    public static readonly DicomTag Columns = 0x00280011;
    public static readonly DicomTag PixelSpacing = 0x00280030;
    public static readonly DicomTag PixelAspectRatio = 0x00280034;
    public static readonly DicomTag BitsAllocated = 0x00280100;
    public static readonly DicomTag BitsStored = 0x00280101;
    public static readonly DicomTag HighBit = 0x00280102;
    public static readonly DicomTag PixelRepresentation = 0x00280103;
    public static readonly DicomTag PixelPaddingValue = 0x00280120;
    public static readonly DicomTag PixelPaddingRangeLimit = 0x00280121;
    public static readonly DicomTag BurnedInAnnotation = 0x00280301;
    public static readonly DicomTag PixelSpacingCalibrationType = 0x00280A02;
    public static readonly DicomTag PixelSpacingCalibrationDescription = 0x00280A04;
    public static readonly DicomTag PixelIntensityRelationship = 0x00281040;
    public static readonly DicomTag PixelIntensityRelationshipSign = 0x00281041;
    public static readonly DicomTag WindowCenter = 0x00281050;
    public static readonly DicomTag WindowWidth = 0x00281051;
    public static readonly DicomTag RescaleIntercept = 0x00281052;
    public static readonly DicomTag RescaleSlope = 0x00281053;
    public static readonly DicomTag RescaleType = 0x00281054;
    public static readonly DicomTag WindowCenterWidthExplanation = 0x00281055;
    public static readonly DicomTag VoiLutFunction = 0x00281056;
    public static readonly DicomTag LossyImageCompression = 0x00282110;
    public static readonly DicomTag LossyImageCompressionRatio = 0x00282112;
    public static readonly DicomTag ModalityLutSequence = 0x00283000;
    public static readonly DicomTag LutDescriptor = 0x00283002;
    public static readonly DicomTag LutExplanation = 0x00283003;
    public static readonly DicomTag LutData = 0x00283006;
    public static readonly DicomTag VoiLutSequence = 0x00283010;
    public static readonly DicomTag ImagePlanePixelSpacing = 0x30020011;
    public static readonly DicomTag RtImageSid = 0x30020026;
    public static readonly DicomTag AcquisitionContextSequence = 0x00400555;
    public static readonly DicomTag EntranceDoseInMilliGray = 0x00408302;
    public static readonly DicomTag ViewCodeSequence = 0x00540220;
    public static readonly DicomTag PresentationLutShape = 0x20500020;
    public static readonly DicomTag PixelData = 0x7FE00010;
    public static readonly DicomTag DataSetTrailingPadding = 0xFFFCFFFC;

    public static readonly DicomTag Item = 0xFFFEE000;
    public static readonly DicomTag ItemDelimitation = 0xFFFEE00D;
    public static readonly DicomTag SequenceDelimitation = 0xFFFEE0DD;

    /// <summary>The value representation an implicit data set does not spell out; UN where Hotlight has no use for the attribute.</summary>
    public static string ImplicitVr(DicomTag tag)
    {
        if (tag.Element == 0)
        {
            return "UL";
        }

        if (tag.Group is >= 0x6000 and <= 0x601E && (tag.Group & 1) == 0)
        {
            return tag.Element switch
            {
                0x0010 or 0x0011 or 0x0100 or 0x0102 => "US",
                0x0015 => "IS",
                0x0040 => "CS",
                0x0050 => "SS",
                0x3000 => "OW",
                _ => "UN",
            };
        }

        return tag.Number switch
        {
            0x00041220 or 0x00082218 or 0x00283000 or 0x00283010 or 0x00400555 or 0x00540220 => "SQ",
            0x00080005 or 0x00080008 or 0x00080060 or 0x00080068 or 0x00100040 or 0x00120062 or 0x00180015 or 0x00181166 or 0x00181508
                or 0x00181600 or 0x00181700 or 0x00185101 or 0x00187004 or 0x00187060 or 0x00200020 or 0x00200060 or 0x00200062
                or 0x00280004 or 0x00280301 or 0x00280A02 or 0x00281040 or 0x00281056 or 0x00282110 or 0x20500020 => "CS",
            0x00020010 or 0x00080016 or 0x00080018 or 0x0020000D or 0x0020000E => "UI",
            0x00080020 or 0x00080022 or 0x00080023 or 0x00100030 => "DA",
            0x00080030 or 0x00080032 or 0x00080033 => "TM",
            0x0008002A => "DT",
            0x00080050 or 0x00080100 or 0x00080102 or 0x00200010 => "SH",
            0x00080070 or 0x00080104 or 0x00100020 or 0x00101000 or 0x00120063 or 0x00181400 or 0x00280A04 or 0x00281054 or 0x00281055 or 0x00283003 => "LO",
            0x00080090 or 0x00100010 => "PN",
            0x00180060 or 0x00181110 or 0x00181111 or 0x00181114 or 0x0018115E or 0x00181164 or 0x00181190 or 0x001811A0
                or 0x00182010 or 0x00181411 or 0x00181412 or 0x00181413 or 0x00186000 or 0x00280030 or 0x00281050 or 0x00281051 or 0x00281052
                or 0x00281053 or 0x00282112 or 0x00408302 or 0x30020011 or 0x30020026 => "DS",
            0x00181150 or 0x00181151 or 0x00181152 or 0x00181153 or 0x00181405 or 0x00200011 or 0x00200013 or 0x00280008 or 0x00280034
                or (>= 0x00181602 and <= 0x00181620) or (>= 0x00181702 and <= 0x00181720) => "IS",
            0x00189328 or 0x00189330 or 0x00189332 => "FD",
            0x00280002 or 0x00280006 or 0x00280010 or 0x00280011 or 0x00280100 or 0x00280101 or 0x00280102 or 0x00280103
                or 0x00280120 or 0x00280121 or 0x00283002 => "US",
            0x00281041 => "SS",
            0x00283006 or 0x7FE00010 => "OW",
            _ => "UN",
        };
    }
}
