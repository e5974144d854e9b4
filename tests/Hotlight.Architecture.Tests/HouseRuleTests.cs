using System.Diagnostics;
using System.Text.RegularExpressions;
using Hotlight.Testing;

namespace Hotlight.Architecture.Tests;

/// <summary>Rules of the house that a reader would otherwise have to check by eye.</summary>
public sealed partial class HouseRuleTests
{
    private static readonly string[] TextEndings = [".cs", ".razor", ".js", ".css", ".html", ".json", ".md", ".csproj", ".props", ".targets", ".slnx", ".sh", ".py", ".yml", ""];

    [Fact]
    public void TrackedFiles_HoldNoAbsolutePathOfAMachine()
    {
        var found = new List<string>();
        foreach (string file in TrackedTextFiles())
        {
            if (AbsolutePath().Match(File.ReadAllText(file)) is { Success: true } match)
            {
                found.Add($"{Path.GetRelativePath(SharedData.RepositoryRoot, file)}: {match.Value}");
            }
        }

        Assert.Empty(found);
    }

    /// <summary>Nothing fetches an address that somebody gives: what opens a connection outwards is listed here, with where to.</summary>
    [Fact]
    public void Sources_ThatCallOut_AreTheOnesThatAreNamed()
    {
        string[] allowed =
        [
            "Hotlight.Cli/Commands/DoctorCommand.cs", // 127.0.0.1, whether the bench answers
            "Hotlight.Workflows/Intake/Receiving/ImageReceiver.cs", // what a listener has taken
            "Hotlight.Web/Upkeep/BenchMeter.cs", // the collector that the settings name
            "Hotlight.Web/People/DepartmentServices.cs", // the hospital's sign-in that the settings name
        ];
        string folder = Path.Combine(SharedData.RepositoryRoot, "src");
        IEnumerable<string> found = Directory.EnumerateFiles(folder, "*.*", SearchOption.AllDirectories)
            .Where(file => Path.GetExtension(file) is ".cs" or ".razor" && !file.Contains("/obj/", StringComparison.Ordinal) && !file.Contains("/bin/", StringComparison.Ordinal))
            .Where(file => CallingOut().IsMatch(File.ReadAllText(file)))
            .Select(file => Path.GetRelativePath(folder, file).Replace('\\', '/'));
        Assert.Empty(found.Except(allowed));
        Assert.Empty(allowed.Except(found));
    }

    /// <summary>Restoring asks for advisories on every package, direct and not, and warnings are errors.</summary>
    [Fact]
    public void Builds_OfEveryProject_AskForKnownHoles()
    {
        string common = File.ReadAllText(Path.Combine(SharedData.RepositoryRoot, "Directory.Build.props"));
        Assert.Contains("<NuGetAudit>true</NuGetAudit>", common, StringComparison.Ordinal);
        Assert.Contains("<NuGetAuditMode>all</NuGetAuditMode>", common, StringComparison.Ordinal);
        Assert.Contains("<TreatWarningsAsErrors>true</TreatWarningsAsErrors>", common, StringComparison.Ordinal);
        IEnumerable<string> silenced = TrackedTextFiles().Where(file => Path.GetExtension(file) is ".csproj" or ".props" or ".targets" or "" && Regex.IsMatch(File.ReadAllText(file), "NU190[1-4]|NuGetAudit>false|NuGetAudit=false|NuGetAuditSuppress"));
        Assert.Empty(silenced);
    }

    [Fact]
    public void Folders_HaveANounOfTheTradeAsTheirName()
    {
        string[] banned = ["Helpers", "Helper", "Utils", "Util", "Utilities", "Common", "Managers", "Misc", "Shared"];
        IEnumerable<string> found = Directory.EnumerateDirectories(Path.Combine(SharedData.RepositoryRoot, "src"), "*", SearchOption.AllDirectories)
            .Where(folder => banned.Contains(Path.GetFileName(folder), StringComparer.OrdinalIgnoreCase)
                && !folder.Contains("/obj/", StringComparison.Ordinal) && !folder.Contains("/bin/", StringComparison.Ordinal));
        Assert.Empty(found);
    }

