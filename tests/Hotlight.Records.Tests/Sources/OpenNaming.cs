using Hotlight.Records.Sources;

namespace Hotlight.Records.Tests.Sources;

/// <summary>A naming whose work can be seen: every name goes through it, marked.</summary>
internal sealed class OpenNaming : ISourceNaming
{
    public string? PerformerOf(string name) => "staff:" + name.Length;

    public string KeyOf(string kind, string value) => $"{kind}:{value}";

    public string UidOf(string uid) => "uid:" + uid;

    public SourcePlace PlaceOf(SourceDevice device) => new(device.StationName, device.DetectorId);

    public string? DescriptionOf(string text) => text;
}
