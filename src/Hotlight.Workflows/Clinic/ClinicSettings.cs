using System.Security.Cryptography;
using System.Text;
using Hotlight.Imaging;
using Hotlight.Judgement;
using Hotlight.Measure;
using Hotlight.Measure.Exposure;
using Hotlight.Measure.Markers;
using Hotlight.Records;

namespace Hotlight.Workflows.Clinic;

/// <summary>What a clinic has set: its people, rooms and receptors, its target exposure indices, its thresholds and its marker words. Immutable.</summary>
/// <remarks>Everything left empty means what is built in. The form of the file: docs/clinic.md.</remarks>
public sealed record ClinicSettings
{
    /// <summary>Nothing set.</summary>
    public static ClinicSettings None { get; } = new();

    /// <summary>The people, in the order they were added.</summary>
    public IReadOnlyList<Person> People { get; init; } = [];

    /// <summary>The rooms.</summary>
    public IReadOnlyList<Room> Rooms { get; init; } = [];

    /// <summary>The receptors.</summary>
    public IReadOnlyList<Receptor> Receptors { get; init; } = [];

    /// <summary>Target exposure index, IEC 62494-1, above 0, by identifier of the projection; used in place of the header's.</summary>
    public IReadOnlyDictionary<string, double> TargetExposureIndices { get; init; } = new Dictionary<string, double>();

    /// <summary>Thresholds of the judgement that differ from those built in, by identifier, in the unit of <see cref="JudgementRulesJson.Thresholds"/>.</summary>
    public IReadOnlyDictionary<string, double> Thresholds { get; init; } = new Dictionary<string, double>();

    /// <summary>Words that mark the left side on this clinic's images, such as "LINKS".</summary>
    public IReadOnlyList<string> LeftMarkerWords { get; init; } = [];

    /// <summary>Words that mark the right side.</summary>
    public IReadOnlyList<string> RightMarkerWords { get; init; } = [];

    /// <summary>When the shifts begin; exposures get their shift by it when they are brought into the records.</summary>
    public ShiftHours Shifts { get; init; } = ShiftHours.Usual;

    /// <summary>The school's own list of what learners have to read, in its order.</summary>
    public IReadOnlyList<CompetencyRequirement> Requirements { get; init; } = [];

    /// <summary>Short key of everything that bears on figures and verdicts, 16 hexadecimal digits; empty while all of it is as built in.</summary>
    /// <remarks>Not a secret: the first 64 bits of a SHA-256, to tell settings apart. People, rooms, shifts and the school's list do not bear on results.</remarks>
    public string ResultKey
    {
        get
        {
            ClinicSettings bearing = this with
            {
                People = [],
                Rooms = [],
                Shifts = ShiftHours.Usual,
                Requirements = [],
                Receptors = [.. Receptors.Where(receptor => receptor.Calibration is not null).Select(receptor => receptor with { Name = "receptor", Id = Guid.Empty, RoomId = null })],
            };
            string json = ClinicSettingsJson.Write(bearing, indented: false);
            return json == ClinicSettingsJson.Write(None, indented: false) ? string.Empty : Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(json))[..8]);
        }
    }

    /// <summary>The marker words as they are measured with; null where none are set.</summary>
    /// <exception cref="FormatException">A word cannot be one.</exception>
    public MarkerWords? MarkerWords => LeftMarkerWords.Count + RightMarkerWords.Count == 0 ? null : MarkerWords.Of(LeftMarkerWords, RightMarkerWords);

    /// <summary>The limits a critique is made with.</summary>
    public JudgementRules Rules => Thresholds.Count == 0 ? JudgementRules.Default : JudgementRulesJson.With(Thresholds);

    /// <summary>The receptor an image was made with: the first with a recognition that the header fits; null where none does.</summary>
    /// <param name="exposure">What the header says.</param>
    public Receptor? ReceptorOf(ExposureRecord exposure)
    {
        ArgumentNullException.ThrowIfNull(exposure);
        return Receptors.FirstOrDefault(receptor => receptor.Fits(exposure));
    }

    /// <summary>Fills what the caller does not say of a measurement with what the clinic has set: marker words, the receptor's calibration, the projection's target.</summary>
    /// <param name="options">What the caller says.</param>
    /// <param name="exposure">What the header says.</param>
    /// <param name="projectionId">The projection it is measured for; null: none, and no target is filled.</param>
    public MeasureOptions Fill(MeasureOptions options, ExposureRecord exposure, string? projectionId)
    {
        ArgumentNullException.ThrowIfNull(options);
        return options with
        {
            TargetExposureIndex = options.TargetExposureIndex ?? (projectionId is not null && TargetExposureIndices.TryGetValue(projectionId, out double target) ? target : null),
            Calibration = options.Calibration ?? ReceptorOf(exposure)?.Calibration,
            MarkerWords = options.MarkerWords ?? MarkerWords,
        };
    }

    /// <summary>What is wrong with the settings, one sentence each; empty: nothing.</summary>
    public IReadOnlyList<string> Faults()
    {
        var faults = new List<string>();
        foreach (Person person in People)
        {
            if (person.Id == Guid.Empty || string.IsNullOrWhiteSpace(person.Pseudonym) || person.Pseudonym.Length > Person.PseudonymMaxLength)
            {
                faults.Add($"A person needs a pseudonym of 1 to {Person.PseudonymMaxLength} characters.");
            }
        }

        faults.AddRange(Twice(People.Select(person => person.Pseudonym), "person"));
        faults.AddRange(Twice(People.Select(person => person.Id.ToString()), "person's identifier"));
        foreach (string name in Rooms.Select(room => room.Name).Concat(Receptors.Select(receptor => receptor.Name)))
        {
            if (string.IsNullOrWhiteSpace(name) || name.Length > Room.NameMaxLength)
            {
                faults.Add($"A room or receptor needs a name of 1 to {Room.NameMaxLength} characters.");
            }
        }

        faults.AddRange(Twice(Rooms.Select(room => room.Name), "room"));
        faults.AddRange(Twice(Receptors.Select(receptor => receptor.Name), "receptor"));
        foreach (Receptor receptor in Receptors.Where(receptor => receptor.Calibration is not null && !receptor.CanBeRecognised))
        {
            faults.Add($"“{receptor.Name}” has a calibration but nothing to recognise its images by; give at least one of station name, detector identifier and model.");
        }

        foreach (Receptor receptor in Receptors.Where(receptor => receptor.RoomId is { } id && Rooms.All(room => room.Id != id)))
        {
            faults.Add($"“{receptor.Name}” stands in a room that is not in the list.");
        }

        foreach ((string projection, double target) in TargetExposureIndices)
        {
            if (!double.IsFinite(target) || target is < TargetLowest or > TargetHighest)
            {
                faults.Add($"The target exposure index of {projection} is a number from {TargetLowest} to {TargetHighest}.");
            }
        }

        faults.AddRange(Requirements.Select(each => each.Fault).OfType<string>());
        faults.AddRange(Twice(Requirements.Select(each => each.Title), "requirement"));
        faults.AddRange(Twice(Requirements.Select(each => each.Id.ToString()), "requirement's identifier"));
        if (Shifts.Fault is { } shifts)
        {
            faults.Add(shifts);
        }

        try
        {
            _ = MarkerWords;
        }
        catch (FormatException error)
        {
            faults.Add(error.Message);
        }

        try
        {
            _ = Rules;
        }
        catch (UnreadableThresholdsException error)
        {
            faults.AddRange(error.Errors.Select(each => $"{each.Member.Split('.').ElementAtOrDefault(2) ?? "The thresholds"}: {each.Reason}"));
        }

        return faults;
    }

    /// <summary>Least target exposure index that is taken.</summary>
    public const double TargetLowest = 10;

    /// <summary>Greatest target exposure index that is taken.</summary>
    public const double TargetHighest = 10_000;

    private static IEnumerable<string> Twice(IEnumerable<string> names, string what)
        => names.GroupBy(name => name, StringComparer.OrdinalIgnoreCase).Where(group => group.Count() > 1).Select(group => $"The {what} “{group.Key}” is there twice.");
}

