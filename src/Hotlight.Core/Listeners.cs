namespace Hotlight.Core;

/// <summary>Calls the listeners of an event one by one.</summary>
public static class Listeners
{
    /// <summary>Tells every listener; one whose page is just being left (it is disposed, or its state does not allow it any more) holds up neither the others nor the one who tells.</summary>
    /// <typeparam name="T">The event's kind of listener.</typeparam>
    /// <param name="listeners">The event; null where nobody listens.</param>
    /// <param name="tell">Tells one.</param>
    public static void Tell<T>(T? listeners, Action<T> tell)
        where T : Delegate
    {
        ArgumentNullException.ThrowIfNull(tell);
        foreach (T listener in (listeners?.GetInvocationList() ?? []).Cast<T>())
        {
            try
            {
                tell(listener);
            }
            catch (Exception error) when (error is ObjectDisposedException or InvalidOperationException)
            {
                // Nothing is lost: what is told is kept elsewhere, and a page that is left shows nothing.
            }
        }
    }
}
