using Hotlight.Cli.Rendering;
using Hotlight.Core;
using Hotlight.Technique;
using Hotlight.Technique.Dose;
using Spectre.Console.Cli;

namespace Hotlight.Cli.Commands;

/// <summary>hotlight technique: the next exposure's technique, step by step, and what it costs.</summary>
internal sealed class TechniqueCommand : Command<TechniqueSettings>
{
    private const int LabelWidth = 20;

    public override int Execute(CommandContext context, TechniqueSettings settings, CancellationToken cancellationToken)
    {
        try
        {
            TechniqueRules rules = settings.ToRules();
            if (settings.PrintRules)
            {
                Terminal.Output.WriteLine(TechniqueJson.Write(rules));
                return HotlightCommandLine.Done;
            }

            ExposureTechnique used = settings.ToUsed();
            TechniqueRequest wanted = settings.ToRequest();
            if (wanted.IsEmpty && !settings.AsksForDose)
            {
                throw new RefusedException("nothing is asked for: name what to undo or to change, such as --deviation-index -2 or --new-distance 1150; 'hotlight technique --help' lists all.");
            }

            TechniquePlan? plan = wanted.IsEmpty ? null : TechniquePlanner.Plan(used, wanted, rules, settings.Motion);
            DoseReport? dose = settings.AsksForDose
                ? DoseReporter.Report(settings.ToDoseInput(used), plan, settings.NewFieldAreaMm2(), settings.RepeatCount(), settings.ToCoefficient(), settings.ToDoseSettings())
                : null;
            if (settings.Json)
            {
                Terminal.Output.WriteLine(TechniqueJson.Write(plan, dose));
                return HotlightCommandLine.Done;
            }

            if (plan is not null)
            {
                Write(plan);
            }

            if (dose is not null)
            {
                Write(dose, gapBefore: plan is not null);
            }

            Terminal.Output.WriteLine();
            Block(string.Empty, 0, Wording.NotADevice, indent: 0);
            return HotlightCommandLine.Done;
        }
        catch (UnusableTechniqueException error)
        {
            throw new RefusedException(error.Message);
        }
    }

    private static void Write(TechniquePlan plan)
    {
        Terminal.Output.WriteLine("TECHNIQUE");
        Block("from", LabelWidth, Describe(plan.From));
        Block("to", LabelWidth, Describe(plan.To));
        if (plan is { Generator: { } generator, MasBeforeRounding: { } exact })
        {
            double? sigma = plan.MasFactorUncertainty * plan.From.Mas;
            string shift = FigureText.Number(generator.DeviationIndexShift, 1, signed: true);
            Block("before rounding", LabelWidth, $"{Wording.PlusMinus(exact, sigma, " mAs")}; the generator's step of {Wording.Significant(generator.Mas)} mAs moves the deviation index by {shift}.");
        }
        else
        {
            Block("mAs", LabelWidth, $"times {Wording.PlusMinus(plan.MasFactor, plan.MasFactorUncertainty, string.Empty)}; give --mas for the figure.");
        }

        if (plan.Timing is { } timing)
        {
            Write(timing);
        }

        if (plan.Load is { } load)
        {
            string power = load.PowerKw is { } kw ? $"{Wording.Significant(kw)} kW, " : string.Empty;
            Block("tube", LabelWidth, $"{power}{Wording.Significant(load.HeatUnits)} heat units (generator factor {FigureText.Number(load.WaveformFactor, 2)}).");
        }

        Terminal.Output.WriteLine();
        Terminal.Output.WriteLine("STEPS, mAs factors multiplied in this order");
        for (int index = 0; index < plan.Steps.Count; index++)
        {
            TechniqueStep step = plan.Steps[index];
            Block($"{index + 1} {Name(step.Rule)}", LabelWidth, $"{step.Change}: × {Wording.PlusMinus(step.MasFactor, step.MasFactorUncertainty, string.Empty)}");
            Block(string.Empty, LabelWidth, step.Reason);
            Block(string.Empty, LabelWidth, $"{step.Formula} [{string.Join(", ", step.Basis)}]");
        }

        if (plan.Warnings.Count > 0)
        {
            Terminal.Output.WriteLine();
            Terminal.Output.WriteLine("MIND");
            foreach (TechniqueWarning warning in plan.Warnings)
            {
                Block("-", 2, $"{warning.Sentence} [{warning.Basis}]");
            }
        }
    }

