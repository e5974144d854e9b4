using System.Text;
using System.Text.RegularExpressions;
using Hotlight.Judgement;
using Hotlight.Teaching.Handouts;
using Hotlight.Testing;

namespace Hotlight.Teaching.Tests.Handouts;

/// <summary>The sentences of handouts of four demo cases. The texts beside this file were read aloud; figures in them stand as #, so that a better measure changes none.</summary>
public sealed partial class HandoutWriterTests
{
    public static TheoryData<string, string> Cases
    {
        get
        {
            TheoryData<string, string> cases = [];
            foreach (string id in DemoHandouts.Ids)
            {
                foreach (string language in new[] { "en", "de", "es" })
                {
                    cases.Add(id, language);
                }
            }

            return cases;
        }
    }

    [Theory]
    [MemberData(nameof(Cases))]
    public void Write_DemoCase_SaysWhatWasReadAloud(string id, string language)
    {
        string text = FigureInText().Replace(Told(DemoHandouts.Write(id, language).Handout), "#");
        string path = Path.Combine(SharedData.RepositoryRoot, "tests", "Hotlight.Teaching.Tests", "Handouts", "Told", $"{id}.{language}.txt");
        if (Environment.GetEnvironmentVariable("HOTLIGHT_WRITE_TOLD") == "1")
        {
            Directory.CreateDirectory(Path.GetDirectoryName(path)!);
            File.WriteAllText(path, text);
        }

        Assert.Equal(File.ReadAllText(path), text);
    }

    [Theory]
    [MemberData(nameof(Cases))]
    public void Write_DemoCase_DoesNotStutter(string id, string language)
    {
        Handout handout = DemoHandouts.Write(id, language).Handout;
        string[] faults = [.. handout.Sections.SelectMany(section => Faults(section.Paragraphs.Select(paragraph => paragraph.Text)))];

        Assert.True(faults.Length == 0, string.Join(Environment.NewLine, faults));
        Assert.DoesNotContain(handout.Paragraphs, paragraph => paragraph.Text.Trim().Length == 0);
        Assert.Equal(handout.Paragraphs.Count(), handout.Paragraphs.Select(paragraph => paragraph.Id).Distinct().Count());
    }

    /// <summary>The check of the check: each kind of stutter is found.</summary>
    [Theory]
    [InlineData("The field is wide.", "The field is too wide.")]
    [InlineData("Two  spaces.")]
    [InlineData("A place {0} is open.")]
    [InlineData("one two three four five six seven eight nine ten one two three four five six seven eight nine ten one two three four five six seven eight nine ten one two three four five six seven eight nine ten more.")]
    [InlineData("It ends without a stop")]
    [InlineData("It ends twice..")]
    [InlineData("The edge is the edge.")]
    public void Faults_OfAStutter_AreFound(params string[] paragraphs) => Assert.NotEmpty(Faults(paragraphs));

    [Theory]
    [MemberData(nameof(Cases))]
    public void Write_NumbersOfTheMarks_AreThoseOfTheRows(string id, string language)
    {
        (Handout handout, Critique critique) = DemoHandouts.Write(id, language);
        int[] marks = [.. handout.Marks.Select(mark => mark.Number)];

        Assert.Equal(Enumerable.Range(1, marks.Length), marks);
        Assert.Equal(marks, handout.Rows.Select(row => row.Mark).OfType<int>().Distinct().Order());
        Assert.Equal(critique.Lines.Select(line => line.Id), handout.Rows.Select(row => row.LineId));
        Assert.All(handout.Rows.Where(row => row.Mark is not null), row => Assert.NotEmpty(critique.Lines.Single(line => line.Id == row.LineId).Evidence));

        // Each number lies inside what is shown, and no two discs overlap.
        var view = new HandoutPicture([], 0, 0, handout.View);
        Drawing.PlacedNumber[] placed = [.. Drawing.NumberedMarks.Place(view.Placed(handout.Marks), handout.View.Width, handout.View.Height)];
        double disc = Drawing.NumberedMarks.DiscShare * Math.Max(handout.View.Width, handout.View.Height);
        Assert.Equal(marks.Length, placed.Length);
        Assert.All(placed, number => Assert.True(number.At.X >= disc && number.At.X <= handout.View.Width - disc && number.At.Y >= disc && number.At.Y <= handout.View.Height - disc));
        Assert.All(placed, number => Assert.All(placed.Where(other => other != number), other => Assert.True(number.At.DistancePixelsTo(other.At) > 2 * disc)));
    }

