using Hotlight.Core;

namespace Hotlight.Measure.Regions;

/// <summary>What a place of the image shows.</summary>
public enum RegionLabel : byte
{
    /// <summary>Outside the exposed field.</summary>
    Outside = 0,

    /// <summary>Inside the field, nothing of the patient: direct exposure.</summary>
    Direct = 1,

    /// <summary>Anatomy: soft tissue.</summary>
    SoftTissue = 2,

    /// <summary>Anatomy: bone.</summary>
    Bone = 3,

    /// <summary>Inside the field, denser than bone with sharp edges: metal, a lead marker.</summary>
    Dense = 4,
}

/// <summary>Labels on a coarse grid: cell (r, c) covers the <see cref="Step"/> × <see cref="Step"/> pixels that begin at row r·Step, column c·Step.</summary>
/// <param name="Labels">One <see cref="RegionLabel"/> a cell.</param>
/// <param name="Step">Side of a cell, in pixels, 1 or more.</param>
public sealed record RegionMap(Raster<byte> Labels, int Step)
{
    /// <summary>1 where bone lies under a cell of anatomy, else 0; null where bone is not told. <see cref="Labels"/> keeps such cells as <see cref="RegionLabel.SoftTissue"/>.</summary>
    public Raster<byte>? BoneCells { get; init; }

    /// <summary>The label of a pixel.</summary>
    /// <param name="row">Row of the stored image.</param>
    /// <param name="column">Column of the stored image.</param>
    public RegionLabel At(int row, int column)
        => (RegionLabel)Labels[Math.Min(row / Step, Labels.Rows - 1), Math.Min(column / Step, Labels.Columns - 1)];

    /// <summary>Whether a label is anatomy.</summary>
    /// <param name="label">The label.</param>
    public static bool IsAnatomy(RegionLabel label) => label is RegionLabel.SoftTissue or RegionLabel.Bone;
}
