using System.IO.Compression;
using System.Text;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Judgement;
using Hotlight.Privacy;
using Hotlight.Privacy.Publishing;
using Hotlight.Store;
using Hotlight.Store.Sqlite;
using Hotlight.Teaching.Collections;
using Hotlight.Testing;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Intake;
using Hotlight.Workflows.Teaching;
using Hotlight.Workflows.Teaching.Collections;

namespace Hotlight.Workflows.Tests.Teaching;

/// <summary>A collection shared by one bench is opened by another: the same radiographs and answers, nobody's name.</summary>
public sealed class CollectionWorkflowTests : IAsyncLifetime, IDisposable
{
    private readonly ScratchFolder folder = new();
    private Bench mine = null!;
    private Bench other = null!;

    public async Task InitializeAsync()
    {
        mine = await Bench.OpenAsync(folder, "mine", IntakePolicy.AsItIs);
        other = await Bench.OpenAsync(folder, "other", new IntakePolicy(IntakeSetting.Teaching, PrivacyKey.Fresh()));
    }

    public Task DisposeAsync()
    {
        Dispose();
        return Task.CompletedTask;
    }

    public void Dispose()
    {
        mine.Shelf.Dispose();
        other.Shelf.Dispose();
        Microsoft.Data.Sqlite.SqliteConnection.ClearAllPools();
        if (Directory.Exists(folder.Path))
        {
            folder.Dispose();
        }
    }

    private async Task<OpenCase> CaseAsync(string title = "Wrist, first look")
    {
        InventedExposure.Write(InventedExposure.Limb(), folder["limb.dcm"]);
        await using FileStream file = File.OpenRead(folder["limb.dcm"]);
        CaseRecord record = (await mine.Cases.BringInAsync("limb.dcm", file, 100_000_000)).Record;

        // Where nothing is installed that reads text in pixels, a person must have looked the picture over.
        await mine.Publisher.KeepReviewAsync(record, new PixelReview([], [], LookedOver: true));
        OpenCase open = await mine.Cases.ChooseProjectionAsync(await mine.Cases.OpenAsync(record.Id), "wrist-pa");
        return await mine.Cases.RenameAsync(open, title);
    }

    private async Task<byte[]> SharedAsync(CaseCollection collection)
    {
        using var stream = new MemoryStream();
        await mine.Collections.ShareAsync(collection, stream);
        return stream.ToArray();
    }

    [Fact]
    public async Task OpenAsync_OfWhatAnotherBenchShared_HasTheSamePixelsAnswersAndWordsAndNobodysName()
    {
        OpenCase open = await CaseAsync();
        string line = open.Critique!.Verdict.Open[0].LineId;
        open = await mine.Cases.AnswerAsync(open, line, new Answer(ChecklistState.NotMet, Remark: "turned outwards"));
        CaseCollection collection = await mine.Collections.CreateAsync("Wrists", [open.Record.Id]);
        collection = await mine.Collections.KeepAsync(collection with { Words = "For week 3.", Cases = [new CollectedCase(open.Record.Id, "Look at the ulna.")], WithSlides = true });

        byte[] bytes = await SharedAsync(collection);
        OpenedCollection opened = await other.Collections.OpenAsync(new MemoryStream(bytes, writable: false));
        OpenedCollection again = await other.Collections.OpenAsync(new MemoryStream(bytes, writable: false));

        Assert.Equal(("Wrists", "For week 3.", 1, 0), (opened.Collection.Lesson.Title, opened.Collection.Words, opened.Added, opened.Known));
        CollectedCase taken = Assert.Single(opened.Collection.Cases);
        Assert.Equal("Look at the ulna.", taken.Words);
        OpenCase there = await other.Cases.OpenAsync(taken.CaseId);
        Assert.Equal(("Wrist, first look", "wrist-pa"), (there.Record.Title, there.Record.ProjectionId));
        Assert.Equal("turned outwards", there.Answers!.Lines[line].Remark);
        Assert.Equal(open.Critique!.Verdict.Kind, there.Critique!.Verdict.Kind);
        Radiograph before = await mine.Cases.RadiographAsync(open.Record), after = await other.Cases.RadiographAsync(there.Record);
        Assert.True(before.Pixels.Samples.SequenceEqual(after.Pixels.Samples));
        Assert.Equal((0, 1), (again.Added, again.Known));
        Assert.Equal(1, await other.Cases.CountAsync());

        using var zip = new ZipArchive(new MemoryStream(bytes, writable: false));
        Assert.Equal(["README.txt", "collection.json", "01/answers.json", "01/measurements.json", "01/radiograph.dcm", "01/slide.png"], zip.Entries.Select(entry => entry.FullName).OrderBy(name => name.Contains('/', StringComparison.Ordinal)).ThenBy(name => name, StringComparer.Ordinal));
        foreach (ZipArchiveEntry entry in zip.Entries)
        {
            using var content = new MemoryStream();
            await entry.Open().CopyToAsync(content);
            Assert.DoesNotContain("Limb^", Encoding.Latin1.GetString(content.ToArray()), StringComparison.OrdinalIgnoreCase);
            Assert.DoesNotContain("Invented^", Encoding.Latin1.GetString(content.ToArray()), StringComparison.OrdinalIgnoreCase);
        }
    }

