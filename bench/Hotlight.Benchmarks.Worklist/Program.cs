using System.Diagnostics;
using System.Globalization;
using Hotlight.Store;
using Hotlight.Store.Sqlite;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Clinic;

// Fills a record store with generated cases, or times the worklist's questions to it.
if (args is ["make", string made, ..])
{
    await MakeAsync(made, args.Length > 2 ? int.Parse(args[2], CultureInfo.InvariantCulture) : 100_000);
    return 0;
}

if (args is ["run", string file, ..])
{
    await RunAsync(file, args.Length > 2 ? int.Parse(args[2], CultureInfo.InvariantCulture) : 21);
    return 0;
}

Console.Error.WriteLine("make FOLDER [CASES]   fills a new folder for the bench (Hotlight.Web --data FOLDER --no-demo opens it)\nrun FOLDER [ROUNDS]   times the worklist's questions to it");
return 2;

static string RecordsOf(string folder) => Path.Combine(folder, "records.db");

static async Task MakeAsync(string folder, int count)
{
    Directory.CreateDirectory(folder);
    string path = RecordsOf(folder);
    if (File.Exists(path))
    {
        throw new InvalidOperationException($"{path} is there already.");
    }

    await SqliteRecords.OpenAsync(path, TimeProvider.System);
    Person[] people = [.. new[] { "Tern", "Curlew", "Dunlin", "Avocet", "Plover", "Knot", "Whimbrel", "Sanderling" }.Select(name => new Person { Id = Guid.NewGuid(), Pseudonym = name })];
    await new ClinicWorkflow(SqliteRecords.Clinic(path, TimeProvider.System)).ChangeAsync(ClinicState.Initial, new ClinicSettings { People = people }, "people of the benchmark", null);

    // A fixed seed: every store is the same but for its identifiers. Examinations of 1 to 5 exposures, patients of 1 to 3 examinations.
    var random = new Random(20261126);
    string[] projections = ["wrist-pa", "wrist-lateral", "hand-pa", "knee-ap", "knee-lateral", "chest-pa", "chest-lateral", "ankle-ap", "elbow-lateral", "shoulder-ap", "pelvis-ap", "lumbar-spine-ap"];
    string[] verdicts = ["accept", "accept-with-remark", "repeat", "undetermined"];
    string[] tags = ["teaching", "rotated", "discuss", "clipped", "motion"];
    DateTimeOffset start = new(2024, 1, 1, 7, 0, 0, TimeSpan.Zero);
    string document = "{\"generated\":\"" + new string('x', 6_000) + "\"}";
    int made = 0;
    int examination = 0;
    int patient = 0;
    var block = new List<CaseRow>();
    while (made < count)
    {
        patient++;
        for (int visits = random.Next(1, 4); visits > 0 && made < count; visits--)
        {
            examination++;
            DateTimeOffset time = start.AddMinutes(random.Next(0, 1_500_000));
            string projection = projections[random.Next(projections.Length)];
            for (int views = random.Next(1, 6); views > 0 && made < count; views--)
            {
                made++;
                bool isRead = random.Next(100) < 70;
                var id = Guid.CreateVersion7(time);
                block.Add(new CaseRow
                {
                    Id = id,
                    Title = string.Create(CultureInfo.InvariantCulture, $"{projection} of round {examination % 977}, image {views}"),
                    FileName = string.Create(CultureInfo.InvariantCulture, $"IM{made:000000}.dcm"),
                    ContentHash = made.ToString("x64", CultureInfo.InvariantCulture),
                    ContentBytes = 18_000_000,
                    ProjectionId = random.Next(100) < 95 ? projection : null,
                    MeasuredBy = "benchmark",
                    Verdict = isRead ? verdicts[random.Next(verdicts.Length)] : null,
                    Version = 1,
                    Created = time.AddHours(1),
                    Changed = time.AddHours(1 + (isRead ? random.Next(1, 72) : 0)),
                    ReceivedBy = (CaseOrigin)random.Next(0, 4),
                    PatientKey = patient.ToString("x16", CultureInfo.InvariantCulture),
                    PatientLabel = string.Create(CultureInfo.InvariantCulture, $"Reader P-{patient:x5}"),
                    ExaminationKey = string.Create(CultureInfo.InvariantCulture, $"2.25.{examination}"),
                    SopInstanceUid = string.Create(CultureInfo.InvariantCulture, $"2.25.9{made}"),
                    AcquiredAt = time.AddMinutes(-views),
                    Modality = "DX",
                    AssigneeId = random.Next(100) < 60 ? people[random.Next(people.Length)].Id : null,
                    State = !isRead ? CaseState.New : random.Next(3) == 0 ? CaseState.InWork : CaseState.Done,
                    Tags = random.Next(5) == 0 ? tags[random.Next(tags.Length)] : string.Empty,
                    Documents = new CaseDocumentsRow { CaseId = id, ExposureRecordJson = "{}", MeasurementsJson = document, AnswersJson = "{}" },
                });
                if (block.Count == 1000 || made == count)
                {
                    await using var context = new SqliteRecordContext(SqliteRecords.Options(path));
                    context.ChangeTracker.AutoDetectChangesEnabled = false;
                    context.Cases.AddRange(block);
                    await context.SaveChangesAsync();
                    block.Clear();
                    Console.Error.Write(string.Create(CultureInfo.InvariantCulture, $"\r{made} of {count}"));
                }
            }
        }
    }

    // What is derived of each row is filled as it is for a store of an earlier version.
    Console.Error.WriteLine();
    await SqliteRecords.OpenAsync(path, TimeProvider.System);
}

