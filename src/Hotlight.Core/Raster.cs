namespace Hotlight.Core;

/// <summary>A block of samples, rows × columns, row-major, without gaps between rows. It owns its block.</summary>
/// <typeparam name="T">Type of one sample.</typeparam>
public sealed class Raster<T>
    where T : unmanaged
{
    private readonly T[] samples;

    /// <summary>Creates a raster of zeros.</summary>
    /// <param name="rows">Number of rows, 1 or more.</param>
    /// <param name="columns">Number of columns, 1 or more.</param>
    /// <exception cref="ArgumentOutOfRangeException">A size is below 1.</exception>
    public Raster(int rows, int columns)
        : this(rows, columns, new T[checked(Preconditions.AtLeastOne(rows) * Preconditions.AtLeastOne(columns))])
    {
    }

    /// <summary>Creates a raster over a block that becomes its own (owned: the caller must not keep it).</summary>
    /// <param name="rows">Number of rows, 1 or more.</param>
    /// <param name="columns">Number of columns, 1 or more.</param>
    /// <param name="samples">The block, row-major, at least rows × columns long; owned from now on.</param>
    /// <exception cref="ArgumentException">The block is too short.</exception>
    public Raster(int rows, int columns, T[] samples)
    {
        Rows = Preconditions.AtLeastOne(rows);
        Columns = Preconditions.AtLeastOne(columns);
        ArgumentNullException.ThrowIfNull(samples);
        if (samples.Length < (long)rows * columns)
        {
            throw new ArgumentException($"The block holds {samples.Length} samples; {rows} rows of {columns} need {(long)rows * columns}.", nameof(samples));
        }

        this.samples = samples;
    }

    /// <summary>Number of rows.</summary>
    public int Rows { get; }

    /// <summary>Number of columns.</summary>
    public int Columns { get; }

    /// <summary>All samples, row-major.</summary>
    public Span<T> Samples => samples.AsSpan(0, Rows * Columns);

    /// <summary>One sample.</summary>
    /// <param name="row">Row, 0 at the top.</param>
    /// <param name="column">Column, 0 at the left.</param>
    public ref T this[int row, int column]
    {
        get
        {
            if ((uint)row >= (uint)Rows || (uint)column >= (uint)Columns)
            {
                throw new ArgumentOutOfRangeException($"({row}, {column}) lies outside {Rows} rows of {Columns} columns.");
            }

            return ref samples[(row * Columns) + column];
        }
    }

    /// <summary>One row as a span (borrowed).</summary>
    /// <param name="row">Row, 0 at the top.</param>
    public Span<T> Row(int row) => samples.AsSpan(checked(row * Columns), Columns);

    /// <summary>The same samples for reading only.</summary>
    public ReadOnlyRaster<T> AsReadOnly() => new(this);
}
