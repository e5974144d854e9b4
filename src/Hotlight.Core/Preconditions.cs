using System.Runtime.CompilerServices;

namespace Hotlight.Core;

/// <summary>Checks of a caller's arguments; NaN and infinity are always rejected.</summary>
public static class Preconditions
{
    /// <summary>Returns the value when it is finite and above 0.</summary>
    /// <param name="value">The value to check.</param>
    /// <param name="name">Filled in by the compiler.</param>
    /// <exception cref="ArgumentOutOfRangeException">The value is not in (0, +infinity).</exception>
    public static double AboveZero(double value, [CallerArgumentExpression(nameof(value))] string name = "")
        => double.IsFinite(value) && value > 0
            ? value
            : throw new ArgumentOutOfRangeException(name, value, $"{name} is {value}; it must be finite and above 0.");

    /// <summary>Returns the value when it is at least 1.</summary>
    /// <param name="value">The value to check.</param>
    /// <param name="name">Filled in by the compiler.</param>
    /// <exception cref="ArgumentOutOfRangeException">The value is below 1.</exception>
    public static int AtLeastOne(int value, [CallerArgumentExpression(nameof(value))] string name = "")
        => value >= 1 ? value : throw new ArgumentOutOfRangeException(name, value, $"{name} is {value}; it must be 1 or more.");

    /// <summary>Returns the value when it is finite and inside a closed interval.</summary>
    /// <param name="value">The value to check.</param>
    /// <param name="minimum">Lowest value allowed.</param>
    /// <param name="maximum">Highest value allowed.</param>
    /// <param name="name">Filled in by the compiler.</param>
    /// <exception cref="ArgumentOutOfRangeException">The value is outside [minimum, maximum] or not finite.</exception>
    public static double Within(double value, double minimum, double maximum, [CallerArgumentExpression(nameof(value))] string name = "")
        => double.IsFinite(value) && value >= minimum && value <= maximum
            ? value
            : throw new ArgumentOutOfRangeException(name, value, $"{name} is {value}; it must be in [{minimum}, {maximum}].");
}
