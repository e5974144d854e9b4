namespace Hotlight.Statistics.Proportions;

/// <summary>Events out of a total: repeats out of exposures, right answers out of readings.</summary>
public sealed record EventCount
{
    /// <summary>Makes a count.</summary>
    /// <param name="events">Events, 0 to <paramref name="total"/>.</param>
    /// <param name="total">All that could have been an event, 0 or more.</param>
    /// <exception cref="ArgumentOutOfRangeException">The total is below 0 or the events are outside [0, total].</exception>
    public EventCount(long events, long total)
    {
        if (total < 0)
        {
            throw new ArgumentOutOfRangeException(nameof(total), total, $"The total is {total}; it must be 0 or more.");
        }

        if (events < 0 || events > total)
        {
            throw new ArgumentOutOfRangeException(nameof(events), events, $"The events are {events}; they must be in [0, {total}].");
        }

        Events = events;
        Total = total;
    }

    /// <summary>Events, 0 to <see cref="Total"/>.</summary>
    public long Events { get; }

    /// <summary>All that could have been an event, 0 or more.</summary>
    public long Total { get; }

    /// <summary>Events over total, 0 to 1.</summary>
    /// <exception cref="InvalidOperationException">The total is 0.</exception>
    public double Fraction() => Total > 0 ? (double)Events / Total : throw new InvalidOperationException("A count of none has no fraction.");
}
