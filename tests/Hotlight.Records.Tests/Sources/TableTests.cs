using System.Text;
using Hotlight.Catalogue;
using Hotlight.Records.Sources;
using Hotlight.Records.Sources.Tables;

namespace Hotlight.Records.Tests.Sources;

public sealed class TableTests
{
    private const string German = """
        Datum;Uhrzeit;Raum;Untersuchung;Durchgeführt von;Verworfen;Grund;EI;Ziel-EI;kV;mAs;DFP [mGy·cm²];Alter
        03.03.2026;09:12;Raum 2;Handgelenk p.a.;Möwe, Erna;nein;;312;250;55;2,5;31;16
        03.03.2026;22:30;Raum 2;"Knie; seitlich";Erna Möwe;ja;Lagerung;1.263,5;350;63;4;62,5;44

        13.03.2026;14:00;Raum 1;Thorax;Ente Ida;ja;verwackelt;;;120;1,6;;70
        """;

    private static readonly TableReader Reader = new(new ProjectionWords(ProjectionCatalogue.BuiltIn), new OpenNaming(), ShiftHours.Usual);

    [Theory]
    [InlineData("utf-8", false)]
    [InlineData("utf-8", true)]
    [InlineData("windows-1252", false)]
    public void At_AGermanTable_IsProposedWhole(string encoding, bool withMark)
    {
        byte[] bytes = Bytes(German, encoding, withMark);
        TableLook look = TableLook.At(new MemoryStream(bytes), "Ausschussliste.csv");
        TableMapping mapping = look.Proposed;
        Assert.Equal(encoding, mapping.Encoding);
        Assert.Equal((';', ',', "dd.MM.yyyy", "HH:mm", "mGy.cm2"), (mapping.Delimiter, mapping.Decimal, mapping.DateFormat, mapping.TimeFormat, mapping.KermaAreaProductUnit));
        Assert.Equal(
            [
                TableMember.Date, TableMember.Time, TableMember.Room, TableMember.Projection, TableMember.Performer, TableMember.Use, TableMember.Reason, TableMember.ExposureIndex,
                TableMember.TargetExposureIndex, TableMember.TubeVoltageKvp, TableMember.ExposureMas, TableMember.KermaAreaProduct, TableMember.Age,
            ],
            look.Columns.Select(column => mapping.Columns[column.Heading]));
        Assert.Equal(["Datum", "Uhrzeit", "Raum", "Untersuchung"], mapping.Key);

        TableRow[] rows = [.. Reader.Read(new MemoryStream(bytes), mapping)];
        Assert.Equal([2L, 3L, 5L], rows.Select(row => row.Line));
        Assert.All(rows, row => Assert.Empty(row.Faults));
        ExposureEntry first = rows[0].Entry!, second = rows[1].Entry!, third = rows[2].Entry!;
        Assert.Equal((new DateTime(2026, 3, 3, 9, 12, 0), "wrist-pa", "Raum 2", ExposureUse.Kept, Shift.Early, AgeGroup.Child), (first.ExposedAt, first.ProjectionId, first.Room, first.Use, first.Shift, first.AgeGroup));
        Assert.Equal(2.5, first.ExposureMas);

        // 31 mGy·cm² = 0.31 dGy·cm².
        Assert.Equal(0.31, first.KermaAreaProductDgyCm2!.Value, 1e-12);
        Assert.Equal(0.96215, first.DeviationIndex!.Value, 0.000005);
        Assert.Equal(("knee-lateral", ExposureUse.Rejected, RejectReason.Positioning, Shift.Night), (second.ProjectionId, second.Use, second.Reason, second.Shift));
        Assert.Equal(1263.5, second.ExposureIndex);
        Assert.Equal((null, "Thorax", ExposureUse.Rejected, RejectReason.Motion), (third.ProjectionId, third.GivenProjection, third.Use, third.Reason));
        Assert.Null(third.ExposureIndex);
        Assert.Equal("staff:10", first.Performer);
        Assert.All(rows, row => Assert.Equal(EntrySource.Table, row.Entry!.Source));
    }

