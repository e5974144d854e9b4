using System.Text.Json.Serialization;
using Hotlight.Core;

namespace Hotlight.Teaching.WalkThroughs;

/// <summary>A critique told step by step: what is looked at, how it is shown, what is drawn and what is said. Immutable; docs/walk-throughs.md has its JSON form.</summary>
public sealed record WalkThrough
{
    /// <summary>The value of <see cref="Schema"/> in this version.</summary>
    public const string SchemaName = "hotlight.walk-through/1";

    /// <summary>Most steps.</summary>
    public const int MostSteps = 200;

    /// <summary>Longest title or heading, in characters.</summary>
    public const int TitleMaxLength = 200;

    /// <summary>Name and version of the document's form.</summary>
    public string Schema { get; init; } = SchemaName;

    /// <summary>Its title.</summary>
    public required string Title { get; init; }

    /// <summary>Code of the language it is told in, such as "de".</summary>
    public required string Language { get; init; }

    /// <summary>Identifier of the projection.</summary>
    public required string ProjectionId { get; init; }

    /// <summary>Name of the projection.</summary>
    public required string ProjectionName { get; init; }

    /// <summary>Whether the exposure is a simulated one: nobody was exposed.</summary>
    public required bool IsInvented { get; init; }

    /// <summary>What every showing says. It is not a setting.</summary>
    public required string Caution { get; init; }

    /// <summary>Size and proportions of the image that views and marks lie on.</summary>
    public required WalkImage Image { get; init; }

    /// <summary>The steps in their order, 1 to <see cref="MostSteps"/>.</summary>
    public required IReadOnlyList<WalkStep> Steps { get; init; }

    /// <summary>Outline of the exposed field as the first mark that draws it, in pixels of the stored image; null: none does. What lies outside is shown shaded.</summary>
    [JsonIgnore]
    public IReadOnlyList<PixelPoint>? FieldOutline => Steps.SelectMany(step => step.Marks).FirstOrDefault(mark => mark is { IsClosed: true, Points.Count: > 2 } && mark.Kind.StartsWith("field-", StringComparison.Ordinal))?.Points;

    /// <summary>How long it plays at its own pace of reading, in seconds.</summary>
    [JsonIgnore]
    public double Seconds => Steps.Sum(step => step.Seconds);
}

/// <summary>The image that a walk-through lies on.</summary>
/// <param name="Columns">Columns of the stored image.</param>
/// <param name="Rows">Rows of the stored image.</param>
/// <param name="PixelAspect">Height of a pixel over its width; 1: square.</param>
/// <param name="Window">The window it is shown with where a step names none.</param>
public sealed record WalkImage(int Columns, int Rows, double PixelAspect, WalkWindow Window)
{
    /// <summary>The whole image.</summary>
    [JsonIgnore]
    public WalkView Whole => new(-0.5, -0.5, Columns, Rows);
}

/// <summary>A rectangle of the image that is wholly in sight, as large as the place for it allows.</summary>
/// <param name="X">Left edge, in pixels of the stored image; the centre of the first pixel is 0.</param>
/// <param name="Y">Upper edge, in pixels.</param>
/// <param name="Width">Width, in pixels, above 0.</param>
/// <param name="Height">Height, in pixels, above 0.</param>
public sealed record WalkView(double X, double Y, double Width, double Height)
{
    /// <summary>Whether a place lies in it, its edges included.</summary>
    /// <param name="point">The place.</param>
    public bool Holds(PixelPoint point) => point.X >= X && point.X <= X + Width && point.Y >= Y && point.Y <= Y + Height;
}

/// <summary>A window.</summary>
/// <param name="Center">Its centre, in modality values.</param>
/// <param name="Width">Its width, in modality values, above 0.</param>
public sealed record WalkWindow(double Center, double Width);

/// <summary>What a step is of.</summary>
public enum WalkStepKind
{
    /// <summary>The whole image, and what was asked for.</summary>
    Opening,

