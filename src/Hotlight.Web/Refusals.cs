using System.Data.Common;
using Hotlight.Audit;
using Hotlight.Workflows.Cases;

namespace Hotlight.Web;

/// <summary>What a full or read-only disk, or a database that is away, is called before a person: one sentence, whatever part of the bench met it.</summary>
public static class Refusals
{
    /// <summary>Said where records could not be written or read.</summary>
    public const string Records = "The records cannot be written or read now, so this was not done. Is the disk full or the database away? Nothing that was acknowledged is lost.";

    /// <summary>Said where a file could not be written or read.</summary>
    public const string Files = "The data folder is full or cannot be written, so this was not done. Nothing that was acknowledged is lost.";

    // Numbers of the operating system: input/output error, no space, read-only, quota, file too large.
    private static readonly int[] DiskErrors = [5, 27, 28, 30, 122];

    /// <summary>The sentence for an error that the disk or the database made; null: another kind of error.</summary>
    /// <param name="error">The error.</param>
    public static string? SentenceOf(Exception? error)
    {
        for (Exception? each = error; each is not null; each = each.InnerException)
        {
            switch (each)
            {
                case AuditRefusedException or FileNotKeptException:
                    return each.Message;
                case DbException:
                    return Records;
                case UnauthorizedAccessException:
                case IOException when DiskErrors.Contains(each.HResult & 0xffff):
                    return Files;
            }
        }

        return null;
    }
}

/// <summary>Answers a request that met a full disk or a database that is away with its sentence and status 507.</summary>
internal sealed class RefusalAnswer(RequestDelegate next)
{
    /// <summary>Guards one request.</summary>
    public async Task InvokeAsync(HttpContext context)
    {
        try
        {
            await next(context);
        }
        catch (Exception error) when (!context.Response.HasStarted && Refusals.SentenceOf(error) is not null)
        {
            context.Response.Clear();
            await TypedResults.Problem(Refusals.SentenceOf(error), statusCode: StatusCodes.Status507InsufficientStorage).ExecuteAsync(context);
        }
    }
}
