using System.Globalization;
using Hotlight.Kills;
using Hotlight.Store.Tests;

const string Usage = """
    Hotlight.Kills run [--kills 200] [--postgres 20] [--seed 20261127] [--kinds critique,import,publishing,migration,backup,queue] [--folder FOLDER]
      kills a program at work, that many times over all kinds with records in a file and that many with PostgreSQL, and tells what was lost
    """;
if (args is ["work", var kind, var folder, var seed, ..])
{
    await Work.Of(kind).WorkAsync(new WorkPlace(folder, args.Length > 4 ? args[4] : null), new Random(int.Parse(seed, CultureInfo.InvariantCulture)), new Acknowledgement(Console.Out));
    return 0;
}

if (args is not ["run", ..])
{
    Console.Error.WriteLine(Usage);
    return 1;
}

string Option(string name, string otherwise) => Array.IndexOf(args, name) is int at and >= 0 && at + 1 < args.Length ? args[at + 1] : otherwise;
int Number(string name, int otherwise) => int.Parse(Option(name, otherwise.ToString(CultureInfo.InvariantCulture)), CultureInfo.InvariantCulture);

string[] kinds = Option("--kinds", string.Join(',', Work.Kinds)).Split(',');
int first = Number("--seed", 20261127);
string place = Option("--folder", Path.Combine(Path.GetTempPath(), $"hotlight-kills-{Environment.ProcessId}"));
var plan = new List<(string Kind, bool IsPostgres, int Kills)>();
for (int each = 0; each < kinds.Length; each++)
{
    plan.Add((kinds[each], false, Share(Number("--kills", 200), kinds.Length, each)));
}

string[] onServer = [.. kinds.Where(Work.RunsOnPostgres)];
for (int each = 0; each < onServer.Length; each++)
{
    plan.Add((onServer[each], true, PostgresServer.IsInstalled ? Share(Number("--postgres", 20), onServer.Length, each) : 0));
}

Console.WriteLine("| kind of work | records | seed | kills | while it started | acts acknowledged | unfinished files left, ignored | faults |");
Console.WriteLine("| --- | --- | --- | --- | --- | --- | --- | --- |");
int faults = 0;
foreach ((string each, bool isPostgres, int kills) in plan.Where(each => each.Kills > 0))
{
    string? store = isPostgres ? PostgresServer.AddressOf(PostgresServer.Instance.NewDatabase()) : null;
    KillReport report = await KillRun.RunAsync(each, new WorkPlace(Path.Combine(place, each + (isPostgres ? "-postgres" : string.Empty)), store), kills, first, Console.Error);
    Console.WriteLine(string.Create(CultureInfo.InvariantCulture, $"| {each} | {(isPostgres ? "PostgreSQL" : "SQLite")} | {first} | {report.Kills} | {report.WhileStarting} | {report.Acknowledged} | {report.Unfinished} | {report.Faults.Count} |"));
    foreach (string fault in report.Faults.Take(10))
    {
        Console.WriteLine($"  {fault}");
    }

    faults += report.Faults.Count;
}

return faults == 0 ? 0 : 2;

static int Share(int all, int parts, int part) => (all / parts) + (part < all % parts ? 1 : 0);