/// <summary>A room where exposures are made.</summary>
public sealed record Room
{
    /// <summary>Longest name of a room or receptor, in characters.</summary>
    public const int NameMaxLength = 60;

    /// <summary>Identifies the room.</summary>
    public required Guid Id { get; init; }

    /// <summary>What it is called, 1 to <see cref="NameMaxLength"/> characters.</summary>
    public required string Name { get; init; }

    /// <summary>What kind of room it is.</summary>
    public RoomKind Kind { get; init; } = RoomKind.General;
}

/// <summary>What kind of room exposures are made in.</summary>
public enum RoomKind
{
    /// <summary>A general radiography room.</summary>
    General = 0,

    /// <summary>A room for chests and upright work.</summary>
    Chest = 1,

    /// <summary>A mobile unit on the ward.</summary>
    Mobile = 2,

    /// <summary>A room of the emergency department.</summary>
    Emergency = 3,

    /// <summary>A room where students expose phantoms.</summary>
    Teaching = 4,
}

/// <summary>A receptor with what its images are recognised by and how its values follow air kerma.</summary>
public sealed record Receptor
{
    /// <summary>Identifies the receptor.</summary>
    public required Guid Id { get; init; }

    /// <summary>What it is called.</summary>
    public required string Name { get; init; }

    /// <summary>The room it is used in; null: not told.</summary>
    public Guid? RoomId { get; init; }

    /// <summary>Station Name (0008,1010) of its images; null: any.</summary>
    public string? StationName { get; init; }

    /// <summary>Detector ID (0018,700A) of its images; null: any.</summary>
    public string? DetectorId { get; init; }

    /// <summary>Manufacturer's Model Name (0008,1090) of its images; null: any.</summary>
    public string? ManufacturerModel { get; init; }

    /// <summary>How its values follow air kerma; null: not calibrated.</summary>
    public Calibration? Calibration { get; init; }

    /// <summary>Whether anything is given to recognise its images by.</summary>
    public bool CanBeRecognised => !string.IsNullOrWhiteSpace(StationName) || !string.IsNullOrWhiteSpace(DetectorId) || !string.IsNullOrWhiteSpace(ManufacturerModel);

    /// <summary>Whether an image is this receptor's: everything given must be in its header, in any case of letters.</summary>
    /// <param name="exposure">What the header says.</param>
    public bool Fits(ExposureRecord exposure)
    {
        ArgumentNullException.ThrowIfNull(exposure);
        static bool Same(string? given, string? header) => string.IsNullOrWhiteSpace(given) || string.Equals(given.Trim(), header?.Trim(), StringComparison.OrdinalIgnoreCase);
        return CanBeRecognised && Same(StationName, exposure.StationName) && Same(DetectorId, exposure.DetectorId) && Same(ManufacturerModel, exposure.ManufacturerModel);
    }
}