    [Fact]
    public void Write_FiguresOfTheCritique_StandInTheRows()
    {
        (Handout handout, Critique critique) = DemoHandouts.Write("knee-ap-underexposed", "en");

        foreach (ChecklistLine line in critique.Lines.Where(line => line.Figure is not null))
        {
            Assert.Equal(line.Figure, handout.Rows.Single(row => row.LineId == line.Id).Figure, ignoreCase: true);
        }

        Assert.Contains("±", handout.Rows.Single(row => row.LineId == "exposure.deviation-index").Figure, StringComparison.Ordinal);
        Assert.Equal(critique.Changes.Count, handout.Sections.Single(section => section.Part == HandoutPart.Changes).Paragraphs.Count);
        Assert.Contains(critique.Changes[0].Instruction, handout.Sections.Single(section => section.Part == HandoutPart.Changes).Paragraphs[0].Text, StringComparison.Ordinal);
    }

    [Fact]
    public void With_ATeachersWords_MarksThemAndSaysThatFiguresWereNotChecked()
    {
        Handout handout = DemoHandouts.Write("elbow-lateral-low", "en").Handout;
        Handout edited = handout.With(new Dictionary<string, string> { ["summary"] = "Look at the shoulder first.", ["gone"] = "nowhere" });

        HandoutParagraph summary = edited.Sections.Single(section => section.Part == HandoutPart.Summary).Paragraphs[0];
        Assert.Equal("Look at the shoulder first.", summary.Text);
        Assert.Equal(handout.Sections[0].Paragraphs[0].Text, summary.Written);
        Assert.True(summary.IsTyped);
        Assert.Contains(edited.Paragraphs, paragraph => paragraph.Text.Contains("were not checked", StringComparison.Ordinal));
        Assert.DoesNotContain(handout.Paragraphs, paragraph => paragraph.Text.Contains("were not checked", StringComparison.Ordinal));
        Assert.Equal(handout.Paragraphs.Select(paragraph => paragraph.Text), handout.With(new Dictionary<string, string>()).Paragraphs.Select(paragraph => paragraph.Text));
    }

    private static string Told(Handout handout)
    {
        var text = new StringBuilder(handout.Title.Text).Append('\n');
        foreach (HandoutSection section in handout.Sections.Where(section => section.Part != HandoutPart.Checklist))
        {
            text.Append(section.Heading is null ? "\n" : $"\n# {section.Heading}\n");
            foreach (HandoutParagraph paragraph in section.Paragraphs)
            {
                text.Append(paragraph.Term is null ? string.Empty : $"{paragraph.Term}: ").Append(paragraph.Text).Append('\n');
            }
        }

        return text.ToString();
    }

    private static IEnumerable<string> Faults(IEnumerable<string> paragraphs)
    {
        string before = string.Empty;
        foreach (string text in paragraphs)
        {
            if (text.Contains("  ", StringComparison.Ordinal) || Place().IsMatch(text) || text.Contains("..", StringComparison.Ordinal) || text.Contains(" .", StringComparison.Ordinal) || text.Contains(" ,", StringComparison.Ordinal))
            {
                yield return $"spaces, stops or an unfilled place: {text}";
            }

            if (text.Length > 0 && text[^1] is not ('.' or '?' or '!' or '”' or '“' or '»'))
            {
                yield return $"no end: {text}";
            }

            foreach (string sentence in SentenceEnd().Split(text))
            {
                string[] words = sentence.Split(' ', StringSplitOptions.RemoveEmptyEntries);
                string start = string.Join(' ', words.Take(3));
                if (words.Length > 40)
                {
                    yield return $"{words.Length} words: {sentence}";
                }

                if (words.Length > 3 && start == before)
                {
                    yield return $"begins like the one before: {sentence}";
                }

                if (Same().IsMatch(sentence))
                {
                    yield return $"says that a thing is itself: {sentence}";
                }

                before = start;
            }
        }
    }

    [GeneratedRegex(@"(?<=[.?!][”“»]?)\s+(?=\p{Lu}|[„«“¿])")]
    private static partial Regex SentenceEnd();

    [GeneratedRegex(@"\{\d*\}")]
    private static partial Regex Place();

    [GeneratedRegex(@"^(?:the|die|der|das|el|la) (\p{L}+) (?:is|ist|es) (?:the|die|der|das|el|la) \1\b", RegexOptions.IgnoreCase)]
    private static partial Regex Same();

    [GeneratedRegex(@"[−+<]?\d+(?:[.,]\d+)*")]
    private static partial Regex FigureInText();
}