    [Fact]
    public void At_AnEnglishTableWithMomentsAndAccepted_TurnsTheWordRound()
    {
        const string text = "Image UID,Acquired at,Body part,View,Laterality,Station,Accepted,Reject reason,Repeat,Shift\n"
            + "1.2.3.4.5,2026-03-03 09:12:07,WRIST,PA,R,Room 1,yes,,no,day\n"
            + "1.2.3.4.6,2026-03-03 09:14:00,WRIST,LAT,R,Room 1,no,Under-exposed,no,day\n"
            + "1.2.3.4.7,2026-03-03 09:15:00,WRIST,LAT,R,Room 1,yes,,yes,night\n";
        TableLook look = TableLook.At(Stream(text), "list");
        Assert.Equal(TableMember.Key, look.Proposed.Columns["Image UID"]);
        Assert.Empty(look.Proposed.Key);
        ExposureEntry[] entries = [.. Reader.Read(Stream(text), look.Proposed).Select(row => row.Entry!)];
        Assert.Equal([ExposureUse.Kept, ExposureUse.Rejected, ExposureUse.Kept], entries.Select(entry => entry.Use));
        Assert.Equal([null, RejectReason.Exposure, null], entries.Select(entry => entry.Reason));
        Assert.Equal([false, false, true], entries.Select(entry => entry.IsRepeat));
        Assert.Equal(["wrist-pa", "wrist-lateral", "wrist-lateral"], entries.Select(entry => entry.ProjectionId));
        Assert.Equal([Shift.Early, Shift.Early, Shift.Night], entries.Select(entry => entry.Shift));
        Assert.Equal("uid:1.2.3.4.5", entries[0].Key);
    }

    [Fact]
    public void At_DatesThatCouldBeEither_AreSaidToBe()
    {
        Assert.Contains(TableLook.At(Stream("date,room\n03/04/2026,1\n05/06/2026,2\n"), "t").Remarks, remark => remark.Contains("day or the month first", StringComparison.Ordinal));
        TableLook american = TableLook.At(Stream("date,room\n03/14/2026,1\n05/06/2026,2\n"), "t");
        Assert.Equal("MM/dd/yyyy", american.Proposed.DateFormat);
        Assert.DoesNotContain(american.Remarks, remark => remark.Contains("first;", StringComparison.Ordinal));
    }

    [Fact]
    public void At_ATableWithoutHeadings_FindsItsDates()
    {
        TableLook look = TableLook.At(Stream("2026-03-03 09:12:07|Room 1|WRIST\n2026-03-03 10:12:07|Room 2|KNEE\n"), "t");
        Assert.False(look.Proposed.HasHeadings);
        Assert.Equal('|', look.Proposed.Delimiter);
        Assert.Equal(TableMember.ExposedAt, look.Proposed.Columns["column 1"]);
    }

    [Theory]
    [InlineData("", "empty")]
    [InlineData("\0\u0001\u0002\u0003PK\0\0\0\0\u0004\u0005", "no table")]
    public void At_NoTable_IsOneSentence(string content, string part) => Assert.Contains(part, Assert.Throws<FormatException>(() => TableLook.At(Stream(content), "t")).Message, StringComparison.Ordinal);