    [Fact]
    public async Task ShareAsync_Collection_ReportsWhatWasTakenOutAndNeverAValue()
    {
        OpenCase open = await CaseAsync();
        CaseCollection collection = await mine.Collections.CreateAsync("Wrists", [open.Record.Id]);

        SharedPrivacy privacy = await mine.Collections.ShareAsync(collection, Stream.Null);

        PrivacyReport report = Assert.Single(privacy.Cases).Report!;
        Assert.Equal("2026c", report.Edition);
        Assert.Contains("113100", report.Options!);
        Assert.Contains(report.Changes, change => change is { Keyword: "StudyInstanceUID", Action: PrivacyAction.ReplaceUid });
        Assert.True(report.Check!.Values > 0 && privacy.Values > 0);
        Assert.DoesNotContain(open.Record.ExaminationKey!, privacy.ToJson(), StringComparison.Ordinal);
        Assert.Contains("\"action\": \"replace-uid\"", privacy.ToJson(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task ShareAsync_NameInTitleRemarkOrWords_StopsAndSaysWhereAndWritesNothing()
    {
        OpenCase open = await CaseAsync();
        string line = open.Critique!.Lines[0].Id;
        await mine.Cases.AnswerAsync(open, line, new Answer(ChecklistState.Met, Remark: "Ask Limb to hold still."));
        CaseCollection collection = await mine.Collections.CreateAsync("Wrists of Limb", [open.Record.Id]);
        collection = await mine.Collections.KeepAsync(collection with { Words = "Twice came Limb.", Cases = [new CollectedCase(open.Record.Id, "ask LIMB again")] });
        using var stream = new MemoryStream();

        PublicationStoppedException stopped = await Assert.ThrowsAsync<PublicationStoppedException>(() => mine.Collections.ShareAsync(collection, stream));

        Assert.Equal(
            ["case 1, the remark on the line “" + open.Critique.Lines[0].Question + "”", "case 1, the words to the case", "the title of the collection", "the words to the collection"],
            stopped.Findings.Select(finding => finding.Where).Distinct().Order(StringComparer.Ordinal));
        Assert.Equal(0, stream.Length);

        // Without the answers the remark stays at home, and the rest is still named.
        stopped = await Assert.ThrowsAsync<PublicationStoppedException>(() => mine.Collections.ShareAsync(collection with { WithAnswers = false }, stream));
        Assert.DoesNotContain(stopped.Findings, finding => finding.Where.Contains("remark", StringComparison.Ordinal));
    }

    [Fact]
    public async Task ShareAsync_PlaceThatIsCovered_IsBlackAndMeasuredAsItLeaves()
    {
        OpenCase open = await CaseAsync();
        var place = new PixelBox(0, 0, 120, 90);
        await mine.Publisher.KeepReviewAsync(open.Record, new PixelReview([place], [], LookedOver: true));
        CaseCollection collection = await mine.Collections.CreateAsync("Wrists", [open.Record.Id]);

        using var zip = new ZipArchive(new MemoryStream(await SharedAsync(collection), writable: false));
        SharedCollection shared = CollectionZip.ReadContents(zip);
        byte[] dicom = CollectionZip.ReadFile(zip, shared.Cases[0], shared.Cases[0].Files.Single(file => file.Name == SharedFileNames.Dicom));

        Radiograph published = RadiographReader.Read(dicom, "radiograph.dcm");
        ushort black = (ushort)(published.HighIsShownDark ? published.PixelMaximum : 0);
        Assert.All(Enumerable.Range(0, 90), row => Assert.True(published.Pixels.Row(row)[..120].IndexOfAnyExcept(black) < 0));
    }

    [Fact]
    public async Task OpenAsync_DamagedFile_TakesNothing()
    {
        OpenCase open = await CaseAsync();
        byte[] bytes = await SharedAsync(await mine.Collections.CreateAsync("Wrists", [open.Record.Id]));
        using var changed = new MemoryStream();
        changed.Write(bytes);
        using (var zip = new ZipArchive(changed, ZipArchiveMode.Update, leaveOpen: true))
        {
            zip.GetEntry("01/measurements.json")!.Delete();
        }

        changed.Position = 0;
        await Assert.ThrowsAsync<UnreadableCollectionException>(() => other.Collections.OpenAsync(changed));
        await Assert.ThrowsAsync<UnreadableCollectionException>(() => other.Collections.OpenAsync(new MemoryStream("no zip"u8.ToArray())));
        await Assert.ThrowsAsync<UnreadableCollectionException>(() => other.Collections.OpenAsync(new MemoryStream(bytes[..(bytes.Length / 2)])));
        Assert.Equal(0, await other.Cases.CountAsync());
        Assert.Empty(await other.Collections.ListAsync());
    }

    [Fact]
    public async Task KeepAsync_OrderWordsAndRemoval_AreKeptAndPutBack()
    {
        CaseCollection collection = await mine.Collections.CreateAsync("  Two   words ", [Guid.NewGuid(), Guid.NewGuid()]);
        CaseCollection turned = await mine.Collections.KeepAsync(collection with { Cases = [.. collection.Cases.Reverse()] });

        Assert.Equal("Two words", turned.Lesson.Title);
        Assert.Equal(collection.Cases.Reverse(), (await mine.Collections.FindAsync(turned.Lesson.Id))!.Cases);
        await Assert.ThrowsAsync<LessonChangedException>(() => mine.Collections.KeepAsync(collection with { Words = "late" }));
        await Assert.ThrowsAsync<LessonRefusedException>(() => mine.Collections.KeepAsync(turned with { Words = new string('a', CaseCollection.WordsMaxLength + 1) }));
        await Assert.ThrowsAsync<LessonRefusedException>(() => mine.Collections.CreateAsync(" ", []));
        Assert.True(await mine.Collections.RemoveAsync(turned.Lesson.Id));
        Assert.Empty(await mine.Collections.ListAsync());
        await mine.Collections.PutBackAsync(turned);
        Assert.Equal(turned.Cases, Assert.Single(await mine.Collections.ListAsync()).Cases);
        await Assert.ThrowsAsync<LessonRefusedException>(() => mine.Collections.ShareAsync(turned, Stream.Null));
    }

    private sealed record Bench(CaseWorkflow Cases, CasePublisher Publisher, CollectionWorkflow Collections, RadiographShelf Shelf)
    {
        public static async Task<Bench> OpenAsync(ScratchFolder folder, string name, IntakePolicy intake)
        {
            string database = folder[$"{name}.db"];
            IRecordStore records = await SqliteRecords.OpenAsync(database, TimeProvider.System);
            var files = new FolderFileStore(folder[$"{name}-files"]);
            var shelf = new RadiographShelf(files);
            var cases = new CaseWorkflow(records, files, shelf, TimeProvider.System, intake: intake);
            var publisher = new CasePublisher(records, files, shelf);
            return new Bench(cases, publisher, new CollectionWorkflow(SqliteRecords.Lessons(database, TimeProvider.System), cases, publisher, TimeProvider.System), shelf);
        }
    }
}
