using System.Globalization;
using System.Net;
using System.Text;
using Hotlight.Judgement;

namespace Hotlight.Teaching.Handouts;

/// <summary>A handout as one HTML file: no script, nothing fetched, light and dark by the reader's setting, and for print.</summary>
public static class HandoutHtml
{
    private const string Style = """
        :root{color-scheme:light dark;--paper:#fff;--ink:#16191d;--soft:#4a4f55;--rule:#b8bcc2;--note:#f1f3f5;--own:#7a4b00}
        @media (prefers-color-scheme:dark){:root{--paper:#14171a;--ink:#e9ecef;--soft:#b3bac2;--rule:#4b525a;--note:#20252a;--own:#ffc46b}}
        *{box-sizing:border-box}
        body{margin:0;background:var(--paper);color:var(--ink);font:1rem/1.5 system-ui,"Segoe UI","DejaVu Sans",sans-serif}
        main{max-width:54rem;margin:0 auto;padding:1.5rem 1.25rem 3rem}
        h1{font-size:1.7rem;line-height:1.2;margin:0 0 .75rem}
        h2{font-size:1.15rem;margin:2rem 0 .5rem;break-after:avoid}
        p{margin:.5rem 0}
        .lead{font-size:1.1rem}
        .note{border:1px solid var(--rule);background:var(--note);padding:.6rem .9rem;margin:1rem 0}
        .own{border-left:.25rem solid var(--own);padding-left:.75rem}
        .own-word{display:block;font-size:.8rem;color:var(--own)}
        figure{margin:0}
        .picture{position:relative;width:fit-content;max-width:100%}
        .picture img{display:block;max-width:100%;max-height:85vh;width:auto;height:auto}
        .picture svg{position:absolute;inset:0;width:100%;height:100%}
        figcaption{margin-top:.5rem;color:var(--soft);font-size:.92rem}
        li{margin:.3rem 0}
        .table{overflow-x:auto}
        table{border-collapse:collapse;width:100%;font-size:.92rem}
        caption{text-align:left;color:var(--soft);padding-bottom:.4rem}
        th,td{text-align:left;vertical-align:top;padding:.3rem .5rem .3rem 0;border-bottom:1px solid var(--rule)}
        thead th{white-space:nowrap}
        tbody th{padding-top:.9rem}
        td.mark,td.state,td.decided{white-space:nowrap}
        tr.not-met td.state{font-weight:700}
        .remark{display:block;color:var(--soft)}
        dl{display:grid;grid-template-columns:minmax(9rem,14rem) 1fr;gap:.35rem 1rem;margin:0}
        dt{font-weight:600}
        dd{margin:0}
        .quiet{color:var(--soft);font-size:.9rem}
        @media (max-width:36rem){dl{grid-template-columns:1fr}}
        @media print{.shade{display:none}:root{--paper:#fff;--ink:#000;--soft:#333;--rule:#999;--note:#fff;--own:#000}@page{margin:16mm}main{max-width:none;padding:0}body{font-size:10pt}.picture img{max-height:150mm}tr,li,figure,.note{break-inside:avoid}thead{display:table-header-group}.table{overflow:visible}}
        """;

    /// <summary>Writes it.</summary>
    /// <param name="handout">The handout.</param>
    /// <param name="picture">Its radiograph.</param>
    public static string Write(Handout handout, HandoutPicture picture)
    {
        ArgumentNullException.ThrowIfNull(handout);
        ArgumentNullException.ThrowIfNull(picture);
        var page = new StringBuilder(picture.Png.Length * 4 / 3 + 60_000);
        page.Append("<!doctype html>\n<html lang=\"").Append(Text(handout.Language)).Append("\">\n<head>\n<meta charset=\"utf-8\">\n<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n");
        page.Append("<meta name=\"generator\" content=\"Hotlight\">\n<title>").Append(Text(handout.Title.Text)).Append("</title>\n<style>\n").Append(Style).Append("\n</style>\n</head>\n<body>\n<main>\n");
        page.Append("<h1>").Append(Text(handout.Title.Text)).Append("</h1>\n");
        if (handout.Title.Written is not null)
        {
            page.Append("<p class=\"own\"><span class=\"own-word\">").Append(Text(handout.EditedWord)).Append("</span></p>\n");
        }

        foreach (HandoutSection section in handout.Sections)
        {
            page.Append("<section>\n");
            if (section.Heading is { } heading)
            {
                page.Append("<h2>").Append(Text(heading)).Append("</h2>\n");
            }

            switch (section.Part)
            {
                case HandoutPart.Picture:
                    Picture(page, handout, section, picture);
                    break;
                case HandoutPart.Simulation:
                    Simulation(page, handout, section);
                    break;
                case HandoutPart.Checklist:
                    Table(page, handout);
                    break;
                default:
                    Paragraphs(page, handout, section);
                    break;
            }

            if (section.Part == HandoutPart.Summary)
            {
                page.Append("<p class=\"note\" role=\"note\">").Append(Text(handout.Safety)).Append("</p>\n");
            }

            page.Append("</section>\n");
        }

        return page.Append("</main>\n</body>\n</html>\n").ToString();
    }

