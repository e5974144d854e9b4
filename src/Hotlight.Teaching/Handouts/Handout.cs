using Hotlight.Core;
using Hotlight.Drawing;
using Hotlight.Judgement;
using Hotlight.Privacy.Publishing;

namespace Hotlight.Teaching.Handouts;

/// <summary>The parts of a handout, in the order they are read.</summary>
public enum HandoutPart
{
    /// <summary>The verdict in one sentence.</summary>
    Summary,

    /// <summary>The radiograph with its marks.</summary>
    Picture,

    /// <summary>Verdict, reasons, cost of a repeat.</summary>
    Verdict,

    /// <summary>What is missed and weighs no repeat.</summary>
    Besides,

    /// <summary>Changes for the next exposure.</summary>
    Changes,

    /// <summary>The position in space as a simulation, where the reader asked for it.</summary>
    Simulation,

    /// <summary>Lines that nobody could tell, with what would settle them.</summary>
    Unknown,

    /// <summary>Questions to whoever reads it.</summary>
    Questions,

    /// <summary>The checklist with its figures.</summary>
    Checklist,

    /// <summary>What each figure means.</summary>
    Definitions,

    /// <summary>Cautions.</summary>
    Cautions,

    /// <summary>Versions and how it was made.</summary>
    Versions,
}

/// <summary>How the paragraphs of a section are set.</summary>
public enum HandoutShape
{
    /// <summary>One after the other.</summary>
    Plain,

    /// <summary>With a bullet each.</summary>
    Bullets,

    /// <summary>Numbered, in their order.</summary>
    Numbers,

    /// <summary>Term and meaning.</summary>
    Definitions,
}

/// <summary>One paragraph or item, which a teacher can word otherwise.</summary>
/// <param name="Id">Identifies it from making to making, such as "reason.position.palm-flat".</param>
/// <param name="Text">What it says.</param>
public sealed record HandoutParagraph(string Id, string Text)
{
    /// <summary>The term that a definition is of; null elsewhere.</summary>
    public string? Term { get; init; }

    /// <summary>What the bench wrote, where a teacher worded it otherwise; null where it stands as written.</summary>
    public string? Written { get; init; }

    /// <summary>Whether words that somebody typed stand in it: a remark, a reason, a teacher's words.</summary>
    public bool IsTyped { get; init; }
}

/// <summary>A section with its heading.</summary>
/// <param name="Part">Which.</param>
/// <param name="Heading">Its heading; null: it has none.</param>
/// <param name="Shape">How it is set.</param>
/// <param name="Paragraphs">Its paragraphs; empty for a section that is a table alone.</param>
public sealed record HandoutSection(HandoutPart Part, string? Heading, HandoutShape Shape, IReadOnlyList<HandoutParagraph> Paragraphs);

/// <summary>A line of the checklist as a row of a table.</summary>
public sealed record HandoutRow
{
    /// <summary>Identifier of the line.</summary>
    public required string LineId { get; init; }

    /// <summary>Heading of the lines from here on; null where it goes on.</summary>
    public string? Section { get; init; }

    /// <summary>Number of its mark on the radiograph; null where it has none.</summary>
    public int? Mark { get; init; }

    /// <summary>The question.</summary>
    public required string Question { get; init; }

    /// <summary>How it stands.</summary>
    public required ChecklistState State { get; init; }

    /// <summary>The same in words.</summary>
    public required string StateWord { get; init; }

    /// <summary>The figure with unit and uncertainty; empty where there is none.</summary>
    public required string Figure { get; init; }

    /// <summary>Who decided it, in words; empty where nobody did.</summary>
    public required string Decided { get; init; }

    /// <summary>The reader's remark or what was overruled, which somebody typed or caused; null where there is none.</summary>
    public string? Note { get; init; }
}

/// <summary>A critique as a page to learn from: texts, rows and marks; it knows no page and no paper.</summary>
public sealed record Handout
{
    /// <summary>Code of its language, such as "en".</summary>
    public required string Language { get; init; }

    /// <summary>Its title.</summary>
    public required HandoutParagraph Title { get; init; }

    /// <summary>The sentence that Hotlight is no diagnostic device; it cannot be edited.</summary>
    public required string Safety { get; init; }

    /// <summary>The sections in their order.</summary>
    public required IReadOnlyList<HandoutSection> Sections { get; init; }

    /// <summary>The checklist.</summary>
    public required IReadOnlyList<HandoutRow> Rows { get; init; }

    /// <summary>The marks, by the numbers of the rows.</summary>
    public required IReadOnlyList<NumberedMark> Marks { get; init; }

    /// <summary>The part of the stored image that is shown.</summary>
    public required PixelBox View { get; init; }

    /// <summary>Outline of the exposed field, in pixels of the stored image: on a screen what lies outside is dimmed; empty where it cannot be told.</summary>
    public required IReadOnlyList<PixelPoint> Field { get; init; }

    /// <summary>What the picture shows, for those who do not see it.</summary>
    public required string PictureDescription { get; init; }

    /// <summary>The figure of the position in space; null where there is none.</summary>
    public HandoutSimulation? Simulation { get; init; }

    /// <summary>What that figure shows, for those who do not see it; empty where there is none.</summary>
    public string SimulationDescription { get; init; } = string.Empty;

    /// <summary>Headings and words of the table: number, line, state, figure, decided, and its caption.</summary>
    public required HandoutTableWords Table { get; init; }

    /// <summary>The word that stands beside a teacher's paragraph.</summary>
    public required string EditedWord { get; init; }

    /// <summary>The line at the foot of a printed page.</summary>
    public required string Foot { get; init; }

    /// <summary>"page {0} of {1}".</summary>
    public required string PageWords { get; init; }

    /// <summary>All paragraphs that can be edited, the title first.</summary>
    public IEnumerable<HandoutParagraph> Paragraphs => Sections.SelectMany(section => section.Paragraphs).Prepend(Title);

    /// <summary>The same with a teacher's words in place of the bench's.</summary>
    /// <param name="edits">Text by identifier of the paragraph; one that is not there any more is passed over.</param>
    public Handout With(IReadOnlyDictionary<string, string> edits)
    {
        ArgumentNullException.ThrowIfNull(edits);
        HandoutParagraph Edited(HandoutParagraph paragraph)
            => edits.TryGetValue(paragraph.Id, out string? text) && text != paragraph.Text
                ? paragraph with { Text = text, Written = paragraph.Text, IsTyped = true }
                : paragraph;

        HandoutSection[] sections = [.. Sections.Select(section => section with { Paragraphs = [.. section.Paragraphs.Select(Edited)] })];
        HandoutParagraph title = Edited(Title);
        bool isEdited = title.Written is not null || sections.Any(section => section.Paragraphs.Any(paragraph => paragraph.Written is not null));
        return this with
        {
            Title = title,
            Sections = isEdited
                ? [.. sections.Select(section => section.Part == HandoutPart.Versions ? section with { Paragraphs = [.. section.Paragraphs, HandoutWriter.EditedNote()] } : section)]
                : sections,
        };
    }
}

/// <summary>Words of the checklist's table.</summary>
/// <param name="Mark">Heading of the numbers.</param>
/// <param name="Question">Heading of the lines.</param>
/// <param name="State">Heading of how they stand.</param>
/// <param name="Figure">Heading of the figures.</param>
/// <param name="Decided">Heading of who decided.</param>
/// <param name="Caption">What the table holds.</param>
public sealed record HandoutTableWords(string Mark, string Question, string State, string Figure, string Decided, string Caption);
