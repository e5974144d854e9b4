using Hotlight.Core;

namespace Hotlight.Technique.Dose;

/// <summary>Works out the dose quantities of one exposure: docs/methods/dose.md.</summary>
public static class DoseTeller
{
    /// <summary>Tells what can be told.</summary>
    /// <param name="input">What is known; every figure that is there is finite and above 0 (the gap: 0 or more).</param>
    /// <param name="settings">Figures to work with; null: the default ones.</param>
    public static ExposureDose Tell(DoseInput input, DoseSettings? settings = null)
    {
        ArgumentNullException.ThrowIfNull(input);
        Check(input);
        DoseSettings figures = settings ?? DoseSettings.Default;
        Figure<Skin> skin = SkinOf(input, figures);
        Figure<KermaAreaProduct> product = ProductOf(input, figures);
        Figure<SkinKerma> incident = IncidentOf(input, figures, product, skin);
        return new ExposureDose { KermaAreaProduct = product, IncidentAirKerma = incident, EntranceSurfaceAirKerma = EntranceOf(input, figures, incident) };
    }

    private static void Check(DoseInput input)
    {
        foreach (double? figure in new[] { input.KermaAreaProductDgyCm2, input.EntranceDoseMgy, input.Mas, input.TubeVoltageKvp, input.SourceImageDistanceMm, input.SourceSkinDistanceMm, input.PartThicknessMm, input.FieldAreaMm2 })
        {
            if (figure is { } value)
            {
                Preconditions.AboveZero(value, "a figure of the dose");
            }
        }

        Preconditions.Within(input.PartReceptorGapMm ?? 0, 0, 2000, "the gap");
    }

    private static Figure<Skin> SkinOf(DoseInput input, DoseSettings settings)
    {
        if (input.SourceSkinDistanceMm is { } given)
        {
            return input.SourceImageDistanceMm is { } whole && given >= whole
                ? Figure<Skin>.CannotTell("The distance to the skin is not shorter than the distance to the receptor.")
                : Figure<Skin>.Measured(new Skin(given, 0));
        }

        if (input is not { SourceImageDistanceMm: { } distance, PartThicknessMm: { } thickness, PartReceptorGapMm: { } gap })
        {
            return Figure<Skin>.CannotTell("The distance from the source to the skin is not known: give it, or the distance to the receptor with the thickness of the part and the gap behind it.");
        }

        double skin = distance - thickness - gap;
        return skin > 0
            ? Figure<Skin>.Measured(new Skin(skin, settings.SkinDistanceUncertaintyMm))
            : Figure<Skin>.CannotTell("The part is thicker than the distance to the receptor allows.");
    }

    private static Figure<KermaAreaProduct> ProductOf(DoseInput input, DoseSettings settings)
    {
        if (input.KermaAreaProductDgyCm2 is { } recorded)
        {
            return Figure<KermaAreaProduct>.Measured(new KermaAreaProduct(recorded, recorded * settings.RecordedUncertaintyPercent / 100, DoseBasis.KermaAreaProduct, "The kerma-area product as it was recorded."));
        }

        if (KermaAtOneMetreMgy(input) is not { } kerma)
        {
            return Figure<KermaAreaProduct>.CannotTell("No kerma-area product was recorded, and it takes mAs, voltage and the tube's output to work one out.");
        }

        if (input is not { FieldAreaMm2: { } area, SourceImageDistanceMm: { } distance })
        {
            return Figure<KermaAreaProduct>.CannotTell("No kerma-area product was recorded, and without the field and the distance to the receptor none can be worked out.");
        }

        // mGy at 1 m times the beam's area there; 1 dGy·cm² = 100 mGy·cm² = 10,000 mGy·mm².
        double product = kerma.Mgy * BeamAreaMm2(area, distance, 1000) / 10_000;
        return Figure<KermaAreaProduct>.Measured(new KermaAreaProduct(product, product * kerma.Percent / 100, kerma.From, $"{Words(kerma.From)} times mAs times the beam's area at 1 m."));
    }

