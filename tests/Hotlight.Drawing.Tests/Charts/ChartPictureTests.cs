using System.Globalization;
using System.Text;
using System.Xml.Linq;
using Hotlight.Drawing.Charts;

namespace Hotlight.Drawing.Tests.Charts;

/// <summary>Charts as files and on a page.</summary>
public sealed class ChartPictureTests
{
    private static readonly XNamespace Svg = "http://www.w3.org/2000/svg";

    internal static Chart Weekly { get; } = new()
    {
        Title = "Reject rate by week <invented>",
        Definition = "Rejected exposures out of all exposures of patients, kept and rejected.",
        CountText = "n = 3,000 exposures, 300 rejects",
        Period = "Saltmarsh Lane (invented), 2026-01-05 to 2026-05-24",
        Across = new ChartAxis("Week from", [.. Enumerable.Range(0, 20).Select(week => week % 4 == 0 ? $"2026-{1 + (week / 4):00}" : "")]),
        Up = new ChartAxis("Reject rate, %", From: 0),
        Series =
        [
            new ChartSeries("limits, 3 standard deviations", ChartShape.DashedSteps, ChartTone.Quiet, [.. Enumerable.Range(0, 20).Select(week => new ChartPoint(week, 17))]),
            new ChartSeries("", ChartShape.DashedSteps, ChartTone.Quiet, [.. Enumerable.Range(0, 20).Select(week => new ChartPoint(week, 3))]),
            new ChartSeries("centre of the baseline", ChartShape.Line, ChartTone.Quiet, [new ChartPoint(0, 10), new ChartPoint(19, 10)]),
            new ChartSeries("reject rate", ChartShape.JoinedDots, ChartTone.Main, [.. Enumerable.Range(0, 20).Select(week => new ChartPoint(week, week == 7 ? null : 10 + (6 * Math.Sin(week))) { CallsForALook = week == 14, Description = $"Week {week} & more", Link = $"/repeats/entries?from={week}" })]),
        ],
        Lines = [new ChartLine(8, "TG-151 target 8 %")],
        Table = new ChartTable(["Week from", "Reject rate, %"], [new ChartTableRow(["2026-01-05", "10.0"]), new ChartTableRow(["=1+1", "say \"10,5\""])]),
    };

    [Fact]
    public void Inline_HasALinkWithItsFiguresOverEveryPoint_AndFollowsTheTheme()
    {
        XElement root = XElement.Parse(ChartPicture.Inline(Weekly, "weekly"));
        XElement[] links = [.. root.Descendants(Svg + "a")];
        Assert.Equal(19, links.Length);
        Assert.Equal("/repeats/entries?from=0", (string?)links[0].Attribute("href"));
        Assert.Equal("Week 0 & more", (string?)links[0].Attribute("aria-label"));
        Assert.Equal("Week 0 & more", links[0].Element(Svg + "title")?.Value);

        // Points stand in order from left to right, inside the picture.
        double[] places = [.. links.Select(link => (double)link.Element(Svg + "circle")!.Attribute("cx")!)];
        Assert.Equal(places.Order(), places);
        Assert.All(places, place => Assert.InRange(place, 20, ChartPicture.Width));
        string markup = root.ToString();
        Assert.Contains("var(--lamp)", markup, StringComparison.Ordinal);
        Assert.DoesNotContain("#FFB65C", markup, StringComparison.OrdinalIgnoreCase);

        // The page's policy forbids style attributes and scripts.
        Assert.DoesNotContain(root.DescendantsAndSelf(), element => element.Attribute("style") is not null || element.Name == Svg + "script" || element.Name == Svg + "style");
        Assert.All(root.DescendantsAndSelf().Attributes("id"), id => Assert.StartsWith("weekly-", id.Value, StringComparison.Ordinal));
    }

    [Fact]
    public void Inline_OfAnIdentifierThatCouldBreakOut_IsRefused()
        => Assert.Throws<ArgumentException>(() => ChartPicture.Inline(Weekly, "a\"b"));

    [Fact]
    public void Files_CarryTitleDefinitionNumberAndPeriod()
    {
        string svg = Encoding.UTF8.GetString(ChartPicture.Svg(Weekly, ChartSurround.Paper));
        string csv = Encoding.UTF8.GetString(ChartPicture.Csv(Weekly));
        string drawn = string.Concat(XElement.Parse(svg).Descendants(Svg + "text").Select(text => text.Value + " "));
        foreach (string words in new[] { "Reject rate by week", "n = 3,000 exposures", "Saltmarsh Lane (invented)", "not a diagnostic device" })
        {
            Assert.Contains(words, drawn, StringComparison.Ordinal);
            Assert.Contains(words, csv, StringComparison.Ordinal);
        }

        Assert.Contains("\"say \"\"10,5\"\"\"", csv, StringComparison.Ordinal);
        Assert.Contains("'=1+1", csv, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(12)]
    [InlineData(53)]
    [InlineData(366)]
    public void Names_ThatRunOn_NeverTouch(int days)
    {
        Chart chart = Weekly with { Across = new ChartAxis("Day", [.. Enumerable.Range(0, days).Select(day => $"{new DateOnly(2026, 1, 1).AddDays(day):yyyy-MM-dd}")], RunsOn: true) };
        (double Middle, double Width)[] names = [.. XElement.Parse(ChartPicture.Inline(chart, "days")).Descendants(Svg + "text")
            .Where(text => text.Value.StartsWith("202", StringComparison.Ordinal) && text.Value.Length == 10)
            .Select(text => (Number(text.Attribute("transform")!.Value["translate(".Length..].Split(' ')[0]), Number(text.Attribute("textLength")!.Value)))
            .Order()];
        Assert.InRange(names.Length, 5, days);
        foreach (((double Middle, double Width) name, (double Middle, double Width) next) in names.Zip(names.Skip(1)))
        {
            Assert.True(next.Middle - name.Middle > (name.Width + next.Width) / 2, $"The names at {name.Middle} and {next.Middle} touch.");
        }

        static double Number(string text) => double.Parse(text, CultureInfo.InvariantCulture);
    }

    [Fact]
    public void Png_IsTwoPixelsAUnit_AndDiffersBetweenDarkAndLight()
    {
        byte[] dark = ChartPicture.Png(Weekly, ChartSurround.Dark);
        using SkiaSharp.SKBitmap picture = SkiaSharp.SKBitmap.Decode(dark);
        Assert.Equal(2 * ChartPicture.Width, picture.Width);
        Assert.Equal(new SkiaSharp.SKColor(0x16, 0x19, 0x1C), picture.GetPixel(3, 3));
        using SkiaSharp.SKBitmap light = SkiaSharp.SKBitmap.Decode(ChartPicture.Png(Weekly, ChartSurround.Light));
        Assert.Equal(new SkiaSharp.SKColor(0xFF, 0xFE, 0xFB), light.GetPixel(3, 3));
    }

    [Fact]
    public async Task Charts_DrawnByManyAtOnce_AreAllTheSame()
    {
        string alone = ChartPicture.Inline(Weekly, "a");
        string[] together = await Task.WhenAll(Enumerable.Range(0, 8).Select(_ => Task.Run(() => ChartPicture.Inline(Weekly, "a"))));
        Assert.All(together, each => Assert.Equal(alone, each));
    }
}
