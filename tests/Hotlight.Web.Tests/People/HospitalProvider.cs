using System.Buffers.Text;
using System.Collections.Concurrent;
using System.Net;
using System.Security.Cryptography;
using System.Text;
using System.Text.Json;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Hosting;
using Microsoft.AspNetCore.Http;
using Microsoft.AspNetCore.Server.Kestrel.Core;
using Microsoft.Extensions.Logging;

namespace Hotlight.Web.Tests.People;

/// <summary>A small OpenID Connect provider of the tests: authorization code with PKCE (RFC 6749, RFC 7636), identity tokens by RS256. Whoever comes is the one of <see cref="Subject"/>.</summary>
internal sealed class HospitalProvider : IAsyncDisposable
{
    public const string ClientSecret = "a secret of the tests";
    private readonly WebApplication provider;
    private readonly RSA key = RSA.Create(2048);
    private readonly RSA otherKey = RSA.Create(2048);
    private readonly ConcurrentDictionary<string, (string Challenge, string Nonce, string Redirect)> codes = new();

    private HospitalProvider(WebApplication provider) => this.provider = provider;

    public Uri Address => new(provider.Urls.First());

    /// <summary>Who signs in at the hospital.</summary>
    public string Subject { get; set; } = "staff-17";

    /// <summary>What is wrong with the next answers; empty: nothing.</summary>
    public string Fault { get; set; } = "";

    /// <summary>How often a token was asked for.</summary>
    public int TokensAsked { get; private set; }

    public static async Task<HospitalProvider> StartAsync()
    {
        WebApplicationBuilder builder = WebApplication.CreateSlimBuilder();
        builder.Logging.ClearProviders();
        builder.WebHost.ConfigureKestrel((KestrelServerOptions kestrel) => kestrel.Listen(IPAddress.Loopback, 0));
        WebApplication web = builder.Build();
        var provider = new HospitalProvider(web);
        provider.Map();
        await web.StartAsync();
        return provider;
    }

    public async ValueTask DisposeAsync()
    {
        await provider.StopAsync();
        await provider.DisposeAsync();
        key.Dispose();
        otherKey.Dispose();
    }

    private string Issuer => Address.ToString().TrimEnd('/');

    private void Map()
    {
        provider.MapGet("/.well-known/openid-configuration", () => Results.Json(new Dictionary<string, object>
        {
            ["issuer"] = Issuer,
            ["authorization_endpoint"] = $"{Issuer}/authorize",
            ["token_endpoint"] = $"{Issuer}/token",
            ["jwks_uri"] = $"{Issuer}/keys",
            ["response_types_supported"] = new[] { "code" },
            ["subject_types_supported"] = new[] { "public" },
            ["id_token_signing_alg_values_supported"] = new[] { "RS256" },
        }));
        provider.MapGet("/keys", () =>
        {
            RSAParameters shown = key.ExportParameters(false);
            return Results.Json(new { keys = new[] { new { kty = "RSA", use = "sig", alg = "RS256", kid = "1", n = Base64Url.EncodeToString(shown.Modulus), e = Base64Url.EncodeToString(shown.Exponent) } } });
        });
        provider.MapGet("/authorize", (HttpContext context) =>
        {
            IQueryCollection asked = context.Request.Query;
            Assert.Equal("code", asked["response_type"]);
            Assert.Equal("S256", asked["code_challenge_method"]);
            Assert.Equal("openid", asked["scope"]);
            string code = Guid.NewGuid().ToString("N");
            codes[code] = (asked["code_challenge"]!, asked["nonce"]!, asked["redirect_uri"]!);
            string state = Fault == "state" ? "another" : asked["state"]!;
            return Results.Redirect(Fault == "denied" ? $"{asked["redirect_uri"]}?error=access_denied&state={Uri.EscapeDataString(state)}" : $"{asked["redirect_uri"]}?code={code}&state={Uri.EscapeDataString(state)}");
        });
        provider.MapPost("/token", async (HttpContext context) =>
        {
            TokensAsked++;
            IFormCollection form = await context.Request.ReadFormAsync();
            if (!codes.TryRemove(form["code"].ToString(), out (string Challenge, string Nonce, string Redirect) known)
                || form["client_secret"] != ClientSecret || form["redirect_uri"] != known.Redirect
                || Base64Url.EncodeToString(SHA256.HashData(Encoding.ASCII.GetBytes(form["code_verifier"].ToString()))) != known.Challenge)
            {
                return Results.Json(new { error = "invalid_grant" }, statusCode: StatusCodes.Status400BadRequest);
            }

            return Results.Json(new { access_token = "none", token_type = "Bearer", expires_in = 60, id_token = Token(form["client_id"].ToString(), known.Nonce) });
        });
    }

    private string Token(string client, string nonce)
    {
        long now = DateTimeOffset.UtcNow.ToUnixTimeSeconds();
        if (Fault == "ended")
        {
            now -= 7200;
        }

        string head = Encode(new { alg = "RS256", typ = "JWT", kid = "1" });
        string body = Encode(new
        {
            iss = Fault == "issuer" ? "https://elsewhere.example" : Issuer,
            sub = Subject,
            aud = Fault == "audience" ? "somebody else" : client,
            nonce = Fault == "nonce" ? "another" : nonce,
            iat = now,
            exp = now + 300,
        });
        byte[] signature = (Fault == "signature" ? otherKey : key).SignData(Encoding.ASCII.GetBytes($"{head}.{body}"), HashAlgorithmName.SHA256, RSASignaturePadding.Pkcs1);
        return $"{head}.{body}.{Base64Url.EncodeToString(signature)}";
    }

    private static string Encode(object value) => Base64Url.EncodeToString(JsonSerializer.SerializeToUtf8Bytes(value));
}
