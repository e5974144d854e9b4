using System.Collections.Concurrent;
using System.Security.Cryptography;
using Hotlight.Audit;
using Hotlight.Web.People;
using Hotlight.Workflows.People;

namespace Hotlight.Web.Lessons;

/// <summary>Files that were made to be given away and wait to be saved: each under a name that nobody can guess, until it was not asked for during <see cref="KeptFor"/> or the bench ends.</summary>
/// <param name="clock">Tells the time.</param>
public sealed class SharedFileDesk(TimeProvider clock) : IDisposable
{
    /// <summary>How long a file waits.</summary>
    public static readonly TimeSpan KeptFor = TimeSpan.FromHours(1);

    private readonly ConcurrentDictionary<string, Waiting> waiting = new(StringComparer.Ordinal);
    private readonly DirectoryInfo folder = Directory.CreateTempSubdirectory("hotlight-shared-");

    /// <summary>Path for a new file to be written.</summary>
    public string NewPath()
    {
        RemoveOld();
        return Path.Combine(folder.FullName, Guid.NewGuid().ToString("N"));
    }

    /// <summary>Lets a written file be saved.</summary>
    /// <param name="path">Path of the file from <see cref="NewPath"/>, closed.</param>
    /// <param name="name">Name to save it under.</param>
    /// <param name="mediaType">Its kind.</param>
    /// <param name="told">What the audit trail is told when it is fetched.</param>
    /// <returns>Address to fetch it from.</returns>
    public string Offer(string path, string name, string mediaType, AuditEvent told)
    {
        string key = Convert.ToHexStringLower(RandomNumberGenerator.GetBytes(16));
        waiting[key] = new Waiting(path, name, mediaType, told, clock.GetTimestamp());
        return $"/shared/{key}";
    }

    /// <summary>A title as the name of a file: its letters and digits, small, with one dash between words.</summary>
    /// <param name="title">The title.</param>
    /// <param name="otherwise">The name where the title has no such letter.</param>
    public static string NameOf(string title, string otherwise)
    {
        ArgumentNullException.ThrowIfNull(title);
        string[] words = string.Concat(title.Select(letter => char.IsAsciiLetterOrDigit(letter) ? char.ToLowerInvariant(letter) : ' ')).Split(' ', StringSplitOptions.RemoveEmptyEntries);
        return words.Length == 0 ? otherwise : string.Join('-', words);
    }

    /// <summary>Takes a file that is not needed away.</summary>
    /// <param name="path">Path of the file from <see cref="NewPath"/>, closed.</param>
    public static void Drop(string path) => File.Delete(path);

    /// <summary>Maps the route.</summary>
    /// <param name="routes">The bench's routes.</param>
    public static void Map(IEndpointRouteBuilder routes)
        => routes.MapGet("/shared/{key}", async (string key, HttpContext context, SharedFileDesk desk, IAuditTrail trail) =>
        {
            context.Response.Headers.CacheControl = "no-store";
            if (!desk.waiting.TryGetValue(key, out Waiting? file) || !File.Exists(file.Path))
            {
                return (IResult)TypedResults.Problem("This file is no longer kept; make it again.", statusCode: StatusCodes.Status404NotFound);
            }

            await trail.TellAsync(file.Told);
            return TypedResults.PhysicalFile(file.Path, file.MediaType, file.Name);
        }).WithMetadata(new NeedsAttribute(Operation.Teach));

    /// <inheritdoc/>
    public void Dispose()
    {
        waiting.Clear();
        if (folder.Exists)
        {
            folder.Delete(recursive: true);
        }
    }

    private void RemoveOld()
    {
        foreach ((string key, Waiting file) in waiting)
        {
            if (clock.GetElapsedTime(file.Since) > KeptFor && waiting.TryRemove(key, out _))
            {
                File.Delete(file.Path);
            }
        }
    }

    private sealed record Waiting(string Path, string Name, string MediaType, AuditEvent Told, long Since);
}