    /// <summary>A line of the checklist.</summary>
    Line,

    /// <summary>Several lines of one part of the checklist.</summary>
    Lines,

    /// <summary>The outlines of a simulated phantom over the image: as the part lay, or as it should lie.</summary>
    Phantom,

    /// <summary>The verdict.</summary>
    Verdict,

    /// <summary>A change for the next exposure.</summary>
    Change,

    /// <summary>What a repeat costs and gives.</summary>
    Cost,

    /// <summary>What remains unknown.</summary>
    Unknown,

    /// <summary>A teacher's own.</summary>
    Own,
}

/// <summary>One step.</summary>
public sealed record WalkStep
{
    /// <summary>Longest caption, in characters.</summary>
    public const int CaptionMaxLength = 2000;

    /// <summary>Shortest step, in seconds.</summary>
    public const double LeastSeconds = 1;

    /// <summary>Longest step, in seconds.</summary>
    public const double MostSeconds = 600;

    /// <summary>Identifies it in its walk-through, whatever is changed in it.</summary>
    public required string Id { get; init; }

    /// <summary>What it is of.</summary>
    public required WalkStepKind Kind { get; init; }

    /// <summary>The line of the checklist; null where it is not of one.</summary>
    public string? LineId { get; init; }

    /// <summary>What it is about, a few words.</summary>
    public required string Heading { get; init; }

    /// <summary>What is said, in sentences.</summary>
    public required string Caption { get; init; }

    /// <summary>How long it plays, in seconds.</summary>
    public required double Seconds { get; init; }

    /// <summary>What is in sight.</summary>
    public required WalkView View { get; init; }

    /// <summary>The window; null: as the image is opened.</summary>
    public WalkWindow? Window { get; init; }

    /// <summary>What is drawn.</summary>
    public IReadOnlyList<WalkMark> Marks { get; init; } = [];

    /// <summary>What a teacher did and said; null where nothing is recorded.</summary>
    public WalkRecording? Recording { get; init; }
}

/// <summary>One mark of a step.</summary>
/// <param name="Kind">Name of its style, such as "tighter-field".</param>
/// <param name="Points">Its line, in pixels of the stored image.</param>
/// <param name="IsClosed">Whether the last point is joined to the first.</param>
/// <param name="FromSeconds">When drawing it begins, in seconds of the step.</param>
public sealed record WalkMark(string Kind, IReadOnlyList<PixelPoint> Points, bool IsClosed, double FromSeconds);

/// <summary>What a teacher did and said in a step. Times are in seconds from its beginning, places in pixels of the stored image.</summary>
public sealed record WalkRecording
{
    /// <summary>How long it lasts.</summary>
    public required double Seconds { get; init; }

    /// <summary>The voice; null: without.</summary>
    public WalkVoice? Voice { get; init; }

    /// <summary>What was in sight: [time, x, y, width, height], straight between entries; empty: the step's view all the time.</summary>
    public IReadOnlyList<double[]> Views { get; init; } = [];

    /// <summary>The window: [time, centre, width], straight between entries; empty: the step's window all the time.</summary>
    public IReadOnlyList<double[]> Windows { get; init; } = [];

    /// <summary>Where the pointer was: runs of [time, x, y]; between runs it was away.</summary>
    public IReadOnlyList<IReadOnlyList<double[]>> Pointer { get; init; } = [];

    /// <summary>What was drawn: lines of [time, x, y]; each stays to the step's end.</summary>
    public IReadOnlyList<IReadOnlyList<double[]>> Strokes { get; init; } = [];
}

/// <summary>A recorded voice, kept as a file of its own.</summary>
/// <param name="Sha256">SHA-256 of the file, 64 lower-case hexadecimal digits.</param>
/// <param name="MediaType">Its kind, such as "audio/webm;codecs=opus".</param>
/// <param name="Bytes">Its size.</param>
public sealed record WalkVoice(string Sha256, string MediaType, long Bytes);