    private static void Write(ExposureTiming timing)
    {
        List<string> parts = [];
        if (timing is { ExposureTimeMs: { } time, TubeCurrentMa: { } current })
        {
            parts.Add($"{Wording.Significant(time)} ms at {Wording.Significant(current)} mA");
        }

        if (timing is { ShortestTimeMs: { } shortest, LargestCurrentMa: { } largest })
        {
            parts.Add($"at the shortest {Wording.Significant(shortest)} ms at {Wording.Significant(largest)} mA");
        }

        if (parts.Count == 0)
        {
            parts.Add("cannot be told: give --ma, --largest-ma or --rating-kw");
        }

        string limit = timing.Limit is not { } kept ? string.Empty : timing.IsWithinLimit switch
        {
            true => $"; within {Wording.Significant(kept.LongestMs)} ms for the {kept.Name} [{kept.Basis}]",
            false => $"; longer than {Wording.Significant(kept.LongestMs)} ms for the {kept.Name} [{kept.Basis}]",
            null => $"; the {kept.Name} keeps still for {Wording.Significant(kept.LongestMs)} ms [{kept.Basis}]",
        };
        Block("time", LabelWidth, $"{string.Join("; ", parts)}{limit}.");
    }

    private static void Write(DoseReport report, bool gapBefore)
    {
        if (gapBefore)
        {
            Terminal.Output.WriteLine();
        }

        Terminal.Output.WriteLine("DOSE, one standard deviation");
        Write("this exposure", report.This, how: true);
        if (report.Next is { } next)
        {
            Write(next.Repeats == 1 ? "the next adds" : "each next adds", next.Repeat, how: false);
            if (report.NextWithUnchangedField is { } wide)
            {
                Block("unchanged field", LabelWidth, $"kerma-area product {Text(wide.Repeat.KermaAreaProduct)} for the next, {Text(wide.Total.KermaAreaProduct)} in all");
            }

            Write($"all {next.Repeats + 1} together", next.Total, how: false);
        }

        if (report.EffectiveDose is { } effective)
        {
            Block("effective dose", LabelWidth, effective.IsMeasured
                ? $"{Wording.PlusMinus(effective.Value.Millisievert, effective.Value.UncertaintyMillisievert, " mSv")} for this exposure, by the coefficient of {effective.Value.Source}. {effective.Value.Caveat}"
                : $"cannot be told. {effective.Why}");
        }
    }

    private static void Write(string label, ExposureDose dose, bool how)
    {
        Block(label, LabelWidth, $"kerma-area product {Text(dose.KermaAreaProduct)}{How(how, dose.KermaAreaProduct.Value?.How)}");
        if (dose.IncidentAirKerma.IsMeasured)
        {
            Block(string.Empty, LabelWidth, $"incident air kerma at the skin {Text(dose.IncidentAirKerma)}{How(how, dose.IncidentAirKerma.Value.How)}");
        }

        if (how || dose.EntranceSurfaceAirKerma.IsMeasured)
        {
            Block(string.Empty, LabelWidth, $"entrance surface air kerma {Text(dose.EntranceSurfaceAirKerma)}{How(how, dose.EntranceSurfaceAirKerma.Value?.How)}");
        }
    }

    private static string How(bool shown, string? how) => shown && how is not null ? ". " + how : string.Empty;

    private static string Text(Figure<KermaAreaProduct> figure) => figure.IsMeasured ? Wording.PlusMinus(figure.Value.DgyCm2, figure.Value.UncertaintyDgyCm2, " dGy·cm²") : $"cannot be told. {figure.Why}";

    private static string Text(Figure<SkinKerma> figure) => figure.IsMeasured ? Wording.PlusMinus(figure.Value.Mgy, figure.Value.UncertaintyMgy, " mGy") : $"cannot be told. {figure.Why}";

    private static string Describe(ExposureTechnique technique)
    {
        List<string> parts = [];
        void Add(double? value, string unit)
        {
            if (value is { } known)
            {
                parts.Add(Wording.Significant(known) + unit);
            }
        }

        Add(technique.Mas, " mAs");
        Add(technique.TubeVoltageKvp, " kVp");
        Add(technique.TubeCurrentMa, " mA");
        Add(technique.SourceImageDistanceMm, " mm");
        if (technique.GridRatio is { } ratio)
        {
            parts.Add(ratio == 0 ? "no grid" : $"grid {Wording.Grid(ratio)}");
        }

        Add(technique.PartThicknessMm, " mm thick");
        if (technique.Cast is { } cast && cast != TechniqueRules.NoCast)
        {
            parts.Add($"cast {cast}");
        }

        Add(technique.TubeAngleDegrees, "° tube angle");
        return parts.Count == 0 ? "not said" : string.Join(", ", parts);
    }

    private static string Name(TechniqueRule rule) => rule switch
    {
        TechniqueRule.DeviationIndex => "deviation index",
        TechniqueRule.TubeAngle => "tube angle",
        _ => rule.ToString().ToLowerInvariant(),
    };

    private static void Block(string label, int labelWidth, string text, int indent = 2)
    {
        foreach (string row in TextBlock.Hanging(label, labelWidth, text, indent))
        {
            Terminal.Output.WriteLine(row);
        }
    }
}
