using System.Globalization;
using PdfSharp.Drawing;
using PdfSharp.Pdf;
using PdfSharp.UniversalAccessibility;

namespace Hotlight.Printing;

/// <summary>Lays a report out on A4 and writes it as a tagged PDF.</summary>
public static class ReportPrinter
{
    private static readonly Lock OneAtATime = new();

    /// <summary>Prints a report.</summary>
    /// <param name="report">The report.</param>
    /// <param name="made">When it was made; stands in the file and at the foot.</param>
    /// <returns>The file.</returns>
    public static byte[] Print(ReportDocument report, DateTimeOffset made)
    {
        ArgumentNullException.ThrowIfNull(report);
        lock (OneAtATime)
        {
            ReportFonts.Use();

            // Tags are written page by page, so the foot's number of pages is known from a first setting.
            var first = new Layout(report, made, 0);
            first.Print();
            return new Layout(report, made, first.Pages).Print();
        }
    }

    /// <summary>One report being laid out.</summary>
    private sealed class Layout
    {
        private const double Left = 51;
        private const double Top = 48;
        private const double Bottom = 842 - 56;
        private const double Wide = 595 - (2 * Left);
        private const double BodySize = 9.5;
        private const double QuietSize = 8;
        private static readonly XBrush Ink = XBrushes.Black;
        private static readonly XBrush Soft = new XSolidBrush(XColor.FromArgb(0x4A, 0x4F, 0x55));
        private static readonly XPen Rule = new(XColor.FromArgb(0xB8, 0xBC, 0xC2), 0.6);

        private readonly ReportDocument report;
        private readonly DateTimeOffset made;
        private readonly int pages;
        private readonly PdfDocument document = new();
        private readonly StructureBuilder tags;
        private readonly Dictionary<(double Size, bool Bold), XFont> fonts = [];
        private XGraphics canvas = null!;
        private double y;

        public Layout(ReportDocument report, DateTimeOffset made, int pages)
        {
            this.report = report;
            this.made = made;
            this.pages = pages;
            UAManager manager = UAManager.ForDocument(document);
            manager.SetDocumentLanguage(report.Language);
            tags = manager.StructureBuilder;
            document.Info.Title = report.Title;
            document.Info.Subject = report.Subtitle;
            document.Info.Creator = "Hotlight";
            document.Info.CreationDate = made.LocalDateTime;
        }

        /// <summary>Pages there are, once printed.</summary>
        public int Pages { get; private set; }

        public byte[] Print()
        {
            tags.BeginElement(PdfGroupingElementTag.Document);
            TurnPage();
            Text(report.Title, PdfBlockLevelElementTag.Heading1, 18, bold: true, Ink, after: 2);
            Text(report.Subtitle, PdfBlockLevelElementTag.Paragraph, BodySize + 1, bold: false, Soft, after: 8);
            for (int index = 0; index < report.Blocks.Count; index++)
            {
                Draw(report.Blocks[index], index + 1 < report.Blocks.Count ? report.Blocks[index + 1] : null);
            }

            Foot();
            tags.End();
            Pages = document.PageCount;
            using var stream = new MemoryStream();
            document.Save(stream);
            return stream.ToArray();
        }

        private void Draw(ReportBlock block, ReportBlock? next)
        {
            switch (block)
            {
                case ReportHeading heading:
                    // A heading stays with what it heads.
                    Need(30 + (next is null ? 0 : Math.Min(HeightOf(next), 320)));
                    y += 8;
                    Text(heading.Text, PdfBlockLevelElementTag.Heading2, 12.5, bold: true, Ink, after: 3);
                    break;
                case ReportParagraph paragraph:
                    Text(paragraph.Text, PdfBlockLevelElementTag.Paragraph, paragraph.IsQuiet ? QuietSize : BodySize, bold: false, paragraph.IsQuiet ? Soft : Ink, after: 5);
                    break;
                case ReportNotice notice:
                    Notice(notice.Text);
                    break;
                case ReportList list:
                    List(list);
                    break;
                case ReportTable table:
                    Table(table);
                    break;
                case ReportPicture picture:
                    Picture(picture);
                    break;
                default:
                    throw new ArgumentException($"A block of the kind {block.GetType().Name} cannot be printed.", nameof(block));
            }
        }

