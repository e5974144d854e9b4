using Hotlight.Core;

namespace Hotlight.Technique.Dose;

/// <summary>How another exposure differs from a first one, as factors.</summary>
public sealed record DoseChange
{
    /// <summary>mAs over the first exposure's.</summary>
    public double MasFactor { get; init; } = 1;

    /// <summary>Area of the field at the receptor over the first exposure's; null: the field must be opened by an amount nobody knows.</summary>
    public double? FieldAreaFactor { get; init; } = 1;

    /// <summary>Output for each mAs over the first exposure's, from the voltage.</summary>
    public double OutputFactor { get; init; } = 1;

    /// <summary>One relative standard deviation of <see cref="OutputFactor"/>, in percent.</summary>
    public double OutputUncertaintyPercent { get; init; }

    /// <summary>Solid angle of a field of unchanged size at the receptor, over the first exposure's: (old distance / new distance)².</summary>
    public double FieldAngleFactor { get; init; } = 1;

    /// <summary>Intensity at the skin over the first exposure's, from the distance to the skin; null: the distance changes by an amount nobody knows.</summary>
    public double? SkinIntensityFactor { get; init; } = 1;

    /// <summary>The change between two techniques; mAs of both must be known.</summary>
    /// <param name="from">The first exposure.</param>
    /// <param name="to">The other.</param>
    /// <param name="fieldAreaFactor">Area of the field at the receptor over the first exposure's; null: not known.</param>
    /// <param name="sourceSkinDistanceMm">Distance from the source to the skin at the first exposure, in mm; null: not known.</param>
    /// <param name="otherSourceSkinDistanceMm">Distance from the source to the skin at the other, in mm; null: moved with the tube, and by the change of thickness.</param>
    /// <exception cref="ArgumentException">The mAs of one is not known.</exception>
    public static DoseChange Between(ExposureTechnique from, ExposureTechnique to, double? fieldAreaFactor = 1, double? sourceSkinDistanceMm = null, double? otherSourceSkinDistanceMm = null)
    {
        ArgumentNullException.ThrowIfNull(from);
        ArgumentNullException.ThrowIfNull(to);
        if (from.Mas is not { } first || to.Mas is not { } second)
        {
            throw new ArgumentException("The mAs of both exposures must be known.");
        }

        double voltage = from.TubeVoltageKvp is { } old && to.TubeVoltageKvp is { } next ? next / old : 1;
        double? moved = from.SourceImageDistanceMm is { } before && to.SourceImageDistanceMm is { } after ? after - before : null;
        double thicker = (to.PartThicknessMm - from.PartThicknessMm) ?? 0;
        double? skin = sourceSkinDistanceMm;
        double? otherSkin = otherSourceSkinDistanceMm ?? (skin + (moved ?? 0) - thicker);
        bool unchanged = (moved ?? 0) == 0 && thicker == 0 && otherSourceSkinDistanceMm is null;
        return new DoseChange
        {
            MasFactor = Preconditions.AboveZero(second) / Preconditions.AboveZero(first),
            FieldAreaFactor = fieldAreaFactor,
            OutputFactor = Math.Pow(voltage, TubeOutput.VoltageExponent),
            OutputUncertaintyPercent = 100 * Math.Abs(Math.Log(voltage)) * TubeOutput.VoltageExponentUncertainty,
            FieldAngleFactor = moved is null ? 1 : DistanceLaw.IntensityFactor(from.SourceImageDistanceMm!.Value, to.SourceImageDistanceMm!.Value),
            SkinIntensityFactor = unchanged ? 1 : skin is { } near && otherSkin is { } far && far > 0 ? DistanceLaw.IntensityFactor(near, far) : null,
        };
    }
}

/// <summary>Dose of a first exposure, of another one made after it, and of both together.</summary>
public sealed record RepeatDose
{
    /// <summary>The first exposure.</summary>
    public required ExposureDose First { get; init; }

