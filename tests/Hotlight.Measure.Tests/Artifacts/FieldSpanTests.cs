using Hotlight.Core;
using Hotlight.Measure.Artifacts;

namespace Hotlight.Measure.Tests.Artifacts;

public class FieldSpanTests
{
    [Fact]
    [Trait("evidence", "analytic")]
    public void Of_SideAlmostLevel_KeepsToTheFrame()
    {
        // The upper side rises by 2e-6 of a pixel over 1000: above it its line is met 5e9 pixels away or more, beyond the whole numbers.
        PixelPoint[] outline = [new(X: 10, Y: 50), new(X: 1010, Y: 50.000002), new(X: 1010, Y: 900), new(X: 10, Y: 900)];

        FieldSpan span = FieldSpan.Of(rows: 1000, columns: 1100, outline, marginPixels: 3);

        for (int row = 0; row < 1000; row++)
        {
            (int first, int end) = span.Row(row);
            Assert.InRange(first, 0, 1100);
            Assert.InRange(end, 0, 1100);

            // Rows 53 and 897 lie on the margin itself.
            if (row is not (53 or 897))
            {
                Assert.Equal(row is > 53 and < 897, end > first);
            }
        }
    }
}
