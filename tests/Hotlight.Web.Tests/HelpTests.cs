using System.Text.RegularExpressions;
using Hotlight.Catalogue;
using Hotlight.Judgement;
using Hotlight.Measure.Document;
using Hotlight.Testing;
using Hotlight.Web.Help;

namespace Hotlight.Web.Tests;

public sealed partial class HelpTests
{
    private static readonly HelpLibrary Library = new(Path.Combine(SharedData.RepositoryRoot, "docs"));

    [Fact]
    public void Pages_LieBesideTheProgram()
        => Assert.Equal(Library.Pages.Select(page => page.Id), new HelpLibrary(HelpLibrary.BesideTheProgram).Pages.Select(page => page.Id));

    [Fact]
    public void EveryLine_OfEveryProjection_HasItsMethodPage()
    {
        foreach (Projection projection in ProjectionCatalogue.BuiltIn.Projections)
        {
            foreach (ChecklistLine line in CritiqueBuilder.BlankChecklist(projection))
            {
                Assert.NotNull(Library.Find(MethodPages.Of(line)));
            }
        }
    }

    [Fact]
    public void EverySection_OfTheDocument_HasItsMethodPage()
    {
        string[] sections = [.. typeof(MeasurementDocument).GetProperties().Where(member => member.PropertyType.IsGenericType).Select(member => member.Name.ToLowerInvariant())];
        Assert.True(sections.Length >= 12);
        Assert.All(sections, section => Assert.NotNull(Library.Find(MethodPages.OfSection(section))));
    }

    [Fact]
    public void Pages_LeadOnlyToPagesThatAreThere_AndCarryNoStyleOrScript()
    {
        foreach (HelpPage page in Library.Pages)
        {
            foreach (Match link in HelpLink().Matches(page.Html))
            {
                string target = link.Groups[1].Value;
                Assert.True(Library.Find(target) is not null, $"{page.Id} leads to {target}, which the help does not have.");
            }

            Assert.DoesNotMatch(Forbidden(), page.Html);
        }
    }

    [Fact]
    public void Text_WithAScriptInIt_IsShownAndNotRun()
    {
        HelpPage page = HelpLibrary.Render("x", "group", "# Title of it\n\n<script>alert(1)</script>\n\n| a | b |\n|:--|--:|\n| 1 | 2 |\n\n[picture](../pictures/x.png) [other](mottle.md#method) [code](../../src/X.cs)");
        Assert.Equal("Title of it", page.Title);
        Assert.DoesNotMatch(Forbidden(), page.Html);
        Assert.Contains("href=\"/help/mottle#method\"", page.Html, StringComparison.Ordinal);
        Assert.DoesNotContain("X.cs", page.Html, StringComparison.Ordinal);
        Assert.DoesNotContain("x.png", page.Html, StringComparison.Ordinal);
        Assert.Contains("picture", page.Html, StringComparison.Ordinal);
    }

    [GeneratedRegex("href=\"/help/([^\"#]+)")]
    private static partial Regex HelpLink();

    [GeneratedRegex("<script|<style|style=|onclick=|javascript:", RegexOptions.IgnoreCase)]
    private static partial Regex Forbidden();
}
