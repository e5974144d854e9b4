using Hotlight.Core;

namespace Hotlight.Technique;

/// <summary>From the technique used and what is wanted to the next exposure: docs/methods/technique.md.</summary>
public static class TechniquePlanner
{
    /// <summary>Lowest voltage worked with, in kVp.</summary>
    public const double LowestKvp = 20;

    /// <summary>Highest voltage worked with, in kVp.</summary>
    public const double HighestKvp = 150;

    /// <summary>Largest deviation index that is undone, either way: a factor of 100.</summary>
    public const double LargestDeviationIndex = 20;

    /// <summary>Plans the next exposure.</summary>
    /// <param name="used">The technique used. What a step needs of it must be there; mAs may be missing, then only the factor is given.</param>
    /// <param name="wanted">What to undo or to change; not empty.</param>
    /// <param name="rules">The figures it is worked out with; null: the default ones.</param>
    /// <param name="motionLimit">Key of a motion limit to hold the time against; null: none.</param>
    /// <exception cref="UnusableTechniqueException">Nothing is asked for, something is missing or out of range; one sentence.</exception>
    public static TechniquePlan Plan(ExposureTechnique used, TechniqueRequest wanted, TechniqueRules? rules = null, string? motionLimit = null)
    {
        ArgumentNullException.ThrowIfNull(used);
        ArgumentNullException.ThrowIfNull(wanted);
        return new Planning(used, wanted, rules ?? TechniqueRules.Default).Run(motionLimit);
    }

    private sealed class Planning(ExposureTechnique used, TechniqueRequest wanted, TechniqueRules rules)
    {
        private readonly List<TechniqueStep> steps = [];
        private readonly List<TechniqueWarning> warnings = [];
        private double? kvp = used.TubeVoltageKvp;

        public TechniquePlan Run(string? motionLimit)
        {
            Check();
            DeviationIndex();
            Distance();
            TubeAngle();
            Grid();
            Thickness();
            Cast();
            Voltage();

            double factor = steps.Aggregate(1.0, (product, step) => product * step.MasFactor);
            double[] relative = [.. steps.Where(step => step.MasFactorUncertainty is not null).Select(step => step.MasFactorUncertainty!.Value / step.MasFactor)];
            double? uncertainty = relative.Length == 0 ? null : factor * Math.Sqrt(relative.Sum(each => each * each));
            double? exact = used.Mas * factor;
            if (exact is < 1e-3 or > 1e5)
            {
                throw new UnusableTechniqueException($"these changes ask for {Wording.Significant(exact.Value)} mAs, which no generator makes; look at what was given.");
            }

            GeneratorStep? generator = exact is { } mas ? Step(mas) : null;
            Visible(factor);
            ExposureTechnique to = used with
            {
                Mas = generator?.Mas,
                TubeVoltageKvp = kvp,
                SourceImageDistanceMm = wanted.SourceImageDistanceMm ?? used.SourceImageDistanceMm,
                GridRatio = wanted.GridRatio ?? used.GridRatio,
                PartThicknessMm = wanted.PartThicknessMm ?? used.PartThicknessMm,
                Cast = wanted.Cast ?? used.Cast,
                TubeAngleDegrees = wanted.TubeAngleDegrees ?? used.TubeAngleDegrees,
            };
            if (to is { GridRatio: 0, PartThicknessMm: { } thickness } && thickness > rules.GridFromThicknessMm)
            {
                warnings.Add(new(TechniqueWarningKind.NoGrid, $"The part is {Wording.Significant(thickness)} mm thick and no grid is used: above about {Wording.Significant(rules.GridFromThicknessMm)} mm scatter takes the contrast.", "grid-10cm"));
            }

            return new TechniquePlan
            {
                From = used,
                To = to,
                Steps = steps,
                MasFactor = factor,
                MasFactorUncertainty = uncertainty,
                MasBeforeRounding = exact,
                Generator = generator,
                Timing = Timing(generator?.Mas, motionLimit),
                Load = Load(generator?.Mas),
                Warnings = warnings,
            };
        }

