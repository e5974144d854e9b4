using Hotlight.Workflows.Readings;

namespace Hotlight.Web.Tests;

public sealed class AgreementAddressTests
{
    private static AgreementQuery Read(string query) => AgreementAddress.Read(new Uri($"http://localhost/agreement{query}"));

    [Fact]
    public void Read_OfWhatWasWritten_IsTheSameChoice()
    {
        Guid[] ids = [Guid.NewGuid(), Guid.NewGuid(), Guid.NewGuid()];
        var query = new AgreementQuery
        {
            Tag = "round 3 & 4",
            ProjectionId = "wrist-pa",
            From = AgreementAddress.Midnight(new DateTime(2026, 3, 29)),
            Before = AgreementAddress.Midnight(new DateTime(2026, 10, 26)),
            ReaderIds = [ids[0], ids[1]],
            CaseIds = [ids[2]],
            BlindOnly = true,
            WithLinesLeft = true,
        };

        string written = AgreementAddress.Write(query);
        AgreementQuery read = Read(written);

        Assert.Contains("from=2026-03-29&to=2026-10-25", written, StringComparison.Ordinal);
        Assert.Equal((query.Tag, query.ProjectionId, query.From, query.Before, true, true), (read.Tag, read.ProjectionId, read.From, read.Before, read.BlindOnly, read.WithLinesLeft));
        Assert.Equal(query.ReaderIds, read.ReaderIds);
        Assert.Equal(query.CaseIds, read.CaseIds);
    }

    [Fact]
    public void Read_OfWhatCannotBe_LeavesItOut()
    {
        AgreementQuery read = Read("?tag=&from=2026-13-40&to=0001-01-01&reader=nobody&case=1&blind=");

        Assert.Equal(string.Empty, AgreementAddress.Write(read));
        Assert.Equal(string.Empty, AgreementAddress.Write(new AgreementQuery()));
    }
}
