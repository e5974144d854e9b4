using System.Text.RegularExpressions;
using Hotlight.Testing;
using Hotlight.Workflows.Clinic;

namespace Hotlight.Web.Tests.People;

/// <summary>The tables of docs/people.md, read from the page itself.</summary>
internal static partial class AccessTable
{
    /// <summary>Which roles may do an operation.</summary>
    public static IReadOnlyDictionary<string, IReadOnlySet<PersonRole>> Roles { get; } = ReadRoles();

    /// <summary>What an endpoint or page needs, by method and route; "/dicomweb" stands for all below it.</summary>
    public static IReadOnlyDictionary<string, string> Needs { get; } = ReadNeeds();

    /// <summary>What an endpoint needs; null: it is not in the table.</summary>
    public static string? NeedOf(string method, string pattern)
        => pattern.StartsWith("/dicomweb", StringComparison.Ordinal) ? Needs["/dicomweb"] : Needs.GetValueOrDefault($"{(method == "HEAD" ? "GET" : method)} {pattern}");

    private static string[] Lines(string heading)
    {
        string page = File.ReadAllText(Path.Combine(SharedData.RepositoryRoot, "docs", "people.md"));
        string part = page[page.IndexOf(heading, StringComparison.Ordinal)..];
        return [.. part.Split('\n').SkipWhile(line => !line.StartsWith("| ", StringComparison.Ordinal)).Skip(2).TakeWhile(line => line.StartsWith("| ", StringComparison.Ordinal))];
    }

    private static Dictionary<string, IReadOnlySet<PersonRole>> ReadRoles()
    {
        var table = new Dictionary<string, IReadOnlySet<PersonRole>>(StringComparer.Ordinal);
        foreach (string line in Lines("## Who may what"))
        {
            string[] cells = [.. line.Trim('|', ' ').Split('|').Select(cell => cell.Trim())];
            Assert.All(cells[1..], cell => Assert.Contains(cell, new[] { "yes", "no" }));
            PersonRole[] order = [PersonRole.Learner, PersonRole.Reader, PersonRole.Supervisor, PersonRole.Administrator];
            table[cells[0].Split(':')[0]] = order.Where((_, place) => cells[place + 1] == "yes").ToHashSet();
        }

        return table;
    }

    private static Dictionary<string, string> ReadNeeds()
    {
        var table = new Dictionary<string, string>(StringComparer.OrdinalIgnoreCase);
        foreach (string line in Lines("### Endpoints and pages"))
        {
            string[] cells = [.. line.Trim('|', ' ').Split('|').Select(cell => cell.Trim())];
            foreach (Match match in Quoted().Matches(cells[0]))
            {
                Assert.True(table.TryAdd(match.Groups[1].Value, cells[1].Split(':')[0]), $"{match.Groups[1].Value} stands twice in the table.");
            }
        }

        return table;
    }

    [GeneratedRegex("`([^`]+)`")]
    private static partial Regex Quoted();
}
