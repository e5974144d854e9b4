using System.Buffers.Binary;
using System.Text;
using Hotlight.Audit;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Teaching.WalkThroughs;
using Hotlight.Web.Audit;
using Hotlight.Web.Lessons;
using Hotlight.Web.People;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.People;
using Hotlight.Workflows.Readings;
using Hotlight.Workflows.Teaching;
using Hotlight.Workflows.Teaching.WalkThroughs;
using Microsoft.AspNetCore.Antiforgery;
using Microsoft.AspNetCore.Http.Features;

namespace Hotlight.Web.Endpoints;

/// <summary>What the page of a walk-through fetches and sends besides its live connection: the walk-through, its voices and pieces of a recording.</summary>
internal static class WalkThroughEndpoints
{
    private const string CasePath = "/cases/{id:guid}/walk-through";
    private const string CaseKey = "id";

    /// <summary>Maps the routes.</summary>
    public static void MapWalkThroughs(this IEndpointRouteBuilder bench)
    {
        // Whoever does not see the page must not see what it fetches either.
        RouteGroupBuilder routes = bench.MapGroup(CasePath).WithMetadata(new AuditedAttribute(AuditAct.Looked), new NeedsAttribute(Operation.Teach));
        routes.AddEndpointFilter(async (context, next) =>
        {
            HttpContext http = context.HttpContext;
            var id = Guid.Parse((string)http.Request.RouteValues[CaseKey]!);
            return await LessonSight.RefusalAsync(id, http.RequestServices.GetRequiredService<ReadingWorkflow>(), http.RequestAborted) is { } refusal
                ? TypedResults.Problem(refusal, statusCode: StatusCodes.Status409Conflict)
                : await next(context);
        });
        routes.MapGet("/play", (Guid id, HttpContext context, WalkThroughWorkflow walks) => AnsweredAsync(context, async () =>
        {
            OpenWalkThrough open = await walks.OpenAsync(id, context.RequestAborted);
            return TypedResults.Text(WalkThroughPlay.Write(open.Draft.Now), "application/json", Encoding.UTF8);
        }));
        routes.MapGet("/picture", (Guid id, HttpContext context, CaseWorkflow cases) => AnsweredAsync(context, async () =>
        {
            Radiograph radiograph = await cases.RadiographAsync(await cases.GetAsync(id, context.RequestAborted));
            return TypedResults.Ok(new { radiograph.Columns, radiograph.Rows, HighIsDark = radiograph.HighIsShownDark });
        }));
        routes.MapGet("/voices/{hash}", (Guid id, string hash, HttpContext context, WalkThroughWorkflow walks) => AnsweredAsync(context, async () =>
        {
            OpenWalkThrough open = await walks.OpenAsync(id, context.RequestAborted);
            string? mediaType = open.Draft.Now.Steps.Select(step => step.Recording?.Voice).FirstOrDefault(voice => voice?.Sha256 == hash)?.MediaType;
            return await walks.VoiceAsync(open, hash, context.RequestAborted) is { } voice
                ? TypedResults.File(voice, mediaType?.Split(';')[0] ?? "audio/webm", enableRangeProcessing: true)
                : TypedResults.Problem("The walk-through has no such voice.", statusCode: StatusCodes.Status404NotFound);
        }));
        routes.MapPost("/takes", (Guid id, string step, string? type, HttpContext context, WalkThroughWorkflow walks) => AnsweredAsync(context, async () =>
        {
            OpenWalkThrough open = await walks.OpenAsync(id, context.RequestAborted);
            return open.Draft.Now.Steps.Any(each => each.Id == step)
                ? TypedResults.Ok(new { take = walks.Takes.Begin(id, step, type ?? string.Empty) })
                : TypedResults.Problem("This step was cut meanwhile.", statusCode: StatusCodes.Status409Conflict);
        })).AddEndpointFilter(FromThePageAsync);
        routes.MapPut("/takes/{take:guid}/{number:int}", (Guid id, Guid take, int number, HttpContext context, WalkThroughWorkflow walks) => AnsweredAsync(context, async () =>
        {
            context.Features.GetRequiredFeature<IHttpMaxRequestBodySizeFeature>().MaxRequestBodySize = (2 * TakeShelf.MostPieceBytes) + 4;
            using var body = new MemoryStream();
            await context.Request.Body.CopyToAsync(body, context.RequestAborted);
            ReadOnlySpan<byte> piece = body.GetBuffer().AsSpan(0, (int)body.Length);

            // The length of the tracks, the tracks, and what is left is the voice.
            uint tracks = piece.Length < 4 ? uint.MaxValue : BinaryPrimitives.ReadUInt32LittleEndian(piece);
            if (tracks > piece.Length - 4)
            {
                throw new LessonRefusedException("A piece of the recording did not come whole.");
            }

            walks.Takes.Append(id, take, number, piece[(4 + (int)tracks)..], Encoding.UTF8.GetString(piece.Slice(4, (int)tracks)));
            return TypedResults.NoContent();
        })).AddEndpointFilter(FromThePageAsync);
    }

    private static async ValueTask<object?> FromThePageAsync(EndpointFilterInvocationContext context, EndpointFilterDelegate next)
        => await context.HttpContext.RequestServices.GetRequiredService<IAntiforgery>().IsRequestValidAsync(context.HttpContext)
            ? await next(context)
            : TypedResults.Problem("The page is too old to send a recording; reload it, what was sent before is kept.", statusCode: StatusCodes.Status400BadRequest);

    private static async Task<IResult> AnsweredAsync(HttpContext context, Func<Task<IResult>> answer)
    {
        context.Response.Headers.CacheControl = "no-store";
        try
        {
            return await answer();
        }
        catch (CaseGoneException error)
        {
            return TypedResults.Problem(error.Message, statusCode: StatusCodes.Status404NotFound);
        }
        catch (Exception error) when (error is LessonRefusedException or UnreadableWalkThroughException)
        {
            return TypedResults.Problem(error.Message, statusCode: StatusCodes.Status409Conflict);
        }
        catch (UnreadableImageException error)
        {
            return TypedResults.Problem(CaseEndpoints.Sentence(error.Reason), statusCode: StatusCodes.Status422UnprocessableEntity);
        }
        catch (FileNotKeptException error)
        {
            return TypedResults.Problem(error.Message, statusCode: StatusCodes.Status410Gone);
        }
        catch (BadHttpRequestException error)
        {
            return TypedResults.Problem("A piece of the recording did not come whole.", statusCode: error.StatusCode);
        }
    }
}
