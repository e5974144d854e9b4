namespace Hotlight.Records.Sources;

/// <summary>What names in a source become before they get into the records: pseudonyms by the clinic's key, its own rooms and receptors.</summary>
public interface ISourceNaming
{
    /// <summary>Pseudonym of who exposed; null where the name says nothing.</summary>
    /// <param name="name">The name as the source has it.</param>
    string? PerformerOf(string name);

    /// <summary>Stands for a patient, an examination or another value; the same value of the same kind gives the same digits.</summary>
    /// <param name="kind">What kind of value, such as "patient".</param>
    /// <param name="value">The value.</param>
    string KeyOf(string kind, string value);

    /// <summary>A UID as it is kept here: as it is, or made new where patients' identities are taken out.</summary>
    /// <param name="uid">The UID as the source has it.</param>
    string UidOf(string uid);

    /// <summary>The clinic's room and receptor of a device, or what else the device is called here.</summary>
    /// <param name="device">What the source says of the device.</param>
    SourcePlace PlaceOf(SourceDevice device);

    /// <summary>The words of a description that may stay; null where none may.</summary>
    /// <param name="text">The description.</param>
    string? DescriptionOf(string text);
}

/// <summary>What a source says of the device that exposed. Null: nothing.</summary>
/// <param name="StationName">Station Name (0008,1010), or the device observer's name.</param>
/// <param name="DetectorId">Detector ID (0018,700A).</param>
/// <param name="ManufacturerModel">Manufacturer's Model Name (0008,1090).</param>
public sealed record SourceDevice(string? StationName, string? DetectorId, string? ManufacturerModel);

/// <summary>Where an exposure was made. Null: not told.</summary>
/// <param name="Room">The room.</param>
/// <param name="Receptor">The receptor.</param>
public sealed record SourcePlace(string? Room, string? Receptor);
