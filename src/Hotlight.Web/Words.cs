using System.Globalization;
using System.Text.Json;
using Hotlight.Judgement;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Critiques;

namespace Hotlight.Web;

/// <summary>Terms of the documents as words on a page.</summary>
internal static class Words
{
    /// <summary>A moment of the clock in the room, without a zone.</summary>
    public static string Clock(DateTime time) => time.ToString("yyyy-MM-dd HH:mm:ss", CultureInfo.InvariantCulture);

    /// <summary>Name of a state's style.</summary>
    public static string Css(ChecklistState state) => JsonNamingPolicy.KebabCaseLower.ConvertName(state.ToString());

    /// <summary>Who decided, in words.</summary>
    public static string Of(DecidedBy by) => by switch
    {
        DecidedBy.Measurement => "decided by measurement",
        DecidedBy.Header => "decided by the header",
        DecidedBy.Reader => "decided by the reader",
        _ => "for you to decide",
    };

    /// <summary>A verdict's term in words; a term of another version as it is.</summary>
    public static string OfVerdict(string term)
        => Enum.GetValues<VerdictKind>().Where(kind => Term(kind) == term).Select(CritiqueText.Verdict).FirstOrDefault(term);

    /// <summary>A verdict's term.</summary>
    public static string Term(VerdictKind kind) => JsonNamingPolicy.KebabCaseLower.ConvertName(kind.ToString());

    /// <summary>How far a reading is, in words.</summary>
    public static string Of(CaseState state) => state switch
    {
        CaseState.New => "new",
        CaseState.InWork => "in work",
        _ => "done",
    };

    /// <summary>How a file came in, in words.</summary>
    public static string Of(CaseOrigin origin) => origin switch
    {
        CaseOrigin.Upload => "this page",
        CaseOrigin.Inbox => "the inbox",
        CaseOrigin.Network => "the network",
        CaseOrigin.Web => "a web service",
        CaseOrigin.Demo => "the demo set",
        _ => "the phantom lab",
    };

    /// <summary>A name of the phantom lab's as words: "lumbarSpine" is "Lumbar spine", "ankle-ap" is "Ankle AP".</summary>
    public static string OfLab(string name)
    {
        ArgumentNullException.ThrowIfNull(name);
        string spaced = string.Concat(name.Select(letter => letter == '-' ? " " : char.IsAsciiLetterUpper(letter) ? $" {char.ToLowerInvariant(letter)}" : letter.ToString()));
        string[] words = [.. spaced.Split(' ', StringSplitOptions.RemoveEmptyEntries).Select(word => word is "ap" or "pa" or "dp" ? word.ToUpperInvariant() : word)];
        string text = string.Join(' ', words);
        return text.Length == 0 ? text : char.ToUpperInvariant(text[0]) + text[1..];
    }

    /// <summary>A time in the machine's zone, without seconds.</summary>
    public static string Time(DateTimeOffset time) => time.ToLocalTime().ToString("yyyy-MM-dd HH:mm", CultureInfo.InvariantCulture);

    /// <summary>A time that passed, in words of the larger unit.</summary>
    public static string Duration(TimeSpan time) => time < TimeSpan.FromMinutes(1)
        ? string.Create(CultureInfo.InvariantCulture, $"{(int)time.TotalSeconds} s")
        : time < TimeSpan.FromHours(1)
            ? string.Create(CultureInfo.InvariantCulture, $"{(int)time.TotalMinutes} min")
            : string.Create(CultureInfo.InvariantCulture, $"{(int)time.TotalHours} h {time.Minutes} min");

    /// <summary>A size of a file.</summary>
    public static string Size(long bytes) => bytes switch
    {
        < 1024 => string.Create(CultureInfo.InvariantCulture, $"{bytes} B"),
        < 1024 * 1024 => string.Create(CultureInfo.InvariantCulture, $"{bytes / 1024.0:0} KiB"),
        _ => string.Create(CultureInfo.InvariantCulture, $"{bytes / (1024.0 * 1024):0.0} MiB"),
    };
}
