using Hotlight.Drawing;
using Hotlight.Judgement;
using Hotlight.Printing;

namespace Hotlight.Teaching.Handouts;

/// <summary>A handout on paper: A4, tagged PDF.</summary>
public static class HandoutPdf
{
    /// <summary>Prints it.</summary>
    /// <param name="handout">The handout.</param>
    /// <param name="picture">Its radiograph.</param>
    /// <returns>The file. No date stands in it.</returns>
    public static byte[] Print(Handout handout, HandoutPicture picture)
    {
        ArgumentNullException.ThrowIfNull(handout);
        ArgumentNullException.ThrowIfNull(picture);
        return ReportPrinter.Print(
            new ReportDocument
            {
                Title = handout.Title.Text,
                Subtitle = string.Empty,
                Foot = handout.Foot,
                Language = handout.Language,
                PageWords = handout.PageWords,
                IsUndated = true,
                Blocks = [.. Blocks(handout, picture)],
            },
            DateTimeOffset.UnixEpoch);
    }

    private static IEnumerable<ReportBlock> Blocks(Handout handout, HandoutPicture picture)
    {
        foreach (HandoutSection section in handout.Sections)
        {
            if (section.Heading is { } heading)
            {
                yield return new ReportHeading(heading);
            }

            if (section.Part == HandoutPart.Picture)
            {
                yield return Radiograph(handout, picture);
            }

            if (section.Part == HandoutPart.Simulation && handout.Simulation?.Strip is { } strip)
            {
                yield return new ReportRadiograph(strip.Png, strip.Width, strip.Height, (double)strip.Height / strip.Width, [], [], 1, handout.SimulationDescription);
            }

            foreach (ReportBlock block in Paragraphs(handout, section))
            {
                yield return block;
            }

            if (section.Part == HandoutPart.Summary)
            {
                yield return new ReportNotice(handout.Safety);
            }

            if (section.Part == HandoutPart.Checklist)
            {
                yield return Table(handout);
            }
        }
    }

    private static IEnumerable<ReportBlock> Paragraphs(Handout handout, HandoutSection section)
    {
        switch (section.Shape)
        {
            case HandoutShape.Definitions:
                yield return new ReportDefinitions([.. section.Paragraphs.Select(paragraph => (paragraph.Term ?? string.Empty, Marked(handout, paragraph)))]);
                break;
            case HandoutShape.Bullets or HandoutShape.Numbers when section.Paragraphs.Count > 0:
                yield return new ReportList([.. section.Paragraphs.Select(paragraph => Marked(handout, paragraph))], section.Shape == HandoutShape.Numbers);
                break;
            default:
                foreach (HandoutParagraph paragraph in section.Paragraphs)
                {
                    yield return new ReportParagraph(HandoutWording.Bound(paragraph.Text), section.Part is HandoutPart.Versions, paragraph.Written is null ? null : handout.EditedWord, section.Part == HandoutPart.Summary);
                }

                break;
        }
    }

    // In a list the word stands behind the item, where a bar has no room.
    private static string Marked(Handout handout, HandoutParagraph paragraph) => HandoutWording.Bound(paragraph.Written is null ? paragraph.Text : $"{paragraph.Text} [{handout.EditedWord}]");

    private static ReportGrid Table(Handout handout)
    {
        List<ReportGridRow> rows = [];
        foreach (HandoutRow row in handout.Rows)
        {
            if (row.Section is { } section)
            {
                rows.Add(new ReportGridRow([section], IsHeading: true));
            }

            rows.Add(new ReportGridRow([row.Mark?.ToString(System.Globalization.CultureInfo.InvariantCulture) ?? string.Empty, row.Question, $"{SignOf(row.State)} {row.StateWord}", HandoutWording.Bound(row.Figure), row.Decided], Note: row.Note));
        }

        return new ReportGrid(
            [(handout.Table.Mark, 0.06), (handout.Table.Question, 0.41), (handout.Table.State, 0.14), (handout.Table.Figure, 0.23), (handout.Table.Decided, 0.16)],
            rows);
    }

    private static ReportRadiograph Radiograph(Handout handout, HandoutPicture picture)
    {
        IReadOnlyList<NumberedMark> marks = picture.Placed(handout.Marks);
        (int columns, int rows) = (picture.View.Width, picture.View.Height);
        return new ReportRadiograph(
            picture.Png,
            columns,
            rows,
            (double)picture.Height / picture.Width,
            [.. NumberedMarks.Strokes(marks, columns, rows).Select(stroke => new ReportLine([.. stroke.Points.Select(point => (point.X, point.Y))], stroke.IsClosed, stroke.Color, stroke.Opacity, stroke.WidthPixels, stroke.DashPixels))],
            [.. NumberedMarks.Place(marks, columns, rows).Select(number => (number.Number, number.At.X, number.At.Y))],
            NumberedMarks.DiscShare * Math.Max(columns, rows),
        handout.PictureDescription);
    }

    /// <summary>A sign beside the word of a state.</summary>
    internal static string SignOf(ChecklistState state) => state switch
    {
        ChecklistState.Met => "✓",
        ChecklistState.NotMet => "✗",
        ChecklistState.CannotTell => "?",
        _ => "–",
    };
}
