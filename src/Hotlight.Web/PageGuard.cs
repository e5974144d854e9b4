namespace Hotlight.Web;

/// <summary>Answers only pages of its own: the host is this machine's or one that was named, a request from another site is refused, and no answer allows inline script or framing.</summary>
internal sealed class PageGuard(RequestDelegate next, BenchOptions options)
{
    // 'self' covers the page's own web socket. Nothing is fetched from elsewhere and no script stands in a page. The microphone is for recorded walk-throughs; the browser asks the person first.
    private const string Policy =
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; font-src 'self'; connect-src 'self'; media-src 'self' blob:; "
        + "base-uri 'self'; form-action 'self'; frame-ancestors 'none'; object-src 'none'";

    /// <summary>Guards one request.</summary>
    public Task InvokeAsync(HttpContext context)
    {
        IHeaderDictionary headers = context.Response.Headers;
        headers.ContentSecurityPolicy = Policy;
        headers.XContentTypeOptions = "nosniff";

        // Other sites learn nothing. With "no-referrer" a form of the page's own would be sent with the origin "null", which is nobody's.
        headers["Referrer-Policy"] = "same-origin";
        headers["Cross-Origin-Opener-Policy"] = "same-origin";
        headers["Cross-Origin-Resource-Policy"] = "same-origin";
        headers["Permissions-Policy"] = "camera=(), microphone=(self), geolocation=()";

        // A name that resolves to this machine but is not its own would let another site read the bench.
        string host = context.Request.Host.Host;
        if (host is not ("127.0.0.1" or "localhost") && !options.Hosts.Contains(host, StringComparer.OrdinalIgnoreCase))
        {
            return RefuseAsync(context, StatusCodes.Status421MisdirectedRequest, options.Hosts.Count == 0 ? "The bench answers on 127.0.0.1 and localhost only." : "The bench does not answer to this name; --host names those it answers to.");
        }

        // Not on this machine's own names: other programs on them may have no TLS.
        if (context.Request.IsHttps && host is not ("127.0.0.1" or "localhost"))
        {
            headers.StrictTransportSecurity = "max-age=31536000";
        }

        string origin = context.Request.Headers.Origin.ToString();
        if (origin.Length > 0 && !string.Equals(origin, $"{context.Request.Scheme}://{context.Request.Host}", StringComparison.OrdinalIgnoreCase))
        {
            return RefuseAsync(context, StatusCodes.Status403Forbidden, "The bench takes no request from another site.");
        }

        return next(context);
    }

    private static Task RefuseAsync(HttpContext context, int status, string sentence)
    {
        context.Response.StatusCode = status;
        context.Response.ContentType = "text/plain; charset=utf-8";
        return context.Response.WriteAsync(sentence);
    }
}
