using Hotlight.Core;
using Hotlight.Simulation.Scene;
using Hotlight.Technique.Dose;

namespace Hotlight.Teaching.Practice;

/// <summary>What an exposure of the lab would cost a patient, as it can be told in a clinic: from technique, field and an ordinary tube's output, not from the simulation's own truth.</summary>
/// <param name="KermaAreaProduct">Kerma-area product, in dGy·cm².</param>
/// <param name="EffectiveDose">Effective dose; cannot-tell where no published coefficient is known to this project.</param>
public sealed record ExposureCost(Figure<KermaAreaProduct> KermaAreaProduct, Figure<EffectiveDose> EffectiveDose)
{
    private const string NoCoefficient = "No published coefficient of effective dose is known to this project for this projection.";

    /// <summary>Works it out.</summary>
    /// <param name="view">What is known of the view.</param>
    /// <param name="scene">The scene.</param>
    public static ExposureCost Of(PracticeView view, SceneDocument scene)
    {
        ArgumentNullException.ThrowIfNull(view);
        ArgumentNullException.ThrowIfNull(scene);
        Figure<TubeOutput> output = TubeOutput.Typical(scene.Tube.TubeVoltageKvp);
        Figure<KermaAreaProduct> product = output.IsMeasured
            ? DoseTeller.Tell(new DoseInput
            {
                Mas = scene.Tube.ExposureMas,
                TubeVoltageKvp = scene.Tube.TubeVoltageKvp,
                SourceImageDistanceMm = scene.Tube.SourceImageDistanceMm,
                FieldAreaMm2 = scene.Collimator.WidthMm * scene.Collimator.HeightMm,
                Output = output.Value,
            }).KermaAreaProduct
            : Figure<KermaAreaProduct>.CannotTell(output.Why);
        return new ExposureCost(product, Effective(product, view));
    }

    /// <summary>Costs of several exposures together. They share one tube, so that their errors go the same way: uncertainties are added as they are.</summary>
    /// <param name="costs">The costs.</param>
    /// <param name="view">What is known of the view.</param>
    public static ExposureCost Sum(IReadOnlyList<ExposureCost> costs, PracticeView view)
    {
        ArgumentNullException.ThrowIfNull(costs);
        ArgumentNullException.ThrowIfNull(view);
        if (costs.Count == 0)
        {
            const string None = "Nothing was exposed.";
            return new ExposureCost(Figure<KermaAreaProduct>.CannotTell(None), Figure<EffectiveDose>.CannotTell(None));
        }

        if (costs.FirstOrDefault(cost => !cost.KermaAreaProduct.IsMeasured) is { } unknown)
        {
            return new ExposureCost(Figure<KermaAreaProduct>.CannotTell(unknown.KermaAreaProduct.Why!), Figure<EffectiveDose>.CannotTell(unknown.KermaAreaProduct.Why!));
        }

        KermaAreaProduct first = costs[0].KermaAreaProduct.Value!;
        Figure<KermaAreaProduct> sum = Figure<KermaAreaProduct>.Measured(first with
        {
            DgyCm2 = costs.Sum(cost => cost.KermaAreaProduct.Value!.DgyCm2),
            UncertaintyDgyCm2 = costs.Sum(cost => cost.KermaAreaProduct.Value!.UncertaintyDgyCm2),
        });
        return new ExposureCost(sum, Effective(sum, view));
    }

    private static Figure<EffectiveDose> Effective(Figure<KermaAreaProduct> product, PracticeView view)
        => view.EffectiveDose is { } known
            ? Technique.Dose.EffectiveDose.Of(product, new EffectiveDoseCoefficient(known.MillisievertPerGyCm2, known.Source))
            : Figure<EffectiveDose>.CannotTell(NoCoefficient);
}
