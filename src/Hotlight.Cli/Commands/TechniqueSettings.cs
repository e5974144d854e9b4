using System.ComponentModel;
using System.Globalization;
using Hotlight.Technique;
using Hotlight.Technique.Dose;
using Spectre.Console.Cli;

namespace Hotlight.Cli.Commands;

/// <summary>What 'hotlight technique' is told: the technique used, what is wanted, the tube, and what a dose is worked out from.</summary>
internal sealed class TechniqueSettings : CommandSettings
{
    [CommandOption("--mas <MAS>")]
    [Description("mAs of the exposure made.")]
    public string? Mas { get; init; }

    [CommandOption("--ma <MA>")]
    [Description("Tube current, in mA; with --time it makes the mAs, with --mas the time.")]
    public string? TubeCurrentMa { get; init; }

    [CommandOption("--time <S>")]
    [Description("Exposure time, in s.")]
    public string? TimeSeconds { get; init; }

    [CommandOption("--kvp <KVP>")]
    [Description("Tube voltage, in kVp.")]
    public string? TubeVoltageKvp { get; init; }

    [CommandOption("--distance <MM>")]
    [Description("Distance from the source to the receptor, in mm.")]
    public string? DistanceMm { get; init; }

    [CommandOption("--grid <RATIO>")]
    [Description("Grid ratio, such as 8:1, or none.")]
    public string? Grid { get; init; }

    [CommandOption("--thickness <MM>")]
    [Description("Thickness of the part, in mm.")]
    public string? ThicknessMm { get; init; }

    [CommandOption("--cast <CAST>")]
    [Description("Cast or splint; none where it is left out.")]
    public string? Cast { get; init; }

    [CommandOption("--angle <DEGREES>")]
    [Description("Tube angle, in degrees; 0 where it is left out.")]
    public string? AngleDegrees { get; init; }

    [CommandOption("--deviation-index <DI>")]
    [Description("Deviation index to undo, such as -2.3.")]
    public string? DeviationIndex { get; init; }

    [CommandOption("--deviation-uncertainty <DI>")]
    [Description("One standard deviation of that index.")]
    public string? DeviationUncertainty { get; init; }

    [CommandOption("--new-kvp <KVP>")]
    [Description("Wanted tube voltage, in kVp.")]
    public string? NewTubeVoltageKvp { get; init; }

    [CommandOption("--new-distance <MM>")]
    [Description("Wanted distance, in mm.")]
    public string? NewDistanceMm { get; init; }

    [CommandOption("--new-grid <RATIO>")]
    [Description("Wanted grid ratio, such as 12:1, or none.")]
    public string? NewGrid { get; init; }

    [CommandOption("--new-thickness <MM>")]
    [Description("Thickness of the next part, in mm.")]
    public string? NewThicknessMm { get; init; }

    [CommandOption("--new-cast <CAST>")]
    [Description("Cast or splint of the next part: fibreglass, air-splint, plaster-dry, plaster-voltage, plaster-mas, plaster-wet, none.")]
    public string? NewCast { get; init; }

    [CommandOption("--new-angle <DEGREES>")]
    [Description("Wanted tube angle, in degrees.")]
    public string? NewAngleDegrees { get; init; }

    [CommandOption("--voltage-rule <RULE>")]
    [Description("fifteen-percent (the 15 % rule; default) or fifth-power.")]
    public string? VoltageRule { get; init; }

    [CommandOption("--thickness-rule <RULE>")]
    [Description("half-value-layer (by mAs; default) or voltage (by kVp for each cm).")]
    public string? ThicknessRule { get; init; }

    [CommandOption("--series <SERIES>")]
    [Description("mAs that the generator offers: r10 (default), r10-rounded (3.2 for 3.15) or r20.")]
    public string? Series { get; init; }

    [CommandOption("--rules <FILE>")]
    [Description("Your clinic's rules (JSON): grids, casts, motion limits, tube.")]
    public string? RulesPath { get; init; }

