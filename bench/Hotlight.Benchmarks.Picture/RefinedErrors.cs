using System.Diagnostics;
using Hotlight.Core;
using Hotlight.Poses;
using Hotlight.Poses.Tests;

namespace Hotlight.Benchmarks.Picture;

/// <summary>Errors of poses refined by the picture, beside those of the marks alone, on people who are not the phantom.</summary>
internal static class RefinedErrors
{
    // An angle that the marks do not fix this well is not counted (PoseFitter.DeterminedWithinDegrees).
    private const double MostDegrees = PoseFitter.DeterminedWithinDegrees;

    public static void Print(IReadOnlyList<string> projections, int poses, int seed)
    {
        Console.WriteLine("| projection | angle | n | median error, marks | refined | 90th percentile, marks | refined | stated, marks | refined | within one stated, marks | refined |");
        Console.WriteLine("| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |");
        List<Error> all = [];
        List<string> lines = [];
        foreach (string projection in projections)
        {
            PoseModel model = PoseModels.For(projection) ?? throw new ArgumentException($"There is no pose model '{projection}'.", nameof(projections));
            List<Error> errors = [];
            List<double> before = [], after = [], times = [];
            int helped = 0;
            for (int pose = 0; pose < poses; pose++)
            {
                // Every fifth is a child where the phantom has all of the model's landmarks in a child.
                OtherAnatomy other = OtherAnatomy.Draw(model, (1000 * seed) + pose, isChild: pose % 5 == 4 && model.Part is "knee" or "foot");
                Figure<PoseFit> fitted = PoseFitter.Fit(model, other.Marks, LabPoses.Geometry(other.Scene), other.Scene.Part!.Side);
                if (!fitted.IsMeasured)
                {
                    continue;
                }

                PoseImage image = PoseImage.Of(other.Radiograph, 900);
                long begun = Stopwatch.GetTimestamp();
                PoseRefinement refined = PoseRefiner.Refine(fitted.Value, image);
                times.Add(Stopwatch.GetElapsedTime(begun).TotalMilliseconds);
                helped += refined.Helped ? 1 : 0;
                before.Add(refined.HeldBackBeforeMm);
                after.Add(refined.HeldBackAfterMm);
                errors.AddRange(refined.Angles
                    .Where(angle => angle.Before.UncertaintyDegrees <= MostDegrees)
                    .Select(angle => new Error(
                        angle.Name,
                        Math.Abs(Math.IEEERemainder(angle.Before.Degrees - other.Truth(angle.Name), 360)),
                        Math.Abs(Math.IEEERemainder(angle.After.Degrees - other.Truth(angle.Name), 360)),
                        angle.Before.UncertaintyDegrees,
                        angle.After.UncertaintyDegrees)));
            }

            foreach (IGrouping<string, Error> angle in errors.GroupBy(error => error.Name))
            {
                Row(projection, angle.Key, [.. angle]);
            }

            all.AddRange(errors);
            lines.Add($"{projection}: the picture changed {helped} of {poses} poses; edges held back {At(before, 0.5):0.00} mm before, {At(after, 0.5):0.00} mm after; {At(times, 0.5):0} ms");
        }

        Row("all", "", all);
        Console.WriteLine();
        lines.ForEach(Console.WriteLine);
    }

    private static void Row(string projection, string name, List<Error> errors)
        => Console.WriteLine($"| {projection} | {name} | {errors.Count} | {At(errors.Select(error => error.Marks), 0.5):0.00} | {At(errors.Select(error => error.Refined), 0.5):0.00} | {At(errors.Select(error => error.Marks), 0.9):0.00} | {At(errors.Select(error => error.Refined), 0.9):0.00} | {At(errors.Select(error => error.MarksStated), 0.5):0.00} | {At(errors.Select(error => error.RefinedStated), 0.5):0.00} | {100.0 * errors.Count(error => error.Marks <= error.MarksStated) / errors.Count:0} % | {100.0 * errors.Count(error => error.Refined <= error.RefinedStated) / errors.Count:0} % |");

    private static double At(IEnumerable<double> values, double share)
    {
        double[] sorted = [.. values.Where(value => !double.IsNaN(value)).Order()];
        return sorted.Length == 0 ? double.NaN : sorted[(int)(share * (sorted.Length - 1))];
    }

    private sealed record Error(string Name, double Marks, double Refined, double MarksStated, double RefinedStated);
}
