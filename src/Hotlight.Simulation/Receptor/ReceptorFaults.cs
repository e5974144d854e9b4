using Hotlight.Core;

namespace Hotlight.Simulation.Receptor;

/// <summary>What is wrong with one receptor, or was not corrected.</summary>
internal sealed record ReceptorFaults
{
    /// <summary>A receptor without faults.</summary>
    public static ReceptorFaults None { get; } = new();

    /// <summary>Standard deviation of the gain between read-out blocks after an imperfect correction, in percent.</summary>
    public double GainStepPercent { get; init; }

    /// <summary>Columns of a read-out block, 1 or more.</summary>
    public int BlockColumns { get; init; } = 256;

    /// <summary>Rows of a read-out block, 1 or more; the default is the whole column.</summary>
    public int BlockRows { get; init; } = int.MaxValue;

    /// <summary>Standard deviation of the gain between single elements after the correction, in percent.</summary>
    public double ElementGainPercent { get; init; }

    /// <summary>Share of single elements that read 0.</summary>
    public double DeadElementShare { get; init; }

    /// <summary>Columns that read 0.</summary>
    public IReadOnlyList<int> DeadColumns { get; init; } = [];

    /// <summary>Rows that read 0.</summary>
    public IReadOnlyList<int> DeadRows { get; init; } = [];

    /// <summary>Share of the exposure before that is still read, 0 to 1.</summary>
    public double LagShare { get; init; }

    /// <summary>The receptor's own number: faults of single elements and blocks follow from it, not from the exposure's seed.</summary>
    public ulong ReceptorSeed { get; init; } = 1;
}

/// <summary>The last steps of reading.</summary>
internal static class ReceptorReadOut
{
    /// <summary>Applies gain, lag, electronic noise, full well and dead elements, in place.</summary>
    public static Raster<float> Finish(ImageReceptor receptor, Raster<float> read, ulong seed, ReceptorFaults faults, Raster<float>? before)
    {
        if (before is not null && (before.Rows != read.Rows || before.Columns != read.Columns))
        {
            throw new ArgumentException($"The exposure before has {before.Rows} rows of {before.Columns}; this one has {read.Rows} of {read.Columns}.", nameof(before));
        }

        int blockColumns = Preconditions.AtLeastOne(faults.BlockColumns);
        int blockRows = Preconditions.AtLeastOne(faults.BlockRows);
        double lag = Preconditions.Within(faults.LagShare, 0, 1);
        double dead = Preconditions.Within(faults.DeadElementShare, 0, 1);
        float noise = (float)Preconditions.Within(receptor.ElectronicNoiseMicrogray, 0, 1e6);
        float full = (float)Preconditions.AboveZero(receptor.FullWellMicrogray);
        bool[] deadColumn = new bool[read.Columns];
        foreach (int column in faults.DeadColumns)
        {
            deadColumn[column] = true;
        }

        HashSet<int> deadRows = [.. faults.DeadRows];
        Parallel.For(0, read.Rows, row =>
        {
            Span<float> line = read.Row(row);
            if (faults.GainStepPercent > 0)
            {
                int blockRow = row / blockRows;
                for (int block = 0; block * blockColumns < line.Length; block++)
                {
                    Projection.SplitMix random = Projection.SplitMix.ForRow(faults.ReceptorSeed ^ 0x6A1B0C5DUL, (blockRow * 4096) + block);
                    float gain = (float)(1 + (faults.GainStepPercent / 100 * random.NextGaussian()));
                    Span<float> part = line[(block * blockColumns)..Math.Min(line.Length, (block + 1) * blockColumns)];
                    for (int column = 0; column < part.Length; column++)
                    {
                        part[column] *= gain;
                    }
                }
            }

            if (faults.ElementGainPercent > 0)
            {
                Projection.SplitMix random = Projection.SplitMix.ForRow(faults.ReceptorSeed ^ 0x5E1E3E27UL, row);
                for (int column = 0; column < line.Length; column++)
                {
                    line[column] *= (float)(1 + (faults.ElementGainPercent / 100 * random.NextGaussian()));
                }
            }

            if (before is not null && lag > 0)
            {
                ReadOnlySpan<float> last = before.Row(row);
                for (int column = 0; column < line.Length; column++)
                {
                    line[column] += (float)lag * last[column];
                }
            }

            Projection.SplitMix electronic = Projection.SplitMix.ForRow(seed ^ 0xE1EC7208UL, row);
            for (int column = 0; column < line.Length; column++)
            {
                line[column] = MathF.Min(full, line[column] + (noise * (float)electronic.NextGaussian()));
            }

            Projection.SplitMix single = Projection.SplitMix.ForRow(faults.ReceptorSeed ^ 0xDEADUL, row);
            bool whole = deadRows.Contains(row);
            for (int column = 0; column < line.Length; column++)
            {
                if (whole || deadColumn[column] || (dead > 0 && single.NextUniform() < dead))
                {
                    line[column] = 0;
                }
            }
        });
        return read;
    }
}