    [CommandOption("--print-rules")]
    [Description("Print the rules in use, to start a file of your own from.")]
    public bool PrintRules { get; init; }

    [CommandOption("--motion <PART>")]
    [Description("Hold the time against a limit: chest-child, chest, chest-lateral, pelvis, lumbar-spine, lumbar-spine-lateral.")]
    public string? Motion { get; init; }

    [CommandOption("--largest-ma <MA>")]
    [Description("The tube's greatest current, in mA; gives the shortest time.")]
    public string? LargestCurrentMa { get; init; }

    [CommandOption("--rating-kw <KW>")]
    [Description("The tube's rating for 0.1 s, in kW.")]
    public string? RatingKw { get; init; }

    [CommandOption("--heat-limit <HU>")]
    [Description("Heat that one exposure may make, in heat units.")]
    public string? HeatLimit { get; init; }

    [CommandOption("--generator <KIND>")]
    [Description("high-frequency (default), twelve-pulse, six-pulse or single-phase.")]
    public string? Generator { get; init; }

    [CommandOption("--kap <DGYCM2>")]
    [Description("Kerma-area product that was recorded, in dGy·cm².")]
    public string? KermaAreaProduct { get; init; }

    [CommandOption("--entrance-dose <MGY>")]
    [Description("Entrance dose that was recorded, in mGy.")]
    public string? EntranceDoseMgy { get; init; }

    [CommandOption("--output <MGY>")]
    [Description("The tube's output, in mGy/mAs at 1 m, or typical.")]
    public string? Output { get; init; }

    [CommandOption("--output-kvp <KVP>")]
    [Description("Voltage that output was measured at, in kVp; else that of the exposure.")]
    public string? OutputKvp { get; init; }

    [CommandOption("--output-uncertainty <PERCENT>")]
    [Description("One standard deviation of that output, in percent; 10 where it is left out.")]
    public string? OutputUncertainty { get; init; }

    [CommandOption("--skin-distance <MM>")]
    [Description("Distance from the source to the skin, in mm; else from distance, thickness and --gap.")]
    public string? SkinDistanceMm { get; init; }

    [CommandOption("--gap <MM>")]
    [Description("Gap between the part and the receptor, in mm; 0 where it lies on it.")]
    public string? GapMm { get; init; }

    [CommandOption("--backscatter <FACTOR>")]
    [Description("Backscatter factor; else 1.4 with its uncertainty.")]
    public string? Backscatter { get; init; }

    [CommandOption("--field <WxH>")]
    [Description("Field at the receptor, in mm, such as 240x300.")]
    public string? Field { get; init; }

    [CommandOption("--new-field <WxH>")]
    [Description("Field of the next exposure at the receptor, in mm.")]
    public string? NewField { get; init; }

    [CommandOption("--repeats <COUNT>")]
    [Description("How many repeats to add up; 1 where it is left out.")]
    public int? Repeats { get; init; }

    [CommandOption("--effective-coefficient <MSV>")]
    [Description("Published coefficient for the effective dose, in mSv/(Gy·cm²), with --coefficient-source.")]
    public string? EffectiveCoefficient { get; init; }

    [CommandOption("--coefficient-source <TEXT>")]
    [Description("Where that coefficient was published.")]
    public string? CoefficientSource { get; init; }

    [CommandOption("--json")]
    [Description("Print one JSON document.")]
    public bool Json { get; init; }

    /// <summary>Whether a dose is asked for.</summary>
    public bool AsksForDose => new[] { KermaAreaProduct, EntranceDoseMgy, Output, Field, NewField, SkinDistanceMm, GapMm, Backscatter, EffectiveCoefficient, OutputKvp, OutputUncertainty, CoefficientSource }.Any(each => each is not null) || Repeats is not null;