        private void Check()
        {
            if (wanted.IsEmpty)
            {
                throw new UnusableTechniqueException("nothing is asked for; name what to undo or to change, such as a deviation index or a new distance.");
            }

            InRange(used.Mas, 0.001, 10_000, "mAs", "mAs");
            InRange(used.TubeCurrentMa, 0.1, 3_000, "tube current", "mA");
            InRange(used.TubeVoltageKvp, LowestKvp, HighestKvp, "tube voltage", "kVp");
            InRange(wanted.TubeVoltageKvp, LowestKvp, HighestKvp, "new tube voltage", "kVp");
            InRange(used.SourceImageDistanceMm, 100, 10_000, "distance", "mm");
            InRange(wanted.SourceImageDistanceMm, 100, 10_000, "new distance", "mm");
            InRange(used.PartThicknessMm, 1, 1_000, "thickness", "mm");
            InRange(wanted.PartThicknessMm, 1, 1_000, "new thickness", "mm");
            InRange(used.TubeAngleDegrees, -60, 60, "tube angle", "degrees");
            InRange(wanted.TubeAngleDegrees, -60, 60, "new tube angle", "degrees");
            InRange(wanted.DeviationIndex, -LargestDeviationIndex, LargestDeviationIndex, "deviation index", "");
            InRange(wanted.DeviationIndexUncertainty, 0, 20, "uncertainty of the deviation index", "");
        }

        private void DeviationIndex()
        {
            if (wanted.DeviationIndex is not { } index)
            {
                return;
            }

            double factor = DeviationIndexLaw.MasFactor(index);
            string got = $"The receptor got {FigureText.Number(100 * Math.Pow(10, index / 10), 0)} % of its target exposure";
            steps.Add(new TechniqueStep
            {
                Rule = TechniqueRule.DeviationIndex,
                Change = $"DI {FigureText.Number(index, 1, signed: true)} to 0",
                Formula = "mAs × 10^(−DI/10)",
                MasFactor = factor,
                MasFactorUncertainty = wanted.DeviationIndexUncertainty is { } sigma && sigma > 0 ? factor * Math.Log(10) / 10 * sigma : null,
                Reason = Way(factor, $"{got}, so mAs goes up.", $"{got}, so mAs goes down.", $"{got}, so mAs stays."),
                Basis = ["iec-62494-1"],
            });
        }

        private void Distance()
        {
            if (wanted.SourceImageDistanceMm is not { } after)
            {
                return;
            }

            double before = used.SourceImageDistanceMm ?? throw Missing("a new distance needs the distance used");
            double factor = DistanceLaw.MasFactor(before, after);
            steps.Add(new TechniqueStep
            {
                Rule = TechniqueRule.Distance,
                Change = $"{Wording.Significant(before)} to {Wording.Significant(after)} mm",
                Formula = "mAs × (new distance / old distance)²",
                MasFactor = factor,
                Reason = Way(
                    factor,
                    "A longer distance spreads the beam: the receptor gets less, so mAs goes up.",
                    "A shorter distance gathers the beam: the receptor gets more, so mAs goes down.",
                    "The distance is the same, so mAs stays."),
                Basis = ["square-law"],
            });
        }

        private void TubeAngle()
        {
            if (wanted.TubeAngleDegrees is not { } after)
            {
                return;
            }

            double before = used.TubeAngleDegrees ?? 0;
            double distance = wanted.SourceImageDistanceMm ?? used.SourceImageDistanceMm ?? throw Missing("a new tube angle needs the distance used");
            double scale = distance - (rules.DistancePerFiveDegreesMm * Math.Abs(after) / 5);
            if (scale <= 0)
            {
                throw new UnusableTechniqueException("the tube angle leaves no distance to set; look at the distance and the angle.");
            }

            int turned = Math.Sign(Math.Abs(after) - Math.Abs(before));
            steps.Add(new TechniqueStep
            {
                Rule = TechniqueRule.TubeAngle,
                Change = $"{Wording.Significant(before)}° to {Wording.Significant(after)}°, {Wording.Significant(Math.Round(scale))} mm on the tube's scale",
                Formula = "about one inch less on the scale for each 5° of angle, mAs as it is",
                MasFactor = 1,
                ScaleDistanceMm = scale,
                Reason = turned switch
                {
                    > 0 => "An angled beam goes a longer way to the receptor: the tube is set nearer, so mAs stays.",
                    < 0 => "A straighter beam goes a shorter way to the receptor: the tube is set farther, so mAs stays.",
                    _ => "The angle is as large as before, so distance and mAs stay.",
                },
                Basis = ["tube-angle-teaching"],
            });

            // The central ray is as long as the scale says over the cosine of the angle.
            double cosine = Math.Cos(after * Math.PI / 180);
            double ray = scale / cosine;
            if (after != 0)
            {
                double percent = 100 * (DistanceLaw.IntensityFactor(distance, ray) - 1);
                warnings.Add(new(
                    TechniqueWarningKind.Geometry,
                    $"One inch for 5° is a rule of thumb. By geometry {Wording.Significant(Math.Round(distance * cosine))} mm on the scale keeps the central ray {Wording.Significant(Math.Round(distance))} mm long; at {Wording.Significant(Math.Round(scale))} mm it is {Wording.Significant(Math.Round(ray))} mm and the receptor gets {FigureText.Number(Math.Abs(percent), 0)} % {(percent < 0 ? "less" : "more")}.",
                    "hotlight-geometry"));
            }
        }

