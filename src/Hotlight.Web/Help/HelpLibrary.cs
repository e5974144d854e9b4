using System.Net;
using System.Text;
using Markdig;
using Markdig.Extensions.Tables;
using Markdig.Renderers;
using Markdig.Syntax;
using Markdig.Syntax.Inlines;

namespace Hotlight.Web.Help;

/// <summary>A page of the help.</summary>
/// <param name="Id">Its place under /help, such as "mottle".</param>
/// <param name="Title">Its heading.</param>
/// <param name="Group">The group it is listed in: "Method" or "Using the bench".</param>
/// <param name="Html">Its text as HTML; made from the project's own files, never from what a user wrote.</param>
public sealed record HelpPage(string Id, string Title, string Group, string Html);

/// <summary>The project's own pages, as they lie beside the program, for reading in the bench.</summary>
public sealed class HelpLibrary
{
    private const string MethodGroup = "How each figure is measured";
    private const string UseGroup = "Using the bench";

    // Pages of the makers' own concern are not of a reader's.
    private static readonly HashSet<string> NotForReaders = new(StringComparer.Ordinal) { "architecture" };

    private static readonly MarkdownPipeline Pipeline = new MarkdownPipelineBuilder().UsePipeTables().UseAutoIdentifiers().DisableHtml().Build();

    private readonly Dictionary<string, HelpPage> pages;

    /// <summary>Reads the pages.</summary>
    /// <param name="folder">Folder that holds the pages, with a folder methods; missing: no pages.</param>
    public HelpLibrary(string folder)
    {
        ArgumentException.ThrowIfNullOrWhiteSpace(folder);
        pages = Read(folder, UseGroup).Concat(Read(Path.Combine(folder, "methods"), MethodGroup))
            .GroupBy(page => page.Id, StringComparer.Ordinal)
            .ToDictionary(group => group.Key, group => group.First(), StringComparer.Ordinal);
    }

    /// <summary>The pages as they lie beside the program.</summary>
    public static string BesideTheProgram => Path.Combine(AppContext.BaseDirectory, "help");

    /// <summary>All pages, by group and title.</summary>
    public IReadOnlyList<HelpPage> Pages => [.. pages.Values.OrderBy(page => page.Group == UseGroup ? 0 : 1).ThenBy(page => page.Title, StringComparer.OrdinalIgnoreCase)];

    /// <summary>A page; null where there is none of that name.</summary>
    /// <param name="id">Its place under /help.</param>
    public HelpPage? Find(string id) => pages.GetValueOrDefault(id);

    private static IEnumerable<HelpPage> Read(string folder, string group)
    {
        if (!Directory.Exists(folder))
        {
            yield break;
        }

        foreach (string path in Directory.EnumerateFiles(folder, "*.md").Order(StringComparer.Ordinal))
        {
            string id = Path.GetFileNameWithoutExtension(path);
            if (!NotForReaders.Contains(id))
            {
                yield return Render(id, group, File.ReadAllText(path), group == MethodGroup ? "methods" : string.Empty);
            }
        }
    }

    internal static HelpPage Render(string id, string group, string markdown, string folder = "methods")
    {
        MarkdownDocument document = Markdown.Parse(markdown, Pipeline);
        string title = id;
        if (document.FirstOrDefault() is HeadingBlock { Level: 1 } heading)
        {
            title = string.Concat((heading.Inline ?? []).Descendants<LiteralInline>().Select(literal => literal.Content.ToString()));
            document.Remove(heading);
        }

        // The page's own policy allows no style in the text.
        foreach (TableColumnDefinition column in document.Descendants<Table>().SelectMany(table => table.ColumnDefinitions))
        {
            column.Alignment = null;
        }

        foreach (LinkInline link in document.Descendants<LinkInline>().ToArray())
        {
            Turn(link, folder);
        }

        using var writer = new StringWriter();
        var renderer = new HtmlRenderer(writer);
        Pipeline.Setup(renderer);
        renderer.Render(document);
        return new HelpPage(id, title, group, Scrolling(writer.ToString()));
    }

    /// <summary>Links between pages lead to the help; pictures and files that the bench does not carry stay as words.</summary>
    private static void Turn(LinkInline link, string folder)
    {
        string url = link.Url ?? string.Empty;
        string[] parts = url.Split('#', 2);
        bool isPage = !link.IsImage && !url.Contains("://", StringComparison.Ordinal) && IsPage(folder, parts[0]);
        if (isPage)
        {
            link.Url = "/help/" + Path.GetFileNameWithoutExtension(parts[0]) + (parts.Length > 1 ? "#" + parts[1] : string.Empty);
            return;
        }

        if (url.StartsWith('#') || url.StartsWith("https://", StringComparison.Ordinal))
        {
            return;
        }

        var words = new LiteralInline(WebUtility.HtmlDecode(string.Concat(link.Descendants<LiteralInline>().Select(literal => literal.Content.ToString()))));
        link.ReplaceBy(words);
    }

    /// <summary>Whether a relative link leads to a page that the help carries.</summary>
    private static bool IsPage(string folder, string path)
    {
        if (!path.EndsWith(".md", StringComparison.Ordinal) || path.StartsWith('/'))
        {
            return false;
        }

        const string Root = "/root";
        string[] steps = Path.GetFullPath(Path.Combine(Root, folder, path)).Split('/', StringSplitOptions.RemoveEmptyEntries);
        return steps is [var root, .. var inner] && "/" + root == Root
            && (inner.Length == 1 || inner is ["methods", _])
            && !NotForReaders.Contains(Path.GetFileNameWithoutExtension(inner[^1]));
    }

    // A wide table scrolls by itself, and by keyboard.
    private static string Scrolling(string html)
        => new StringBuilder(html).Replace("<table>", "<div class=\"wide-table\" tabindex=\"0\" role=\"region\" aria-label=\"Table\"><table>").Replace("</table>", "</table></div>").ToString();
}