        private double HeightOf(ReportBlock block) => block switch
        {
            ReportPicture picture => PictureHeight(picture),
            ReportTable table => 16 + (13.0 * table.Rows.Count),
            ReportNotice notice => 16 + (12.0 * Wrap(notice.Text, Font(BodySize, false), Wide - 20).Count),
            ReportList list => 14.0 * list.Items.Count,
            ReportParagraph paragraph => 12.0 * Wrap(paragraph.Text, Font(BodySize, false), Wide).Count,
            _ => 20,
        };

        private void Text(string text, PdfBlockLevelElementTag tag, double size, bool bold, XBrush brush, double after, double indent = 0)
        {
            XFont font = Font(size, bold);
            double line = size * 1.36;
            tags.BeginElement(tag);
            foreach (string words in Wrap(text, font, Wide - indent))
            {
                Need(line);
                canvas.DrawString(words, font, brush, Left + indent, y + size);
                y += line;
            }

            tags.End();
            y += after;
        }

        private void Notice(string text)
        {
            XFont font = Font(BodySize, false);
            IReadOnlyList<string> lines = Wrap(text, font, Wide - 20);
            double height = (lines.Count * BodySize * 1.36) + 12;
            Need(height);
            tags.BeginArtifact();
            canvas.DrawRectangle(new XPen(XColor.FromArgb(0x50, 0x55, 0x5B), 0.9), Left, y, Wide, height);
            tags.End();
            tags.BeginElement(PdfBlockLevelElementTag.Paragraph);
            double at = y + 6;
            foreach (string line in lines)
            {
                canvas.DrawString(line, font, Ink, Left + 10, at + BodySize);
                at += BodySize * 1.36;
            }

            tags.End();
            y += height + 8;
        }

        private void List(ReportList list)
        {
            XFont font = Font(BodySize, false);
            tags.BeginElement(PdfBlockLevelElementTag.List);
            foreach (string item in list.Items)
            {
                IReadOnlyList<string> lines = Wrap(item, font, Wide - 14);
                Need(lines.Count * BodySize * 1.36);
                tags.BeginElement(PdfBlockLevelElementTag.ListItem);
                tags.BeginElement(PdfBlockLevelElementTag.Label);
                canvas.DrawString("•", font, Ink, Left + 3, y + BodySize);
                tags.End();
                tags.BeginElement(PdfBlockLevelElementTag.ListBody);
                foreach (string line in lines)
                {
                    canvas.DrawString(line, font, Ink, Left + 14, y + BodySize);
                    y += BodySize * 1.36;
                }

                tags.End();
                tags.End();
                y += 3;
            }

            tags.End();
            y += 4;
        }

        private void Table(ReportTable table)
        {
            const double Size = 8.5;
            const double Row = 13;
            XFont font = Font(Size, false);
            XFont head = Font(Size, true);
            double[] widths = [.. table.Columns.Select((column, index) => 8 + Math.Max(
                canvas.MeasureString(column, head).Width,
                table.Rows.Select(row => index < row.Count ? canvas.MeasureString(row[index], font).Width : 0).DefaultIfEmpty(0).Max()))];
            double scale = Math.Min(1, Wide / widths.Sum());
            tags.BeginElement(PdfBlockLevelElementTag.Table);
            Need(Row * 3);
            Cells(table.Columns, head, PdfBlockLevelElementTag.TableHeaderCell);
            foreach (IReadOnlyList<string> row in table.Rows)
            {
                if (y + Row > Bottom)
                {
                    TurnPage();
                    Cells(table.Columns, head, PdfBlockLevelElementTag.TableHeaderCell);
                }

                Cells(row, font, PdfBlockLevelElementTag.TableDataCell);
            }

            tags.End();
            y += 6;

            void Cells(IReadOnlyList<string> cells, XFont face, PdfBlockLevelElementTag tag)
            {
                tags.BeginElement(PdfBlockLevelElementTag.TableRow);
                double x = Left;
                for (int index = 0; index < table.Columns.Count; index++)
                {
                    double width = widths[index] * scale;
                    string words = index < cells.Count ? Fitted(cells[index], face, width - 4) : string.Empty;
                    tags.BeginElement(tag);
                    if (words.Length > 0)
                    {
                        double at = index == 0 ? x : x + width - 4 - canvas.MeasureString(words, face).Width;
                        canvas.DrawString(words, face, Ink, at, y + Size + 1);
                    }

                    tags.End();
                    x += width;
                }

                tags.End();
                tags.BeginArtifact();
                canvas.DrawLine(Rule, Left, y + Row - 0.5, Left + (widths.Sum() * scale), y + Row - 0.5);
                tags.End();
                y += Row;
            }
        }

