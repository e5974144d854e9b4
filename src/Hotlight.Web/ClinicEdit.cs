using Hotlight.Workflows.Clinic;

namespace Hotlight.Web;

/// <summary>A change that a part of the settings page asks for.</summary>
/// <param name="Change">Makes the settings as they should be from those of now.</param>
/// <param name="Label">What changes, for the list of changes.</param>
public sealed record ClinicEdit(Func<ClinicSettings, ClinicSettings> Change, string Label);
