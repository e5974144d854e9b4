namespace Hotlight.Core;

/// <summary>A reading view of a <see cref="Raster{T}"/>, rows × columns, row-major. The default value is empty and has 0 rows.</summary>
/// <typeparam name="T">Type of one sample.</typeparam>
public readonly struct ReadOnlyRaster<T>
    where T : unmanaged
{
    private readonly Raster<T>? raster;

    /// <summary>Wraps a raster (borrowed).</summary>
    /// <param name="raster">The raster to read.</param>
    public ReadOnlyRaster(Raster<T> raster) => this.raster = raster;

    /// <summary>Number of rows.</summary>
    public int Rows => raster?.Rows ?? 0;

    /// <summary>Number of columns.</summary>
    public int Columns => raster?.Columns ?? 0;

    /// <summary>All samples, row-major (borrowed).</summary>
    public ReadOnlySpan<T> Samples => raster is null ? [] : raster.Samples;

    /// <summary>One sample.</summary>
    /// <param name="row">Row, 0 at the top.</param>
    /// <param name="column">Column, 0 at the left.</param>
    public T this[int row, int column] => raster![row, column];

    /// <summary>One row as a span (borrowed).</summary>
    /// <param name="row">Row, 0 at the top.</param>
    public ReadOnlySpan<T> Row(int row) => raster!.Row(row);

    /// <summary>Reads a raster without copying it.</summary>
    /// <param name="raster">The raster to read.</param>
    public static implicit operator ReadOnlyRaster<T>(Raster<T> raster) => new(raster);
}
