namespace Hotlight.Statistics.Agreement;

/// <summary>How much credit a near miss gets.</summary>
public enum KappaWeights
{
    /// <summary>None: right or not.</summary>
    None,

    /// <summary>Falls with the distance on the scale.</summary>
    Linear,

    /// <summary>Falls with the square of the distance.</summary>
    Quadratic,
}
