namespace Hotlight.Records.Tests;

public sealed class ShiftHoursTests
{
    [Theory]
    [InlineData("06:29", Shift.Night)]
    [InlineData("06:30", Shift.Early)]
    [InlineData("13:59", Shift.Early)]
    [InlineData("14:00", Shift.Late)]
    [InlineData("21:59", Shift.Late)]
    [InlineData("22:00", Shift.Night)]
    [InlineData("00:00", Shift.Night)]
    public void At_UsualHours_BoundariesBelongToTheLaterShift(string time, Shift expected) => Assert.Equal(expected, ShiftHours.Usual.At(TimeOnly.Parse(time)));

    [Fact]
    public void At_ANightThatBeginsAfterMidnight_GoesRoundTheDay()
    {
        ShiftHours hours = new() { Early = new TimeOnly(8, 0), Late = new TimeOnly(16, 0), Night = new TimeOnly(0, 30) };
        Assert.Null(hours.Fault);
        Assert.Equal(Shift.Late, hours.At(new TimeOnly(0, 10)));
        Assert.Equal(Shift.Night, hours.At(new TimeOnly(0, 30)));
    }

    [Theory]
    [InlineData("06:30", "06:30", "22:00")]
    [InlineData("06:30", "22:00", "14:00")]
    public void Fault_OutOfOrder_IsSaid(string early, string late, string night)
        => Assert.NotNull(new ShiftHours { Early = TimeOnly.Parse(early), Late = TimeOnly.Parse(late), Night = TimeOnly.Parse(night) }.Fault);
}