        private void Grid()
        {
            if (wanted.GridRatio is not { } after)
            {
                return;
            }

            double before = used.GridRatio ?? throw Missing("a new grid needs the grid used");
            GridFactor old = GridOf(before);
            GridFactor next = GridOf(after);
            double factor = next.ConversionFactor / old.ConversionFactor;
            // Where a second author differs, the factor lies anywhere between the two: difference over √3 (rectangular, from one end).
            double[] relative = [.. new[] { old, next }.Where(grid => grid.OtherAuthor is not null && before != after).Select(grid => Math.Abs(grid.OtherAuthor!.Value - grid.ConversionFactor) / grid.ConversionFactor / Math.Sqrt(3))];
            steps.Add(new TechniqueStep
            {
                Rule = TechniqueRule.Grid,
                Change = $"{Wording.Grid(before)} to {Wording.Grid(after)}",
                Formula = $"mAs × new conversion factor / old conversion factor ({Wording.Significant(next.ConversionFactor)} / {Wording.Significant(old.ConversionFactor)})",
                MasFactor = factor,
                MasFactorUncertainty = relative.Length == 0 ? null : factor * Math.Sqrt(relative.Sum(each => each * each)),
                Reason = before == after ? "The grid is the same, so mAs stays." : Way(
                    factor,
                    "A grid that stops more scatter stops more of the beam too: the receptor gets less, so mAs goes up.",
                    "Less grid lets more of the beam and of the scatter through: the receptor gets more, so mAs goes down.",
                    "Both grids have the same conversion factor, so mAs stays."),
                Basis = ["grid-conversion"],
            });
            foreach (GridFactor grid in new[] { old, next }.Distinct().Where(grid => grid.OtherAuthor is not null && before != after))
            {
                warnings.Add(new(TechniqueWarningKind.AuthorsDisagree, $"For {Wording.Grid(grid.Ratio)} another author gives a conversion factor of {Wording.Significant(grid.OtherAuthor!.Value)} instead of {Wording.Significant(grid.ConversionFactor)}.", "grid-conversion"));
            }

            if (before == 0 && next.VoltageInsteadKvp is { } instead)
            {
                warnings.Add(new(TechniqueWarningKind.AuthorsDisagree, $"Some authors add {instead} kVp for {Wording.Grid(after)} instead of mAs: do one of the two, never both.", "grid-conversion"));
            }
        }

        private void Thickness()
        {
            if (wanted.PartThicknessMm is not { } after)
            {
                return;
            }

            double before = used.PartThicknessMm ?? throw Missing("a new thickness needs the thickness used");
            string change = $"{Wording.Significant(before)} to {Wording.Significant(after)} mm of tissue";
            if (rules.ThicknessRule == ThicknessRule.Voltage)
            {
                double shift = rules.VoltagePerCmKvp * (after - before) / 10;
                steps.Add(new TechniqueStep
                {
                    Rule = TechniqueRule.Thickness,
                    Change = $"{change}, {ShiftVoltage(shift, "this thickness by voltage")}",
                    Formula = $"{Wording.Significant(rules.VoltagePerCmKvp)} kVp for each cm",
                    MasFactor = 1,
                    TubeVoltageShiftKvp = shift,
                    Reason = shift switch
                    {
                        > 0 => "A thicker part stops more of the beam: the voltage goes up so that as much gets through, and mAs stays.",
                        < 0 => "A thinner part stops less of the beam: the voltage goes down so that no more gets through, and mAs stays.",
                        _ => "The thickness is the same, so voltage and mAs stay.",
                    },
                    Basis = ["thickness-teaching"],
                });
                return;
            }

            double layer = rules.TissueHalfValueLayerMm;
            double other = rules.OtherTissueHalfValueLayerMm;
            double factor = HalfValueLayerLaw.MasFactor(before, after, layer);
            double otherFactor = HalfValueLayerLaw.MasFactor(before, after, other);
            steps.Add(new TechniqueStep
            {
                Rule = TechniqueRule.Thickness,
                Change = change,
                Formula = $"mAs × 2^(change of thickness / {Wording.Significant(layer)} mm)",
                MasFactor = factor,
                MasFactorUncertainty = factor == otherFactor ? null : Math.Abs(factor - otherFactor) / Math.Sqrt(3),
                Reason = Way(
                    factor,
                    "A thicker part stops more of the beam: the receptor gets less, so mAs goes up.",
                    "A thinner part stops less of the beam: the receptor gets more, so mAs goes down.",
                    "The thickness is the same, so mAs stays."),
                Basis = ["al-balool-1998", "thickness-teaching"],
            });
            if (before != after && layer != other)
            {
                warnings.Add(new(TechniqueWarningKind.AuthorsDisagree, $"Authors double the mAs for 3 cm to 5 cm of tissue; with {Wording.Significant(other)} mm the step would be × {Wording.Significant(otherFactor)} instead of × {Wording.Significant(factor)}. Scatter and grid decide; go by your own chart where there is one.", "thickness-teaching"));
            }
        }

