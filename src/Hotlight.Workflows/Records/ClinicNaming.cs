using Hotlight.Imaging;
using Hotlight.Privacy;
using Hotlight.Records.Sources;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.Intake;

namespace Hotlight.Workflows.Records;

/// <summary>Names as this bench keeps them: pseudonyms by its key, rooms and receptors by the clinic's settings.</summary>
public sealed class ClinicNaming : ISourceNaming
{
    private static readonly HashSet<string> Nobody = [];
    private readonly PrivacyKey key;
    private readonly ClinicSettings settings;
    private readonly ProjectionWords projections;
    private readonly bool makesNew;

    /// <summary>Creates the naming.</summary>
    /// <param name="key">The store's key.</param>
    /// <param name="settings">The clinic's settings.</param>
    /// <param name="projections">Words that descriptions may keep.</param>
    /// <param name="setting">Whether UIDs and devices are made new (teaching) or stay (clinical; and files that were made new before).</param>
    public ClinicNaming(PrivacyKey key, ClinicSettings settings, ProjectionWords projections, IntakeSetting setting)
    {
        ArgumentNullException.ThrowIfNull(key);
        ArgumentNullException.ThrowIfNull(settings);
        ArgumentNullException.ThrowIfNull(projections);
        this.key = key;
        this.settings = settings;
        this.projections = projections;
        makesNew = setting == IntakeSetting.Teaching;
    }

    /// <inheritdoc/>
    public string? PerformerOf(string name) => key.StaffPseudonym(name);

    /// <inheritdoc/>
    public string KeyOf(string kind, string value) => key.Stand(kind, value);

    /// <inheritdoc/>
    public string UidOf(string uid) => makesNew ? key.Uid(uid) : uid;

    /// <inheritdoc/>
    public SourcePlace PlaceOf(SourceDevice device)
    {
        ArgumentNullException.ThrowIfNull(device);
        Receptor? receptor = settings.ReceptorOf(new ExposureRecord { StationName = device.StationName, DetectorId = device.DetectorId, ManufacturerModel = device.ManufacturerModel });
        string? room = receptor?.RoomId is { } id ? settings.Rooms.FirstOrDefault(each => each.Id == id)?.Name : null;
        return new SourcePlace(room ?? DeviceOf('S', device.StationName), receptor?.Name ?? DeviceOf('D', device.DetectorId));
    }

    /// <inheritdoc/>
    public string? DescriptionOf(string text)
    {
        ArgumentNullException.ThrowIfNull(text);

        // Both set-ups: a description can hold anything, and no entry holds a name.
        string kept = string.Join(' ', DescriptorWords.Words(text).Where(word => word.Length > 1 && projections.Knows(word) || DescriptorWords.Clean(word, Nobody).Length > 0 || (word.Length <= 2 && word.All(char.IsAsciiDigit))));
        return kept.Any(char.IsLetter) ? kept : null;
    }

    private string? DeviceOf(char kind, string? name) => string.IsNullOrWhiteSpace(name) ? null : makesNew ? key.DevicePseudonym(kind, name) : name;
}
