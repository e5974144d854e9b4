using System.Buffers;
using System.Runtime.InteropServices;
using Hotlight.Audit;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Imaging.Display;
using Hotlight.Measure.Exposure;
using Hotlight.Web.Audit;
using Hotlight.Web.People;
using Hotlight.Web.Rounds;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.People;
using Hotlight.Workflows.Teaching;
using Hotlight.Workflows.Teaching.Practice;
using Microsoft.AspNetCore.Http.HttpResults;
using Microsoft.Net.Http.Headers;

namespace Hotlight.Web.Endpoints;

/// <summary>What the viewer fetches: the pixels, reduced or in full, and tables over the pixel values. Numbers are little-endian.</summary>
internal static class PixelEndpoints
{
    /// <summary>The largest block that pixels are reduced by.</summary>
    private const int LargestScale = 64;

    private const string SignalUnitHeader = "Hotlight-Signal-Unit";
    private const string SignalBasisHeader = "Hotlight-Signal-Basis";

    /// <summary>Finds an image without decoding it.</summary>
    private delegate Task<Image> Source(CancellationToken cancellation);

    /// <summary>Maps the routes.</summary>
    public static void MapPixels(this IEndpointRouteBuilder routes)
    {
        var guests = new GuestMayAttribute(GuestScope.Pixels);
        var looked = new AuditedAttribute(AuditAct.Looked);
        var needs = new NeedsAttribute(Operation.SeeCases);
        var practice = new NeedsAttribute(Operation.Practise);
        routes.MapGet("/cases/{id:guid}/pixels", (Guid id, int? scale, HttpContext context, CaseWorkflow cases) => PixelsAsync(OfCase(id, context, cases), scale, context)).WithMetadata(guests, needs, looked);
        routes.MapGet("/cases/{id:guid}/table", (Guid id, HttpContext context, CaseWorkflow cases) => TableAsync(OfCase(id, context, cases), context)).WithMetadata(guests, needs, looked);
        routes.MapGet("/cases/{id:guid}/modality", (Guid id, HttpContext context, CaseWorkflow cases) => ModalityAsync(OfCase(id, context, cases), context)).WithMetadata(guests, needs, looked);
        routes.MapGet("/cases/{id:guid}/signal", (Guid id, HttpContext context, CaseWorkflow cases, ClinicWorkflow clinic) => SignalAsync(OfCase(id, context, cases), context, clinic)).WithMetadata(guests, needs, looked);
        routes.MapGet("/practice/images/{key}/pixels", (string key, int? scale, HttpContext context, PracticeShelf shelf) => PixelsAsync(OfPractice(key, shelf), scale, context)).WithMetadata(practice);
        routes.MapGet("/practice/images/{key}/table", (string key, HttpContext context, PracticeShelf shelf) => TableAsync(OfPractice(key, shelf), context)).WithMetadata(practice);
        routes.MapGet("/practice/images/{key}/modality", (string key, HttpContext context, PracticeShelf shelf) => ModalityAsync(OfPractice(key, shelf), context)).WithMetadata(practice);
        routes.MapGet("/practice/images/{key}/signal", (string key, HttpContext context, PracticeShelf shelf, ClinicWorkflow clinic) => SignalAsync(OfPractice(key, shelf), context, clinic)).WithMetadata(practice);
    }