        private void Cast()
        {
            if (wanted.Cast is not { } after)
            {
                return;
            }

            CastRule old = CastOf(used.Cast ?? TechniqueRules.NoCast);
            CastRule next = CastOf(after);
            double factor = next.MasFactor / old.MasFactor;
            double shift = next.TubeVoltageShiftKvp - old.TubeVoltageShiftKvp;
            string change = $"{old.Name} to {next.Name}";
            steps.Add(new TechniqueStep
            {
                Rule = TechniqueRule.Cast,
                Change = shift == 0 ? change : $"{change}, {ShiftVoltage(shift, "this cast")}",
                Formula = shift == 0
                    ? $"mAs × factor of the new cast / factor of the old ({Wording.Significant(next.MasFactor)} / {Wording.Significant(old.MasFactor)})"
                    : $"{FigureText.Number(shift, 0, signed: true)} kVp" + (factor == 1 ? "" : $", mAs × {Wording.Significant(factor)}"),
                MasFactor = factor,
                TubeVoltageShiftKvp = shift,
                Reason = (Math.Sign(shift), Math.Sign(factor - 1)) switch
                {
                    (0, 0) => "This asks for no change: it hardly stops the beam.",
                    (>= 0, >= 0) => shift > 0
                        ? "A cast stops more of the beam: the voltage goes up so that as much gets through, and mAs stays."
                        : "A cast stops more of the beam: the receptor gets less, so mAs goes up.",
                    (<= 0, <= 0) => shift < 0
                        ? "Without that cast less of the beam is stopped: the voltage goes down, and mAs stays."
                        : "Without that cast less of the beam is stopped: the receptor gets more, so mAs goes down.",
                    _ => "One cast is made up for by voltage, the other by mAs.",
                },
                Basis = [.. new[] { old.Basis, next.Basis }.Distinct()],
            });
            if (shift != 0 || factor != 1)
            {
                warnings.Add(new(TechniqueWarningKind.AuthorsDisagree, "Authors disagree on casts: 5 to 7 kVp for dry plaster, or 8 to 10 kVp or double mAs, three times the mAs for wet plaster. These are settings; your clinic's own come first.", "cast-teaching"));
            }
        }

