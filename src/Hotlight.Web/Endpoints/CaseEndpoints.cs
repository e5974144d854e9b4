using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Web.People;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.People;
using Microsoft.AspNetCore.Antiforgery;
using Microsoft.AspNetCore.Http.Features;
using Microsoft.AspNetCore.Http.HttpResults;

namespace Hotlight.Web.Endpoints;

/// <summary>What the page fetches and sends besides its live connection: files in. Pixels go out by <see cref="PixelEndpoints"/>.</summary>
internal static class CaseEndpoints
{
    /// <summary>Header that carries the page's token against forged requests.</summary>
    public const string TokenHeader = "X-Hotlight-Token";

    /// <summary>Maps the routes.</summary>
    public static void MapCases(this IEndpointRouteBuilder routes)
    {
        routes.MapPost("/cases", BringInAsync).WithMetadata(new NeedsAttribute(Operation.KeepCases));
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

    private static ProblemHttpResult Problem(int status, string sentence) => TypedResults.Problem(statusCode: status, detail: sentence);

    /// <summary>A reason as a sentence of its own.</summary>
    /// <param name="reason">The reason, a phrase.</param>
    internal static string Sentence(string reason) => reason.Length == 0 ? reason : char.ToUpperInvariant(reason[0]) + reason[1..];

    /// <summary>What a page learns of a file that was brought in.</summary>
    private sealed record BroughtIn(Guid Id, string Title, string? SameFileAs);
}
