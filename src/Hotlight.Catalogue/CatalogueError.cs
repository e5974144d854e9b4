namespace Hotlight.Catalogue;

/// <summary>One thing that is wrong with a file of the catalogue.</summary>
/// <param name="File">Name of the file with its region's folder, such as "wrist/wrist-pa.json".</param>
/// <param name="Member">JSON path of the member, such as "$.relations[0].misses[1].weight".</param>
/// <param name="Reason">What was expected there, one sentence.</param>
public sealed record CatalogueError(string File, string Member, string Reason)
{
    /// <summary>File, member and reason in one line.</summary>
    public override string ToString() => $"{File}, {Member}: {Reason}";
}
