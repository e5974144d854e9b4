using System.Globalization;
using Xunit.Abstractions;

namespace Hotlight.Poses.Tests;

/// <summary>Known poses of people who are not the phantom, marked with an error of 1 mm.</summary>
public sealed class PoseAccuracyTests(ITestOutputHelper output)
{
    private const int Poses = 60;
    private const int Seed = 20261127;

    // Of so few angles a share means little.
    private const int Enough = 40;

    [Fact]
    [Trait("evidence", "independent")]
    public void Fit_OfOtherPeople_IsWithinWhatItSays()
    {
        var errors = new List<double>();
        int covered = 0;
        foreach (PoseModel model in PoseModels.All)
        {
            PoseTally tally = new PoseTally()
                .Add(model, new OtherPeople(model, Seed), Poses)
                .Add(model, new OtherPeople(model, Seed + 1) { IsDistanceKnown = false }, Poses);
            Assert.Equal(0, tally.Refused);
            foreach ((string axis, AxisTally at) in tally.Axes)
            {
                double median = AxisTally.Share(at.Errors, 0.5), most = AxisTally.Share(at.Errors, 0.9), share = 100.0 * at.Covered / Math.Max(1, at.Determined);
                output.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{model.ProjectionId} {axis}: said {at.Determined} of {at.Count}, median {median:0.0}, 90th {most:0.0}, covered {share:0} %; all {AxisTally.Share(at.AllErrors, 0.5):0.0}, {AxisTally.Share(at.AllErrors, 0.9):0.0}"));
                errors.AddRange(at.Errors);
                covered += at.Covered;
                if (at.Determined >= Enough)
                {
                    // Issue: 2 and 5 degrees, 68 % within 10 points; of 40 errors a median is known to a fifth, a share to 7 points.
                    Assert.True(median <= 2.4 && most <= 6.5, $"{model.ProjectionId} {axis}: {median:0.0} and {most:0.0} degrees");
                    Assert.True(share is >= 51 and <= 85, $"{model.ProjectionId} {axis}: {share:0} % covered");
                }
            }

            // A tilt or a turn that is not said is named with why.
            Assert.True(tally.Axes["lean"].Determined == 2 * Poses, model.ProjectionId);
        }

        errors.Sort();
        output.WriteLine(string.Create(CultureInfo.InvariantCulture, $"all: {errors.Count} angles, median {AxisTally.Share(errors, 0.5):0.00}, 90th {AxisTally.Share(errors, 0.9):0.00}, covered {100.0 * covered / errors.Count:0.0} %"));
        Assert.True(AxisTally.Share(errors, 0.5) <= 2);
        Assert.True(AxisTally.Share(errors, 0.9) <= 5);
        Assert.InRange(100.0 * covered / errors.Count, 58, 78);
    }
}
