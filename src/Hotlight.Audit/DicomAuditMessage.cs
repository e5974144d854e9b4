using System.Globalization;
using System.Net;
using System.Text;
using System.Xml.Linq;

namespace Hotlight.Audit;

/// <summary>An entry as a message of the standard's schema (DICOM PS3.15 A.5.1), for a repository of audit messages.</summary>
/// <remarks>The trail names cases by identifiers of the bench and holds no patient and no UID, so the messages carry none either. What the standard has no code for bears one of the scheme 99HOTLIGHT.</remarks>
public static class DicomAuditMessage
{
    private const string Own = "99HOTLIGHT";

    /// <summary>Writes one message.</summary>
    /// <param name="entry">The entry.</param>
    /// <param name="source">Name of the bench in the clinic's network, such as "hotlight"; not empty.</param>
    public static XElement Of(AuditEntry entry, string source)
    {
        ArgumentNullException.ThrowIfNull(entry);
        ArgumentException.ThrowIfNullOrWhiteSpace(source);
        (string action, XElement id, XElement? type) = Event(entry);
        var identification = new XElement(
            "EventIdentification",
            new XAttribute("EventActionCode", action),
            new XAttribute("EventDateTime", entry.At.UtcDateTime.ToString("yyyy-MM-dd'T'HH:mm:ss.fff'Z'", CultureInfo.InvariantCulture)),
            new XAttribute("EventOutcomeIndicator", entry.IsFailure || entry.Act == AuditAct.Refused ? "4" : "0"),
            id,
            type);
        if (entry.Detail.Length > 0)
        {
            identification.Add(new XElement("EventOutcomeDescription", Text(entry.Detail)));
        }

        var message = new XElement("AuditMessage", identification, Participant(entry), Application(entry, source));
        message.Add(new XElement("AuditSourceIdentification", new XAttribute("AuditSourceID", source), new XElement("AuditSourceTypeCode", new XAttribute("csd-code", "4"))));
        if (Subject(entry) is { } subject)
        {
            message.Add(subject);
        }

        return message;
    }

    /// <summary>Writes messages one after the other, each in a line of its own without a declaration, as they are sent.</summary>
    /// <param name="entries">The entries.</param>
    /// <param name="source">Name of the bench in the clinic's network.</param>
    /// <param name="into">Where to; UTF-8.</param>
    /// <param name="cancellation">Stops it.</param>
    /// <returns>How many.</returns>
    public static async Task<long> WriteAsync(IAsyncEnumerable<AuditEntry> entries, string source, TextWriter into, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(entries);
        ArgumentNullException.ThrowIfNull(into);
        long written = 0;
        await foreach (AuditEntry entry in entries.WithCancellation(cancellation))
        {
            await into.WriteLineAsync(Of(entry, source).ToString(SaveOptions.DisableFormatting).AsMemory(), cancellation);
            written++;
        }

        return written;
    }

    // Codes of PS3.16 CID 400 and CID 401.
    private static (string Action, XElement Id, XElement? Type) Event(AuditEntry entry) => (entry.Act, entry.Subject) switch
    {
        (AuditAct.Started, _) => ("E", Dcm("EventID", "110100", "Application Activity"), Dcm("EventTypeCode", "110120", "Application Start")),
        (AuditAct.Stopped, _) => ("E", Dcm("EventID", "110100", "Application Activity"), Dcm("EventTypeCode", "110121", "Application Stop")),
        (AuditAct.SignedIn, _) => ("E", Dcm("EventID", "110114", "User Authentication"), Dcm("EventTypeCode", "110122", "Login")),
        (AuditAct.SignedOut, _) => ("E", Dcm("EventID", "110114", "User Authentication"), Dcm("EventTypeCode", "110123", "Logout")),
        (AuditAct.AccountChanged, _) => ("E", Dcm("EventID", "110113", "Security Alert"), Dcm("EventTypeCode", "110137", "User Security Attributes Changed")),
        (AuditAct.Refused, _) => ("E", Dcm("EventID", "110113", "Security Alert"), Dcm("EventTypeCode", "110132", "Use of Restricted Function")),
        (AuditAct.TrailUsed, _) => ("R", Dcm("EventID", "110101", "Audit Log Used"), null),
        (AuditAct.BroughtIn, _) => ("C", Dcm("EventID", "110107", "Import"), null),
        (AuditAct.Exported, _) => ("R", Dcm("EventID", "110106", "Export"), null),
        (AuditAct.Erased, AuditSubject.Case) => ("D", Dcm("EventID", "110105", "DICOM Study Deleted"), null),
        (AuditAct.Looked or AuditAct.Made or AuditAct.Changed or AuditAct.Deleted or AuditAct.Restored, AuditSubject.Case) => (Action(entry.Act), Dcm("EventID", "110103", "DICOM Instances Accessed"), null),
        _ => (Action(entry.Act), OwnCode("EventID", entry.Subject), null),
    };

    private static string Action(AuditAct act) => act switch
    {
        AuditAct.Made => "C",
        AuditAct.Changed or AuditAct.Restored => "U",
        AuditAct.Deleted or AuditAct.Erased or AuditAct.Retained => "D",
        _ => "R",
    };