    [Fact]
    public void Read_EveryFault_HasItsLineItsColumnAndWhatToDo()
    {
        const string text = "date,status,reason,shift,repeat,ei,dap (cGy.cm2),age\n"
            + "2026-03-03,kept,,early,no,1,1,20\n"
            + "2026-31-03,kept,,early,no,1,1,20\n" // 3
            + ",kept,,early,no,1,1,20\n" // 4
            + "2026-03-03,perhaps,,early,no,1,1,20\n" // 5
            + "2026-03-03,rejected,moon phase,early,no,1,1,20\n" // 6
            + "2026-03-03,kept,,dawn,no,1,1,20\n" // 7
            + "2026-03-03,kept,,early,sometimes,1,1,20\n" // 8
            + "2026-03-03,kept,,early,no,\"1,5\",1,20\n" // 9
            + "2026-03-03,kept,,early,no,1,-1,20\n" // 10
            + "2026-03-03,kept,,early,no,1,1,many\n" // 11
            + "2026-03-03,kept,,early,no,1\n" // 12
            + "2026-03-03,kept,\"two\nlines\",early,no,1,1,20\n" // 13 and 14: kept, so its reason is not looked at
            + "0203-03-03,kept,,early,no,1,1,20\n"; // 15
        var mapping = new TableMapping
        {
            DateFormat = "yyyy-MM-dd",
            KermaAreaProductUnit = "cGy.cm2",
            Key = ["date"],
            Columns = new Dictionary<string, TableMember>
            {
                ["date"] = TableMember.Date, ["status"] = TableMember.Use, ["reason"] = TableMember.Reason, ["shift"] = TableMember.Shift,
                ["repeat"] = TableMember.IsRepeat, ["ei"] = TableMember.ExposureIndex, ["dap (cGy.cm2)"] = TableMember.KermaAreaProduct, ["age"] = TableMember.Age,
            },
        };
        TableRow[] rows = [.. Reader.Read(Stream(text), mapping)];
        Assert.Equal([2L, 13L], rows.Where(row => row.Entry is not null).Select(row => row.Line));
        SourceFault[] faults = [.. rows.SelectMany(row => row.Faults)];
        Assert.Equal(
            [(3L, "date"), (4L, "date"), (5L, "status"), (6L, "reason"), (7L, "shift"), (8L, "repeat"), (9L, "ei"), (10L, "dap (cGy.cm2)"), (11L, "age"), (12L, null), (15L, "date")],
            faults.Select(fault => (fault.Line!.Value, fault.Column)));
        Assert.All(faults, fault => Assert.EndsWith(".", fault.Sentence, StringComparison.Ordinal));
        Assert.Contains("moon phase", faults[3].Sentence, StringComparison.Ordinal);
    }

    [Fact]
    public void Read_WordsOfTheMapping_GoBeforeThoseBuiltIn()
    {
        const string text = "date;what;why;room;exam\n2026-03-03;B;moon phase;R2;T2E\n";
        var mapping = new TableMapping
        {
            Delimiter = ';',
            DateFormat = "yyyy-MM-dd",
            Key = ["date", "room"],
            Columns = new Dictionary<string, TableMember> { ["date"] = TableMember.Date, ["what"] = TableMember.Use, ["why"] = TableMember.Reason, ["room"] = TableMember.Room, ["exam"] = TableMember.Projection },
            Values = new Dictionary<TableMember, IReadOnlyDictionary<string, string>>
            {
                [TableMember.Use] = new Dictionary<string, string> { ["B"] = "rejected" },
                [TableMember.Reason] = new Dictionary<string, string> { ["moon phase"] = "other" },
                [TableMember.Room] = new Dictionary<string, string> { ["R2"] = "Room 2" },
                [TableMember.Projection] = new Dictionary<string, string> { ["T2E"] = "chest-pa" },
            },
        };
        ExposureEntry entry = Assert.Single(Reader.Read(Stream(text), mapping)).Entry!;
        Assert.Equal((ExposureUse.Rejected, RejectReason.Other, "Room 2", "chest-pa", "T2E"), (entry.Use, entry.Reason, entry.Room, entry.ProjectionId, entry.GivenProjection));

        // The same mapping, written and read back, gives the same entry.
        TableMapping again = TableMappingJson.Read(TableMappingJson.Write(mapping), "m.json");
        Assert.Equal(entry, Assert.Single(Reader.Read(Stream(text), again)).Entry! with { Id = entry.Id });
    }

    [Fact]
    public void Read_AQuoteThatIsNeverClosed_IsOneSentenceWithItsLine()
    {
        string text = "date,room\n2026-03-03,1\n2026-03-03,\"1\n" + string.Concat(Enumerable.Repeat("2026-03-03,1\n", 10_000));
        TableMapping mapping = new() { DateFormat = "yyyy-MM-dd", Key = ["date"], Columns = new Dictionary<string, TableMember> { ["date"] = TableMember.Date } };
        Assert.Contains("Line 3", Assert.Throws<FormatException>(() => Reader.Read(Stream(text), mapping).Count()).Message, StringComparison.Ordinal);
    }

