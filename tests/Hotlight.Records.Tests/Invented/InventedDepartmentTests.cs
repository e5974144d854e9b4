using Hotlight.Catalogue;
using Hotlight.Records.Invented;

namespace Hotlight.Records.Tests.Invented;

/// <summary>What was planted is there. Tolerances: 4 standard errors of the figure compared (k = 4; a fixed seed, but the claim holds for others), n in the comments.</summary>
public sealed class InventedDepartmentTests
{
    private static readonly DepartmentRecipe Recipe = DepartmentRecipe.SaltmarshLane;
    private static readonly ExposureEntry[] All = [.. InventedDepartment.Entries(Recipe, ShiftHours.Usual)];
    private static readonly ExposureEntry[] Patients = [.. All.Where(entry => entry.Use != ExposureUse.Test)];

    [Fact]
    public void Entries_AreTheSameEveryTime_OnASiteOfTheirOwn()
    {
        Assert.Equal(All, InventedDepartment.Entries(Recipe, ShiftHours.Usual));
        Assert.All(All, entry => Assert.Equal("Saltmarsh Lane (invented)", entry.Site));
        Assert.Contains("nvented", Recipe.About, StringComparison.Ordinal);
        Assert.Equal(All.Length, All.Select(entry => entry.Key).Distinct().Count());
        Assert.Equal(All.Length, All.Select(entry => entry.Id).Distinct().Count());
        Assert.InRange(All.Length, 18_000, 24_000);
        Assert.Equal(Recipe.FirstDay, All.Min(entry => DateOnly.FromDateTime(entry.ExposedAt)));
        Assert.Equal(Recipe.LastDay, All.Max(entry => DateOnly.FromDateTime(entry.ExposedAt)));
    }

    [Fact]
    public void Entries_HoldWhatTheContractAsks()
    {
        Assert.All(Recipe.Projections, projection => Assert.NotNull(ProjectionCatalogue.BuiltIn.Find(projection.Id)));
        Assert.All(All, entry => Assert.True(entry.Reason is null || entry.Use == ExposureUse.Rejected));
        ILookup<string?, ExposureEntry> examinations = Patients.ToLookup(entry => entry.ExaminationKey);
        Assert.All(Patients.Where(entry => entry.IsRepeat), entry => Assert.Contains(examinations[entry.ExaminationKey], other => other.Use == ExposureUse.Rejected && other.ExposedAt < entry.ExposedAt));
        Assert.All(Patients.Where(entry => entry.DeviationIndex is not null), entry => Assert.Equal(10 * Math.Log10(entry.ExposureIndex!.Value / entry.TargetExposureIndex!.Value), entry.DeviationIndex!.Value, 0.03));
        Assert.All(All, entry => Assert.Equal(ShiftHours.Usual.At(TimeOnly.FromDateTime(entry.ExposedAt)), entry.Shift));
    }

    [Fact]
    public void Training_PositioningRejectsFallToTheirFactor()
    {
        (double before, int n) = Rate(Patients.Where(entry => DateOnly.FromDateTime(entry.ExposedAt) < Recipe.Planted.Training.From), Positioning);
        (double after, int m) = Rate(Patients.Where(entry => DateOnly.FromDateTime(entry.ExposedAt) >= Recipe.Planted.Training.From), Positioning);

        // Standard error of the logarithm of a ratio of two counts: √(1/a + 1/b).
        double error = Math.Sqrt((1 / (before * n)) + (1 / (after * m)));
        Assert.InRange(Math.Log(after / before), Math.Log(Recipe.Planted.Training.FactorOnPositioning) - (4 * error), Math.Log(Recipe.Planted.Training.FactorOnPositioning) + (4 * error));
    }

    [Fact]
    public void Drift_TheIndexOfTheRoomRisesAsPlanted()
    {
        PlantedDrift drift = Recipe.Planted.Drift;
        double MeanOf(DateOnly from, DateOnly to, out int n)
        {
            double[] indices = [.. Patients.Where(entry => entry.Room == drift.Room && entry.Reason != RejectReason.Exposure && entry.DeviationIndex is not null && DateOnly.FromDateTime(entry.ExposedAt) >= from && DateOnly.FromDateTime(entry.ExposedAt) < to).Select(entry => entry.DeviationIndex!.Value)];
            n = indices.Length;
            return indices.Average();
        }

        double before = MeanOf(Recipe.FirstDay, drift.From, out int n);
        double later = MeanOf(drift.From.AddMonths(12), drift.From.AddMonths(18), out int m);

        // Middle of the months 12 to 18 is 1.25 years; standard deviation of an index 1.6, a little more with the slope within the half year.
        double error = 2 * Math.Sqrt((1.0 / n) + (1.0 / m));
        Assert.InRange(later - before, (drift.UnitsAYear * 1.25) - (4 * error), (drift.UnitsAYear * 1.25) + (4 * error));
    }

    [Fact]
    public void Weeks_RejectsAreMoreSpreadThanABinomial()
    {
        double[] z = [.. Patients.GroupBy(entry => (DateOnly.FromDateTime(entry.ExposedAt).DayNumber - Recipe.FirstDay.DayNumber) / 7).Select(week => (Rejects: week.Count(Rejected), Count: week.Count()))
            .Select(week => (week.Rejects - (week.Count * Overall)) / Math.Sqrt(week.Count * Overall * (1 - Overall)))];

        // Variance of a standard score over k weeks: 1 ± √(2/k) where nothing but chance spreads them.
        Assert.True(z.Average(each => each * each) > 1 + (4 * Math.Sqrt(2.0 / z.Length)), $"{z.Average(each => each * each)} over {z.Length} weeks");
    }

    [Fact]
    public void Person_StandsOutAsPlanted()
    {
        (double one, int n) = Rate(Patients.Where(entry => entry.Performer == Recipe.Planted.Person.Pseudonym), Rejected);
        (double others, int m) = Rate(Patients.Where(entry => entry.Performer != Recipe.Planted.Person.Pseudonym), Rejected);
        RecipePerson[] rest = [.. Recipe.People.Where(person => person.Pseudonym != Recipe.Planted.Person.Pseudonym)];
        double factor = Recipe.People.Single(person => person.Pseudonym == Recipe.Planted.Person.Pseudonym).RejectFactor / (rest.Sum(person => person.Share * person.RejectFactor) / rest.Sum(person => person.Share));
        double error = Math.Sqrt((1 / (one * n)) + (1 / (others * m)));
        Assert.InRange(Math.Log(one / others), Math.Log(factor) - (4 * error), Math.Log(factor) + (4 * error));
    }

    private static double Overall => Rate(Patients, Rejected).Rate;

    private static bool Rejected(ExposureEntry entry) => entry.Use == ExposureUse.Rejected;

    private static bool Positioning(ExposureEntry entry) => entry.Reason == RejectReason.Positioning;

    private static (double Rate, int Count) Rate(IEnumerable<ExposureEntry> entries, Func<ExposureEntry, bool> counts)
    {
        int all = 0, some = 0;
        foreach (ExposureEntry entry in entries)
        {
            all++;
            some += counts(entry) ? 1 : 0;
        }

        return ((double)some / all, all);
    }
}