    [Fact]
    public void EveryRoom_SaysInFifteenLinesWhatLivesThere()
    {
        foreach (string folder in Directory.EnumerateDirectories(Path.Combine(SharedData.RepositoryRoot, "src"), "Hotlight.*"))
        {
            string readme = Path.Combine(folder, "README.md");
            Assert.True(File.Exists(readme), $"{Path.GetFileName(folder)} has no README.md");
            Assert.InRange(File.ReadAllLines(readme).Length, 2, 15);
        }
    }

    [Fact]
    public void Decisions_AreNumberedWithoutGapsAndHaveAStatus()
    {
        string[] pages = Directory.GetFiles(Path.Combine(SharedData.RepositoryRoot, "docs", "decisions"), "*.md").Order(StringComparer.Ordinal).ToArray();
        Assert.NotEmpty(pages);
        for (int index = 0; index < pages.Length; index++)
        {
            Assert.StartsWith($"{index + 1:0000}-", Path.GetFileName(pages[index]), StringComparison.Ordinal);
            Assert.Matches(@"(?m)^Status: (accepted|superseded by \d{4})", File.ReadAllText(pages[index]));
            Assert.Matches(@"(?m)^Date: \d{4}-\d{2}-\d{2}$", File.ReadAllText(pages[index]));
        }
    }

    [Fact]
    public void EverySection_HasItsMethodPage()
    {
        foreach (string section in new[] { "field", "anatomy", "collimation", "exposure", "clipping", "mottle", "display", "artifacts", "processing", "markers" })
        {
            Assert.True(File.Exists(Path.Combine(SharedData.RepositoryRoot, "docs", "methods", section + ".md")), $"docs/methods/{section}.md is missing");
        }
    }

    /// <summary>A call of the command line owns standard output and error while it runs: two at once would read each other's.</summary>
    [Fact]
    public void TestsOfTheCommandLine_NeverRunSideBySide()
    {
        foreach (string file in Directory.EnumerateFiles(Path.Combine(SharedData.RepositoryRoot, "tests", "Hotlight.Cli.Tests"), "*Tests.cs"))
        {
            Assert.True(File.ReadAllText(file).Contains("[Collection(\"command line\")]", StringComparison.Ordinal), $"{Path.GetFileName(file)} is not in the collection \"command line\"");
        }
    }

    private static IEnumerable<string> TrackedTextFiles()
    {
        var start = new ProcessStartInfo("git", "ls-files") { WorkingDirectory = SharedData.RepositoryRoot, RedirectStandardOutput = true };
        using Process git = Process.Start(start)!;
        string list = git.StandardOutput.ReadToEnd();
        git.WaitForExit();
        Assert.Equal(0, git.ExitCode);
        return list.Split('\n', StringSplitOptions.RemoveEmptyEntries)
            .Where(file => TextEndings.Contains(Path.GetExtension(file)))
            .Select(file => Path.Combine(SharedData.RepositoryRoot, file))
            .Where(File.Exists);
    }

    // Folders of people and of this kind of machine; system places such as /usr/bin are fine.
    [GeneratedRegex("""["'\s(=](/home/|/root/|/work/|/Users/|[A-Z]:\\Users\\)[A-Za-z0-9]""")]
    private static partial Regex AbsolutePath();

    [GeneratedRegex(@"\bnew (?:HttpClient|SocketsHttpHandler|TcpClient|UdpClient|Socket|ClientWebSocket|SmtpClient|Uri\(collector)|\bTcpClient\b|\bWebRequest\b|IHttpClientFactory|AddOtlpExporter|AddOpenIdConnect")]
    private static partial Regex CallingOut();
}
