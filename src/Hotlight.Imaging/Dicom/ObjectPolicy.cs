using System.Globalization;

namespace Hotlight.Imaging.Dicom;

/// <summary>Which DICOM objects Hotlight judges, see docs/methods/reading.md#objects. One sentence refuses the others and says what they are.</summary>
internal static class ObjectPolicy
{
    public const string Directory = "it is a DICOMDIR, a table of contents; give the image files it lists.";

    private const string Wanted = "Hotlight judges plain radiographs.";

    /// <summary>Throws for an object that is no single planar x-ray image; adds a remark for one that is, but is no plain radiograph.</summary>
    public static void Check(DicomFile file, List<string> remarks)
    {
        DicomDataset dataset = file.Dataset;
        string? sopClass = dataset.Text(Tags.SopClassUid) ?? file.Meta.Text(Tags.MediaStorageSopClassUid);
        string? modality = dataset.Text(Tags.Modality);
        if (dataset.Contains(Tags.DirectoryRecordSequence) || sopClass == "1.2.840.10008.1.3.10")
        {
            throw new ImageFormatException(Directory);
        }

        if (sopClass is not null && OtherObject(sopClass) is string kind)
        {
            throw new ImageFormatException($"it is {kind}; {Wanted}");
        }

        if (modality is not null && OtherModality(modality) is string other)
        {
            throw new ImageFormatException($"it is {other}; {Wanted}");
        }

        if (!dataset.Contains(Tags.PixelData))
        {
            throw new ImageFormatException("it is a DICOM file without pixel data; there is no image to judge.");
        }

        int frames = dataset.Integer(Tags.NumberOfFrames) ?? 1;
        if (frames > 1)
        {
            throw new ImageFormatException(string.Create(CultureInfo.InvariantCulture, $"it holds {frames} frames; give one exposure a file."));
        }

        switch (modality)
        {
            case "MG":
                remarks.Add("This is a mammogram: Hotlight's checklists are for plain radiographs.");
                break;
            case "RTIMAGE":
                remarks.Add("This is a radiotherapy image: Hotlight's checklists are for plain radiographs.");
                break;
            case "XA" or "RF":
                remarks.Add("This is a frame of fluoroscopy or angiography: Hotlight's checklists are for plain radiographs.");
                break;
            case "PX" or "IO":
                remarks.Add("This is a dental image: Hotlight's checklists are for plain radiographs.");
                break;
        }
    }

    private static string? OtherObject(string sopClass)
    {
        const string storage = "1.2.840.10008.5.1.4.1.1.";
        if (!sopClass.StartsWith(storage, StringComparison.Ordinal))
        {
            return null;
        }

        string rest = sopClass[storage.Length..];
        if (rest.StartsWith("88.", StringComparison.Ordinal))
        {
            return "a structured report";
        }

        if (rest.StartsWith("11.", StringComparison.Ordinal))
        {
            return "a presentation state";
        }

        return rest switch
        {
            "2" or "2.1" or "2.2" => "a computed tomography image",
            "4" or "4.1" or "4.2" or "4.3" or "4.4" => "a magnetic resonance image",
            "3" or "3.1" or "6" or "6.1" or "6.2" => "an ultrasound image",
            "20" => "a nuclear medicine image",
            "128" or "128.1" or "130" => "a positron emission tomography image",
            "13.1.1" or "13.1.2" or "13.1.3" => "a reconstructed tomography image",
            "481.2" => "a radiotherapy dose grid",
            "481.3" => "a set of radiotherapy structures",
            "481.4" or "481.6" or "481.7" => "a radiotherapy treatment record",
            "481.5" or "481.8" => "a radiotherapy plan",
            "77.1.1" or "77.1.1.1" or "77.1.2" or "77.1.2.1" or "77.1.3" or "77.1.4" or "77.1.4.1" or "77.1.6" => "a visible light image",
            "104.1" => "an encapsulated document",
            "66.4" => "a segmentation",
            _ => null,
        };
    }

    private static string? OtherModality(string modality) => modality switch
    {
        "CT" => "a computed tomography image",
        "MR" => "a magnetic resonance image",
        "US" or "IVUS" => "an ultrasound image",
        "NM" => "a nuclear medicine image",
        "PT" => "a positron emission tomography image",
        "SR" => "a structured report",
        "PR" => "a presentation state",
        "KO" => "a key object selection",
        "RTDOSE" => "a radiotherapy dose grid",
        "RTPLAN" => "a radiotherapy plan",
        "RTSTRUCT" => "a set of radiotherapy structures",
        "RTRECORD" => "a radiotherapy treatment record",
        "ES" or "XC" or "GM" or "SM" or "OP" or "OPT" or "DMS" => "a visible light image",
        "ECG" or "HD" or "EPS" => "a recording of signals",
        "BMD" => "a bone density scan",
        "DOC" => "an encapsulated document",
        "SEG" => "a segmentation",
        _ => null,
    };
}
