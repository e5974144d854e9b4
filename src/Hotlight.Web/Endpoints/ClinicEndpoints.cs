using System.Text;
using Hotlight.Audit;
using Hotlight.Web.Audit;
using Hotlight.Web.People;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.People;
using Microsoft.AspNetCore.Http.HttpResults;

namespace Hotlight.Web.Endpoints;

/// <summary>The clinic's settings as a file.</summary>
internal static class ClinicEndpoints
{
    /// <summary>Path of the file.</summary>
    public const string SettingsPath = "/clinic/settings.json";

    /// <summary>Maps the routes.</summary>
    public static void MapClinic(this IEndpointRouteBuilder routes) => routes.MapGet(SettingsPath, SettingsAsync).WithMetadata(new AuditedAttribute(AuditAct.Exported), new NeedsAttribute(Operation.KeepSettings));

    private static async Task<FileContentHttpResult> SettingsAsync(HttpContext context, ClinicWorkflow clinic)
    {
        ClinicState state = await clinic.LoadAsync(context.RequestAborted);
        context.Response.Headers.CacheControl = "no-store";
        return TypedResults.File(Encoding.UTF8.GetBytes(ClinicSettingsJson.Write(state.Settings) + "\n"), "application/json", "hotlight-clinic.json");
    }
}
