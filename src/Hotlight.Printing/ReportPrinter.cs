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
        private static readonly DateTime Undated = new(2000, 1, 1, 0, 0, 0, DateTimeKind.Utc);
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
            document.Info.CreationDate = report.IsUndated ? Undated : made.LocalDateTime;
            document.Info.ModificationDate = document.Info.CreationDate;
        }

        /// <summary>Pages there are, once printed.</summary>
        public int Pages { get; private set; }

        public byte[] Print()
        {
            tags.BeginElement(PdfGroupingElementTag.Document);
            TurnPage();
            Text(report.Title, PdfBlockLevelElementTag.Heading1, 18, bold: true, Ink, after: 2);
            if (report.Subtitle.Length > 0)
            {
                Text(report.Subtitle, PdfBlockLevelElementTag.Paragraph, BodySize + 1, bold: false, Soft, after: 8);
            }

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
                    Paragraph(paragraph);
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
                case ReportDefinitions definitions:
                    Definitions(definitions);
                    break;
                case ReportGrid grid:
                    Grid(grid);
                    break;
                case ReportRadiograph radiograph:
                    Radiograph(radiograph);
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
            ReportList list => list.Items.Take(2).Sum(item => 12.0 * Wrap(item, Font(BodySize, false), Wide - 18).Count),
            ReportDefinitions => 60,
            ReportGrid => 80,
            ReportRadiograph radiograph => RadiographSize(radiograph).Height,
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

        private void Paragraph(ReportParagraph paragraph)
        {
            double size = paragraph.IsQuiet ? QuietSize : paragraph.IsLead ? BodySize + 2 : BodySize;
            if (paragraph.Beside is not { } beside)
            {
                Text(paragraph.Text, PdfBlockLevelElementTag.Paragraph, size, bold: false, paragraph.IsQuiet ? Soft : Ink, after: 5);
                return;
            }

            double height = (Wrap(paragraph.Text, Font(size, false), Wide - 12).Count * size * 1.36) + (QuietSize * 1.36);
            Need(height);
            tags.BeginArtifact();
            canvas.DrawLine(new XPen(XColor.FromArgb(0x50, 0x55, 0x5B), 2), Left + 2, y, Left + 2, y + height);
            tags.End();
            Text(beside, PdfBlockLevelElementTag.Paragraph, QuietSize, bold: false, Soft, after: 0, indent: 12);
            Text(paragraph.Text, PdfBlockLevelElementTag.Paragraph, size, bold: false, Ink, after: 5, indent: 12);
        }

        private void Definitions(ReportDefinitions definitions)
        {
            const double Size = 8.5;
            const double Term = 118;
            XFont bold = Font(Size, true);
            XFont font = Font(Size, false);
            tags.BeginElement(PdfGroupingElementTag.Division);
            tags.BeginElement(PdfBlockLevelElementTag.List);
            foreach ((string term, string meaning) in definitions.Items)
            {
                IReadOnlyList<string> terms = Wrap(term, bold, Term - 8);
                IReadOnlyList<string> lines = Wrap(meaning, font, Wide - Term);
                double height = Math.Max(terms.Count, lines.Count) * Size * 1.36;
                Need(height);
                tags.BeginElement(PdfBlockLevelElementTag.ListItem);
                tags.BeginElement(PdfBlockLevelElementTag.Label);
                Lines(terms, bold, Size, Left, y);
                tags.End();
                tags.BeginElement(PdfBlockLevelElementTag.ListBody);
                Lines(lines, font, Size, Left + Term, y);
                tags.End();
                tags.End();
                y += height + 4;
            }

            tags.End();
            tags.End();
            y += 3;
        }

        private void Lines(IReadOnlyList<string> lines, XFont font, double size, double x, double top)
        {
            foreach (string line in lines)
            {
                canvas.DrawString(line, font, Ink, x, top + size);
                top += size * 1.36;
            }
        }

        private void Grid(ReportGrid grid)
        {
            const double Size = 8;
            const double Line = Size * 1.32;
            const double Pad = 5;
            XFont font = Font(Size, false);
            XFont bold = Font(Size, true);
            double[] widths = [.. grid.Columns.Select(column => column.Share * Wide)];
            string[] headings = [.. grid.Columns.Select(column => column.Heading)];
            tags.BeginElement(PdfBlockLevelElementTag.Table);
            Need(60);
            Row(headings, bold, PdfBlockLevelElementTag.TableHeaderCell, null);
            for (int index = 0; index < grid.Rows.Count; index++)
            {
                ReportGridRow row = grid.Rows[index];
                double height = HeightOfRow(row) + (row.IsHeading && index + 1 < grid.Rows.Count ? HeightOfRow(grid.Rows[index + 1]) : 0);
                if (y + height > Bottom)
                {
                    TurnPage();
                    Row(headings, bold, PdfBlockLevelElementTag.TableHeaderCell, null);
                }

                if (row.IsHeading)
                {
                    Heading(row.Cells[0]);
                }
                else
                {
                    Row(row.Cells, font, PdfBlockLevelElementTag.TableDataCell, row.Note);
                }
            }

            tags.End();
            y += 6;

            double HeightOfRow(ReportGridRow row) => row.IsHeading
                ? Line + 7
                : (row.Cells.Select((cell, column) => Wrap(cell, font, widths[column] - Pad).Count).Max() * Line) + (row.Note is null ? 0 : Wrap(row.Note, font, Wide - widths[0] - Pad).Count * Line) + 5;

            void Heading(string text)
            {
                tags.BeginElement(PdfBlockLevelElementTag.TableRow);
                tags.BeginElement(PdfBlockLevelElementTag.TableHeaderCell);
                canvas.DrawString(text, bold, Ink, Left, y + Size + 4);
                tags.End();
                tags.End();
                y += Line + 7;
                Under();
            }

            void Row(IReadOnlyList<string> cells, XFont face, PdfBlockLevelElementTag tag, string? note)
            {
                tags.BeginElement(PdfBlockLevelElementTag.TableRow);
                double x = Left;
                double lowest = y;
                for (int column = 0; column < widths.Length; column++)
                {
                    IReadOnlyList<string> lines = column < cells.Count ? Wrap(cells[column], face, widths[column] - Pad) : [];
                    tags.BeginElement(tag);
                    Lines(lines, face, Size, x, y + 2);
                    if (note is not null && column == 1)
                    {
                        lowest = Math.Max(lowest, y + (cells.Select((cell, place) => Wrap(cell, face, widths[place] - Pad).Count).Max() * Line));
                        IReadOnlyList<string> words = Wrap(note, face, Wide - widths[0] - Pad);
                        Lines(words, face, Size, x, lowest + 2);
                        lowest += words.Count * Line;
                    }

                    tags.End();
                    lowest = Math.Max(lowest, y + (lines.Count * Line));
                    x += widths[column];
                }

                tags.End();
                y = lowest + 5;
                Under();
            }

            void Under()
            {
                tags.BeginArtifact();
                canvas.DrawLine(Rule, Left, y - 0.5, Left + Wide, y - 0.5);
                tags.End();
            }
        }

        private static (double Width, double Height) RadiographSize(ReportRadiograph radiograph)
        {
            // Half a page at most, so that what it shows and what is said of it lie beside each other.
            double most = 0.56 * (Bottom - Top);
            double width = Math.Min(Wide, most / radiograph.HeightOverWidth);
            return (width, width * radiograph.HeightOverWidth);
        }

        private void Radiograph(ReportRadiograph radiograph)
        {
            (double width, double height) = RadiographSize(radiograph);
            Need(height + 20);
            double scale = width / radiograph.Columns;
            double down = height / radiograph.Rows;
            tags.BeginElement(PdfIllustrationElementTag.Figure, radiograph.Description, new XRect(Left, y, width, height));
            if (pages > 0)
            {
                // The first setting only counts pages: it needs no pixels.
                using var stream = new MemoryStream(radiograph.Picture);
                using XImage image = XImage.FromStream(stream);
                image.Interpolate = false;
                canvas.DrawImage(image, Left, y, width, height);
            }

            XGraphicsState state = canvas.Save();
            canvas.IntersectClip(new XRect(Left, y, width, height));
            foreach (ReportLine line in radiograph.Lines)
            {
                XColor color = XColor.FromArgb(unchecked((int)(0xFF000000 | uint.Parse(line.Color.AsSpan(1), NumberStyles.AllowHexSpecifier, CultureInfo.InvariantCulture))));
                color.A = line.Opacity;
                var pen = new XPen(color, line.Width * scale) { LineJoin = XLineJoin.Round };
                if (line.Dashes.Count > 0)
                {
                    // Dashes are counted in widths of the pen.
                    pen.DashPattern = [.. line.Dashes.Select(length => length / line.Width)];
                }

                XPoint[] points = [.. line.Points.Select(point => new XPoint(Left + ((point.X + 0.5) * scale), y + ((point.Y + 0.5) * down)))];
                if (line.IsClosed)
                {
                    canvas.DrawPolygon(pen, points);
                }
                else
                {
                    canvas.DrawLines(pen, points);
                }
            }

            double radius = Math.Max(5, radiograph.DiscRadius * scale);
            XFont font = Font(radius * 1.3, true);
            foreach ((int number, double x, double at) in radiograph.Numbers)
            {
                double middleX = Left + ((x + 0.5) * scale);
                double middleY = y + ((at + 0.5) * down);
                canvas.DrawEllipse(new XPen(XColors.Black, radius / 6), XBrushes.White, middleX - radius, middleY - radius, 2 * radius, 2 * radius);
                string text = number.ToString(CultureInfo.InvariantCulture);
                canvas.DrawString(text, font, Ink, middleX - (canvas.MeasureString(text, font).Width / 2), middleY + (0.47 * radius));
            }

            canvas.Restore(state);
            tags.End();
            y += height + 5;
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
            double indent = list.IsNumbered ? 20 : 14;
            int number = 0;
            foreach (string item in list.Items)
            {
                number++;
                IReadOnlyList<string> lines = Wrap(item, font, Wide - indent);
                Need(lines.Count * BodySize * 1.36);
                tags.BeginElement(PdfBlockLevelElementTag.ListItem);
                tags.BeginElement(PdfBlockLevelElementTag.Label);
                canvas.DrawString(list.IsNumbered ? string.Create(CultureInfo.InvariantCulture, $"{number}.") : "•", font, Ink, Left + 3, y + BodySize);
                tags.End();
                tags.BeginElement(PdfBlockLevelElementTag.ListBody);
                foreach (string line in lines)
                {
                    canvas.DrawString(line, font, Ink, Left + indent, y + BodySize);
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
            string counted = report.PageWords.Replace("{0}", document.PageCount.ToString(CultureInfo.InvariantCulture), StringComparison.Ordinal).Replace("{1}", pages.ToString(CultureInfo.InvariantCulture), StringComparison.Ordinal);
            tags.BeginArtifact();
            canvas.DrawLine(Rule, Left, Bottom + 12, Left + Wide, Bottom + 12);
            canvas.DrawString(report.Foot, font, Soft, Left, Bottom + 23);
            if (!report.IsUndated)
            {
                canvas.DrawString(string.Create(CultureInfo.InvariantCulture, $"made {made:yyyy-MM-dd HH:mm}"), font, Soft, Left, Bottom + 33);
            }

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