        private double PictureHeight(ReportPicture picture)
            => (Wide * picture.HeightOverWidth) + 22 + (Wrap(picture.Caption, Font(QuietSize, false), Wide).Count * QuietSize * 1.36);

        private void Picture(ReportPicture picture)
        {
            double height = Wide * picture.HeightOverWidth;
            Need(Math.Min(PictureHeight(picture), Bottom - Top));
            Text(picture.Title, PdfBlockLevelElementTag.Heading3, 10.5, bold: true, Ink, after: 2);
            tags.BeginElement(PdfIllustrationElementTag.Figure, picture.Description, new XRect(Left, y, Wide, height));
            using (var stream = new MemoryStream(picture.Pdf))
            {
                using XPdfForm form = XPdfForm.FromStream(stream);
                canvas.DrawImage(form, Left, y, Wide, height);
            }

            tags.End();
            y += height + 3;
            Text(picture.Caption, PdfBlockLevelElementTag.Paragraph, QuietSize, bold: false, Soft, after: 6);
        }

        private void Need(double height)
        {
            if (y + height > Bottom && y > Top)
            {
                TurnPage();
            }
        }

        private void TurnPage()
        {
            if (document.PageCount > 0)
            {
                Foot();
            }

            PdfPage page = document.AddPage();
            page.Size = PdfSharp.PageSize.A4;
            canvas?.Dispose();
            canvas = XGraphics.FromPdfPage(page);
            y = Top;
        }

        private void Foot()
        {
            XFont font = Font(7.5, false);
            string counted = string.Create(CultureInfo.InvariantCulture, $"page {document.PageCount} of {pages}");
            tags.BeginArtifact();
            canvas.DrawLine(Rule, Left, Bottom + 12, Left + Wide, Bottom + 12);
            canvas.DrawString(report.Foot, font, Soft, Left, Bottom + 23);
            canvas.DrawString(string.Create(CultureInfo.InvariantCulture, $"made {made:yyyy-MM-dd HH:mm}"), font, Soft, Left, Bottom + 33);
            canvas.DrawString(counted, font, Soft, Left + Wide - canvas.MeasureString(counted, font).Width, Bottom + 33);
            tags.End();
        }

        private XFont Font(double size, bool bold)
        {
            if (!fonts.TryGetValue((size, bold), out XFont? font))
            {
                font = new XFont(ReportFonts.Family, size, bold ? XFontStyleEx.Bold : XFontStyleEx.Regular, new XPdfFontOptions(PdfFontEncoding.Unicode));
                fonts.Add((size, bold), font);
            }

            return font;
        }

        private List<string> Wrap(string text, XFont font, double width)
        {
            List<string> lines = [];
            string line = string.Empty;
            foreach (string word in text.Split([' ', '\n', '\r', '\t'], StringSplitOptions.RemoveEmptyEntries))
            {
                string joined = line.Length == 0 ? word : $"{line} {word}";
                if (line.Length > 0 && canvas.MeasureString(joined, font).Width > width)
                {
                    lines.Add(line);
                    line = word;
                }
                else
                {
                    line = joined;
                }
            }

            if (line.Length > 0)
            {
                lines.Add(line);
            }

            return lines;
        }

        private string Fitted(string text, XFont font, double width)
        {
            string shown = text;
            while (shown.Length > 2 && canvas.MeasureString(shown, font).Width > width)
            {
                shown = string.Concat(shown.AsSpan(0, shown.Length - 2), "…");
            }

            return shown;
        }
    }
}
