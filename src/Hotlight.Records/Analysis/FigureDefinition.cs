namespace Hotlight.Records.Analysis;

/// <summary>What a figure means, as it is printed beside it.</summary>
/// <param name="Name">The figure's name in the trade.</param>
/// <param name="Text">What is counted out of what, and what it does not say.</param>
/// <param name="Source">Where the definition comes from, with "(from memory)" where the paper itself was not read for this project; "common practice, no source" where there is none.</param>
public sealed record FigureDefinition(string Name, string Text, string Source);

/// <summary>Definitions of the figures of a repeat analysis.</summary>
public static class RepeatDefinitions
{
    /// <summary>The caution that stands with every analysis.</summary>
    public const string Caution = "For education and quality improvement, not a diagnostic device. A rate is no mark for a person or a room: a low rate can be as bad as a high one, because poor images are kept (AAPM TG-305). Local protocols, regulations and licensed practitioners decide.";

    /// <summary>Why a suppressed group carries no figure.</summary>
    public const string Suppression = "Groups of few exposures are not shown, nor is another group by which they could be worked out.";

    /// <summary>The reject rate.</summary>
    public static FigureDefinition RejectRate { get; } = new(
        "Reject rate",
        "Rejected exposures out of all exposures of patients, kept and rejected. A reject is a patient's exposure that is not presented for interpretation. Exposures for tests and quality control are not counted.",
        "AAPM TG-305, J Appl Clin Med Phys 2023;24(5):e13938");

    /// <summary>The repeat rate.</summary>
    public static FigureDefinition RepeatRate { get; } = new(
        "Repeat rate",
        "Exposures made again in place of an earlier one of the same examination, out of all exposures of patients. A reject and a repeat are not the same set: a reject may not be repeated, and a kept image may be.",
        "AAPM TG-305, J Appl Clin Med Phys 2023;24(5):e13938");

    /// <summary>Interval of a rate.</summary>
    public static FigureDefinition Interval { get; } = new(
        "95 % interval",
        "Wilson's score interval: of a hundred such intervals about 95 hold the true rate, if exposures are independent of each other. It is not a limit of what is good.",
        "Wilson, J Am Stat Assoc 1927;22:209 (formula read in secondary sources)");

    /// <summary>Pareto of reasons.</summary>
    public static FigureDefinition Reasons { get; } = new(
        "Reasons of rejects",
        "Share of each reason among all rejects, the most common first, and the share so far. A reject without a reason is a bar of its own: many of them mean that the shares of the others are uncertain.",
        "Pareto order, common practice, no source; reasons after DICOM CID 7011");

    /// <summary>The control chart of a rate.</summary>
    public static FigureDefinition Trend { get; } = new(
        "Control chart",
        "The rate of each period with limits at three standard deviations about the rate of the first periods (the baseline). A point outside is a reason to look, not a finding. Where the baseline's periods differ more than chance allows, the limits are Laney's p′, which take that spread in.",
        "NIST/SEMATECH e-Handbook of Statistical Methods 6.3.3; Laney, Qual Eng 2002;14:531 (from memory)");

    /// <summary>EWMA.</summary>
    public static FigureDefinition SmallShifts { get; } = new(
        "Small lasting shifts",
        "Each period's distance from the baseline's rate in standard deviations, as a moving average in which older periods weigh less (EWMA). It finds a small change that lasts sooner than the control chart, and a single odd period later.",
        "NIST/SEMATECH e-Handbook of Statistical Methods 6.3.2.4");

    /// <summary>CUSUM.</summary>
    public static FigureDefinition RunningSums { get; } = new(
        "Running sums",
        "Each period's distance from the baseline's rate in standard deviations, less a little that is forgiven each time, is added up: upwards for rates above the baseline, downwards for rates below it, never past 0 (CUSUM). A lasting shift climbs; a slope begins where the change began.",
        "NIST/SEMATECH e-Handbook of Statistical Methods 6.3.2.3");

    /// <summary>A funnel.</summary>
    public static FigureDefinition Funnel { get; } = new(
        "Funnel, adjusted for projections",
        "Rejects seen over the rejects that the whole department's rates would give for the same projections: 1 is as expected. The limits show what chance alone brings about at that number of exposures.",
        "Spiegelhalter, Stat Med 2005;24:1185 (summary read, formulas from memory)");

    /// <summary>Before and after.</summary>
    public static FigureDefinition Comparison { get; } = new(
        "Before and after",
        "The rate in the time after a date less the rate in the time before. Much else changes with time; and a training held because a month was bad will be followed by a better month anyway. A control group that had no training shows how much of it is that.",
        "Newcombe, Stat Med 1998;17:873, method 10 (from memory)");

    /// <summary>The deviation index.</summary>
    public static FigureDefinition DeviationIndex { get; } = new(
        "Deviation index",
        "10·log10(exposure index / target exposure index). 0 is on target, +3 is twice the exposure, −3 half of it. It says nothing of the image's quality by itself; collimation and shields in the field move it. Here it is counted rounded to 0.1.",
        "IEC 62494-1:2008");

    /// <summary>Bands of the deviation index.</summary>
    public static FigureDefinition IndexBands { get; } = new(
        "Bands of the deviation index",
        "±1 and ±3 are the fixed bands of AAPM Report 116; ±1 and ±2 standard deviations of the site's own indices are those of AAPM TG-232, which found that fewer than half of clinical images lie within ±1. The two do not always agree.",
        "AAPM Report 116, 2009 (from memory); AAPM TG-232, 2018 (site limits read in an abstract, the rest from memory)");

    /// <summary>Dose creep.</summary>
    public static FigureDefinition Creep { get; } = new(
        "Creep of exposure",
        "How far the monthly median of the deviation index moves in a year: the median of all slopes between two months, with its interval. It holds while the target exposure index stays; a changed target moves it without any exposure having changed. A change of the mix of projections moves it as well: pick one projection and one receptor to be sure.",
        "Sen, J Am Stat Assoc 1968;63:1379 (from memory)");

    /// <summary>Dose of rejects.</summary>
    public static FigureDefinition Dose { get; } = new(
        "Kerma-area product of rejects",
        "The sum over rejected exposures whose kerma-area product is known. Nothing is put in for those that lack it, so the true sum is higher. It is a sum of what was recorded, not an estimate, and has no interval.",
        "AAPM TG-305 names the dose of rejects as an element; the sum is common practice, no source");
}