    private static Figure<SkinKerma> IncidentOf(DoseInput input, DoseSettings settings, Figure<KermaAreaProduct> product, Figure<Skin> skin)
    {
        if (!skin.IsMeasured)
        {
            return Figure<SkinKerma>.CannotTell(skin.Why);
        }

        double distancePercent = 200 * skin.Value.UncertaintyMm / skin.Value.DistanceMm;
        if (input.KermaAreaProductDgyCm2 is not null && product.IsMeasured && input is { FieldAreaMm2: { } area, SourceImageDistanceMm: { } distance })
        {
            double kerma = product.Value.DgyCm2 * 10_000 / BeamAreaMm2(area, distance, skin.Value.DistanceMm);
            return Figure<SkinKerma>.Measured(new SkinKerma(
                kerma,
                kerma * DoseArithmetic.Combine(settings.RecordedUncertaintyPercent, distancePercent) / 100,
                DoseBasis.KermaAreaProduct,
                $"The recorded kerma-area product over the beam's area at the skin, {Wording.Significant(skin.Value.DistanceMm)} mm from the source."));
        }

        if (KermaAtOneMetreMgy(input) is { } free)
        {
            double kerma = free.Mgy * DistanceLaw.IntensityFactor(1000, skin.Value.DistanceMm);
            return Figure<SkinKerma>.Measured(new SkinKerma(
                kerma,
                kerma * DoseArithmetic.Combine(free.Percent, distancePercent) / 100,
                free.From,
                $"{Words(free.From)} times mAs, by the inverse square law to the skin, {Wording.Significant(skin.Value.DistanceMm)} mm from the source."));
        }

        return Figure<SkinKerma>.CannotTell("It takes the kerma-area product with the field, or mAs and voltage with the tube's output.");
    }

    private static Figure<SkinKerma> EntranceOf(DoseInput input, DoseSettings settings, Figure<SkinKerma> incident)
    {
        if (input.EntranceDoseMgy is { } recorded)
        {
            return Figure<SkinKerma>.Measured(new SkinKerma(recorded, recorded * settings.RecordedUncertaintyPercent / 100, DoseBasis.EntranceDose, "The entrance dose as it was recorded; the record does not say whether backscatter is in it."));
        }

        if (!incident.IsMeasured)
        {
            return Figure<SkinKerma>.CannotTell(incident.Why);
        }

        double factor = Preconditions.Within(settings.BackscatterFactor, 1, 2);
        SkinKerma kerma = incident.Value;
        double entrance = kerma.Mgy * factor;
        return Figure<SkinKerma>.Measured(new SkinKerma(
            entrance,
            entrance * DoseArithmetic.Combine(kerma.UncertaintyMgy / kerma.Mgy, settings.BackscatterUncertainty / factor),
            kerma.From,
            $"Incident air kerma times a backscatter factor of {Wording.PlusMinus(factor, settings.BackscatterUncertainty, string.Empty)}."));
    }

    private static FreeKerma? KermaAtOneMetreMgy(DoseInput input)
    {
        if (input is not { Mas: { } mas, TubeVoltageKvp: { } kvp, Output: { } output })
        {
            return null;
        }

        TubeOutput here = output.At(kvp);
        return new FreeKerma(here.MilligrayPerMas * mas, here.UncertaintyPercent, output.Basis == "tube-output" ? DoseBasis.TypicalOutput : DoseBasis.TubeOutput);
    }

    // The beam's area grows with the square of the distance from the source.
    private static double BeamAreaMm2(double areaMm2, double atMm, double elsewhereMm) => areaMm2 * (elsewhereMm / atMm) * (elsewhereMm / atMm);

    private static string Words(DoseBasis from) => from == DoseBasis.TypicalOutput ? "The output of an ordinary tube" : "The tube's output";

    private sealed record Skin(double DistanceMm, double UncertaintyMm);

    private sealed record FreeKerma(double Mgy, double Percent, DoseBasis From);
}
