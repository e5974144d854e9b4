using System.Text.Json;
using System.Text.Json.Serialization;
using Hotlight.Privacy;

namespace Hotlight.Workflows.Teaching.Collections;

/// <summary>What was taken out of the files of a collection and searched for before it was shared; it never holds a value.</summary>
/// <param name="Cases">Each case.</param>
/// <param name="Values">How many values of all cases the whole file was searched for, in all their spellings; none was found, or there would be no file.</param>
/// <param name="Bytes">Bytes of the whole file.</param>
public sealed record SharedPrivacy(IReadOnlyList<SharedCasePrivacy> Cases, int Values, long Bytes)
{
    private static readonly JsonSerializerOptions Options = new()
    {
        PropertyNamingPolicy = JsonNamingPolicy.CamelCase,
        WriteIndented = true,
        Converters = { new JsonStringEnumConverter(JsonNamingPolicy.KebabCaseLower) },
        DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull,
    };

    /// <summary>The report as JSON, to be kept where the originals are.</summary>
    public string ToJson() => JsonSerializer.Serialize(this, Options) + "\n";
}

/// <summary>One case of a collection.</summary>
/// <param name="Folder">Its folder in the file.</param>
/// <param name="Title">Its title.</param>
/// <param name="Report">What was changed in its DICOM file; null: it is a picture, of which the pixels alone are shared.</param>
public sealed record SharedCasePrivacy(string Folder, string Title, PrivacyReport? Report);