    /// <summary>The technique used.</summary>
    /// <exception cref="RefusedException">A value is not what it should be.</exception>
    public ExposureTechnique ToUsed()
    {
        double? mas = Number("--mas", Mas, 0.001, 10_000, 10);
        double? current = Number("--ma", TubeCurrentMa, 0.1, 3_000, 200);
        double? seconds = Number("--time", TimeSeconds, 0.0001, 20, 0.05);
        if (current is { } ma && seconds is { } s)
        {
            double product = ExposureTechnique.MasOf(ma, 1000 * s);
            if (mas is { } said && Math.Abs((said / product) - 1) > 0.05)
            {
                throw new RefusedException($"--mas {Mas} does not go with --ma {TubeCurrentMa} and --time {TimeSeconds}, which make {Wording.Significant(product)} mAs; give two of the three.");
            }

            mas ??= product;
        }
        else if (mas is { } said && seconds is { } time)
        {
            current = said / time;
        }
        else if (mas is null && (current ?? seconds) is not null)
        {
            throw new RefusedException("mAs takes --mas, or --ma and --time together.");
        }

        return new ExposureTechnique
        {
            Mas = mas,
            TubeVoltageKvp = Number("--kvp", TubeVoltageKvp, TechniquePlanner.LowestKvp, TechniquePlanner.HighestKvp, 70),
            TubeCurrentMa = current,
            SourceImageDistanceMm = Number("--distance", DistanceMm, 100, 10_000, 1150),
            GridRatio = GridOf("--grid", Grid),
            PartThicknessMm = Number("--thickness", ThicknessMm, 1, 1_000, 200),
            Cast = Cast,
            TubeAngleDegrees = Number("--angle", AngleDegrees, -60, 60, 15),
        };
    }

    /// <summary>What is wanted.</summary>
    /// <exception cref="RefusedException">A value is not what it should be.</exception>
    public TechniqueRequest ToRequest() => new()
    {
        DeviationIndex = Number("--deviation-index", DeviationIndex, -20, 20, -2.3),
        DeviationIndexUncertainty = Number("--deviation-uncertainty", DeviationUncertainty, 0, 20, 0.3),
        SourceImageDistanceMm = Number("--new-distance", NewDistanceMm, 100, 10_000, 1150),
        TubeAngleDegrees = Number("--new-angle", NewAngleDegrees, -60, 60, 15),
        GridRatio = GridOf("--new-grid", NewGrid),
        PartThicknessMm = Number("--new-thickness", NewThicknessMm, 1, 1_000, 200),
        Cast = NewCast,
        TubeVoltageKvp = Number("--new-kvp", NewTubeVoltageKvp, TechniquePlanner.LowestKvp, TechniquePlanner.HighestKvp, 70),
    };

    /// <summary>The rules in use: the file's, with the options over them.</summary>
    /// <exception cref="RefusedException">The file or a value is not what it should be.</exception>
    public TechniqueRules ToRules()
    {
        TechniqueRules rules = RulesPath is null ? TechniqueRules.Default : ReadRules(RulesPath);
        return rules with
        {
            VoltageRule = Word("--voltage-rule", VoltageRule, rules.VoltageRule, ("fifteen-percent", Hotlight.Technique.VoltageRule.FifteenPercent), ("fifth-power", Hotlight.Technique.VoltageRule.FifthPower)),
            ThicknessRule = Word("--thickness-rule", ThicknessRule, rules.ThicknessRule, ("half-value-layer", Hotlight.Technique.ThicknessRule.HalfValueLayer), ("voltage", Hotlight.Technique.ThicknessRule.Voltage)),
            Series = Word("--series", Series, rules.Series, [.. GeneratorSeries.All.Select(series => (series.Id, series.Id))]),
            Tube = rules.Tube with
            {
                LargestCurrentMa = Number("--largest-ma", LargestCurrentMa, 1, 3_000, 500) ?? rules.Tube.LargestCurrentMa,
                RatingKw = Number("--rating-kw", RatingKw, 0.1, 300, 50) ?? rules.Tube.RatingKw,
                LargestHeatUnits = Number("--heat-limit", HeatLimit, 1, 10_000_000, 50_000) ?? rules.Tube.LargestHeatUnits,
                Waveform = Word(
                    "--generator",
                    Generator,
                    rules.Tube.Waveform,
                    ("single-phase", GeneratorWaveform.SinglePhase),
                    ("six-pulse", GeneratorWaveform.SixPulse),
                    ("twelve-pulse", GeneratorWaveform.TwelvePulse),
                    ("high-frequency", GeneratorWaveform.HighFrequency)),
            },
        };
    }

