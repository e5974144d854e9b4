using Hotlight.Simulation.Projection;

namespace Hotlight.Simulation.Tests.Projection;

public sealed class SplitMixTests
{
    [Theory]
    [Trait("evidence", "published")]

    // splitmix64 from state 1234567: the first values of the reference code's published test vector.
    [InlineData(0, 6457827717110365317UL)]
    [InlineData(1, 3203168211198807973UL)]
    [InlineData(2, 9817491932198370423UL)]
    public void Next_FromAKnownState_IsTheReferenceSequence(int skip, ulong expected)
    {
        SplitMix random = new(1234567);
        for (int k = 0; k < skip; k++)
        {
            random.Next();
        }

        Assert.Equal(expected, random.Next());
    }
}