    /// <summary>The pixels, or their rounded means over blocks of 2, 4, 8 … pixels a side: whole blocks only, what is left over at the right and lower edge is left out.</summary>
    private static async Task<Results<EmptyHttpResult, StatusCodeHttpResult, ProblemHttpResult>> PixelsAsync(Source source, int? scale, HttpContext context)
    {
        int asked = scale ?? 1;
        if (asked is < 1 or > LargestScale || !int.IsPow2(asked))
        {
            return Problem(StatusCodes.Status400BadRequest, $"The scale of the pixels must be 1, 2, 4 … {LargestScale}.");
        }

        return await AnswerAsync(source, $"pixels-{asked}", context, async (radiograph, body) =>
        {
            ReadOnlyRaster<ushort> pixels = asked == 1 ? radiograph.Pixels : Reduced(radiograph.Pixels, asked);
            context.Response.ContentLength = 2L * pixels.Rows * pixels.Columns;
            const int RowsAtOnce = 64;
            for (int row = 0; row < pixels.Rows; row += RowsAtOnce)
            {
                int rows = Math.Min(RowsAtOnce, pixels.Rows - row);
                Write(body, pixels.Samples.Slice(row * pixels.Columns, rows * pixels.Columns));
                await body.FlushAsync(context.RequestAborted);
            }
        });
    }

