using System.Text.Json;
using System.Text.Json.Serialization;
using Hotlight.Core;
using Hotlight.Imaging.Dicom;
using Hotlight.Measure.Document;
using Hotlight.Privacy;

namespace Hotlight.Workflows.Intake;

/// <summary>What a bench is set up for.</summary>
public enum IntakeSetting
{
    /// <summary>Teaching: only the file without its patient's identity is kept.</summary>
    Teaching,

    /// <summary>Quality work in a clinic: files are kept as they are.</summary>
    Clinical,
}

/// <summary>What happens to a file on its way in.</summary>
public sealed class IntakePolicy
{
    private readonly PrivacyKey? key;
    private readonly Deidentifier? deidentifier;

    /// <summary>Creates the policy.</summary>
    /// <param name="setting">What the bench is set up for.</param>
    /// <param name="key">The store's key.</param>
    /// <param name="retained">What stays in a teaching set-up beside what the basic profile leaves.</param>
    public IntakePolicy(IntakeSetting setting, PrivacyKey key, Retained retained = Retained.ForTeaching)
    {
        ArgumentNullException.ThrowIfNull(key);
        Setting = setting;
        this.key = key;
        deidentifier = setting == IntakeSetting.Teaching ? new Deidentifier(key, retained) : null;
    }

    private IntakePolicy() => Setting = IntakeSetting.Clinical;

    /// <summary>Files are kept as they are, and patients are not told apart.</summary>
    public static IntakePolicy AsItIs { get; } = new();

    /// <summary>What the bench is set up for.</summary>
    public IntakeSetting Setting { get; }

    /// <summary>A file as it is to be kept.</summary>
    /// <param name="content">The bytes as they came; borrowed.</param>
    /// <param name="fileName">Name as it came, for the reader.</param>
    /// <param name="cancellation">Stops it.</param>
    /// <exception cref="UnreadableImageException">In a teaching set-up: it is no radiograph, or its patient's identity cannot be taken out.</exception>
    public IntakeFile Prepare(ReadOnlyMemory<byte> content, string fileName, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(fileName);
        if (deidentifier is not null)
        {
            DeidentifiedFile cleaned = deidentifier.Clean(content, fileName, cancellation);
            return new IntakeFile(cleaned.Content, deidentifier.NameFor(content, fileName, cleaned.Identity), cleaned.Identity, cleaned.Report);
        }

        return new IntakeFile(content, fileName, IdentityOf(content, fileName, cancellation), null);
    }

    private CaseIdentity IdentityOf(ReadOnlyMemory<byte> content, string fileName, CancellationToken cancellation)
    {
        try
        {
            return DicomContent.LooksLikeDicom(content.Span) ? CaseIdentity.Of(DicomContent.Read(content, fileName, cancellation).Dataset, key) : CaseIdentity.None;
        }
        catch (UnreadableImageException)
        {
            // A nested sequence may be damaged where the radiograph is not: then the examination stays unknown.
            return CaseIdentity.None;
        }
    }
}

/// <summary>A file as it is to be kept.</summary>
/// <param name="Content">Its bytes.</param>
/// <param name="FileName">Its name, for the reader.</param>
/// <param name="Identity">Which patient and examination it belongs to.</param>
/// <param name="Report">What was taken out; null where the file is kept as it came.</param>
public sealed record IntakeFile(ReadOnlyMemory<byte> Content, string FileName, CaseIdentity Identity, PrivacyReport? Report)
{
    private static readonly JsonSerializerOptions Json = new()
    {
        PropertyNamingPolicy = JsonNamingPolicy.CamelCase,
        Converters = { new JsonStringEnumConverter(JsonNamingPolicy.KebabCaseLower) },
    };

    /// <summary>The report as JSON, without any value; null where there is none.</summary>
    public string? ReportJson => Report is null ? null : JsonSerializer.Serialize(Report, Json);

    /// <summary>Reads a report that was kept with a case.</summary>
    /// <param name="json">The JSON; null: there is none.</param>
    /// <returns>Null where there is none or another version wrote it in a way this one does not read.</returns>
    public static PrivacyReport? ReadReport(string? json)
    {
        try
        {
            return json is null ? null : JsonSerializer.Deserialize<PrivacyReport>(json, Json);
        }
        catch (JsonException)
        {
            return null;
        }
    }

    /// <summary>A report that is kept with a case, with what the pixels showed when they were measured.</summary>
    /// <param name="json">The JSON; null: there is none.</param>
    /// <param name="processing">Signs of processing; null: not looked for.</param>
    public static string? WithSigns(string? json, ProcessingMeasurement? processing)
        => processing?.Details?.FirstOrDefault(sign => sign.Kind == ProcessingKind.DrawnText) is { } drawn && ReadReport(json) is { } report
            ? JsonSerializer.Serialize(report with { Warnings = [$"Something is drawn into the pixels: look whether it names anybody. {drawn.Sentence}", .. report.Warnings] }, Json)
            : json;
}
