namespace Hotlight.Technique.Tests;

public sealed class TechniquePlannerTests
{
    private static readonly ExposureTechnique Used = new() { Mas = 10, TubeVoltageKvp = 70, SourceImageDistanceMm = 1000, GridRatio = 8, PartThicknessMm = 150, TubeAngleDegrees = 0 };

    /// <summary>What is asked for and then undone leaves mAs, voltage and distance where they were, for any mixture of requests.</summary>
    [Fact]
    [Trait("evidence", "invariant")]
    public void Plan_RequestAndItsUndoing_MultiplyToOne()
    {
        var random = new Random(20261127);
        double[] grids = [0, 5, 6, 8, 10, 12, 16];
        string[] casts = ["none", "fibreglass", "plaster-mas", "plaster-wet"];
        for (int count = 0; count < 5_000; count++)
        {
            bool Asked() => random.Next(2) == 0;
            double Between(double low, double high) => low + ((high - low) * random.NextDouble());
            ExposureTechnique used = Used with { Mas = Between(5, 20), TubeVoltageKvp = Between(60, 80), SourceImageDistanceMm = Between(900, 1800), GridRatio = grids[random.Next(grids.Length)], PartThicknessMm = Between(100, 160), Cast = casts[random.Next(casts.Length)], TubeAngleDegrees = Between(-30, 30) };
            var wanted = new TechniqueRequest
            {
                DeviationIndex = Asked() ? Between(-5, 5) : null,
                SourceImageDistanceMm = Asked() ? Between(900, 1800) : null,
                TubeAngleDegrees = Asked() ? Between(-30, 30) : null,
                GridRatio = Asked() ? grids[random.Next(grids.Length)] : null,
                PartThicknessMm = Asked() ? Between(100, 160) : null,
                Cast = Asked() ? casts[random.Next(casts.Length)] : null,
                TubeVoltageKvp = Asked() ? Between(60, 80) : null,
            };
            if (wanted.IsEmpty)
            {
                continue;
            }

            TechniquePlan there = TechniquePlanner.Plan(used, wanted);
            TechniquePlan back = TechniquePlanner.Plan(there.To with { Mas = there.MasBeforeRounding }, wanted.Undo(used));
            Assert.Equal(1, there.MasFactor * back.MasFactor, 1e-9);
            Assert.Equal(used.Mas!.Value, back.MasBeforeRounding!.Value, 1e-7);
            Assert.Equal(used with { Mas = null }, back.To with { Mas = null });
        }
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Plan_ShiftOfVoltageAndItsUndoing_LeavesTheVoltage()
    {
        TechniquePlan there = TechniquePlanner.Plan(Used, new TechniqueRequest { Cast = "plaster-dry" });
        Assert.Equal(76, there.To.TubeVoltageKvp);
        Assert.Equal(70, TechniquePlanner.Plan(there.To, new TechniqueRequest { Cast = "plaster-dry" }.Undo(Used)).To.TubeVoltageKvp);
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Plan_SeveralRequests_MultiplyInTheStatedOrder()
    {
        var all = new TechniqueRequest { DeviationIndex = -2, SourceImageDistanceMm = 1150, TubeAngleDegrees = 10, GridRatio = 12, PartThicknessMm = 170, Cast = "plaster-wet", TubeVoltageKvp = 80 };
        TechniquePlan plan = TechniquePlanner.Plan(Used, all);
        Assert.Equal(Enum.GetValues<TechniqueRule>(), plan.Steps.Select(step => step.Rule));
        double product = new[]
        {
            new TechniqueRequest { DeviationIndex = -2 }, new() { SourceImageDistanceMm = 1150 }, new() { TubeAngleDegrees = 10 }, new() { GridRatio = 12 },
            new() { PartThicknessMm = 170 }, new() { Cast = "plaster-wet" }, new() { TubeVoltageKvp = 80 },
        }.Aggregate(1.0, (sum, request) => sum * TechniquePlanner.Plan(Used, request).MasFactor);
        Assert.Equal(product, plan.MasFactor, 1e-9);
    }

    /// <summary>A cast made up for by voltage raises the voltage first; the voltage asked for is then reached by the voltage rule from there.</summary>
    [Fact]
    [Trait("evidence", "analytic")]
    public void Plan_CastAndVoltage_StartTheVoltageRuleFromTheShiftedVoltage()
    {
        TechniquePlan plan = TechniquePlanner.Plan(Used, new TechniqueRequest { Cast = "plaster-dry", TubeVoltageKvp = 70 });
        // 76 back to 70 kVp: 2^(ln(76/70)/ln 1.15) = 1.5036.
        Assert.Equal(Math.Pow(2, Math.Log(76.0 / 70) / Math.Log(1.15)), plan.MasFactor, 1e-12);
        Assert.Equal(70, plan.To.TubeVoltageKvp);
    }

    /// <summary>Every reason goes the way of its factor, and opposite requests have opposite reasons.</summary>
    [Fact]
    [Trait("evidence", "invariant")]
    public void Steps_EveryReason_GoesTheWayOfItsFactor()
    {
        (TechniqueRequest Up, TechniqueRequest Down)[] pairs =
        [
            (new() { DeviationIndex = -2 }, new() { DeviationIndex = 2 }),
            (new() { SourceImageDistanceMm = 1500 }, new() { SourceImageDistanceMm = 800 }),
            (new() { GridRatio = 12 }, new() { GridRatio = 0 }),
            (new() { PartThicknessMm = 200 }, new() { PartThicknessMm = 100 }),
            (new() { TubeVoltageKvp = 60 }, new() { TubeVoltageKvp = 80 }),
        ];
        foreach ((TechniqueRequest up, TechniqueRequest down) in pairs)
        {
            TechniqueStep more = TechniquePlanner.Plan(Used, up).Steps.Single();
            TechniqueStep less = TechniquePlanner.Plan(Used, down).Steps.Single();
            Assert.True(more.MasFactor > 1 && less.MasFactor < 1, $"{more.Rule}: {more.MasFactor}, {less.MasFactor}");
            Assert.EndsWith("so mAs goes up.", more.Reason, StringComparison.Ordinal);
            Assert.EndsWith("so mAs goes down.", less.Reason, StringComparison.Ordinal);
        }
    }

    [Fact]
    public void Plan_WhatChangesNothing_SaysThatMasStays()
    {
        TechniquePlan plan = TechniquePlanner.Plan(Used, new TechniqueRequest { DeviationIndex = 0, SourceImageDistanceMm = 1000, GridRatio = 8, PartThicknessMm = 150, TubeVoltageKvp = 70 });
        Assert.Equal(1, plan.MasFactor);
        Assert.Null(plan.MasFactorUncertainty);
        Assert.All(plan.Steps, step => Assert.EndsWith("mAs stays.", step.Reason, StringComparison.Ordinal));
        Assert.Equal(10, plan.Generator!.Mas);
    }

    // ln(10)/10 · factor · σ, the first term of the law's series; against the law itself at ±σ/100.
    [Fact]
    [Trait("evidence", "analytic")]
    public void Plan_DeviationIndexWithUncertainty_CarriesItIntoTheFactor()
    {
        TechniquePlan plan = TechniquePlanner.Plan(Used, new TechniqueRequest { DeviationIndex = -2, DeviationIndexUncertainty = 0.3 });
        double slope = (DeviationIndexLaw.MasFactor(-2.003) - DeviationIndexLaw.MasFactor(-1.997)) / 0.006;
        Assert.Equal(slope * 0.3, plan.MasFactorUncertainty!.Value, 1e-6);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Plan_TwoUncertainSteps_CombineInQuadrature()
    {
        double Relative(TechniqueRequest request) => TechniquePlanner.Plan(Used, request) is { MasFactorUncertainty: { } sigma } plan ? sigma / plan.MasFactor : 0;
        double voltage = Relative(new TechniqueRequest { TubeVoltageKvp = 80 });
        double index = Relative(new TechniqueRequest { DeviationIndex = -2, DeviationIndexUncertainty = 0.3 });
        Assert.Equal(Math.Sqrt((voltage * voltage) + (index * index)), Relative(new TechniqueRequest { TubeVoltageKvp = 80, DeviationIndex = -2, DeviationIndexUncertainty = 0.3 }), 1e-12);
    }

    // [al-balool-1998] read: adequate from about 50 to 100 kV and up to 15 cm of tissue.
    [Theory]
    [InlineData(70, 80, 150, 0)]
    [InlineData(50, 100, 150, 0)]
    [InlineData(49, 55, 150, 1)]
    [InlineData(95, 110, 150, 1)]
    [InlineData(70, 80, 160, 1)]
    [InlineData(95, 110, 160, 2)]
    public void Plan_OutsideTheVoltageRule_Warns(double before, double after, double thicknessMm, int warnings)
        => Assert.Equal(warnings, TechniquePlanner.Plan(Used with { TubeVoltageKvp = before, PartThicknessMm = thicknessMm }, new TechniqueRequest { TubeVoltageKvp = after })
            .Warnings.Count(warning => warning.Kind is TechniqueWarningKind.VoltageRange or TechniqueWarningKind.VoltageThickness));

    // 20 mAs at 200 mA takes 100 ms. [chest-time-child] 10 ms, [eur-16260] 20 ms for the chest.
    [Fact]
    [Trait("evidence", "analytic")]
    public void Timing_TooLong_SaysWhatShortensIt()
    {
        ExposureTechnique used = Used with { Mas = 10, TubeCurrentMa = 200 };
        var wanted = new TechniqueRequest { DeviationIndex = DeviationIndexLaw.ShiftOf(0.5) };
        TechniqueRules rules = TechniqueRules.Default with { Tube = new TubeLimits { LargestCurrentMa = 1250 } };
        TechniquePlan plan = TechniquePlanner.Plan(used, wanted, rules, "chest");
        Assert.Equal(100, plan.Timing!.ExposureTimeMs!.Value, 1e-9);
        Assert.Equal(16, plan.Timing.ShortestTimeMs!.Value, 1e-9);
        Assert.False(plan.Timing.IsWithinLimit);
        Assert.Contains("At 1,250 mA it would take 16 ms.", plan.Warnings.Single(warning => warning.Kind == TechniqueWarningKind.Motion).Sentence, StringComparison.Ordinal);
        Assert.Contains("Even at the tube's greatest current", TechniquePlanner.Plan(used, wanted, rules, "chest-child").Warnings.Single(warning => warning.Kind == TechniqueWarningKind.Motion).Sentence, StringComparison.Ordinal);
        Assert.True(TechniquePlanner.Plan(used with { TubeCurrentMa = 1250 }, wanted, rules, "chest").Timing!.IsWithinLimit);
        Assert.Null(TechniquePlanner.Plan(Used, wanted, motionLimit: "chest").Timing!.IsWithinLimit);
    }

    // A rating of 40 kW at 80 kVp allows 500 mA; 80 kVp · 600 mA = 48 kW is above it.
    [Fact]
    [Trait("evidence", "analytic")]
    public void Load_AboveTheLimits_Warns()
    {
        var limits = new TubeLimits { RatingKw = 40, LargestHeatUnits = 1000, LargestCurrentMa = 550 };
        Assert.Equal(500, TubeLoading.LargestCurrentMa(80, limits)!.Value, 1e-9);
        Assert.Equal(550, TubeLoading.LargestCurrentMa(60, limits)!.Value, 1e-9);
        TechniqueRules rules = TechniqueRules.Default with { Tube = limits };
        TechniquePlan plan = TechniquePlanner.Plan(Used with { TubeVoltageKvp = 80, TubeCurrentMa = 600 }, new TechniqueRequest { SourceImageDistanceMm = 1000 }, rules);
        string[] said = [.. plan.Warnings.Where(warning => warning.Kind == TechniqueWarningKind.TubeLoading).Select(warning => warning.Sentence)];
        Assert.Equal(3, said.Length);
        Assert.Contains("48 kW", said[0], StringComparison.Ordinal);
        Assert.Contains("greatest current of 550 mA", said[1], StringComparison.Ordinal);
        // 80 kVp · 10 mAs · 1.45
        Assert.Contains("1,160 heat units", said[2], StringComparison.Ordinal);
        Assert.DoesNotContain(TechniquePlanner.Plan(Used with { TubeCurrentMa = 300 }, new TechniqueRequest { SourceImageDistanceMm = 1000 }).Warnings, warning => warning.Kind == TechniqueWarningKind.TubeLoading);
    }

    [Fact]
    public void Plan_WithoutMas_GivesTheFactorAlone()
    {
        TechniquePlan plan = TechniquePlanner.Plan(Used with { Mas = null }, new TechniqueRequest { SourceImageDistanceMm = 1150 });
        Assert.Equal(1.3225, plan.MasFactor, 1e-12);
        Assert.Null(plan.Generator);
        Assert.Null(plan.MasBeforeRounding);
        Assert.Null(plan.To.Mas);
    }

    public static TheoryData<ExposureTechnique, TechniqueRequest, string> Unusable => new()
    {
        { Used, new TechniqueRequest(), "nothing is asked for" },
        { Used with { Mas = -5 }, new TechniqueRequest { DeviationIndex = 1 }, "the mAs is −5 mAs" },
        { Used with { Mas = double.NaN }, new TechniqueRequest { DeviationIndex = 1 }, "not a number" },
        { Used with { TubeVoltageKvp = 200 }, new TechniqueRequest { DeviationIndex = 1 }, "it goes from 20 to 150 kVp" },
        { Used, new TechniqueRequest { SourceImageDistanceMm = 0 }, "the new distance is 0 mm" },
        { Used, new TechniqueRequest { GridRatio = 7 }, "known are none, 5:1, 6:1, 8:1, 10:1, 12:1, 16:1" },
        { Used, new TechniqueRequest { Cast = "wood" }, "known are none, fibreglass" },
        { Used with { SourceImageDistanceMm = null }, new TechniqueRequest { SourceImageDistanceMm = 1000 }, "needs the distance used" },
        { Used with { GridRatio = null }, new TechniqueRequest { GridRatio = 8 }, "needs the grid used" },
        { Used with { TubeVoltageKvp = null }, new TechniqueRequest { TubeVoltageKvp = 80 }, "needs the voltage used" },
        { Used with { TubeVoltageKvp = null }, new TechniqueRequest { Cast = "plaster-dry" }, "needs the voltage used" },
        { Used with { TubeVoltageKvp = 148 }, new TechniqueRequest { Cast = "plaster-dry" }, "change mAs instead" },
        { Used with { PartThicknessMm = null }, new TechniqueRequest { PartThicknessMm = 80 }, "needs the thickness used" },
        { Used with { Mas = 5000 }, new TechniqueRequest { DeviationIndex = -20 }, "which no generator makes" },
    };

    [Theory]
    [MemberData(nameof(Unusable))]
    public void Plan_WhatCannotBeUsed_IsOneSentence(ExposureTechnique used, TechniqueRequest wanted, string said)
    {
        string sentence = Assert.Throws<UnusableTechniqueException>(() => TechniquePlanner.Plan(used, wanted)).Message;
        Assert.Contains(said, sentence, StringComparison.Ordinal);
        Assert.EndsWith(".", sentence, StringComparison.Ordinal);
    }

    [Fact]
    public void Rules_WrittenAndRead_AreTheSame()
    {
        TechniqueRules own = TechniqueRules.Default with { TissueHalfValueLayerMm = 45, Series = "r20", Grids = [new GridFactor(0, 1), new GridFactor(7, 3.5)], Tube = new TubeLimits { RatingKw = 32, Waveform = GeneratorWaveform.SixPulse } };
        Assert.Equal(TechniqueJson.Write(own), TechniqueJson.Write(TechniqueJson.ReadRules(TechniqueJson.Write(own), "rules.json")));
        TechniqueRules read = TechniqueJson.ReadRules("""{"schema": "hotlight.technique-rules/1", "grids": [{"ratio": 0, "conversionFactor": 1}, {"ratio": 7, "conversionFactor": 3.5}]}""", "rules.json");
        Assert.Equal(3.5, TechniquePlanner.Plan(Used with { GridRatio = 0 }, new TechniqueRequest { GridRatio = 7 }, read).MasFactor);
        Assert.Equal(30, read.TissueHalfValueLayerMm);
    }

    [Theory]
    [InlineData("nonsense", "no file of rules")]
    [InlineData("[]", "one object whose schema")]
    [InlineData("""{"schema": "x/1"}""", "this version reads")]
    [InlineData("""{"schema": "hotlight.technique-rules/1", "grid": []}""", "no file of rules")]
    [InlineData("""{"schema": "hotlight.technique-rules/1", "grids": null}""", "is null")]
    [InlineData("""{"schema": "hotlight.technique-rules/1", "grids": [{"ratio": 8, "conversionFactor": 0}]}""", "conversion factor above 0")]
    [InlineData("""{"schema": "hotlight.technique-rules/1", "grids": [{"ratio": 8, "conversionFactor": 4}, {"ratio": 8, "conversionFactor": 4}]}""", "stands twice")]
    [InlineData("""{"schema": "hotlight.technique-rules/1", "casts": []}""", "'none' changes nothing")]
    [InlineData("""{"schema": "hotlight.technique-rules/1", "tissueHalfValueLayerMm": -3}""", "above 0 mm")]
    [InlineData("""{"schema": "hotlight.technique-rules/1", "series": "e12"}""", "there are r10, r10-rounded, r20")]
    [InlineData("""{"schema": "hotlight.technique-rules/1", "voltageRule": "cubic"}""", "look at $.voltageRule")]
    [InlineData("""{"schema": "hotlight.technique-rules/1", "schema": "hotlight.technique-rules/1"}""", "no file of rules")]
    public void ReadRules_ABadFile_IsOneSentence(string json, string said)
    {
        string sentence = Assert.Throws<UnreadableRulesException>(() => TechniqueJson.ReadRules(json, "own.json")).Message;
        Assert.StartsWith("own.json: ", sentence, StringComparison.Ordinal);
        Assert.Contains(said, sentence, StringComparison.Ordinal);
    }
}
