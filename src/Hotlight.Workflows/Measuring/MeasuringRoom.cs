namespace Hotlight.Workflows.Measuring;

/// <summary>Room for images that are measured at once: places of a certain number of pixels; a large image takes several, the largest all of them.</summary>
internal sealed class MeasuringRoom
{
    // What an image of sixteen million pixels or less needs while it is read and measured (bench/compare), and the share of memory that is used for it.
    private const long PixelsPerPlace = 16_000_000;
    private const long BytesPerPlace = 400_000_000;
    private const double MemoryShare = 0.5;

    private readonly object gate = new();
    private int free;

    /// <summary>Makes room.</summary>
    /// <param name="places">Number of places, 1 or more.</param>
    internal MeasuringRoom(int places)
    {
        Places = places;
        free = places;
    }

    /// <summary>Number of places.</summary>
    internal int Places { get; }

    /// <summary>Places for this machine: as many as it has cores and as its memory holds, 1 at least.</summary>
    internal static int PlacesHere()
        => (int)Math.Clamp(MemoryShare * GC.GetGCMemoryInfo().TotalAvailableMemoryBytes / BytesPerPlace, 1, Environment.ProcessorCount);

    /// <summary>Waits for the places that an image needs and takes them.</summary>
    /// <param name="pixels">Its pixels.</param>
    /// <returns>How many places it took.</returns>
    internal int Enter(long pixels)
    {
        int needed = (int)Math.Clamp((pixels + PixelsPerPlace - 1) / PixelsPerPlace, 1, Places);
        lock (gate)
        {
            while (free < needed)
            {
                Monitor.Wait(gate);
            }

            free -= needed;
            return needed;
        }
    }

    /// <summary>Gives places back.</summary>
    /// <param name="places">How many.</param>
    internal void Leave(int places)
    {
        lock (gate)
        {
            free += places;
            Monitor.PulseAll(gate);
        }
    }
}
