using System.Globalization;
using Hotlight.Core;
using Hotlight.Web.Intake;
using Hotlight.Web.People;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.People;
using Microsoft.AspNetCore.Antiforgery;
using Microsoft.AspNetCore.Http.Features;

namespace Hotlight.Web.Endpoints;

/// <summary>Files that the page sends in pieces: begin, send each piece with the place it belongs to, ask how much has come, finish. An upload that was cut off goes on from its last byte.</summary>
internal static class UploadEndpoints
{
    /// <summary>Header that says where a piece begins, in bytes.</summary>
    public const string OffsetHeader = "Upload-Offset";

    /// <summary>Maps the routes.</summary>
    public static void MapUploads(this IEndpointRouteBuilder routes)
    {
        RouteGroupBuilder uploads = routes.MapGroup("/uploads");
        uploads.WithMetadata(new NeedsAttribute(Operation.KeepCases));
        uploads.AddEndpointFilter(async (context, next) => await context.HttpContext.RequestServices.GetRequiredService<IAntiforgery>().IsRequestValidAsync(context.HttpContext)
            ? await next(context)
            : Problem(StatusCodes.Status400BadRequest, "The page is too old to send files; reload it and try again."));
        uploads.MapPost("/", Begin);
        uploads.MapGet("/{id:guid}", State);
        uploads.MapPatch("/{id:guid}", TakeAsync);
        uploads.MapPost("/{id:guid}/finish", FinishAsync);
        uploads.MapDelete("/{id:guid}", (Guid id, UploadDesk desk) =>
        {
            desk.Remove(id);
            return TypedResults.NoContent();
        });
    }

    private static IResult Begin(string? name, long bytes, UploadDesk desk, BenchOptions options)
    {
        if (bytes < 1)
        {
            return Problem(StatusCodes.Status422UnprocessableEntity, "The file is empty.");
        }

        if (bytes > options.UploadLimitBytes)
        {
            return Problem(StatusCodes.Status413PayloadTooLarge, $"The file is larger than {options.UploadLimitBytes / (1024 * 1024)} MiB, the most the bench takes.");
        }

        try
        {
            Guid id = desk.Begin(name ?? string.Empty, bytes);
            return TypedResults.Created($"/uploads/{id}", new { id, arrived = 0 });
        }
        catch (FileNotKeptException error)
        {
            return Problem(StatusCodes.Status507InsufficientStorage, error.Message);
        }
    }

    private static IResult State(Guid id, UploadDesk desk)
        => desk.Find(id) is { } state ? TypedResults.Ok(new { id, arrived = state.Arrived }) : Gone();

    private static async Task<IResult> TakeAsync(Guid id, HttpContext context, UploadDesk desk)
    {
        if (!long.TryParse(context.Request.Headers[OffsetHeader], NumberStyles.None, CultureInfo.InvariantCulture, out long offset))
        {
            return Problem(StatusCodes.Status400BadRequest, $"A piece says in {OffsetHeader} where it begins.");
        }

        context.Features.GetRequiredFeature<IHttpMaxRequestBodySizeFeature>().MaxRequestBodySize = UploadDesk.PieceBytes;
        try
        {
            return await desk.TakeAsync(id, offset, context.Request.Body, context.RequestAborted) switch
            {
                null => Gone(),
                { IsTaken: true } taken => TypedResults.Ok(new { id, arrived = taken.Arrived }),
                { } other => TypedResults.Conflict(new { id, arrived = other.Arrived }),
            };
        }
        catch (FileNotKeptException error)
        {
            desk.Remove(id);
            return Problem(StatusCodes.Status507InsufficientStorage, error.Message);
        }
        catch (BadHttpRequestException error)
        {
            return Problem(error.StatusCode, "The piece did not come whole.");
        }
    }

    private static async Task<IResult> FinishAsync(Guid id, HttpContext context, UploadDesk desk, CaseWorkflow cases, BenchOptions options)
    {
        try
        {
            CaseBroughtIn? brought = await desk.FinishAsync(id, (name, file) => cases.BringInAsync(name, file, options.UploadLimitBytes), context.RequestAborted);
            if (brought is null)
            {
                return desk.Find(id) is { } state ? TypedResults.Conflict(new { id, arrived = state.Arrived }) : Gone();
            }

            var answer = new { id = brought.Record.Id, title = brought.Record.Title, wasKept = brought.WasKept, warnings = brought.Warnings };
            return brought.WasKept ? TypedResults.Ok(answer) : TypedResults.Created($"/cases/{brought.Record.Id}", answer);
        }
        catch (UnreadableImageException error)
        {
            return Problem(StatusCodes.Status422UnprocessableEntity, Sentence(error.Reason));
        }
        catch (FileNotKeptException error)
        {
            return Problem(StatusCodes.Status507InsufficientStorage, error.Message);
        }
    }

    private static IResult Gone() => Problem(StatusCodes.Status404NotFound, "This upload is not known here any more; send the file again.");

    private static string Sentence(string reason) => char.ToUpperInvariant(reason[0]) + reason[1..];

    private static IResult Problem(int status, string detail) => TypedResults.Problem(detail, statusCode: status);
}
