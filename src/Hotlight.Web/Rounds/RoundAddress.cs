using Hotlight.Workflows.Teaching.Rounds;
using Microsoft.AspNetCore.Hosting.Server;
using Microsoft.AspNetCore.Hosting.Server.Features;

namespace Hotlight.Web.Rounds;

/// <summary>Writes links to rounds: by the door for guests where there is one, else by the bench's own address.</summary>
internal sealed class RoundAddress(BenchOptions options, IServer server)
{
    /// <summary>Whether there is a door that shows guests nothing but their round.</summary>
    public bool HasDoor => options.RoundsPort is not null;

    /// <summary>A link.</summary>
    /// <param name="roundId">The round.</param>
    /// <param name="invitation">What it holds.</param>
    /// <param name="own">Address of the bench as the page has it.</param>
    public string Of(Guid roundId, RoundInvitation invitation, string own)
    {
        ArgumentNullException.ThrowIfNull(invitation);
        string door = HasDoor ? server.Features.Get<IServerAddressesFeature>()?.Addresses.Skip(1).FirstOrDefault() ?? own : own;
        return $"{door.TrimEnd('/')}{RoundEndpoints.JoinPath}#{roundId:N}.{invitation.Secret}";
    }
}
