namespace Hotlight.Core;

/// <summary>The distance between neighbouring pixel centres, in mm, at the image receptor unless said otherwise.</summary>
/// <remarks>Not an array: DICOM stores row spacing first, which is the distance along a column.</remarks>
public readonly record struct PixelSpacing
{
    /// <summary>Creates a spacing; both values in mm, above 0 and finite.</summary>
    /// <param name="rowSpacingMm">Distance between the centres of neighbouring rows (vertical), in mm.</param>
    /// <param name="columnSpacingMm">Distance between the centres of neighbouring columns (horizontal), in mm.</param>
    /// <exception cref="ArgumentOutOfRangeException">A value is not above 0 and finite.</exception>
    public PixelSpacing(double rowSpacingMm, double columnSpacingMm)
    {
        RowSpacingMm = Preconditions.AboveZero(rowSpacingMm);
        ColumnSpacingMm = Preconditions.AboveZero(columnSpacingMm);
    }

    /// <summary>Distance between the centres of neighbouring rows (vertical), in mm.</summary>
    public double RowSpacingMm { get; }

    /// <summary>Distance between the centres of neighbouring columns (horizontal), in mm.</summary>
    public double ColumnSpacingMm { get; }

    /// <summary>Area of one pixel, in mm².</summary>
    public double PixelAreaMm2 => RowSpacingMm * ColumnSpacingMm;
}
