namespace Hotlight.Privacy;

/// <summary>What was done with one attribute of a file.</summary>
/// <param name="Tag">Its tag as the standard prints it; of a picture the name of the part, such as "tEXt".</param>
/// <param name="Keyword">Its keyword; null where the standard does not know it.</param>
/// <param name="Action">What was done.</param>
/// <param name="Count">How often, over all nested items.</param>
public sealed record PrivacyChange(string Tag, string? Keyword, PrivacyAction Action, int Count);

/// <summary>What was changed in a file; it never holds a value.</summary>
/// <param name="Changes">The changes, by tag.</param>
/// <param name="Warnings">What a person must still look at, one sentence each.</param>
public sealed record PrivacyReport(IReadOnlyList<PrivacyChange> Changes, IReadOnlyList<string> Warnings);

/// <summary>A file without its patient's identity.</summary>
/// <param name="Content">Its bytes.</param>
/// <param name="Identity">Which patient and examination it belongs to, under their pseudonyms.</param>
/// <param name="Report">What was changed.</param>
public sealed record DeidentifiedFile(byte[] Content, CaseIdentity Identity, PrivacyReport Report);