        private void Voltage()
        {
            if (wanted.TubeVoltageKvp is not { } after)
            {
                return;
            }

            double before = kvp ?? throw Missing("a new voltage needs the voltage used");
            double factor = VoltageLaw.MasFactor(before, after, rules.VoltageRule);
            kvp = after;
            steps.Add(new TechniqueStep
            {
                Rule = TechniqueRule.Voltage,
                Change = $"{Wording.Significant(before)} to {Wording.Significant(after)} kVp",
                Formula = rules.VoltageRule == VoltageRule.FifthPower ? "mAs × (old kVp / new kVp)^5" : "mAs × 2^(−ln(new kVp / old kVp) / ln 1.15), the 15 % rule",
                MasFactor = factor,
                MasFactorUncertainty = before == after ? null : VoltageLaw.MasFactorUncertainty(before, after, rules.VoltageRule),
                Reason = Way(
                    factor,
                    "A lower voltage makes fewer photons and fewer of them get through: the receptor gets less, so mAs goes up.",
                    "A higher voltage makes more photons and more of them get through: the receptor gets more, so mAs goes down.",
                    "The voltage is the same, so mAs stays."),
                Basis = rules.VoltageRule == VoltageRule.FifthPower ? ["al-balool-1998"] : ["voltage-rule", "al-balool-1998"],
            });
            if (before == after)
            {
                return;
            }

            if (Math.Min(before, after) < rules.VoltageRuleFromKvp || Math.Max(before, after) > rules.VoltageRuleToKvp)
            {
                warnings.Add(new(TechniqueWarningKind.VoltageRange, $"The voltage rule is adequate only from about {Wording.Significant(rules.VoltageRuleFromKvp)} to {Wording.Significant(rules.VoltageRuleToKvp)} kVp; from {Wording.Significant(before)} to {Wording.Significant(after)} kVp it may be far off.", "al-balool-1998"));
            }

            if (Math.Max(wanted.PartThicknessMm ?? 0, used.PartThicknessMm ?? 0) > rules.VoltageRuleToThicknessMm)
            {
                warnings.Add(new(TechniqueWarningKind.VoltageThickness, $"The voltage rule is adequate only up to about {Wording.Significant(rules.VoltageRuleToThicknessMm / 10)} cm of tissue.", "al-balool-1998"));
            }
        }

        private string ShiftVoltage(double shift, string what)
        {
            double before = kvp ?? throw Missing($"the rule for {what} changes the voltage, so it needs the voltage used");
            kvp = before + shift;
            if (kvp is < LowestKvp or > HighestKvp)
            {
                throw new UnusableTechniqueException($"the rule for {what} leads to {Wording.Significant(kvp.Value)} kVp, outside {LowestKvp:0} to {HighestKvp:0} kVp; change mAs instead.");
            }

            return $"{Wording.Significant(before)} to {Wording.Significant(kvp.Value)} kVp";
        }

        private void Visible(double factor)
        {
            // With an index the question is whether its undoing would show; without one, whether leaving the mAs as it is would.
            double change = wanted.DeviationIndex is { } index ? DeviationIndexLaw.MasFactor(index) : factor;
            double percent = 100 * (Math.Max(change, 1 / change) - 1);
            if (percent >= rules.VisibleChangePercent || percent == 0)
            {
                return;
            }

            string needed = $"it takes {Wording.Significant(rules.HiddenChangePercent)} to {Wording.Significant(rules.VisibleChangePercent)} %";
            string shows = percent < rules.HiddenChangePercent ? "would not be visible" : "may or may not be visible";
            warnings.Add(new(
                TechniqueWarningKind.NotVisible,
                wanted.DeviationIndex is not null
                    ? $"Undoing this index changes the exposure by {FigureText.Number(percent, 0)} %, which {shows}: {needed}. That is no reason for a repeat."
                    : $"Leaving the mAs as it is would change the receptor's exposure by {FigureText.Number(percent, 0)} %, which {shows}: {needed}.",
                "visible-mas-change"));
        }

        private GeneratorStep Step(double mas)
        {
            GeneratorSeries series = GeneratorSeries.All.FirstOrDefault(known => known.Id == rules.Series)
                ?? throw new UnusableTechniqueException($"there is no series '{rules.Series}'; there are {string.Join(", ", GeneratorSeries.All.Select(known => known.Id))}.");
            double step = series.NearestMas(mas);
            return new GeneratorStep(series.Id, step, DeviationIndexLaw.ShiftOf(step / mas));
        }

