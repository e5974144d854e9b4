using Hotlight.Records;

namespace Hotlight.Benchmarks.Records;

/// <summary>Exposures of a department that does not exist, in the order of time, from a seed.</summary>
/// <remarks>The mix is made up to look like a department's: projections by Zipf's law, rooms with receptors of their own, people with shifts and favourite rooms, quiet nights, 8 % rejects, index missing in 3 %. No figure of it is a finding.</remarks>
/// <param name="Seed">Same seed, same exposures.</param>
/// <param name="Entries">How many.</param>
/// <param name="Years">Over how many years, from 2017 on.</param>
/// <param name="Rooms">Rooms.</param>
/// <param name="People">People who expose.</param>
/// <param name="Projections">Projections.</param>
internal sealed record InventedDepartment(int Seed, long Entries, int Years, int Rooms, int People, int Projections)
{
    /// <summary>First day.</summary>
    public static readonly DateTime Start = new(2017, 1, 1);

    /// <summary>The exposures.</summary>
    public IEnumerable<ExposureEntry> Generate()
    {
        var random = new Random(Seed);
        double[] steps = new double[Projections];
        double sum = 0;
        for (int rank = 0; rank < Projections; rank++)
        {
            steps[rank] = sum += 1.0 / (rank + 1);
        }

        long ticks = (Start.AddYears(Years) - Start).Ticks;
        RejectReason?[] reasons = [RejectReason.Positioning, RejectReason.Positioning, RejectReason.Positioning, RejectReason.Positioning, RejectReason.ClippedAnatomy, RejectReason.ClippedAnatomy, RejectReason.Exposure, RejectReason.Motion, RejectReason.Artifact, RejectReason.Marker, RejectReason.WrongPatientOrPart, RejectReason.Equipment, RejectReason.Other, null];
        byte[] id = new byte[16];
        for (long number = 0; number < Entries; number++)
        {
            // Times in order: each in its own slice, moved to the day's hours.
            DateTime even = Start.AddTicks((long)((number + random.NextDouble()) / Entries * ticks));
            int hour = random.Next(20) == 0 ? random.Next(24) : 7 + (int)(13 * Math.Sqrt(random.NextDouble() * random.NextDouble()));
            DateTime at = even.Date.AddHours(hour).AddSeconds(random.Next(3600));
            Shift shift = hour is >= 6 and < 14 ? Shift.Early : hour is >= 14 and < 22 ? Shift.Late : Shift.Night;
            int person = random.Next(People);
            int room = random.Next(4) == 0 ? random.Next(Rooms) : (person * 7) % Rooms;
            int projection = Array.BinarySearch(steps, random.NextDouble() * sum);
            projection = projection < 0 ? Math.Min(~projection, Projections - 1) : projection;
            bool isTest = random.Next(100) == 0;
            bool isRejected = !isTest && random.NextDouble() < 0.05 + (0.06 * (projection % 7) / 6) + (0.02 * (person % 5) / 4);
            double? index = random.Next(33) == 0 ? null : Math.Round(400 * Math.Pow(10, ((random.NextDouble() + random.NextDouble() + random.NextDouble() - 1.5) * 0.35) + (room * 0.01)), 1);
            random.NextBytes(id);
            yield return new ExposureEntry
            {
                Id = new Guid(id),
                Key = $"1.2.826.0.1.3680043.10.{Seed}.{at.Year}.{number}",
                ExposedAt = at,
                ProjectionId = random.Next(50) == 0 ? null : $"projection-{projection:000}",
                GivenProjection = $"PROJECTION {projection} {(char)('A' + (number % 3))}",
                Room = $"Room {room + 1}",
                Receptor = $"Receptor {room + 1}{(random.Next(5) == 0 ? "b" : "a")}",
                Performer = $"Person {person:000}",
                Shift = shift,
                AgeGroup = random.Next(8) == 0 ? AgeGroup.Child : random.Next(60) == 0 ? AgeGroup.Unknown : AgeGroup.Adult,
                Use = isTest ? ExposureUse.Test : isRejected ? ExposureUse.Rejected : ExposureUse.Kept,
                IsRepeat = random.Next(14) == 0,
                Reason = isRejected ? reasons[random.Next(reasons.Length)] : null,
                ExposureIndex = index,
                TargetExposureIndex = 400,
                DeviationIndex = index is { } value ? 10 * Math.Log10(value / 400) : null,
                TubeVoltageKvp = 50 + random.Next(80),
                ExposureMas = Math.Round(random.NextDouble() * 20, 2),
                KermaAreaProductDgyCm2 = random.Next(10) == 0 ? null : Math.Round(0.05 + (8 * random.NextDouble() * random.NextDouble()), 4),
                PatientKey = $"{number / 3:x12}{Seed:x4}",
                ExaminationKey = $"{number / 2:x12}{Seed:x4}",
                Source = EntrySource.Header,
            };
        }
    }
}
