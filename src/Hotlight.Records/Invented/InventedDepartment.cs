using System.Globalization;
using System.Security.Cryptography;
using System.Text;

namespace Hotlight.Records.Invented;

/// <summary>Makes the exposures of an invented department from its recipe: the same every time, on a site of their own, so that they never mix with real ones.</summary>
/// <remarks>
/// <para>Each view is exposed once and, where it is rejected, again, with the repeat rejected at the same rate, three exposures at most. The chance of a reject is the projection's rate times the person's, the week's and, for positioning, the training's factor.</para>
/// <para>The deviation index is normal about the room's mean; mAs and kerma-area product follow 10^(index/10), so that a drift of the index is dose.</para>
/// </remarks>
public static class InventedDepartment
{
    /// <summary>Identifies the bringing-in of a department, so that it is there once.</summary>
    /// <param name="recipe">The recipe.</param>
    public static Guid ImportIdOf(DepartmentRecipe recipe)
    {
        ArgumentNullException.ThrowIfNull(recipe);
        return IdOf($"{recipe.Site}:{recipe.Seed.ToString(CultureInfo.InvariantCulture)}:import");
    }

    /// <summary>The entries, the oldest day first, made while they are taken.</summary>
    /// <param name="recipe">The recipe.</param>
    /// <param name="hours">The shifts.</param>
    public static IEnumerable<ExposureEntry> Entries(DepartmentRecipe recipe, ShiftHours hours)
    {
        ArgumentNullException.ThrowIfNull(recipe);
        ArgumentNullException.ThrowIfNull(hours);
        return Make(recipe, hours);
    }

    private static IEnumerable<ExposureEntry> Make(DepartmentRecipe recipe, ShiftHours hours)
    {
        var random = new Random(recipe.Seed);
        Guid import = ImportIdOf(recipe);
        int number = 0, patient = 0;
        for (DateOnly day = recipe.FirstDay; day <= recipe.LastDay; day = day.AddDays(1))
        {
            bool isWeekend = day.DayOfWeek is DayOfWeek.Saturday or DayOfWeek.Sunday;
            int week = (day.DayNumber - recipe.FirstDay.DayNumber) / 7;
            int views = Poisson(random, isWeekend ? recipe.ExaminationsOnAWeekend : recipe.ExaminationsOnAWorkday);
            List<ExposureEntry> entries = [];
            for (int view = 0; view < views; view++)
            {
                patient++;
                View exposed = new(recipe, day, week, random, hours, import, $"patient-{patient}");
                entries.AddRange(exposed.Exposures(() => ++number));
            }

            if (day.DayOfWeek == DayOfWeek.Monday)
            {
                foreach (RecipeRoom room in recipe.Rooms)
                {
                    for (int test = 0; test < recipe.TestsAWeek; test++)
                    {
                        entries.Add(Test(recipe, day, room, test, hours, import, ++number));
                    }
                }
            }

            foreach (ExposureEntry entry in entries.OrderBy(entry => entry.ExposedAt))
            {
                yield return entry;
            }
        }
    }

    private static ExposureEntry Test(DepartmentRecipe recipe, DateOnly day, RecipeRoom room, int test, ShiftHours hours, Guid import, int number)
    {
        TimeOnly time = hours.Early.AddMinutes(10 + (5 * test));
        return new ExposureEntry
        {
            Id = IdOf($"{recipe.Site}:{recipe.Seed}:{number}"),
            Site = recipe.Site,
            Key = $"invented-{number.ToString(CultureInfo.InvariantCulture)}",
            ExposedAt = day.ToDateTime(time),
            GivenProjection = "QC flat field",
            Room = room.Name,
            Receptor = room.Receptors[test % room.Receptors.Count],
            Shift = hours.At(time),
            Use = ExposureUse.Test,
            TubeVoltageKvp = 70,
            ExposureMas = 5,
            Source = EntrySource.Table,
            ImportId = import,
        };
    }

    private static Guid IdOf(string text) => new(SHA256.HashData(Encoding.UTF8.GetBytes(text)).AsSpan(0, 16));

