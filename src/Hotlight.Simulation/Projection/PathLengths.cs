using Hotlight.Core;

namespace Hotlight.Simulation.Projection;

/// <summary>How much of each material every ray crosses, in mm.</summary>
internal sealed class PathLengths(int rows, int columns)
{
    public Raster<float> Skin { get; } = new(rows, columns);

    public Raster<float> Soft { get; } = new(rows, columns);

    public Raster<float> Fat { get; } = new(rows, columns);

    /// <summary>Cortical bone, compact and spongy together.</summary>
    public Raster<float> Bone { get; } = new(rows, columns);

    /// <summary>Everything within the surfaces of bones, marrow included.</summary>
    public Raster<float> BoneVolume { get; } = new(rows, columns);
}