    [Fact]
    public void Read_AColumnThatIsNotThere_NamesIt()
    {
        TableMapping mapping = new() { Key = ["day"], Columns = new Dictionary<string, TableMember> { ["day"] = TableMember.Date } };
        string message = Assert.Throws<FormatException>(() => Reader.Read(Stream("date,room\n1,2\n"), mapping).Count()).Message;
        Assert.Contains("“day”", message, StringComparison.Ordinal);
        Assert.Contains("“date”", message, StringComparison.Ordinal);
    }

    [Fact]
    public void Faults_AMappingThatCannotBe_SaysWhy()
    {
        Assert.Contains(new TableMapping().Faults(), fault => fault.Contains("No column is the date", StringComparison.Ordinal));
        Assert.Contains(new TableMapping().Faults(), fault => fault.Contains("Nothing tells rows apart", StringComparison.Ordinal));
        Assert.Contains(new TableMapping { Encoding = "ebcdic" }.Faults(), fault => fault.Contains("ebcdic", StringComparison.Ordinal));
        Assert.Contains(
            new TableMapping { Columns = new Dictionary<string, TableMember> { ["a"] = TableMember.Date, ["b"] = TableMember.Date } }.Faults(),
            fault => fault.Contains("“a” and “b”", StringComparison.Ordinal));
    }

    [Theory]
    [InlineData("{ \"schema\": \"hotlight.table-mapping/1\", \"name\": \"a\", \"columns\": { \"d\": \"date\" }, \"kee\": [] }")]
    [InlineData("{ \"schema\": \"hotlight.table-mapping/1\", \"name\": \"a\", \"columns\": { \"d\": \"datum\" } }")]
    [InlineData("{ \"schema\": \"hotlight.table-mapping/9\", \"name\": \"a\", \"columns\": { \"d\": \"date\" }, \"key\": [\"d\"] }")]
    [InlineData("{ \"name\": \"a\" }")]
    [InlineData("not json")]
    public void Json_WhatIsNoMapping_IsRefusedInOneSentence(string json) => Assert.StartsWith("m.json: ", Assert.Throws<FormatException>(() => TableMappingJson.Read(json, "m.json")).Message, StringComparison.Ordinal);

    [Theory]
    [InlineData("DAP [mGy·cm²]", "mGy.cm2")]
    [InlineData("KAP (Gy*cm2)", "Gy.cm2")]
    [InlineData("Dosisflächenprodukt in µGy·m²", "uGy.m2")]
    [InlineData("dap_dgycm2", "dGy.cm2")]
    [InlineData("dap", null)]
    public void UnitIn_Headings(string heading, string? expected) => Assert.Equal(expected, TableWords.UnitIn(heading));

    [Theory]
    [InlineData("Lagerung falsch", RejectReason.Positioning)]
    [InlineData("Überbelichtet", RejectReason.Exposure)]
    [InlineData("Anatomy clipped (positioning)", RejectReason.ClippedAnatomy)]
    [InlineData("Patient motion", RejectReason.Motion)]
    [InlineData("Seitenzeichen fehlt", RejectReason.Marker)]
    [InlineData("wrong patient", RejectReason.WrongPatientOrPart)]
    [InlineData("Fremdkörper", RejectReason.Artifact)]
    [InlineData("WrongPatientOrPart", RejectReason.WrongPatientOrPart)]
    [InlineData("clipped anatomy", RejectReason.ClippedAnatomy)]
    [InlineData("moon phase", null)]
    public void OfWords_ReasonsInEnglishAndGerman(string words, RejectReason? expected) => Assert.Equal(expected, ReasonWords.OfWords(words));

    private static MemoryStream Stream(string text) => new(Encoding.UTF8.GetBytes(text));

    private static byte[] Bytes(string text, string encoding, bool withMark)
    {
        Encoding coding = encoding == "utf-8" ? new UTF8Encoding(withMark) : CodePagesEncodingProvider.Instance.GetEncoding(1252)!;
        return [.. coding.GetPreamble(), .. coding.GetBytes(text)];
    }
}
