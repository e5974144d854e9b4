using Hotlight.Core;

namespace Hotlight.Poses.Proposal;

/// <summary>Where the network takes a point to lie; nobody has looked at it.</summary>
/// <param name="At">The place, in pixels.</param>
/// <param name="UncertaintyPixels">One standard deviation of one coordinate, in pixels: the network's own spread and what was found on radiographs (docs/methods/landmark-proposal.md).</param>
/// <param name="Probability">How sure the network is that the point lies in the picture, and there, 0 to 1.</param>
public sealed record ProposedPlace(PixelPoint At, double UncertaintyPixels, double Probability);

/// <summary>A point that is proposed, or why it is not.</summary>
/// <param name="Id">The point of the pose's model (data/poses).</param>
/// <param name="Name">Its name.</param>
/// <param name="Place">Where it is proposed, or why it was not found.</param>
public sealed record ProposedLandmark(string Id, string Name, Figure<ProposedPlace> Place);
