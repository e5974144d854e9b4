using System.Globalization;
using System.Security.Cryptography;
using System.Text;
using System.Text.Json;
using Hotlight.Measure;
using Hotlight.Measure.Document;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Clinic;

namespace Hotlight.Workflows.Measuring;

/// <summary>A file of measurement documents, one a line, that is taken up where it was left: what it holds of an unchanged file is not measured again.</summary>
/// <remarks>Each document is written whole, with its <see cref="MeasurementOrigin"/>, and flushed before the next file is begun. A line that a stopped program left unfinished is taken off when the file is opened again.</remarks>
public sealed class ResultsFile : IDisposable
{
    /// <summary>How the name of such a file ends.</summary>
    public const string Ending = ".jsonl";

    private readonly FileStream stream;
    private readonly Dictionary<string, MeasurementOrigin> kept = new(StringComparer.Ordinal);
    private readonly string options;

    private ResultsFile(FileStream stream, string options)
    {
        this.stream = stream;
        this.options = options;
    }

    /// <summary>Number of documents that were there when the file was opened.</summary>
    public int AlreadyThere { get; private set; }

    /// <summary>Opens a file of results, or begins one.</summary>
    /// <param name="path">Its path.</param>
    /// <param name="options">What the caller tells of the exposures; documents made with other options are measured again.</param>
    /// <param name="clinic">The clinic's settings; documents made with others are measured again. Null: none.</param>
    /// <exception cref="FolderException">It cannot be opened, or is another kind of file; the message is one sentence.</exception>
    public static ResultsFile Open(string path, MeasureOptions options, ClinicSettings? clinic = null)
    {
        ArgumentException.ThrowIfNullOrEmpty(path);
        ArgumentNullException.ThrowIfNull(options);
        FileStream stream;
        try
        {
            stream = new FileStream(path, FileMode.OpenOrCreate, FileAccess.ReadWrite, FileShare.Read);
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException or NotSupportedException)
        {
            throw new FolderException($"{Path.GetFileName(path)}: it cannot be written: {(error is UnauthorizedAccessException ? "permission is denied" : error.Message.Split(" : ")[0].TrimEnd('.'))}.", error);
        }

        var results = new ResultsFile(stream, Fingerprint(options, clinic));
        try
        {
            results.TakeUp(Path.GetFileName(path));
            return results;
        }
        catch
        {
            stream.Dispose();
            throw;
        }
    }

    /// <summary>Whether the file of results holds what this version measured of a file as it is now.</summary>
    /// <param name="path">Path of the file.</param>
    public bool Holds(string path)
        => kept.TryGetValue(path, out MeasurementOrigin? origin) && Origin(path) is { } now && now == origin;

    /// <summary>Adds a document and flushes it to disk.</summary>
    /// <param name="path">Path of the file that was measured.</param>
    /// <param name="document">What was measured.</param>
    public void Add(string path, MeasurementDocument document)
    {
        ArgumentNullException.ThrowIfNull(document);
        byte[] line = Encoding.UTF8.GetBytes(MeasurementJson.Write(document with { Origin = Origin(path) }) + "\n");
        stream.Write(line);
        stream.Flush(flushToDisk: false);
    }

    /// <inheritdoc/>
    public void Dispose() => stream.Dispose();

    private static string Fingerprint(MeasureOptions options, ClinicSettings? clinic)
        => Convert.ToHexStringLower(SHA256.HashData([.. JsonSerializer.SerializeToUtf8Bytes(options), .. Encoding.UTF8.GetBytes(clinic?.ResultKey ?? string.Empty)]))[..12];

    private MeasurementOrigin? Origin(string path)
    {
        var file = new FileInfo(path);
        return file.Exists
            ? new MeasurementOrigin
            {
                Path = path,
                Bytes = file.Length,
                Modified = file.LastWriteTimeUtc.ToString("O", CultureInfo.InvariantCulture),
                MeasuredBy = CaseWorkflow.ThisVersion,
                Options = options,
            }
            : null;
    }

    private void TakeUp(string name)
    {
        using var reader = new StreamReader(stream, new UTF8Encoding(encoderShouldEmitUTF8Identifier: false), detectEncodingFromByteOrderMarks: false, 1 << 16, leaveOpen: true);
        string text = reader.ReadToEnd();
        int end = text.LastIndexOf('\n') + 1;
        foreach (string line in text[..end].Split('\n', StringSplitOptions.RemoveEmptyEntries))
        {
            MeasurementOrigin? origin;
            try
            {
                using JsonDocument document = JsonDocument.Parse(line);
                if (!document.RootElement.TryGetProperty("schema", out JsonElement schema) || schema.GetString() != MeasurementDocument.SchemaName)
                {
                    throw new JsonException("Not a measurement document.");
                }

                origin = document.RootElement.TryGetProperty("origin", out JsonElement element) ? element.Deserialize<MeasurementOrigin>(MeasurementJson.Compact) : null;
            }
            catch (Exception error) when (error is JsonException or InvalidOperationException)
            {
                throw new FolderException($"{name}: it holds something else than measurement documents; give the results a new name.", error);
            }

            if (origin is not null)
            {
                kept[origin.Path] = origin;
                AlreadyThere++;
            }
        }

        if (end == 0 && text.Length > 0 && !text.StartsWith("{\"schema\"", StringComparison.Ordinal))
        {
            throw new FolderException($"{name}: it holds something else than measurement documents; give the results a new name.");
        }

        long whole = Encoding.UTF8.GetByteCount(text.AsSpan(0, end));
        stream.SetLength(whole);
        stream.Seek(0, SeekOrigin.End);
    }
}
