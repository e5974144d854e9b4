using System.Diagnostics;
using System.Globalization;
using Hotlight.Core;
using Xunit.Abstractions;

namespace Hotlight.Poses.Tests;

/// <summary>Known poses of people who are not the phantom, marked with an error of 1 mm.</summary>
public sealed class PoseAccuracyTests(ITestOutputHelper output)
{
    private const int Poses = 150;
    private const int Seed = 12;

    public static TheoryData<string> Projections => new(PoseModels.All.Select(model => model.ProjectionId));

    [Theory]
    [MemberData(nameof(Projections))]
    [Trait("evidence", "independent")]
    public void Fit_OfOtherPeople_IsWithinWhatItSays(string projection)
    {
        PoseModel model = PoseModels.For(projection)!;
        foreach ((string name, OtherPeople people) in new (string, OtherPeople)[]
        {
            ("usual", new OtherPeople(model, Seed)),
            ("no distance", new OtherPeople(model, Seed) { IsDistanceKnown = false }),
            ("no spacing", new OtherPeople(model, Seed) { IsDistanceKnown = false, IsSpacingKnown = false }),
            ("with turn", new OtherPeople(model, Seed) { WithoutTurn = false }),
            ("child", new OtherPeople(model, Seed) { IsChild = true }),
        })
        {
            if (name == "child" && model.Part is "chest") continue;
            var tallies = new Dictionary<string, Tally>(StringComparer.Ordinal);
            int none = 0;
            var watch = new Stopwatch();
            for (int pose = 0; pose < Poses; pose++)
            {
                MarkedRadiograph radiograph = people.Next();
                watch.Start();
                Figure<PoseFit> figure = PoseFitter.Fit(model, radiograph.Marks, radiograph.Geometry, radiograph.Side);
                watch.Stop();
                if (!figure.IsMeasured) { none++; continue; }
                PoseFit fit = figure.Value;
                Count(tallies, "turn", fit.Turn, fit.State.TurnDegrees, radiograph.TurnDegrees);
                Count(tallies, "tilt", fit.Tilt, fit.State.TiltDegrees, radiograph.TiltDegrees);
                Count(tallies, "lean", fit.Lean, fit.State.LeanDegrees, radiograph.LeanDegrees);
                foreach (PoseJoint joint in fit.Joints)
                {
                    Count(tallies, joint.Name, joint.Angle, fit.State.Joints[joint.Name], radiograph.Joints[joint.Name]);
                }
                if (fit.IsMirrored) Count(tallies, "mirrored", fit.Turn, 0, 0);
                if (fit.Alternative is not null) Count(tallies, "alternative", fit.Turn, 0, 0);
            }

            foreach ((string axis, Tally tally) in tallies)
            {
                output.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{projection,-22} {name,-12} {axis,-18} {tally.Line()}"));
            }
            output.WriteLine($"   none {none}; {watch.Elapsed.TotalMilliseconds / Poses:0.00} ms a fit");
        }
    }

    private static void Count(Dictionary<string, Tally> tallies, string axis, Figure<PoseAngle> figure, double value, double truth)
    {
        if (!tallies.TryGetValue(axis, out Tally? tally)) tallies[axis] = tally = new Tally();
        tally.All.Add(Math.Abs(value - truth));
        if (figure.IsMeasured)
        {
            tally.Errors.Add(Math.Abs(value - truth));
            tally.Deviations.Add(figure.Value.UncertaintyDegrees);
        }
    }

    private sealed class Tally
    {
        public List<double> All { get; } = [];
        public List<double> Errors { get; } = [];
        public List<double> Deviations { get; } = [];

        public string Line()
        {
            int covered = Errors.Zip(Deviations).Count(pair => pair.First <= pair.Second);
            var sorted = Errors.Order().ToList();
            var all = All.Order().ToList();
            return sorted.Count == 0 ? $"never determined; median of all {all[all.Count / 2]:0.0} 90th {all[all.Count * 9 / 10]:0.0}"
              : string.Create(CultureInfo.InvariantCulture, $"determined {100.0 * Errors.Count / All.Count,5:0}%  median {sorted[sorted.Count / 2]:0.00}  90th {sorted[sorted.Count * 9 / 10]:0.00}  se {Deviations.Order().ElementAt(Deviations.Count / 2):0.00}  covered {100.0 * covered / Errors.Count:0}%   (all: {all[all.Count / 2]:0.0} {all[all.Count * 9 / 10]:0.0})");
        }
    }
}
