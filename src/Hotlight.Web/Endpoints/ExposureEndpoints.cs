using Hotlight.Records.Sources;
using Hotlight.Records.Sources.Tables;
using Hotlight.Web.Intake;
using Hotlight.Web.People;
using Hotlight.Workflows.People;
using Hotlight.Workflows.Records;
using Microsoft.AspNetCore.Antiforgery;
using Microsoft.AspNetCore.Http.Features;

namespace Hotlight.Web.Endpoints;

/// <summary>Files of exposures on their way into the records, and mappings of tables as files.</summary>
internal static class ExposureEndpoints
{
    /// <summary>Path below which the mappings lie.</summary>
    public const string MappingPath = "/records/mappings";

    /// <summary>Maps the routes.</summary>
    public static void MapExposures(this IEndpointRouteBuilder routes)
    {
        routes.MapPut("/records/batches/{id:guid}/files", TakeAsync).AddEndpointFilter(async (context, next) => await context.HttpContext.RequestServices.GetRequiredService<IAntiforgery>().IsRequestValidAsync(context.HttpContext)
            ? await next(context)
            : TypedResults.Problem("The page is too old to send files; reload it and try again.", statusCode: StatusCodes.Status400BadRequest)).WithMetadata(new NeedsAttribute(Operation.KeepExposures));
        routes.MapGet(MappingPath, (string name, HttpContext context, MappingShelf shelf) =>
        {
            context.Response.Headers.CacheControl = "no-store";
            return shelf.All().FirstOrDefault(mapping => mapping.Name == name) is { } mapping
                ? TypedResults.File(System.Text.Encoding.UTF8.GetBytes(TableMappingJson.Write(mapping) + "\n"), "application/json", "hotlight-mapping.json")
                : (IResult)TypedResults.Problem("There is no mapping of that name.", statusCode: StatusCodes.Status404NotFound);
        }).WithMetadata(new NeedsAttribute(Operation.KeepExposures));
    }

    private static async Task<IResult> TakeAsync(Guid id, string name, long bytes, HttpContext context, ExposureDesk desk)
    {
        if (desk.Find(id) is not { } batch)
        {
            return TypedResults.Problem("The page that these files belong to was left; drop them again.", statusCode: StatusCodes.Status404NotFound);
        }

        context.Features.GetRequiredFeature<IHttpMaxRequestBodySizeFeature>().MaxRequestBodySize = ExposureDesk.WholeBytes;
        using MemoryStream head = new();
        try
        {
            await context.Request.Body.CopyToAsync(head, context.RequestAborted);
        }
        catch (BadHttpRequestException error)
        {
            return TypedResults.Problem("The file did not come whole.", statusCode: error.StatusCode);
        }

        SourceReading? reading = batch.AddHead(head.GetBuffer().AsMemory(0, (int)head.Length), head.Length >= bytes, name);
        return TypedResults.Ok(new { isMoreNeeded = reading is null });
    }
}
