using Hotlight.Core;

namespace Hotlight.Web.Sharing;

/// <summary>Who has which case open in this process, so that two people on one case see each other.</summary>
public sealed class CaseAttendance
{
    private readonly Lock guard = new();
    private readonly Dictionary<Guid, List<Seat>> open = [];

    /// <summary>Somebody came, went or moved to another line of a case. A listener must only take note.</summary>
    public event Action<Guid>? Moved;

    /// <summary>Opens a case for a reader.</summary>
    /// <param name="caseId">The case.</param>
    /// <param name="name">The reader's pseudonym as others read it.</param>
    public Seat Enter(Guid caseId, string name)
    {
        ArgumentException.ThrowIfNullOrWhiteSpace(name);
        var seat = new Seat(this, caseId, name);
        lock (guard)
        {
            if (!open.TryGetValue(caseId, out List<Seat>? seats))
            {
                open[caseId] = seats = [];
            }

            seats.Add(seat);
        }

        Tell(caseId);
        return seat;
    }

    /// <summary>Everybody else who has the case open, in the order they came.</summary>
    /// <param name="seat">The reader who asks.</param>
    public IReadOnlyList<(string Name, string? At)> Others(Seat seat)
    {
        ArgumentNullException.ThrowIfNull(seat);
        lock (guard)
        {
            return open.TryGetValue(seat.CaseId, out List<Seat>? seats) ? [.. seats.Where(each => each != seat).Select(each => (each.Name, each.At))] : [];
        }
    }

    private void Leave(Seat seat)
    {
        lock (guard)
        {
            if (!open.TryGetValue(seat.CaseId, out List<Seat>? seats) || !seats.Remove(seat))
            {
                return;
            }

            if (seats.Count == 0)
            {
                open.Remove(seat.CaseId);
            }
        }

        Tell(seat.CaseId);
    }

    private void Tell(Guid caseId) => Listeners.Tell(Moved, listener => listener(caseId));

    /// <summary>One reader at one case; disposing it leaves the case.</summary>
    public sealed class Seat : IDisposable
    {
        private readonly CaseAttendance attendance;

        internal Seat(CaseAttendance attendance, Guid caseId, string name)
        {
            this.attendance = attendance;
            CaseId = caseId;
            Name = name;
        }

        /// <summary>The case.</summary>
        public Guid CaseId { get; }

        /// <summary>The reader's pseudonym as others read it.</summary>
        public string Name { get; private set; }

        /// <summary>What the reader looks at, such as a line's question; null where nothing is told.</summary>
        public string? At { get; private set; }

        /// <summary>Tells the others who reads and where; nothing happens when both are as they were.</summary>
        /// <param name="name">The reader's pseudonym.</param>
        /// <param name="at">What the reader looks at.</param>
        public void MoveTo(string name, string? at)
        {
            ArgumentException.ThrowIfNullOrWhiteSpace(name);
            if (name == Name && at == At)
            {
                return;
            }

            (Name, At) = (name, at);
            attendance.Tell(CaseId);
        }

        /// <summary>Leaves the case.</summary>
        public void Dispose() => attendance.Leave(this);
    }
}
