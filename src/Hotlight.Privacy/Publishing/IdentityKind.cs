namespace Hotlight.Privacy.Publishing;

/// <summary>What an identifying value is, or what was found where it must not stand.</summary>
public enum IdentityKind
{
    /// <summary>A name of the patient.</summary>
    PatientName,

    /// <summary>A number or code that stands for the patient.</summary>
    PatientIdentifier,

    /// <summary>The date of birth.</summary>
    BirthDate,

    /// <summary>An address or a telephone number.</summary>
    Address,

    /// <summary>Accession number, order or examination number.</summary>
    ExaminationNumber,

    /// <summary>A date of the examination.</summary>
    ExaminationDate,

    /// <summary>Somebody who made, asked for or reported the examination.</summary>
    Staff,

    /// <summary>Hospital, department or their address.</summary>
    Institution,

    /// <summary>Station, serial number or detector.</summary>
    Device,

    /// <summary>A UID of the examination, series or image.</summary>
    Uid,

    /// <summary>What the patient or the file is called in this store.</summary>
    CaseLabel,

    /// <summary>Somebody of the clinic, by the pseudonym of its settings.</summary>
    ClinicPerson,

    /// <summary>No value that is known, but written like a patient's or an examination's number.</summary>
    LooksLikeNumber,

    /// <summary>No date that is known, but a whole date.</summary>
    LooksLikeDate,

    /// <summary>Text in the pixels that is no accepted side marker.</summary>
    DrawnText,

    /// <summary>Another value of the original that was taken out: a description, a private text, an identifier of a part.</summary>
    OtherValue,

    /// <summary>A part of a file that may hold identity and should not be there: private elements, overlays, curves, comments.</summary>
    FilePart,
}
