namespace Hotlight.Statistics.ControlCharts;

/// <summary>Rules by which a Shewhart chart calls for a look. Few, since each adds false alarms of its own.</summary>
public enum RunRule
{
    /// <summary>One point outside its limits; on the limit is inside.</summary>
    BeyondLimits,

    /// <summary>Two of three points in a row beyond two standard deviations, both on the same side.</summary>
    TwoOfThreeBeyondTwoSigma,

    /// <summary>Eight points in a row on one side of the centre; a point on the centre breaks the row.</summary>
    EightOnOneSide,
}