        private ExposureTiming? Timing(double? mas, string? motionLimit)
        {
            MotionLimit? limit = motionLimit is null
                ? null
                : rules.MotionLimits.FirstOrDefault(known => known.Id == motionLimit)
                    ?? throw new UnusableTechniqueException($"there is no motion limit for '{motionLimit}'; there are {string.Join(", ", rules.MotionLimits.Select(known => known.Id))}.");
            double? largest = TubeLoading.LargestCurrentMa(kvp, rules.Tube);
            if (mas is not { } product || (used.TubeCurrentMa is null && largest is null))
            {
                return limit is null ? null : new ExposureTiming { Limit = limit };
            }

            double? time = 1000 * product / used.TubeCurrentMa;
            double? shortest = 1000 * product / largest;
            bool? within = limit is null ? null : (time ?? shortest) <= limit.LongestMs;
            if (within == false)
            {
                string remedy = shortest is { } least && time is not null
                    ? least <= limit!.LongestMs
                        ? $" At {Wording.Significant(largest!.Value)} mA it would take {Wording.Significant(least)} ms."
                        : $" Even at the tube's greatest current it takes {Wording.Significant(least)} ms: a higher voltage with less mAs shortens it."
                    : time is null ? " A higher voltage with less mAs shortens it." : " More mA and less time makes the same mAs.";
                warnings.Add(new(TechniqueWarningKind.Motion, $"The exposure takes {Wording.Significant((time ?? shortest)!.Value)} ms; for the {limit!.Name} at most {Wording.Significant(limit.LongestMs)} ms keeps movement out of the picture.{remedy}", limit.Basis));
            }

            return new ExposureTiming { TubeCurrentMa = used.TubeCurrentMa, ExposureTimeMs = time, LargestCurrentMa = largest, ShortestTimeMs = shortest, Limit = limit, IsWithinLimit = within };
        }

        private TubeLoad? Load(double? mas)
        {
            if (mas is not { } product || kvp is not { } voltage)
            {
                return null;
            }

            TubeLimits limits = rules.Tube;
            double heat = TubeLoading.HeatUnits(voltage, product, limits.Waveform);
            double? power = used.TubeCurrentMa is { } current ? TubeLoading.PowerKw(voltage, current) : null;
            if (power > limits.RatingKw)
            {
                warnings.Add(new(TechniqueWarningKind.TubeLoading, $"{Wording.Significant(voltage)} kVp at {Wording.Significant(used.TubeCurrentMa!.Value)} mA is {Wording.Significant(power.Value)} kW, above the tube's rating of {Wording.Significant(limits.RatingKw!.Value)} kW: take less current and more time.", "reciprocity"));
            }

            if (used.TubeCurrentMa > limits.LargestCurrentMa)
            {
                warnings.Add(new(TechniqueWarningKind.TubeLoading, $"{Wording.Significant(used.TubeCurrentMa!.Value)} mA is above the tube's greatest current of {Wording.Significant(limits.LargestCurrentMa!.Value)} mA.", "reciprocity"));
            }

            if (limits.RatingKw is not null && (1000 * product / (used.TubeCurrentMa ?? TubeLoading.LargestCurrentMa(voltage, limits))) > 100)
            {
                warnings.Add(new(TechniqueWarningKind.TubeLoading, "A rating in kW is stated for 0.1 s; this exposure is longer, so the tube's chart allows less.", "common-practice"));
            }

            if (heat > limits.LargestHeatUnits)
            {
                warnings.Add(new(TechniqueWarningKind.TubeLoading, $"The exposure makes {Wording.Significant(heat)} heat units, above the limit of {Wording.Significant(limits.LargestHeatUnits!.Value)} that was given.", "heat-units"));
            }

            return new TubeLoad { PowerKw = power, HeatUnits = heat, WaveformFactor = TubeLoading.FactorOf(limits.Waveform) };
        }

        private GridFactor GridOf(double ratio) => rules.Grids.FirstOrDefault(grid => grid.Ratio == ratio)
            ?? throw new UnusableTechniqueException($"there is no conversion factor for a grid of {Wording.Grid(ratio)}; known are {string.Join(", ", rules.Grids.Select(grid => grid.Ratio == 0 ? "none" : Wording.Grid(grid.Ratio)))}.");

        private CastRule CastOf(string id) => rules.Casts.FirstOrDefault(cast => cast.Id == id)
            ?? throw new UnusableTechniqueException($"there is no cast '{id}'; known are {string.Join(", ", rules.Casts.Select(cast => cast.Id))}.");

        private static string Way(double factor, string up, string down, string stays) => factor > 1 ? up : factor < 1 ? down : stays;

        private static UnusableTechniqueException Missing(string sentence) => new(sentence + ".");

        private static void InRange(double? value, double minimum, double maximum, string name, string unit)
        {
            if (value is { } given && !(given >= minimum && given <= maximum))
            {
                string of = unit.Length == 0 ? string.Empty : " " + unit;
                throw new UnusableTechniqueException($"the {name} is {(double.IsFinite(given) ? Wording.Significant(given) : "not a number")}{of}; it goes from {Wording.Significant(minimum)} to {Wording.Significant(maximum)}{of}.");
            }
        }
    }
}