    /// <summary>What the dose is worked out from.</summary>
    /// <param name="used">The technique used.</param>
    /// <exception cref="RefusedException">A value is not what it should be.</exception>
    public DoseInput ToDoseInput(ExposureTechnique used) => new()
    {
        KermaAreaProductDgyCm2 = Number("--kap", KermaAreaProduct, 0.000001, 100_000, 2.5),
        EntranceDoseMgy = Number("--entrance-dose", EntranceDoseMgy, 0.000001, 10_000, 0.3),
        Mas = used.Mas,
        TubeVoltageKvp = used.TubeVoltageKvp,
        SourceImageDistanceMm = used.SourceImageDistanceMm,
        SourceSkinDistanceMm = Number("--skin-distance", SkinDistanceMm, 50, 10_000, 900),
        PartThicknessMm = used.PartThicknessMm,
        PartReceptorGapMm = Number("--gap", GapMm, 0, 2_000, 50),
        FieldAreaMm2 = AreaOf("--field", Field),
        Output = OutputOf(used),
    };

    /// <summary>Area of the next field, in mm²; null: not given.</summary>
    /// <exception cref="RefusedException">A value is not what it should be.</exception>
    public double? NewFieldAreaMm2()
    {
        double? area = AreaOf("--new-field", NewField);
        return area is not null && Field is null ? throw new RefusedException("--new-field needs the field of the exposure made: --field WxH.") : area;
    }

    /// <summary>Number of repeats to add up.</summary>
    /// <exception cref="RefusedException">The value is not what it should be.</exception>
    public int RepeatCount() => Repeats is null or (>= 1 and <= 100) ? Repeats ?? 1 : throw new RefusedException($"--repeats takes a number from 1 to 100, such as --repeats 2; '{Repeats}' is not one.");

    /// <summary>The coefficient for the effective dose; null: not given.</summary>
    /// <exception cref="RefusedException">One of its two parts is missing.</exception>
    public EffectiveDoseCoefficient? ToCoefficient()
    {
        double? value = Number("--effective-coefficient", EffectiveCoefficient, 0.000001, 100, 0.2);
        return (value, CoefficientSource) switch
        {
            ({ } known, { } source) => new EffectiveDoseCoefficient(known, source),
            (null, null) => null,
            _ => throw new RefusedException("an effective dose needs both --effective-coefficient and --coefficient-source: the figure and where it was published."),
        };
    }

    /// <summary>The figures a dose is worked out with.</summary>
    /// <exception cref="RefusedException">The value is not what it should be.</exception>
    public DoseSettings ToDoseSettings() => Number("--backscatter", Backscatter, 1, 2, 1.35) is { } factor
        ? DoseSettings.Default with { BackscatterFactor = factor, BackscatterUncertainty = 0 }
        : DoseSettings.Default;

