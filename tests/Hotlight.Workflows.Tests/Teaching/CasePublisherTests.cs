using System.Text;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Judgement;
using Hotlight.Privacy;
using Hotlight.Privacy.Publishing;
using Hotlight.Store;
using Hotlight.Store.Sqlite;
using Hotlight.Testing;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.Teaching;

namespace Hotlight.Workflows.Tests.Teaching;

/// <summary>A kept file that still carries its patient's identity is made ready: the names are known to the gate, and gone from what leaves.</summary>
public sealed class CasePublisherTests : IAsyncLifetime, IDisposable
{
    private readonly ScratchFolder folder = new();
    private RadiographShelf shelf = null!;
    private CaseWorkflow cases = null!;
    private CasePublisher publisher = null!;

    public async Task InitializeAsync()
    {
        IRecordStore records = await SqliteRecords.OpenAsync(folder["records.db"], TimeProvider.System);
        var files = new FolderFileStore(folder["files"]);
        shelf = new RadiographShelf(files);
        var clinic = new ClinicWorkflow(SqliteRecords.Clinic(folder["records.db"], TimeProvider.System));
        ClinicState state = await clinic.LoadAsync();
        await clinic.ChangeAsync(state, state.Settings with { People = [new Person { Id = Guid.NewGuid(), Pseudonym = "Dotterel" }] }, "people", null);
        cases = new CaseWorkflow(records, files, shelf, TimeProvider.System, clinic: clinic);
        publisher = new CasePublisher(records, files, shelf, clinic);
    }

    public Task DisposeAsync()
    {
        Dispose();
        return Task.CompletedTask;
    }

    public void Dispose()
    {
        shelf.Dispose();
        Microsoft.Data.Sqlite.SqliteConnection.ClearAllPools();
        if (Directory.Exists(folder.Path))
        {
            folder.Dispose();
        }
    }

    private async Task<OpenCase> OpenAsync()
    {
        InventedExposure.Write(InventedExposure.Limb(), folder["limb.dcm"]);
        await using FileStream file = File.OpenRead(folder["limb.dcm"]);
        CaseRecord record = (await cases.BringInAsync("limb.dcm", file, 100_000_000)).Record;
        return await cases.ChooseProjectionAsync(await cases.OpenAsync(record.Id), "wrist-pa");
    }

    [Fact]
    public async Task PrepareAsync_NamesInRemarkReasonAndPlan_AreEachToldByPlace()
    {
        OpenCase open = await OpenAsync();
        ChecklistLine line = open.Critique!.Lines[0];
        open = await cases.AnswerAsync(open, line.Id, new Answer(ChecklistState.Met, Remark: "Ask Limb to hold still."));
        open = await cases.DecideAsync(open, new VerdictAnswer(VerdictKind.Accept, "Dotterel says so."));
        open = await cases.PlanAsync(open, [new PlanEdit { Step = TableStep.Part, Instruction = "Turn the hand of T-1 and of Mrs LIMB." }], "the plan");
        open = await cases.RenameAsync(open, "Wrist of Invented Limb");

        PublishableCase prepared = await publisher.PrepareAsync(open);
        PublicationCheck check = PublicationGate.Check(prepared.Known, prepared.TypedTexts());

        Assert.Equal(
            ["a line of the plan", "the reason of the verdict", $"the remark on the line “{line.Question}”", "the title of the case"],
            check.Findings.Select(finding => finding.Where).Distinct().Order(StringComparer.Ordinal));
        Assert.Equal(IdentityKind.ClinicPerson, check.Findings.Single(finding => finding.Where == "the reason of the verdict").Kind);
        Assert.DoesNotContain(check.Findings, finding => finding.Sentence.Contains("limb", StringComparison.OrdinalIgnoreCase) && !finding.Sentence.Contains(line.Question, StringComparison.Ordinal));
    }

    [Fact]
    public async Task DicomAsync_OfAFileWithAName_HoldsNoneAndTheCoveredPlaceIsBlack()
    {
        OpenCase open = await OpenAsync();
        var place = new PixelBox(40, 60, 30, 20);
        await publisher.KeepReviewAsync(open.Record, new PixelReview([place], [], LookedOver: true));

        PublishableCase prepared = await publisher.PrepareAsync(open);
        byte[] bytes = (await publisher.DicomAsync(prepared, PrivacyKey.Fresh(), "limb.dcm"))!.Content;

        Assert.DoesNotContain("Limb", Encoding.Latin1.GetString(bytes), StringComparison.OrdinalIgnoreCase);
        PublicationGate.CheckOutputs(prepared.Known, [("01/radiograph.dcm", bytes)]).Demand();
        PublicationGate.Check(prepared.Known, [prepared.Picture("the picture"), new PublishedDicom("the file", bytes)]).Demand();
        Radiograph published = RadiographReader.Read(bytes, "limb.dcm");
        Radiograph kept = await cases.RadiographAsync(open.Record);
        ushort black = (ushort)(kept.HighIsShownDark ? kept.PixelMaximum : 0);
        for (int row = 0; row < kept.Rows; row++)
        {
            for (int column = 0; column < kept.Columns; column++)
            {
                bool covered = column >= place.Left && column < place.Right && row >= place.Top && row < place.Bottom;
                Assert.Equal(covered ? black : kept.Pixels[row, column], published.Pixels[row, column]);
                Assert.Equal(published.Pixels[row, column], prepared.Radiograph.Pixels[row, column]);
            }
        }
    }

    [Fact]
    public async Task ReviewAsync_OfAnotherFile_IsNotCarriedOver()
    {
        OpenCase open = await OpenAsync();
        var review = new PixelReview([new PixelBox(1, 2, 3, 4)], [new PixelBox(5, 6, 7, 8)], LookedOver: true);
        await publisher.KeepReviewAsync(open.Record, review);

        PixelReview read = await publisher.ReviewAsync(open.Record);
        Assert.Equal(review.Covered, read.Covered);
        Assert.Equal(review.Kept, read.Kept);
        Assert.True(read.LookedOver);
        Assert.Same(PixelReview.None, await publisher.ReviewAsync(open.Record with { ContentHash = new string('0', 64) }));
    }
}