    private static double Gaussian(Random random) => Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());

    /// <summary>A Poisson number by Knuth's product of uniforms; the mean stays small here.</summary>
    private static int Poisson(Random random, double mean)
    {
        double limit = Math.Exp(-mean), product = random.NextDouble();
        int count = 0;
        while (product > limit)
        {
            product *= random.NextDouble();
            count++;
        }

        return count;
    }

    private static T Pick<T>(Random random, IReadOnlyList<T> from, Func<T, double> share)
    {
        double at = random.NextDouble() * from.Sum(share);
        foreach (T each in from)
        {
            at -= share(each);
            if (at < 0)
            {
                return each;
            }
        }

        return from[^1];
    }

    /// <summary>One view of one patient, with its repeats.</summary>
    private sealed class View
    {
        private const int MostExposures = 3;
        private readonly DepartmentRecipe recipe;
        private readonly Random random;
        private readonly DateOnly day;
        private readonly ExposureEntry first;
        private readonly RecipeProjection projection;
        private readonly double rejectFactor;
        private readonly double indexMean;

        public View(DepartmentRecipe recipe, DateOnly day, int week, Random random, ShiftHours hours, Guid import, string patient)
        {
            this.recipe = recipe;
            this.random = random;
            this.day = day;
            projection = Pick(random, recipe.Projections, each => each.Share);
            RecipeRoom room = Pick(random, recipe.Rooms, each => each.Share);
            RecipePerson person = Pick(random, recipe.People, each => each.Share);
            PlantedWeeks weeks = recipe.Planted.WeekPattern;
            rejectFactor = person.RejectFactor * (week % weeks.EveryWeeks < weeks.Weeks && week >= weeks.EveryWeeks ? weeks.Factor : 1);
            PlantedDrift drift = recipe.Planted.Drift;
            indexMean = room.IndexShift + (room.Name == drift.Room && day >= drift.From ? drift.UnitsAYear * (day.DayNumber - drift.From.DayNumber) / 365.25 : 0);
            DateTime at = day.ToDateTime(TimeOf(hours));
            first = new ExposureEntry
            {
                Id = Guid.Empty,
                Site = recipe.Site,
                Key = string.Empty,
                ExposedAt = at,
                ProjectionId = projection.Id,
                GivenProjection = projection.Id.Replace('-', ' '),
                Room = room.Name,
                Receptor = room.Receptors[random.Next(room.Receptors.Count)],
                Performer = person.Pseudonym,
                Shift = hours.At(TimeOnly.FromDateTime(at)),
                AgeGroup = random.NextDouble() < recipe.ChildShare ? AgeGroup.Child : AgeGroup.Adult,
                TargetExposureIndex = projection.Target * room.TargetFactor,
                TubeVoltageKvp = projection.Kvp,
                PatientKey = "invented-" + patient,
                ExaminationKey = "invented-examination-" + patient,
                Source = EntrySource.Table,
                ImportId = import,
            };
        }

        public IEnumerable<ExposureEntry> Exposures(Func<int> number)
        {
            for (int exposure = 0; exposure < MostExposures; exposure++)
            {
                RejectReason? reason = Pick(random, recipe.Reasons, each => each.Share).Reason;
                double training = reason == RejectReason.Positioning && day >= recipe.Planted.Training.From ? recipe.Planted.Training.FactorOnPositioning : 1;
                bool isRejected = random.NextDouble() < projection.RejectRate * rejectFactor * training;
                double spread = recipe.IndexSpread * Gaussian(random);
                double deviation = indexMean + spread + (isRejected && reason == RejectReason.Exposure ? spread < 0 ? -5 : 5 : 0);
                double dose = Math.Pow(10, deviation / 10);
                bool hasIndex = random.NextDouble() >= recipe.MissingIndexShare;
                int own = number();
                yield return first with
                {
                    Id = IdOf($"{recipe.Site}:{recipe.Seed}:{own}"),
                    Key = $"invented-{own.ToString(CultureInfo.InvariantCulture)}",
                    ExposedAt = first.ExposedAt.AddSeconds(exposure * (70 + random.Next(80))),
                    Use = isRejected ? ExposureUse.Rejected : ExposureUse.Kept,
                    IsRepeat = exposure > 0,
                    Reason = isRejected && random.NextDouble() >= recipe.UnsaidReasonShare ? reason : null,
                    ExposureIndex = hasIndex ? Math.Round(first.TargetExposureIndex!.Value * dose, 1) : null,
                    DeviationIndex = hasIndex ? Math.Round(deviation, 2) : null,
                    ExposureMas = Math.Round(projection.Mas * dose, 2),
                    KermaAreaProductDgyCm2 = Math.Round(projection.KapDgyCm2 * dose * Math.Exp(0.25 * Gaussian(random)), 4),
                };
                if (!isRejected || random.NextDouble() >= recipe.RepeatedShareOfRejects)
                {
                    yield break;
                }
            }
        }

        private TimeOnly TimeOf(ShiftHours hours)
        {
            string shift = Pick(random, [.. recipe.ShiftShares], each => each.Value).Key;
            (TimeOnly from, TimeOnly to) = shift switch
            {
                "early" => (hours.Early, hours.Late),
                "late" => (hours.Late, hours.Night),
                _ => (hours.Night, hours.Early),
            };

            // The last five minutes stay free, so that repeats fall into the shift of their first exposure; seconds spread like the clock's.
            double minutes = ((to - from).TotalMinutes - 5) * random.NextDouble();
            return from.Add(TimeSpan.FromSeconds(Math.Floor(minutes * 60)));
        }
    }
}