    private static string Text(string text) => WebUtility.HtmlEncode(HandoutWording.Bound(text));

    private static void Picture(StringBuilder page, Handout handout, HandoutSection section, HandoutPicture picture)
    {
        page.Append("<figure>\n<div class=\"picture\"><img alt=\"").Append(Text(handout.PictureDescription)).Append('"');
        page.Append(CultureInfo.InvariantCulture, $" width=\"{picture.Width}\" height=\"{picture.Height}\" src=\"data:image/png;base64,").Append(Convert.ToBase64String(picture.Png)).Append("\">");
        if (handout.Marks.Count > 0 || handout.Field.Count > 0)
        {
            page.Append(HandoutPicture.Over(handout));
        }

        page.Append("</div>\n<figcaption>\n");
        Paragraphs(page, handout, section);
        page.Append("</figcaption>\n</figure>\n");
    }

    private static void Simulation(StringBuilder page, Handout handout, HandoutSection section)
    {
        page.Append("<figure>\n");
        if (handout.Simulation?.Strip is { } strip)
        {
            page.Append("<div class=\"picture\"><img alt=\"").Append(Text(handout.SimulationDescription)).Append('"');
            page.Append(CultureInfo.InvariantCulture, $" width=\"{strip.Width}\" height=\"{strip.Height}\" src=\"data:image/png;base64,").Append(Convert.ToBase64String(strip.Png)).Append("\"></div>\n");
        }

        page.Append("<figcaption>\n");
        Paragraphs(page, handout, section);
        page.Append("</figcaption>\n</figure>\n");
    }

    private static void Paragraphs(StringBuilder page, Handout handout, HandoutSection section)
    {
        string list = section.Shape switch { HandoutShape.Bullets => "ul", HandoutShape.Numbers => "ol", HandoutShape.Definitions => "dl", _ => string.Empty };
        if (list.Length > 0)
        {
            page.Append('<').Append(list).Append(">\n");
        }

        foreach (HandoutParagraph paragraph in section.Paragraphs)
        {
            string own = paragraph.Written is null ? string.Empty : $"<span class=\"own-word\">{Text(handout.EditedWord)}</span>";
            string mark = paragraph.Written is null ? string.Empty : " class=\"own\"";
            page.Append(section.Shape switch
            {
                HandoutShape.Bullets or HandoutShape.Numbers => $"<li{mark}>{own}{Text(paragraph.Text)}</li>\n",
                HandoutShape.Definitions => $"<dt>{Text(paragraph.Term ?? string.Empty)}</dt><dd{mark}>{own}{Text(paragraph.Text)}</dd>\n",
                _ when paragraph.Written is not null => $"<p{mark}>{own}{Text(paragraph.Text)}</p>\n",
                _ => section.Part switch
                {
                    HandoutPart.Summary => $"<p class=\"lead\">{Text(paragraph.Text)}</p>\n",
                    HandoutPart.Versions => $"<p class=\"quiet\">{Text(paragraph.Text)}</p>\n",
                    _ => $"<p>{Text(paragraph.Text)}</p>\n",
                },
            });
        }

        if (list.Length > 0)
        {
            page.Append("</").Append(list).Append(">\n");
        }
    }

    private static void Table(StringBuilder page, Handout handout)
    {
        page.Append("<div class=\"table\" tabindex=\"0\" role=\"region\" aria-label=\"").Append(Text(handout.Table.Caption)).Append("\">\n<table>\n<caption>").Append(Text(handout.Table.Caption)).Append("</caption>\n<thead><tr>");
        foreach (string heading in new[] { handout.Table.Mark, handout.Table.Question, handout.Table.State, handout.Table.Figure, handout.Table.Decided })
        {
            page.Append("<th scope=\"col\">").Append(Text(heading)).Append("</th>");
        }

        page.Append("</tr></thead>\n");
        bool isOpen = false;
        foreach (HandoutRow row in handout.Rows)
        {
            if (row.Section is { } section)
            {
                page.Append(isOpen ? "</tbody>\n" : string.Empty).Append("<tbody>\n<tr><th scope=\"rowgroup\" colspan=\"5\">").Append(Text(section)).Append("</th></tr>\n");
                isOpen = true;
            }

            string name = row.State switch { ChecklistState.Met => "met", ChecklistState.NotMet => "not-met", ChecklistState.CannotTell => "cannot-tell", _ => "not-applicable" };
            page.Append(CultureInfo.InvariantCulture, $"<tr class=\"{name}\"><td class=\"mark\">{row.Mark}</td><td>").Append(Text(row.Question));
            if (row.Note is { } note)
            {
                page.Append("<span class=\"remark\">").Append(Text(note)).Append("</span>");
            }

            page.Append("</td><td class=\"state\"><span aria-hidden=\"true\">").Append(HandoutPdf.SignOf(row.State)).Append("</span> ").Append(Text(row.StateWord)).Append("</td><td>").Append(Text(row.Figure))
                .Append("</td><td class=\"decided\">").Append(Text(row.Decided)).Append("</td></tr>\n");
        }

        page.Append(isOpen ? "</tbody>\n" : string.Empty).Append("</table>\n</div>\n");
    }
}