    /// <summary>The repeat alone.</summary>
    public required ExposureDose Repeat { get; init; }

    /// <summary>First exposure and repeats together.</summary>
    public required ExposureDose Total { get; init; }

    /// <summary>Number of repeats in the total.</summary>
    public required int Repeats { get; init; }

    /// <summary>Dose of a repeat, and cumulated.</summary>
    /// <remarks>One meter or one output stands behind all of them, so their deviations go together and are added, not combined in quadrature.</remarks>
    /// <param name="first">The first exposure.</param>
    /// <param name="change">How each repeat differs from it.</param>
    /// <param name="repeats">Number of repeats, 1 or more.</param>
    public static RepeatDose Of(ExposureDose first, DoseChange change, int repeats = 1)
    {
        ArgumentNullException.ThrowIfNull(first);
        ArgumentNullException.ThrowIfNull(change);
        Preconditions.AtLeastOne(repeats);
        double output = Preconditions.AboveZero(change.MasFactor) * Preconditions.AboveZero(change.OutputFactor);
        double? product = change.FieldAreaFactor is { } area ? output * Preconditions.AboveZero(area) * Preconditions.AboveZero(change.FieldAngleFactor) : null;
        double? skin = change.SkinIntensityFactor is { } intensity ? output * Preconditions.AboveZero(intensity) : null;
        var repeat = new ExposureDose
        {
            KermaAreaProduct = Scaled(first.KermaAreaProduct, product, change, "The field must be opened by an amount that is not known, so the repeat adds more than can be told."),
            IncidentAirKerma = Scaled(first.IncidentAirKerma, skin, change),
            EntranceSurfaceAirKerma = Scaled(first.EntranceSurfaceAirKerma, skin, change),
        };
        return new RepeatDose
        {
            First = first,
            Repeat = repeat,
            Repeats = repeats,
            Total = new ExposureDose
            {
                KermaAreaProduct = !first.KermaAreaProduct.IsMeasured ? first.KermaAreaProduct : !repeat.KermaAreaProduct.IsMeasured ? repeat.KermaAreaProduct : Figure<KermaAreaProduct>.Measured(first.KermaAreaProduct.Value with
                {
                    DgyCm2 = first.KermaAreaProduct.Value.DgyCm2 + (repeats * repeat.KermaAreaProduct.Value.DgyCm2),
                    UncertaintyDgyCm2 = first.KermaAreaProduct.Value.UncertaintyDgyCm2 + (repeats * repeat.KermaAreaProduct.Value.UncertaintyDgyCm2),
                    How = "All exposures added.",
                }),
                IncidentAirKerma = Sum(first.IncidentAirKerma, repeat.IncidentAirKerma, repeats),
                EntranceSurfaceAirKerma = Sum(first.EntranceSurfaceAirKerma, repeat.EntranceSurfaceAirKerma, repeats),
            },
        };
    }

    private static Figure<KermaAreaProduct> Scaled(Figure<KermaAreaProduct> first, double? factor, DoseChange change, string why)
        => !first.IsMeasured ? first
            : factor is not { } times ? Figure<KermaAreaProduct>.CannotTell(why)
            : Figure<KermaAreaProduct>.Measured(first.Value with
            {
                DgyCm2 = first.Value.DgyCm2 * times,
                UncertaintyDgyCm2 = first.Value.DgyCm2 * times * DoseArithmetic.Combine(first.Value.UncertaintyDgyCm2 / first.Value.DgyCm2, change.OutputUncertaintyPercent / 100),
                How = $"The first exposure times {Wording.Significant(times)}: mAs, voltage, distance and field.",
            });