    private TubeOutput? OutputOf(ExposureTechnique used)
    {
        double? measuredAt = Number("--output-kvp", OutputKvp, TechniquePlanner.LowestKvp, TechniquePlanner.HighestKvp, 80);
        double? percent = Number("--output-uncertainty", OutputUncertainty, 0, 100, 10);
        if (Output is null)
        {
            return measuredAt is null && percent is null ? null : throw new RefusedException("--output-kvp and --output-uncertainty go with --output, such as --output 0.05.");
        }

        if (Output == "typical")
        {
            if (used.TubeVoltageKvp is not { } kvp)
            {
                throw new RefusedException("--output typical needs the voltage of the exposure: --kvp.");
            }

            Core.Figure<TubeOutput> typical = TubeOutput.Typical(kvp);
            return typical.IsMeasured ? typical.Value : throw new RefusedException(char.ToLowerInvariant(typical.Why[0]) + typical.Why[1..]);
        }

        double output = Number("--output", Output, 0.0001, 10, 0.05)!.Value;
        return (measuredAt ?? used.TubeVoltageKvp) is { } voltage
            ? TubeOutput.Given(output, voltage, percent ?? 10)
            : throw new RefusedException("--output needs a voltage: --output-kvp, or --kvp.");
    }

    private static TechniqueRules ReadRules(string path)
    {
        string name = Path.GetFileName(path);
        try
        {
            return !Imaging.PlainFile.Is(path)
                ? throw new RefusedException($"{name}: it is a pipe, a terminal or a socket; give a file of rules.")
                : new FileInfo(path) is { Exists: true, Length: > 1_000_000 }
                    ? throw new RefusedException($"'{name}' is too large for a file of rules.")
                    : TechniqueJson.ReadRules(File.ReadAllText(path), name);
        }
        catch (UnreadableRulesException error)
        {
            throw new RefusedException(error.Message);
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            throw new RefusedException($"'{path}' cannot be read: {Rendering.Terminal.Reason(error)}.");
        }
    }

    private static double? GridOf(string option, string? text)
    {
        if (text is null)
        {
            return null;
        }

        string ratio = text.EndsWith(":1", StringComparison.Ordinal) ? text[..^2] : text;
        return text == "none" ? 0
            : double.TryParse(ratio, NumberStyles.Float, CultureInfo.InvariantCulture, out double value) && value is >= 0 and <= 100 ? value
            : throw new RefusedException($"{option} takes none or a ratio: {string.Join(", ", TechniqueRules.Default.Grids.Where(grid => grid.Ratio > 0).Select(grid => Wording.Grid(grid.Ratio)))}; '{text}' is not one.");
    }

    private static double? AreaOf(string option, string? text)
    {
        if (text is null)
        {
            return null;
        }

        string[] sides = text.Split('x', 'X', '×');
        return sides.Length == 2 && sides.All(side => double.TryParse(side, NumberStyles.Float, CultureInfo.InvariantCulture, out double mm) && mm is >= 1 and <= 1_000)
            ? sides.Select(side => double.Parse(side, CultureInfo.InvariantCulture)).Aggregate((width, height) => width * height)
            : throw new RefusedException($"{option} takes width and height in mm, each from 1 to 1,000, such as {option} 240x300; '{text}' is not that.");
    }

    private static T Word<T>(string option, string? text, T otherwise, params (string Name, T Value)[] known)
    {
        if (text is null)
        {
            return otherwise;
        }

        foreach ((string name, T value) in known)
        {
            if (name == text)
            {
                return value;
            }
        }

        throw new RefusedException($"{option} takes {string.Join(", ", known.Select(each => each.Name))}; '{text}' is none of them.");
    }

    private static double? Number(string option, string? text, double minimum, double maximum, double example)
    {
        if (text is null)
        {
            return null;
        }

        // A minus sign copied from a printed figure is a minus sign.
        return double.TryParse(text.Replace('−', '-'), NumberStyles.Float, CultureInfo.InvariantCulture, out double value) && value >= minimum && value <= maximum
            ? value
            : throw new RefusedException(string.Create(CultureInfo.InvariantCulture, $"{option} takes a number from {minimum:0.######} to {maximum}, such as {option} {example}; '{text}' is not one."));
    }
}
