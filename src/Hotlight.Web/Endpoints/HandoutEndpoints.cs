using Hotlight.Audit;
using Hotlight.Core;
using Hotlight.Privacy.Publishing;
using Hotlight.Teaching.Handouts;
using Hotlight.Web.Audit;
using Hotlight.Web.Lessons;
using Hotlight.Web.People;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.People;
using Hotlight.Workflows.Readings;
using Hotlight.Workflows.Teaching;
using Hotlight.Workflows.Teaching.Handouts;
using Microsoft.AspNetCore.Http.HttpResults;

namespace Hotlight.Web.Endpoints;

/// <summary>What the page of a handout fetches: its picture, and the files that leave the bench.</summary>
internal static class HandoutEndpoints
{
    private const int WholePixels = 1200;

    /// <summary>Maps the routes.</summary>
    public static void MapHandouts(this IEndpointRouteBuilder routes)
    {
        routes.MapGet("/cases/{id:guid}/handout.html", (Guid id, string? language, HandoutWorkflow handouts, ReadingWorkflow readings, BenchLanguage bench, CancellationToken stop)
            => FileAsync(id, language, HandoutForms.Html, "text/html; charset=utf-8", handouts, readings, bench, stop)).WithMetadata(new AuditedAttribute(AuditAct.Exported), new NeedsAttribute(Operation.Teach));
        routes.MapGet("/cases/{id:guid}/handout.pdf", (Guid id, string? language, HandoutWorkflow handouts, ReadingWorkflow readings, BenchLanguage bench, CancellationToken stop)
            => FileAsync(id, language, HandoutForms.Pdf, "application/pdf", handouts, readings, bench, stop)).WithMetadata(new AuditedAttribute(AuditAct.Exported), new NeedsAttribute(Operation.Teach));
        routes.MapGet("/cases/{id:guid}/handout/picture", (Guid id, bool? whole, HandoutWorkflow handouts, CaseWorkflow cases, ReadingWorkflow readings, BenchLanguage bench, CancellationToken stop)
            => PictureAsync(id, whole == true, handouts, cases, readings, bench, stop)).WithMetadata(new AuditedAttribute(AuditAct.Looked), new NeedsAttribute(Operation.Teach));
        routes.MapGet("/cases/{id:guid}/handout/simulation", (Guid id, string? language, HandoutWorkflow handouts, ReadingWorkflow readings, BenchLanguage bench, CancellationToken stop)
            => SimulationAsync(id, language, handouts, readings, bench, stop)).WithMetadata(new AuditedAttribute(AuditAct.Looked), new NeedsAttribute(Operation.Teach));
    }

    // The position in space as a simulation, where the reader asked for it.
    private static async Task<Results<FileContentHttpResult, ProblemHttpResult>> SimulationAsync(Guid id, string? language, HandoutWorkflow handouts, ReadingWorkflow readings, BenchLanguage bench, CancellationToken cancellation)
    {
        try
        {
            if (await LessonSight.RefusalAsync(id, readings, cancellation) is { } refusal)
            {
                return Problem(StatusCodes.Status409Conflict, refusal);
            }

            HandoutDraft draft = await handouts.OpenAsync(id, LanguageOf(language, bench), cancellation);
            return draft.Handout.Simulation is { } simulation
                ? TypedResults.File((await Task.Run(() => simulation.Strip, cancellation)).Png, "image/png")
                : Problem(StatusCodes.Status404NotFound, "The handout has no picture of the position in space.");
        }
        catch (CaseGoneException gone)
        {
            return Problem(StatusCodes.Status404NotFound, gone.Message);
        }
        catch (Exception error) when (error is UnreadableImageException or FileNotKeptException or LessonRefusedException)
        {
            return Problem(StatusCodes.Status422UnprocessableEntity, error.Message);
        }
    }

    private static async Task<Results<FileContentHttpResult, ProblemHttpResult>> FileAsync(Guid id, string? language, HandoutForms form, string kind, HandoutWorkflow handouts, ReadingWorkflow readings, BenchLanguage bench, CancellationToken cancellation)
    {
        try
        {
            if (await LessonSight.RefusalAsync(id, readings, cancellation) is { } refusal)
            {
                return Problem(StatusCodes.Status409Conflict, refusal);
            }

            HandoutDraft draft = await handouts.OpenAsync(id, LanguageOf(language, bench), cancellation);
            HandoutFile file = (await Task.Run(() => HandoutWorkflow.Make(draft, form), cancellation))[0];
            return TypedResults.File(file.Content, kind, file.Name);
        }
        catch (PublicationStoppedException stopped)
        {
            return Problem(StatusCodes.Status409Conflict, stopped.Message);
        }
        catch (LessonRefusedException refused)
        {
            return Problem(StatusCodes.Status409Conflict, refused.Message);
        }
        catch (CaseGoneException gone)
        {
            return Problem(StatusCodes.Status404NotFound, gone.Message);
        }
        catch (Exception error) when (error is UnreadableImageException or FileNotKeptException)
        {
            return Problem(StatusCodes.Status422UnprocessableEntity, error.Message);
        }
    }

    // The part of the handout with covered places black; or the whole image as it is, to look it over.
    private static async Task<Results<FileContentHttpResult, ProblemHttpResult>> PictureAsync(Guid id, bool whole, HandoutWorkflow handouts, CaseWorkflow cases, ReadingWorkflow readings, BenchLanguage bench, CancellationToken cancellation)
    {
        try
        {
            if (await LessonSight.RefusalAsync(id, readings, cancellation) is { } refusal)
            {
                return Problem(StatusCodes.Status409Conflict, refusal);
            }

            HandoutDraft draft = await handouts.OpenAsync(id, LanguageOf(null, bench), cancellation);
            Imaging.Radiograph radiograph = whole ? await cases.RadiographAsync(draft.Prepared.Record) : draft.Prepared.Radiograph;
            PixelBox view = whole ? new PixelBox(0, 0, radiograph.Columns, radiograph.Rows) : draft.Handout.View;
            HandoutPicture picture = await Task.Run(() => HandoutPicture.Of(radiograph, draft.Prepared.Open.Measurements, view, whole ? WholePixels : HandoutPicture.ForScreenPixels), cancellation);
            return TypedResults.File(picture.Png, "image/png");
        }
        catch (CaseGoneException gone)
        {
            return Problem(StatusCodes.Status404NotFound, gone.Message);
        }
        catch (Exception error) when (error is UnreadableImageException or FileNotKeptException or LessonRefusedException)
        {
            return Problem(StatusCodes.Status422UnprocessableEntity, error.Message);
        }
    }

    private static string LanguageOf(string? language, BenchLanguage bench) => language is { Length: > 0 } code && bench.Texts.Languages.Contains(code, StringComparer.Ordinal) ? code : bench.Culture.Name;

    private static ProblemHttpResult Problem(int status, string sentence) => TypedResults.Problem(statusCode: status, detail: sentence);
}
