using Hotlight.Core;

namespace Hotlight.Teaching.WalkThroughs;

/// <summary>A simulated phantom laid over the image of a walk-through.</summary>
/// <param name="Label">What is said before all else: that it is a simulation with a generic anatomy.</param>
/// <param name="AsItLies">Its outlines as the part lay, in pixels of the stored image.</param>
/// <param name="AsItShould">Its outlines as it should lie; empty where nothing is to be moved.</param>
/// <param name="Angles">How the part lay, sentences.</param>
/// <param name="Moves">What would set it right, sentences.</param>
/// <param name="Caution">What a repeat is, and who decides; a sentence.</param>
public sealed record WalkPhantom(string Label, IReadOnlyList<IReadOnlyList<PixelPoint>> AsItLies, IReadOnlyList<IReadOnlyList<PixelPoint>> AsItShould, IReadOnlyList<string> Angles, IReadOnlyList<string> Moves, string Caution);