    /// <summary>One displayed grey, a byte, for every pixel value: how the image is shown at first.</summary>
    private static async Task<Results<EmptyHttpResult, StatusCodeHttpResult, ProblemHttpResult>> TableAsync(Source source, HttpContext context)
        => await AnswerAsync(source, "table", context, async (radiograph, body) =>
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

    /// <summary>The modality value of every pixel value, 64-bit floats.</summary>
    private static async Task<Results<EmptyHttpResult, StatusCodeHttpResult, ProblemHttpResult>> ModalityAsync(Source source, HttpContext context)
        => await AnswerAsync(source, "modality", context, async (radiograph, body) =>
        {
            double[] values = new double[radiograph.PixelMaximum + 1];
            for (int value = 0; value < values.Length; value++)
            {
                values[value] = radiograph.Modality.Apply(value + radiograph.StoredMinimum);
            }

            context.Response.ContentLength = sizeof(double) * (long)values.Length;
            Write<double>(body, values);
            await body.FlushAsync(context.RequestAborted);
        });

    /// <summary>The linear signal of every pixel value, 64-bit floats, with its unit and what it rests on in headers; no content, with the reason, where neither the clinic's calibration nor the file gives a relation to x-ray intensity.</summary>
    private static async Task<Results<EmptyHttpResult, StatusCodeHttpResult, ProblemHttpResult>> SignalAsync(Source source, HttpContext context, ClinicWorkflow clinic)
    {
        ClinicState state = clinic.Current;
        string? why = null;
        Results<EmptyHttpResult, StatusCodeHttpResult, ProblemHttpResult> answer = await AnswerAsync(source, $"signal-{state.Number}", context, async (radiograph, body) =>
        {
            if (LinearSignal.Of(radiograph, state.Settings.ReceptorOf(radiograph.Exposure)?.Calibration) is not { } signal)
            {
                why = WhyNoSignal(radiograph);
                return;
            }

            double[] values = Array.ConvertAll(signal.ByPixelValue, value => (double)value);
            context.Response.Headers[SignalUnitHeader] = signal.IsKermaMicrogray ? "microgray" : "unknown";
            context.Response.Headers[SignalBasisHeader] = signal.Basis;
            context.Response.ContentLength = sizeof(double) * (long)values.Length;
            Write<double>(body, values);
            await body.FlushAsync(context.RequestAborted);
        });
        if (why is null)
        {
            return answer;
        }

        context.Response.Headers[SignalBasisHeader] = why;
        return TypedResults.StatusCode(StatusCodes.Status204NoContent);
    }

    private static string WhyNoSignal(Radiograph radiograph) => radiograph switch
    {
        { PresentationIntent: PresentationIntent.ForPresentation } => "the pixels were processed for presentation",
        { Relationship: PixelRelationship.Logarithmic } => "the header says LOG, but neither gain nor offset; a calibration of the receptor would tell",
        { Relationship: PixelRelationship.Linear } => "the header says LIN, but not that more exposure gives a higher value",
        _ => "the file gives no relation of pixel value and x-ray intensity",
    };

    private static async Task<Results<EmptyHttpResult, StatusCodeHttpResult, ProblemHttpResult>> AnswerAsync(
        Source source, string part, HttpContext context, Func<Radiograph, System.IO.Pipelines.PipeWriter, Task> write)
    {
        try
        {
            Image image = await source(context.RequestAborted);

            // The same file always gives the same answer, but a newer version may read it differently.
            var tag = new EntityTagHeaderValue($"\"{image.Hash}-{part}-{CaseWorkflow.ThisVersion}\"");
            context.Response.GetTypedHeaders().ETag = tag;

            // A department's machines are shared: no radiograph stays behind in a browser that somebody signed out of.
            context.Response.Headers.CacheControl = context.RequestServices.GetRequiredService<BenchOptions>().IsDepartment ? "no-store" : "private, no-cache";
            if (context.Request.GetTypedHeaders().IfNoneMatch.Any(asked => asked.Compare(tag, useStrongComparison: false)))
            {
                return TypedResults.StatusCode(StatusCodes.Status304NotModified);
            }

            Radiograph radiograph = await image.TakeAsync();
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
            return Problem(StatusCodes.Status422UnprocessableEntity, CaseEndpoints.Sentence(error.Reason));
        }
        catch (FileNotKeptException error)
        {
            return Problem(StatusCodes.Status410Gone, error.Message);
        }
    }

    // A guest of a round is sent the pixels as they may be published: what a person covered is black.
    private static Source OfCase(Guid id, HttpContext context, CaseWorkflow cases) => async stop =>
    {
        CaseRecord record = await cases.GetAsync(id, stop);
        if (GuestAccess.PassOf(context.User) is not null)
        {
            (string key, Func<Task<Radiograph>> take) = await context.RequestServices.GetRequiredService<CasePublisher>().CoveredAsync(record, stop);
            return new Image($"{record.ContentHash}-{key}", take);
        }

        return new Image(record.ContentHash, () => cases.RadiographAsync(record));
    };

    private static Source OfPractice(string key, PracticeShelf shelf) => async _ =>
    {
        PracticeExposure exposure = await shelf.FindAsync(key) ?? throw new FileNotKeptException("This exposure is not in memory any more; reload the page.");
        return new Image(exposure.Key, () => Task.FromResult(exposure.Radiograph));
    };

    /// <summary>Rounded means of whole blocks.</summary>
    private static Raster<ushort> Reduced(ReadOnlyRaster<ushort> pixels, int scale)
    {
        // An image narrower than a block is one block of what there is.
        var reduced = new Raster<ushort>(Math.Max(1, pixels.Rows / scale), Math.Max(1, pixels.Columns / scale));
        int wide = Math.Min(scale, pixels.Columns);
        int high = Math.Min(scale, pixels.Rows);
        uint area = (uint)(wide * high);
        Parallel.For(0, reduced.Rows, row =>
        {
            Span<uint> sums = stackalloc uint[256];
            uint[]? rented = reduced.Columns > sums.Length ? ArrayPool<uint>.Shared.Rent(reduced.Columns) : null;
            sums = rented is null ? sums[..reduced.Columns] : rented.AsSpan(0, reduced.Columns);
            sums.Clear();
            for (int within = 0; within < high; within++)
            {
                ReadOnlySpan<ushort> line = pixels.Row((row * scale) + within);
                for (int column = 0; column < sums.Length; column++)
                {
                    uint sum = 0;
                    foreach (ushort value in line.Slice(column * scale, wide))
                    {
                        sum += value;
                    }

                    sums[column] += sum;
                }
            }

            Span<ushort> to = reduced.Row(row);
            for (int column = 0; column < to.Length; column++)
            {
                to[column] = (ushort)((sums[column] + (area / 2)) / area);
            }

            if (rented is not null)
            {
                ArrayPool<uint>.Shared.Return(rented);
            }
        });
        return reduced;
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

    /// <summary>An image that was found.</summary>
    /// <param name="Hash">Tells it from any other.</param>
    /// <param name="TakeAsync">Gives it decoded.</param>
    private sealed record Image(string Hash, Func<Task<Radiograph>> TakeAsync);
}