static async Task RunAsync(string folder, int rounds)
{
    IRecordStore store = await SqliteRecords.OpenAsync(RecordsOf(folder), TimeProvider.System);
    int total = await store.CountAsync();
    ClinicState clinic = await new ClinicWorkflow(SqliteRecords.Clinic(RecordsOf(folder), TimeProvider.System)).LoadAsync();
    Guid person = clinic.Settings.People[0].Id;
    var all = new WorklistQuery();
    DateTimeOffset day = new(2025, 3, 1, 0, 0, 0, TimeSpan.Zero);
    const int Page = 60;

    // What the page asks for at once: a part of the list, and the counts beside it.
    Func<Task<int>> Shown(WorklistQuery query, int skip = 0) => async () => (await store.ListAsync(query, skip, Page)).Count + (await store.CountAsync(query)).Total;
    WorklistQuery Search(params string[] words) => new() { Words = [.. words.Select(word => new SearchWord(word, []))] };
    var questions = new List<(string Name, Func<Task<int>> Ask)>
    {
        ("first page", Shown(all)),
        ("deep page (middle)", Shown(all, total / 2)),
        ("deep page (last)", Shown(all, total - Page)),
        ("search, one hit", Shown(Search("im004711"))),
        ("search, frequent word", Shown(Search("wrist"))),
        ("search, two words", Shown(Search("round 12", "teaching"))),
        ("search, no hit", Shown(Search("zzzz"))),
        ("search by projection's name", Shown(new WorklistQuery { Words = [new SearchWord("knie", ["knee-ap", "knee-lateral"])] })),
        ("filter state", Shown(new WorklistQuery { States = [CaseState.New] })),
        ("filter verdict", Shown(new WorklistQuery { Verdicts = ["repeat"] })),
        ("filter projection", Shown(new WorklistQuery { ProjectionIds = ["knee-ap", "knee-lateral"] })),
        ("filter assignee", Shown(new WorklistQuery { AssigneeId = person })),
        ("filter a month", Shown(new WorklistQuery { From = day, Before = day.AddMonths(1) })),
        ("filter all at once", Shown(new WorklistQuery { States = [CaseState.Done], Verdicts = ["repeat"], ProjectionIds = ["knee-ap"], AssigneeId = person, Origins = [CaseOrigin.Inbox], From = day, IsInvented = false })),
    };
    foreach (WorklistSort sort in Enum.GetValues<WorklistSort>().Where(sort => sort != WorklistSort.AsItComes))
    {
        questions.Add(($"sort by {sort}", Shown(new WorklistQuery { Sort = sort })));
        questions.Add(($"sort by {sort}, last page", Shown(new WorklistQuery { Sort = sort, IsDescending = true }, total - Page)));
    }

    questions.Add(("examinations", async () => (await store.GroupsAsync(all, WorklistGrouping.Examination)).Count));
    questions.Add(("patients", async () => (await store.GroupsAsync(all, WorklistGrouping.Patient)).Count));
    questions.Add(("all identifiers picked", async () => (await store.PickAsync(all)).Count));
    Console.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{total} cases, {rounds} rounds, a page of {Page} with its counts; ms"));
    Console.WriteLine("| question | p50 | p95 | found |");
    Console.WriteLine("| --- | --- | --- | --- |");
    foreach ((string name, Func<Task<int>> ask) in questions)
    {
        int found = await ask();
        double[] times = new double[rounds];
        for (int round = 0; round < rounds; round++)
        {
            long begin = Stopwatch.GetTimestamp();
            await ask();
            times[round] = Stopwatch.GetElapsedTime(begin).TotalMilliseconds;
        }

        Array.Sort(times);
        Console.WriteLine(string.Create(CultureInfo.InvariantCulture, $"| {name} | {times[rounds / 2]:0} | {times[(int)Math.Ceiling(0.95 * rounds) - 1]:0} | {found} |"));
    }
}