    private static XElement Participant(AuditEntry entry)
    {
        var participant = new XElement("ActiveParticipant", new XAttribute("UserID", Text(entry.By.Id?.ToString() ?? entry.By.Name)), new XAttribute("UserName", Text(entry.By.Name)), new XAttribute("UserIsRequestor", "true"));
        if (IPAddress.TryParse(entry.By.Address, out _))
        {
            participant.Add(new XAttribute("NetworkAccessPointID", entry.By.Address), new XAttribute("NetworkAccessPointTypeCode", "2"));
        }

        if (entry.Act is AuditAct.Started or AuditAct.Stopped)
        {
            participant.Add(Dcm("RoleIDCode", "110151", "Application Launcher"));
        }
        else if (entry.By.Role.Length > 0)
        {
            participant.Add(Code("RoleIDCode", Text(entry.By.Role), Own, Text(entry.By.Role)));
        }

        return participant;
    }

    private static XElement Application(AuditEntry entry, string source)
    {
        var application = new XElement("ActiveParticipant", new XAttribute("UserID", source), new XAttribute("UserIsRequestor", "false"));
        application.Add(entry.Act switch
        {
            AuditAct.Exported => Dcm("RoleIDCode", "110153", "Source Role ID"),
            AuditAct.BroughtIn => Dcm("RoleIDCode", "110152", "Destination Role ID"),
            _ => Dcm("RoleIDCode", "110150", "Application"),
        });
        return application;
    }

    private static XElement? Subject(AuditEntry entry)
    {
        if (entry.Subject == AuditSubject.Bench || entry.Act is AuditAct.SignedIn or AuditAct.SignedOut)
        {
            return null;
        }

        string name = Name(entry.Subject);
        var subject = new XElement(
            "ParticipantObjectIdentification",
            new XAttribute("ParticipantObjectID", Text(entry.SubjectId.Length > 0 ? entry.SubjectId : name)),
            new XAttribute("ParticipantObjectTypeCode", entry.Subject == AuditSubject.Account ? "1" : "2"),
            new XAttribute("ParticipantObjectTypeCodeRole", entry.Subject switch { AuditSubject.Account => "11", AuditSubject.Trail => "13", AuditSubject.Case or AuditSubject.Reading => "3", _ => "4" }));
        if (LifeCycle(entry.Act) is { } stage)
        {
            subject.Add(new XAttribute("ParticipantObjectDataLifeCycle", stage));
        }

        subject.Add(
            OwnCode("ParticipantObjectIDTypeCode", entry.Subject),
            new XElement("ParticipantObjectName", entry.Subject == AuditSubject.Trail ? "Security Audit Log" : name),
            new XElement("ParticipantObjectDetail", new XAttribute("type", "number"), new XAttribute("value", Convert.ToBase64String(Encoding.UTF8.GetBytes(entry.Number.ToString(CultureInfo.InvariantCulture))))),
            new XElement("ParticipantObjectDetail", new XAttribute("type", "seal"), new XAttribute("value", Convert.ToBase64String(Encoding.UTF8.GetBytes(entry.Seal)))));
        return subject;
    }

    private static string? LifeCycle(AuditAct act) => act switch
    {
        AuditAct.Made => "1",
        AuditAct.BroughtIn => "2",
        AuditAct.Changed or AuditAct.AccountChanged or AuditAct.Restored => "3",
        AuditAct.Looked or AuditAct.TrailUsed => "6",
        AuditAct.Exported => "10",
        AuditAct.Deleted => "14",
        AuditAct.Erased or AuditAct.Retained => "15",
        _ => null,
    };

    private static string Name(AuditSubject subject) => subject switch
    {
        AuditSubject.Bench => "Bench",
        AuditSubject.Case => "Case",
        AuditSubject.Reading => "Own reading",
        AuditSubject.Lesson => "Lesson",
        AuditSubject.Exposures => "Exposure records",
        AuditSubject.Clinic => "Settings of the clinic",
        AuditSubject.Account => "Account",
        AuditSubject.Page => "Page",
        AuditSubject.Trail => "Audit trail",
        AuditSubject.Store => "Record store",
        _ => throw new ArgumentOutOfRangeException(nameof(subject), subject, "There is no such subject."),
    };

    private static XElement OwnCode(string element, AuditSubject subject) => Code(element, ((int)subject).ToString(CultureInfo.InvariantCulture), Own, Name(subject));

    private static XElement Dcm(string element, string code, string meaning) => Code(element, code, "DCM", meaning);

    private static XElement Code(string element, string code, string scheme, string meaning)
        => new(element, new XAttribute("csd-code", code), new XAttribute("codeSystemName", scheme), new XAttribute("originalText", meaning));

    // XML 1.0 has no room for half letters and a few others.
    private static string Text(string text) => string.Concat(text.EnumerateRunes().Select(rune => rune.Value is 0xFFFE or 0xFFFF ? "\uFFFD" : rune.ToString()));
}
