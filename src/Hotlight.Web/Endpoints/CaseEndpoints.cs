using System.Buffers;
using System.Runtime.InteropServices;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Imaging.Display;
using Hotlight.Workflows.Cases;
using Microsoft.AspNetCore.Antiforgery;
using Microsoft.AspNetCore.Http.Features;
using Microsoft.AspNetCore.Http.HttpResults;
using Microsoft.Net.Http.Headers;

namespace Hotlight.Web.Endpoints;

/// <summary>What the page fetches and sends besides its live connection: files in, pixels out.</summary>
internal static class CaseEndpoints
{
    /// <summary>Header that carries the page's token against forged requests.</summary>
    public const string TokenHeader = "X-Hotlight-Token";

    /// <summary>Maps the routes.</summary>
    public static void MapCases(this IEndpointRouteBuilder routes)
    {
        routes.MapPost("/cases", BringInAsync);
        routes.MapGet("/cases/{id:guid}/pixels", PixelsAsync);
        routes.MapGet("/cases/{id:guid}/table", TableAsync);
        routes.MapGet("/cases/{id:guid}/modality", ModalityAsync);
    }

    /// <summary>Takes one file as the request's body; its name stands in the query and is never used as a path.</summary>
    private static async Task<Results<Created<BroughtIn>, ProblemHttpResult>> BringInAsync(
        HttpContext context, string? name, CaseWorkflow cases, BenchOptions options, IAntiforgery forgery)
    {
        if (!await forgery.IsRequestValidAsync(context))
        {
            return Problem(StatusCodes.Status400BadRequest, "The page is too old to send files; reload it and try again.");
        }

        if (context.Request.ContentLength is not { } length)
        {
            return Problem(StatusCodes.Status411LengthRequired, "The file's size was not given.");
        }

        if (length > options.UploadLimitBytes)
        {
            return Problem(StatusCodes.Status413PayloadTooLarge, $"The file is larger than {options.UploadLimitBytes / (1024 * 1024)} MiB, the most the bench takes.");
        }

        context.Features.GetRequiredFeature<IHttpMaxRequestBodySizeFeature>().MaxRequestBodySize = options.UploadLimitBytes;
        try
        {
            CaseBroughtIn brought = await cases.BringInAsync(name ?? string.Empty, context.Request.Body, options.UploadLimitBytes, cancellation: context.RequestAborted);
            return TypedResults.Created($"/cases/{brought.Record.Id}", new BroughtIn(brought.Record.Id, brought.Record.Title, brought.WasKept ? brought.Record.Title : null));
        }
        catch (UnreadableImageException error)
        {
            return Problem(StatusCodes.Status422UnprocessableEntity, Sentence(error.Reason));
        }
        catch (FileNotKeptException error)
        {
            return Problem(StatusCodes.Status507InsufficientStorage, error.Message);
        }
        catch (BadHttpRequestException)
        {
            return Problem(StatusCodes.Status400BadRequest, "The upload broke off; nothing was kept.");
        }
    }

    private static async Task<Results<EmptyHttpResult, StatusCodeHttpResult, ProblemHttpResult>> PixelsAsync(Guid id, HttpContext context, CaseWorkflow cases)
        => await AnswerAsync(id, "pixels", context, cases, async (radiograph, body) =>
        {
            long bytes = 2L * radiograph.Rows * radiograph.Columns;
            context.Response.ContentLength = bytes;
            const int RowsAtOnce = 64;
            for (int row = 0; row < radiograph.Rows; row += RowsAtOnce)
            {
                int rows = Math.Min(RowsAtOnce, radiograph.Rows - row);
                Write(body, radiograph.Pixels.Samples.Slice(row * radiograph.Columns, rows * radiograph.Columns));
                await body.FlushAsync(context.RequestAborted);
            }
        });

    private static async Task<Results<EmptyHttpResult, StatusCodeHttpResult, ProblemHttpResult>> TableAsync(Guid id, HttpContext context, CaseWorkflow cases)
        => await AnswerAsync(id, "table", context, cases, async (radiograph, body) =>
        {
            float[] shown = DisplayTable.Create(radiograph);
            context.Response.ContentLength = shown.Length;
            Memory<byte> greys = body.GetMemory(shown.Length);
            for (int value = 0; value < shown.Length; value++)
            {
                greys.Span[value] = (byte)Math.Round(shown[value] * 255f);
            }

            body.Advance(shown.Length);
            await body.FlushAsync(context.RequestAborted);
        });

    private static async Task<Results<EmptyHttpResult, StatusCodeHttpResult, ProblemHttpResult>> ModalityAsync(Guid id, HttpContext context, CaseWorkflow cases)
        => await AnswerAsync(id, "modality", context, cases, async (radiograph, body) =>
        {
            float[] values = new float[radiograph.PixelMaximum + 1];
            for (int value = 0; value < values.Length; value++)
            {
                values[value] = (float)radiograph.Modality.Apply(value + radiograph.StoredMinimum);
            }

            context.Response.ContentLength = sizeof(float) * (long)values.Length;
            Write<float>(body, values);
            await body.FlushAsync(context.RequestAborted);
        });

    private static async Task<Results<EmptyHttpResult, StatusCodeHttpResult, ProblemHttpResult>> AnswerAsync(
        Guid id, string part, HttpContext context, CaseWorkflow cases, Func<Radiograph, System.IO.Pipelines.PipeWriter, Task> write)
    {
        try
        {
            CaseRecord record = await cases.GetAsync(id, context.RequestAborted);

            // The same file always gives the same answer, but a newer version may read it differently.
            var tag = new EntityTagHeaderValue($"\"{record.ContentHash}-{part}-{CaseWorkflow.ThisVersion}\"");
            context.Response.GetTypedHeaders().ETag = tag;
            context.Response.Headers.CacheControl = "private, no-cache";
            if (context.Request.GetTypedHeaders().IfNoneMatch.Any(asked => asked.Compare(tag, useStrongComparison: false)))
            {
                return TypedResults.StatusCode(StatusCodes.Status304NotModified);
            }

            Radiograph radiograph = await cases.RadiographAsync(record);
            context.Response.ContentType = "application/octet-stream";
            await write(radiograph, context.Response.BodyWriter);
            return TypedResults.Empty;
        }
        catch (CaseGoneException error)
        {
            return Problem(StatusCodes.Status404NotFound, error.Message);
        }
        catch (UnreadableImageException error)
        {
            return Problem(StatusCodes.Status422UnprocessableEntity, Sentence(error.Reason));
        }
        catch (FileNotKeptException error)
        {
            return Problem(StatusCodes.Status410Gone, error.Message);
        }
    }

    private static void Write<T>(IBufferWriter<byte> body, ReadOnlySpan<T> samples)
        where T : unmanaged
    {
        if (!BitConverter.IsLittleEndian)
        {
            throw new PlatformNotSupportedException("Pixels are sent little-endian; this machine is not.");
        }

        body.Write(MemoryMarshal.AsBytes(samples));
    }

    private static ProblemHttpResult Problem(int status, string sentence) => TypedResults.Problem(statusCode: status, detail: sentence);

    private static string Sentence(string reason) => reason.Length == 0 ? reason : char.ToUpperInvariant(reason[0]) + reason[1..];

    /// <summary>What a page learns of a file that was brought in.</summary>
    private sealed record BroughtIn(Guid Id, string Title, string? SameFileAs);
}
