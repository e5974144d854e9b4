using System.Xml.Linq;
using System.Xml.Schema;
using Hotlight.Testing;

namespace Hotlight.Audit.Tests;

public sealed class DicomAuditMessageTests
{
    private static readonly byte[] Key = new byte[32];

    public static TheoryData<AuditAct, AuditSubject> Pairs
    {
        get
        {
            var pairs = new TheoryData<AuditAct, AuditSubject>();
            foreach (AuditAct act in Enum.GetValues<AuditAct>())
            {
                foreach (AuditSubject subject in Enum.GetValues<AuditSubject>())
                {
                    pairs.Add(act, subject);
                }
            }

            return pairs;
        }
    }

    // tests/reference/audit-message/AuditMessage.xsd puts PS3.15 A.5.1 into W3C XML Schema.
    [Theory]
    [MemberData(nameof(Pairs))]
    public void Of_EveryActAndSubject_IsValidByTheStandardsSchema(AuditAct act, AuditSubject subject)
    {
        foreach (AuditActor by in new[] { AuditActor.Bench, new AuditActor("Größe & <Turnstone> \"", Guid.NewGuid(), "supervisor", "127.0.0.1"), new AuditActor("\uFFFE\ud800", Address: "not an address") })
        {
            AuditEntry entry = AuditSeal.Continue(Key, null, [(new AuditEvent(act, subject, "a \"b\" <c>", "1 < 2 & 3"), by, DateTimeOffset.UnixEpoch)])[0];

            Assert.Empty(Faults(DicomAuditMessage.Of(entry, "hotlight")));
        }
    }

    [Fact]
    public void Schema_OfAMessageWithoutAnOutcome_FindsTheFault()
    {
        XElement message = DicomAuditMessage.Of(Entry(AuditAct.Looked, AuditSubject.Case), "hotlight");
        message.Element("EventIdentification")!.Attribute("EventOutcomeIndicator")!.Remove();
        Assert.NotEmpty(Faults(message));
    }

    // Codes of PS3.16 CID 400 and CID 401.
    [Theory]
    [InlineData(AuditAct.Started, AuditSubject.Bench, "110100", "110120", "E")]
    [InlineData(AuditAct.Stopped, AuditSubject.Bench, "110100", "110121", "E")]
    [InlineData(AuditAct.SignedIn, AuditSubject.Account, "110114", "110122", "E")]
    [InlineData(AuditAct.SignedOut, AuditSubject.Account, "110114", "110123", "E")]
    [InlineData(AuditAct.AccountChanged, AuditSubject.Account, "110113", "110137", "E")]
    [InlineData(AuditAct.Looked, AuditSubject.Case, "110103", null, "R")]
    [InlineData(AuditAct.Changed, AuditSubject.Case, "110103", null, "U")]
    [InlineData(AuditAct.Deleted, AuditSubject.Case, "110103", null, "D")]
    [InlineData(AuditAct.Erased, AuditSubject.Case, "110105", null, "D")]
    [InlineData(AuditAct.Exported, AuditSubject.Case, "110106", null, "R")]
    [InlineData(AuditAct.BroughtIn, AuditSubject.Case, "110107", null, "C")]
    [InlineData(AuditAct.TrailUsed, AuditSubject.Trail, "110101", null, "R")]
    public void Of_ActsThatTheStandardNames_BearItsCodes(AuditAct act, AuditSubject subject, string id, string? type, string action)
    {
        XElement identification = DicomAuditMessage.Of(Entry(act, subject), "hotlight").Element("EventIdentification")!;

        Assert.Equal((id, "DCM"), ((string?)identification.Element("EventID")!.Attribute("csd-code"), (string?)identification.Element("EventID")!.Attribute("codeSystemName")));
        Assert.Equal(type, (string?)identification.Element("EventTypeCode")?.Attribute("csd-code"));
        Assert.Equal(action, (string?)identification.Attribute("EventActionCode"));
    }

    [Fact]
    public async Task WriteAsync_Entries_AreOneMessageInALine()
    {
        using var text = new StringWriter();
        AuditEntry[] entries = [Entry(AuditAct.Looked, AuditSubject.Case), Entry(AuditAct.Refused, AuditSubject.Page)];

        Assert.Equal(2, await DicomAuditMessage.WriteAsync(entries.ToAsyncEnumerable(), "hotlight", text));

        string[] lines = text.ToString().Split(Environment.NewLine, StringSplitOptions.RemoveEmptyEntries);
        Assert.Equal(2, lines.Length);
        Assert.All(lines, line => Assert.Empty(Faults(XElement.Parse(line))));
        Assert.Equal("4", (string?)XElement.Parse(lines[1]).Element("EventIdentification")!.Attribute("EventOutcomeIndicator"));
    }

    private static AuditEntry Entry(AuditAct act, AuditSubject subject) => AuditSeal.Continue(Key, null, [(new AuditEvent(act, subject, "one"), AuditActor.Bench, DateTimeOffset.UnixEpoch)])[0];

    private static List<string> Faults(XElement message)
    {
        var schemas = new XmlSchemaSet();
        schemas.Add(null, Path.Combine(SharedData.RepositoryRoot, "tests", "reference", "audit-message", "AuditMessage.xsd"));
        List<string> faults = [];
        new XDocument(message).Validate(schemas, (_, found) => faults.Add(found.Message));

        // What was checked is what is read again from its text.
        _ = XElement.Parse(message.ToString(SaveOptions.DisableFormatting));
        return faults;
    }
}