    private static Figure<SkinKerma> Scaled(Figure<SkinKerma> first, double? factor, DoseChange change)
        => !first.IsMeasured ? first
            : factor is not { } times ? Figure<SkinKerma>.CannotTell("The distance from the source to the skin changes by an amount that is not known.")
            : Figure<SkinKerma>.Measured(first.Value with
            {
                Mgy = first.Value.Mgy * times,
                UncertaintyMgy = first.Value.Mgy * times * DoseArithmetic.Combine(first.Value.UncertaintyMgy / first.Value.Mgy, change.OutputUncertaintyPercent / 100),
                How = $"The first exposure times {Wording.Significant(times)}: mAs, voltage and distance to the skin.",
            });

    private static Figure<SkinKerma> Sum(Figure<SkinKerma> first, Figure<SkinKerma> repeat, int repeats)
        => !first.IsMeasured ? first : !repeat.IsMeasured ? repeat : Figure<SkinKerma>.Measured(first.Value with
        {
            Mgy = first.Value.Mgy + (repeats * repeat.Value.Mgy),
            UncertaintyMgy = first.Value.UncertaintyMgy + (repeats * repeat.Value.UncertaintyMgy),
            How = "All exposures added, as if the skin were the same.",
        });
}

/// <summary>A published coefficient from kerma-area product to effective dose, given by the user.</summary>
/// <param name="MillisievertPerGyCm2">Coefficient, in mSv/(Gy·cm²), above 0.</param>
/// <param name="Source">Where it was published: author, projection, person, beam. Not empty.</param>
public sealed record EffectiveDoseCoefficient(double MillisievertPerGyCm2, string Source);

/// <summary>Effective dose of a reference person.</summary>
/// <param name="Millisievert">Effective dose, in mSv.</param>
/// <param name="UncertaintyMillisievert">One standard deviation from the kerma-area product alone, in mSv; the coefficient's own is not in it.</param>
/// <param name="Source">Source of the coefficient.</param>
/// <param name="Caveat">What it is not.</param>
public sealed record EffectiveDose(double Millisievert, double UncertaintyMillisievert, string Source, string Caveat)
{
    /// <summary>What an effective dose is not.</summary>
    public const string Caution = "Effective dose is defined for a reference person and serves to compare examinations; it is not this patient's dose and says nothing of this patient's risk. The uncertainty leaves out the coefficient's own.";

    /// <summary>Effective dose of a kerma-area product.</summary>
    /// <param name="product">The kerma-area product.</param>
    /// <param name="coefficient">The published coefficient; null: none, so it cannot be told.</param>
    /// <exception cref="ArgumentException">The coefficient names no source.</exception>
    public static Figure<EffectiveDose> Of(Figure<KermaAreaProduct> product, EffectiveDoseCoefficient? coefficient)
    {
        ArgumentNullException.ThrowIfNull(product);
        if (coefficient is null)
        {
            return Figure<EffectiveDose>.CannotTell("Effective dose needs a published coefficient for this projection and this kind of patient; none was given.");
        }

        ArgumentException.ThrowIfNullOrWhiteSpace(coefficient.Source);
        if (!product.IsMeasured)
        {
            return Figure<EffectiveDose>.CannotTell(product.Why);
        }

        // 1 dGy·cm² = 0.1 Gy·cm².
        double perDgyCm2 = Preconditions.AboveZero(coefficient.MillisievertPerGyCm2) / 10;
        return Figure<EffectiveDose>.Measured(new EffectiveDose(product.Value.DgyCm2 * perDgyCm2, product.Value.UncertaintyDgyCm2 * perDgyCm2, coefficient.Source, Caution));
    }
}

/// <summary>What one exposure and its repeat cost, with and without the tighter field.</summary>
public sealed record DoseReport
{
    /// <summary>The exposure made.</summary>
    public required ExposureDose This { get; init; }

    /// <summary>A next exposure as planned and both together; null: none is planned.</summary>
    public RepeatDose? Next { get; init; }

    /// <summary>The same with the field left as it was; null where the field does not change.</summary>
    public RepeatDose? NextWithUnchangedField { get; init; }

    /// <summary>Effective dose of the exposure made; null: not asked for.</summary>
    public Figure<EffectiveDose>? EffectiveDose { get; init; }
}
