namespace Hotlight.Technique.Dose;

/// <summary>Puts together what an exposure and its repeat cost.</summary>
public static class DoseReporter
{
    /// <summary>Dose of the exposure made, of the next one and of both; with and without the changed field.</summary>
    /// <param name="input">What is known of the exposure made.</param>
    /// <param name="plan">The next exposure; where its mAs is not known, the factor before rounding counts. Null: the same exposure again, reported only for another field or for several repeats.</param>
    /// <param name="newFieldAreaMm2">Area of the next field at the receptor, in mm²; null: as it was.</param>
    /// <param name="repeats">Number of repeats, 1 or more.</param>
    /// <param name="coefficient">A published coefficient for the effective dose; null: it is not asked for.</param>
    /// <param name="settings">Figures to work with; null: the default ones.</param>
    public static DoseReport Report(DoseInput input, TechniquePlan? plan = null, double? newFieldAreaMm2 = null, int repeats = 1, EffectiveDoseCoefficient? coefficient = null, DoseSettings? settings = null)
    {
        ArgumentNullException.ThrowIfNull(input);
        ExposureDose first = DoseTeller.Tell(input, settings);
        double? area = newFieldAreaMm2 is { } next && input.FieldAreaMm2 is { } old ? Core.Preconditions.AboveZero(next) / old : null;
        double? skin = input.SourceSkinDistanceMm ?? (input.SourceImageDistanceMm - input.PartThicknessMm - input.PartReceptorGapMm);
        DoseChange? change = plan is not null
            ? DoseChange.Between(plan.From with { Mas = plan.From.Mas ?? 1 }, plan.To with { Mas = plan.To.Mas ?? plan.MasFactor }, 1, skin)
            : newFieldAreaMm2 is not null || repeats > 1 ? new DoseChange() : null;
        return new DoseReport
        {
            This = first,
            Next = change is null ? null : RepeatDose.Of(first, change with { FieldAreaFactor = newFieldAreaMm2 is null ? 1 : area }, repeats),
            NextWithUnchangedField = change is null || newFieldAreaMm2 is null ? null : RepeatDose.Of(first, change, repeats),
            EffectiveDose = coefficient is null ? null : EffectiveDose.Of(first.KermaAreaProduct, coefficient),
        };
    }
}
