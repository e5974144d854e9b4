namespace Hotlight.Core;

/// <summary>Progress that is told at once, on the thread that makes it; <see cref="Progress{T}"/> tells it later, on another, and out of its order.</summary>
/// <typeparam name="T">What is told.</typeparam>
/// <param name="tell">Told of each step.</param>
public sealed class Told<T>(Action<T> tell) : IProgress<T>
{
    /// <inheritdoc/>
    public void Report(T value) => tell(value);
}
