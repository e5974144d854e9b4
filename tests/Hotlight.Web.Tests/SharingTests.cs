using Hotlight.Web.Sharing;

namespace Hotlight.Web.Tests;

public sealed class SharingTests
{
    [Fact]
    public void Readers_OfOneCase_SeeEachOther_AndNobodyElse()
    {
        var attendance = new CaseAttendance();
        Guid wrist = Guid.NewGuid();
        using CaseAttendance.Seat one = attendance.Enter(wrist, "reader one");
        using CaseAttendance.Seat other = attendance.Enter(wrist, "reader two");
        using CaseAttendance.Seat elsewhere = attendance.Enter(Guid.NewGuid(), "reader three");

        other.MoveTo("reader two", "Collimation");
        Assert.Equal([("reader two", "Collimation")], attendance.Others(one));
        Assert.Equal([("reader one", null)], attendance.Others(other));
        Assert.Empty(attendance.Others(elsewhere));

        other.Dispose();
        Assert.Empty(attendance.Others(one));
    }

    [Fact]
    public void Listeners_AreToldOnceForEachMove_AndOneThatFailsHoldsUpNobody()
    {
        var attendance = new CaseAttendance();
        Guid wrist = Guid.NewGuid();
        int told = 0;
        attendance.Moved += _ => throw new ObjectDisposedException("a page that is being left");
        attendance.Moved += id => told += id == wrist ? 1 : 0;

        CaseAttendance.Seat seat = attendance.Enter(wrist, "reader");
        seat.MoveTo("reader", "Collimation");
        seat.MoveTo("reader", "Collimation");
        seat.Dispose();
        seat.Dispose();
        Assert.Equal(3, told);
    }

    // 5 s, then a pause of 10 min of which 60 s count, then 7 s: 72 s.
    [Fact]
    [Trait("evidence", "analytic")]
    public void Clock_CountsTheTimeBetweenActs_AndOfPausesAMinute()
    {
        var clock = new SetClock();
        var reading = new ReadingClock(clock, TimeSpan.FromSeconds(100));
        reading.Act();
        Assert.Equal(TimeSpan.FromSeconds(100), reading.Counted);
        foreach (int seconds in new[] { 5, 600, 7 })
        {
            clock.Pass(TimeSpan.FromSeconds(seconds));
            reading.Act();
        }

        Assert.Equal(TimeSpan.FromSeconds(172), reading.Counted);
    }

    private sealed class SetClock : TimeProvider
    {
        private long ticks;

        public override long TimestampFrequency => TimeSpan.TicksPerSecond;

        public void Pass(TimeSpan time) => ticks += time.Ticks;

        public override long GetTimestamp() => ticks;
    }
}
