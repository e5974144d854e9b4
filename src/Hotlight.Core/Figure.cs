using System.Diagnostics.CodeAnalysis;
using System.Text.Json.Serialization;

namespace Hotlight.Core;

/// <summary>A result that is either measured or cannot be told from the image; then it says why, in one plain sentence.</summary>
/// <remarks>
/// There is no default figure: a consumer asks <see cref="IsMeasured"/> first.
/// In JSON: <c>{"status": "measured", …members…}</c> or <c>{"status": "cannot-tell", "why": "…"}</c>.
/// </remarks>
/// <typeparam name="T">What was measured; its members carry units in their names.</typeparam>
[JsonConverter(typeof(FigureJsonConverterFactory))]
public sealed class Figure<T>
    where T : class
{
    private Figure(T? value, string? why)
    {
        Value = value;
        Why = why;
    }

    /// <summary>Whether the image held the answer.</summary>
    [MemberNotNullWhen(true, nameof(Value))]
    [MemberNotNullWhen(false, nameof(Why))]
    public bool IsMeasured => Value is not null;

    /// <summary>What was measured; null when it cannot be told.</summary>
    public T? Value { get; }

    /// <summary>Why it cannot be told, one sentence a radiographer understands; null when it was measured.</summary>
    public string? Why { get; }

    /// <summary>A measured result.</summary>
    /// <param name="value">What was measured.</param>
    public static Figure<T> Measured(T value)
    {
        ArgumentNullException.ThrowIfNull(value);
        return new Figure<T>(value, null);
    }

    /// <summary>A result the image does not hold.</summary>
    /// <param name="why">One sentence a radiographer understands: what is missing and, where something helps, what to give.</param>
    /// <exception cref="ArgumentException">The sentence is empty.</exception>
    public static Figure<T> CannotTell(string why)
    {
        ArgumentException.ThrowIfNullOrWhiteSpace(why);
        return new Figure<T>(null, why);
    }

    /// <inheritdoc/>
    public override string ToString() => IsMeasured ? $"measured: {Value}" : $"cannot tell: {Why}";
}
