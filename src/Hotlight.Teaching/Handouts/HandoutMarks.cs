using Hotlight.Core;
using Hotlight.Drawing;
using Hotlight.Judgement;
using Hotlight.Privacy.Publishing;

namespace Hotlight.Teaching.Handouts;

/// <summary>The evidence of a critique's lines as numbered marks: lines that rest on the same evidence share a number.</summary>
internal sealed class HandoutMarks
{
    private readonly Dictionary<string, int> numbers = new(StringComparer.Ordinal);
    private readonly Dictionary<int, string> words = [];

    /// <summary>Numbers the evidence in the order of the checklist.</summary>
    /// <param name="critique">The critique.</param>
    /// <param name="columns">Columns of the stored image.</param>
    /// <param name="rows">Rows of the stored image.</param>
    public HandoutMarks(Critique critique, int columns, int rows)
    {
        ILookup<MarkKind, OverlayMark> drawn = OverlayMarks.From(critique.Measurements, columns, rows).ToLookup(mark => mark.Kind);
        Dictionary<EvidenceKind, int> known = [];
        List<NumberedMark> all = [];
        foreach (ChecklistLine line in critique.Lines.Where(line => line.Evidence.Count > 0 && line.State != ChecklistState.NotApplicable
            && !(line.State == ChecklistState.Met && line.Evidence[^1].Kind == EvidenceKind.CutSide)))
        {
            // The last kind tells most: a field that would have been enough stands behind the field itself.
            EvidenceKind kind = line.Evidence[^1].Kind is EvidenceKind.TighterField && line.State == ChecklistState.Met ? line.Evidence[0].Kind : line.Evidence[^1].Kind;
            if (known.TryGetValue(kind, out int number))
            {
                numbers[line.Id] = number;
                continue;
            }

            OverlayMark[] marks = MarksOf(kind, drawn) is { Length: > 0 } styled ? styled
                : [.. line.Evidence.Where(each => each.Kind == kind).SelectMany(each => each.Outlines.Select(outline => new OverlayMark(StyleOf(kind), outline, each.Closed)))];
            marks = [.. marks.Where(mark => mark.Points.Count > 1)];
            if (marks.Length > 0)
            {
                known[kind] = all.Count + 1;
                numbers[line.Id] = all.Count + 1;
                words[all.Count + 1] = WordsOf(kind);
                all.Add(new NumberedMark(all.Count + 1, marks));
            }
        }

        All = all;
    }

    /// <summary>The marks, by number.</summary>
    public IReadOnlyList<NumberedMark> All { get; }

    /// <summary>The part of the stored image that a page shows: the exposed field with all marks and a rim; the whole image where the field cannot be told or nearly fills it.</summary>
    /// <param name="critique">The critique.</param>
    /// <param name="columns">Columns of the stored image.</param>
    /// <param name="rows">Rows of the stored image.</param>
    public PixelBox View(Critique critique, int columns, int rows)
    {
        var whole = new PixelBox(0, 0, columns, rows);
        if (critique.Measurements.Field.Value is not { Outline.Count: > 2 } field)
        {
            return whole;
        }

        PixelPoint[] points = [.. field.Outline, .. All.SelectMany(mark => mark.Marks).SelectMany(mark => mark.Points)];
        int left = (int)Math.Clamp(Math.Floor(points.Min(point => point.X)), 0, columns - 1);
        int top = (int)Math.Clamp(Math.Floor(points.Min(point => point.Y)), 0, rows - 1);
        int right = (int)Math.Clamp(Math.Ceiling(points.Max(point => point.X)) + 1, left + 1, columns);
        int bottom = (int)Math.Clamp(Math.Ceiling(points.Max(point => point.Y)) + 1, top + 1, rows);
        PixelBox view = new PixelBox(left, top, right - left, bottom - top).Grown((int)(0.03 * Math.Max(columns, rows)), columns, rows);
        return whole.ShareIn(view) > 0.9 ? whole : view;
    }

    /// <summary>Number of a line's mark; null where it has none.</summary>
    public int? NumberOf(string lineId) => numbers.TryGetValue(lineId, out int number) ? number : null;

    /// <summary>What a number stands for.</summary>
    public string WordsOf(int number) => words[number];

    // Lines of the field by what ends it, the skin line where it is skin: as on every picture of Hotlight.
    private static OverlayMark[] MarksOf(EvidenceKind kind, ILookup<MarkKind, OverlayMark> drawn) => kind switch
    {
        EvidenceKind.Field => [.. drawn[MarkKind.FieldBeamEdge], .. drawn[MarkKind.FieldMaskEdge], .. drawn[MarkKind.FieldReceptorEdge]],
        EvidenceKind.CutSide => [],
        _ => [.. drawn[StyleOf(kind)]],
    };

    private static MarkKind StyleOf(EvidenceKind kind) => kind switch
    {
        EvidenceKind.Field => MarkKind.FieldBeamEdge,
        EvidenceKind.Anatomy => MarkKind.SkinOutline,
        EvidenceKind.TighterField => MarkKind.TighterField,
        EvidenceKind.LostSkin => MarkKind.LostSkin,
        EvidenceKind.MottlePlace => MarkKind.MottlePlace,
        EvidenceKind.SharpEdge => MarkKind.SharpEdge,
        EvidenceKind.SideMarker => MarkKind.SideMarker,
        _ => MarkKind.Artifact,
    };

    private static string WordsOf(EvidenceKind kind) => kind switch
    {
        EvidenceKind.Field => Texts.Get("handout.mark.field"),
        EvidenceKind.Anatomy => Texts.Get("handout.mark.anatomy"),
        EvidenceKind.TighterField => Texts.Get("handout.mark.tighter-field"),
        EvidenceKind.LostSkin => Texts.Get("handout.mark.lost-skin"),
        EvidenceKind.MottlePlace => Texts.Get("handout.mark.mottle"),
        EvidenceKind.CutSide => Texts.Get("handout.mark.cut-side"),
        EvidenceKind.SharpEdge => Texts.Get("handout.mark.sharp-edge"),
        EvidenceKind.SideMarker => Texts.Get("handout.mark.side-marker"),
        _ => Texts.Get("handout.mark.artifact"),
    };
}
