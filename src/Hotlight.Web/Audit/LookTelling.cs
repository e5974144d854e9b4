using System.Text.RegularExpressions;
using Hotlight.Audit;

namespace Hotlight.Web.Audit;

/// <summary>Tells the trail who looks at what. The same person looking at the same thing again within ten minutes is one look: a page asks for an image's parts many times.</summary>
internal sealed partial class LookTelling(IAuditTrail trail, TimeProvider clock)
{
    /// <summary>For how long a look is not told again.</summary>
    public static readonly TimeSpan OneLook = TimeSpan.FromMinutes(10);

    private const int MostKnown = 20_000;
    private readonly Dictionary<(string Name, Guid? Id, string Address, AuditSubject Subject, string SubjectId), (DateTimeOffset At, Task Telling)> known = [];
    private readonly Lock gate = new();

    /// <summary>Tells of a page or an address that shows a case, a round, a collection or anything of the clinic.</summary>
    /// <param name="path">The path, without what follows a question mark.</param>
    /// <param name="by">Who.</param>
    public async Task TellAsync(string path, AuditActor by)
    {
        ArgumentNullException.ThrowIfNull(path);
        ArgumentNullException.ThrowIfNull(by);
        (AuditSubject subject, string id) = SubjectOf(path);
        DateTimeOffset now = clock.GetUtcNow();
        (string, Guid?, string, AuditSubject, string) look = (by.Name, by.Id, by.Address, subject, id);
        Task telling;
        lock (gate)
        {
            // A clock that was put back must not hide looks: only a time in the last ten minutes counts. What is asked for meanwhile waits for the same telling.
            if (known.TryGetValue(look, out (DateTimeOffset At, Task Telling) last) && last.At <= now && now - last.At < OneLook && last.Telling is { IsFaulted: false, IsCanceled: false })
            {
                telling = last.Telling;
            }
            else
            {
                if (known.Count >= MostKnown)
                {
                    foreach ((string, Guid?, string, AuditSubject, string) each in known.Where(each => now - each.Value.At >= OneLook).Select(each => each.Key).ToArray())
                    {
                        known.Remove(each);
                    }
                }

                telling = trail.TellAsync(new AuditEvent(AuditAct.Looked, subject, id) { By = by });
                if (known.Count < MostKnown)
                {
                    known[look] = (now, telling);
                }
            }
        }

        await telling;
    }

    /// <summary>What a path shows: a case before all else.</summary>
    /// <param name="path">The path.</param>
    internal static (AuditSubject Subject, string Id) SubjectOf(string path)
    {
        string clean = "/" + path.Trim('/');
        if (CasePath().Match(clean) is { Success: true } shown)
        {
            return (AuditSubject.Case, shown.Groups[1].Value.ToLowerInvariant());
        }

        return LessonPath().Match(clean) is { Success: true } lesson ? (AuditSubject.Lesson, lesson.Groups[1].Value.ToLowerInvariant()) : (AuditSubject.Page, clean);
    }

    [GeneratedRegex("/cases/([0-9a-fA-F]{8}(?:-[0-9a-fA-F]{4}){3}-[0-9a-fA-F]{12})(?:/|$)")]
    private static partial Regex CasePath();

    [GeneratedRegex("^/(?:rounds|collections|practice)/([0-9a-fA-F]{8}(?:-[0-9a-fA-F]{4}){3}-[0-9a-fA-F]{12})(?:/|$)")]
    private static partial Regex LessonPath();
}

/// <summary>What of an endpoint is told to the trail once it has answered.</summary>
/// <param name="act">What asking for it is.</param>
[AttributeUsage(AttributeTargets.Class)]
internal sealed class AuditedAttribute(AuditAct act) : Attribute
{
    /// <summary>What asking for it is: <see cref="AuditAct.Looked"/> or <see cref="AuditAct.Exported"/>.</summary>
    public AuditAct Act { get; } = act;
}

/// <summary>Tells the trail of what endpoints show and give out, before they do. Where that cannot be noted, nothing is shown.</summary>
internal sealed class EndpointTelling(RequestDelegate next, LookTelling looks, IAuditTrail trail)
{
    /// <summary>Guards one request.</summary>
    public async Task InvokeAsync(HttpContext context)
    {
        if (context.GetEndpoint()?.Metadata.GetMetadata<AuditedAttribute>() is { } audited)
        {
            string path = context.Request.Path;
            try
            {
                if (audited.Act == AuditAct.Looked)
                {
                    await looks.TellAsync(path, AuditActor.Current);
                }
                else
                {
                    (AuditSubject subject, string id) = LookTelling.SubjectOf(path);
                    await trail.TellAsync(new AuditEvent(audited.Act, subject, id, subject == AuditSubject.Page ? string.Empty : path[(path.LastIndexOf('/') + 1)..]));
                }
            }
            catch (AuditRefusedException error)
            {
                await TypedResults.Problem(error.Message, statusCode: StatusCodes.Status507InsufficientStorage).ExecuteAsync(context);
                return;
            }
        }

        await next(context);
    }
}
