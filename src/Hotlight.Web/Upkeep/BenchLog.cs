using System.Globalization;
using System.Text;
using System.Text.Encodings.Web;
using System.Text.Json;
using Microsoft.Extensions.Logging.Abstractions;
using Microsoft.Extensions.Logging.Console;

namespace Hotlight.Web.Upkeep;

/// <summary>How the bench's log is written.</summary>
public enum LogForm
{
    /// <summary>A line of words for a person.</summary>
    Lines,

    /// <summary>A JSON object in a line for a program.</summary>
    Json,
}

/// <summary>Writes the log without a patient's data: of errors their kinds and where they arose, never their messages, which may name files; of other libraries the fixed part of a sentence, never what was put into it.</summary>
/// <param name="form">The form.</param>
/// <param name="name">Name of the formatter.</param>
internal abstract class BenchLog(LogForm form, string name) : ConsoleFormatter(name)
{
    private const string OwnCategories = "Hotlight.";
    private const string Template = "{OriginalFormat}";
    private static readonly JsonWriterOptions Json = new() { Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping };

    /// <inheritdoc/>
    public override void Write<TState>(in LogEntry<TState> logEntry, IExternalScopeProvider? scopeProvider, TextWriter textWriter)
    {
        string sentence = logEntry.Category.StartsWith(OwnCategories, StringComparison.Ordinal)
            ? logEntry.Formatter(logEntry.State, null)
            : (logEntry.State as IEnumerable<KeyValuePair<string, object?>>)?.FirstOrDefault(each => each.Key == Template).Value as string ?? string.Empty;
        string time = DateTimeOffset.UtcNow.ToString("yyyy-MM-dd'T'HH:mm:ss.fff'Z'", CultureInfo.InvariantCulture);
        string level = logEntry.LogLevel.ToString().ToLowerInvariant();
        if (form == LogForm.Json)
        {
            using var content = new MemoryStream();
            using (var json = new Utf8JsonWriter(content, Json))
            {
                json.WriteStartObject();
                json.WriteString("time", time);
                json.WriteString("level", level);
                json.WriteString("source", logEntry.Category);
                json.WriteString("sentence", sentence);
                if (logEntry.Category.StartsWith(OwnCategories, StringComparison.Ordinal) && logEntry.State is IEnumerable<KeyValuePair<string, object?>> values)
                {
                    foreach ((string key, object? value) in values.Where(each => each.Key != Template))
                    {
                        json.WriteString(key, Convert.ToString(value, CultureInfo.InvariantCulture));
                    }
                }

                if (logEntry.Exception is { } error)
                {
                    json.WriteString("error", Kinds(error));
                    json.WriteString("where", Where(error));
                }

                json.WriteEndObject();
            }

            textWriter.WriteLine(Encoding.UTF8.GetString(content.ToArray()));
            return;
        }

        string tail = logEntry.Exception is { } thrown ? $" [{Kinds(thrown)}] {Where(thrown)}" : string.Empty;
        textWriter.WriteLine($"{time} {level}: {logEntry.Category}: {sentence}{tail}");
    }

    /// <summary>The kinds of an error and of what caused it.</summary>
    /// <param name="error">The error.</param>
    internal static string Kinds(Exception error) => string.Join(" by ", Chain(error).Select(each => each.GetType().Name));

    /// <summary>The methods it came through, innermost first, without files of sources.</summary>
    /// <param name="error">The error.</param>
    internal static string Where(Exception error)
        => string.Join(" < ", Chain(error).Last().StackTrace?.Split('\n').Select(line => line.Trim()).Where(line => line.StartsWith("at ", StringComparison.Ordinal)).Take(12)
            .Select(line => line[3..].Split(" in ")[0]) ?? []);

    private static IEnumerable<Exception> Chain(Exception error)
    {
        for (Exception? each = error; each is not null; each = each.InnerException)
        {
            yield return each;
        }
    }
}

/// <summary>The log as lines of words.</summary>
internal sealed class LineLog() : BenchLog(LogForm.Lines, FormatterName)
{
    /// <summary>Its name.</summary>
    public const string FormatterName = "hotlight-lines";
}

/// <summary>The log as JSON.</summary>
internal sealed class JsonLog() : BenchLog(LogForm.Json, FormatterName)
{
    /// <summary>Its name.</summary>
    public const string FormatterName = "hotlight-json";
}

/// <summary>One line of log for each request where the level asks for it: method, the route's pattern and not the address, status, time taken.</summary>
internal sealed class RequestLog(RequestDelegate next, ILogger<RequestLog> log, TimeProvider clock)
{
    /// <summary>Logs one request.</summary>
    public async Task InvokeAsync(HttpContext context)
    {
        if (!log.IsEnabled(LogLevel.Information))
        {
            await next(context);
            return;
        }

        // Known before, since an answer that fails is made anew by a page of its own.
        string route = (context.GetEndpoint() as RouteEndpoint)?.RoutePattern.RawText ?? "no route";
        long began = clock.GetTimestamp();
        try
        {
            await next(context);
        }
        finally
        {
            log.LogInformation("{Method} {Route} answered {Status} in {Milliseconds} ms.", context.Request.Method, route, context.Response.StatusCode, (long)clock.GetElapsedTime(began).TotalMilliseconds);
        }
    }
}
