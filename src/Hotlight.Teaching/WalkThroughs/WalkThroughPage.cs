using System.Globalization;
using System.IO.Compression;
using System.Net;
using System.Security.Cryptography;
using System.Text;
using System.Text.Encodings.Web;
using System.Text.Json;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Imaging.Display;

namespace Hotlight.Teaching.WalkThroughs;

/// <summary>What the player is given besides the image: the walk-through, its captions in time, styles of marks and the player's own words.</summary>
public static class WalkThroughPlay
{
    private static readonly JsonSerializerOptions Options = new(WalkThroughJson.Compact) { Encoder = JavaScriptEncoder.Default };

    /// <summary>As JSON; see wwwroot/walk-through/player.js of the bench.</summary>
    /// <param name="walk">The walk-through.</param>
    public static string Write(WalkThrough walk)
    {
        ArgumentNullException.ThrowIfNull(walk);
        return JsonSerializer.Serialize(new Play(
            walk,
            [.. walk.Steps.Select(CaptionCues.Of)],
            WalkThroughFrames.Styles.ToDictionary(style => style.Key, style => new Style(style.Value.Color, style.Value.WidthPixels, style.Value.DashPixels, style.Value.Shape.ToString().ToLowerInvariant()), StringComparer.Ordinal),
            new Dictionary<string, string>(StringComparer.Ordinal)
            {
                ["back"] = Texts.Get("walk-through.player.back"),
                ["next"] = Texts.Get("walk-through.player.next"),
                ["play"] = Texts.Get("walk-through.player.play"),
                ["pause"] = Texts.Get("walk-through.player.pause"),
                ["speed"] = Texts.Get("walk-through.player.speed"),
                ["stops"] = Texts.Get("walk-through.player.stops"),
                ["time"] = Texts.Get("walk-through.player.time"),
                ["transcript"] = Texts.Get("walk-through.player.transcript"),
                ["controls"] = Texts.Get("walk-through.player.controls"),
                ["keys"] = Texts.Get("walk-through.player.keys"),
                ["voice"] = Texts.Get("walk-through.player.voice"),
                ["place"] = Texts.Get("walk-through.player.place", "{0}", "{1}"),
                ["simulated"] = Texts.Get("walk-through.simulated"),
            }), Options);
    }

    private sealed record Play(WalkThrough Walk, IReadOnlyList<IReadOnlyList<CaptionCue>> Cues, IReadOnlyDictionary<string, Style> Styles, IReadOnlyDictionary<string, string> Words);

    private sealed record Style(string Color, double Width, IReadOnlyList<double> Dash, string Shape);
}

/// <summary>A walk-through as one HTML file that needs nothing else: image, data, voices and player stand in it, and its policy lets it fetch nothing.</summary>
public static class WalkThroughPage
{
    /// <summary>Longest side of the image in the file; a larger one is reduced by whole blocks.</summary>
    public const int LongestSidePixels = 4096;

    private const string PageStyle = """
        :root { color-scheme: dark; --ground: #0e0f11; --plate: #16191c; --raised: #1f2327; --hover: #2a2f35; --edge: #343a41; --control-edge: #767e88; --ink: #ebe8e1; --soft: #b3b7bd; --faint: #8a9098; --lamp: #ffb65c; --lamp-ground: #3b3020; font: 16px/1.45 system-ui, -apple-system, "Segoe UI", "Noto Sans", "DejaVu Sans", sans-serif; }
        @media (prefers-color-scheme: light) { :root { color-scheme: light; --ground: #f4f3ef; --plate: #fffefb; --raised: #ffffff; --hover: #ecebe5; --edge: #cfccc4; --control-edge: #6f6c66; --ink: #1b1c1e; --soft: #4d5054; --faint: #6a6d71; --lamp: #8a4a00; --lamp-ground: #ffecd2; } }
        *, *::before, *::after { box-sizing: border-box; }
        html { background: var(--ground); color: var(--ink); }
        body { margin: 0; }
        .walk { height: 100vh; }
        button, select, input { font: inherit; color: var(--ink); background: var(--raised); border: 1px solid var(--control-edge); border-radius: 4px; min-height: 2rem; padding: 0.2rem 0.65rem; }
        button { cursor: pointer; }
        :focus-visible { outline: 2px solid var(--lamp); outline-offset: 2px; }
        noscript p { padding: 0 1rem; }
        @media (max-width: 60rem) { .walk { height: auto; } }

        """;

    private const string Boot = "\nopenPage();\n";

    /// <summary>Makes the page, in the language of <see cref="CultureInfo.CurrentUICulture"/>.</summary>
    /// <param name="walk">The walk-through.</param>
    /// <param name="radiograph">Its radiograph, its pixels as they may be published.</param>
    /// <param name="voices">The bytes of each voice, by their hash.</param>
    public static byte[] Make(WalkThrough walk, Radiograph radiograph, IReadOnlyDictionary<string, byte[]> voices)
    {
        ArgumentNullException.ThrowIfNull(walk);
        ArgumentNullException.ThrowIfNull(radiograph);
        ArgumentNullException.ThrowIfNull(voices);
        string script = Resource("walk-through.player.js") + Boot;
        string style = PageStyle + Resource("walk-through.player.css");
        (ushort[] pixels, int columns, int rows, WalkThrough placed) = Reduced(walk, radiograph);
        byte[] greys = [.. DisplayTable.Create(radiograph).Select(shown => (byte)Math.Round(shown * 255f))];
        var page = new StringBuilder(pixels.Length * 3);
        page.Append(CultureInfo.InvariantCulture, $"""
            <!DOCTYPE html>
            <html lang="{WebUtility.HtmlEncode(walk.Language)}">
            <head>
            <meta charset="utf-8">
            <meta http-equiv="Content-Security-Policy" content="default-src 'none'; script-src {HashOf(script)}; style-src {HashOf(style)}; img-src blob: data:; media-src blob:; base-uri 'none'; form-action 'none'">
            <meta name="viewport" content="width=device-width, initial-scale=1">
            <meta name="referrer" content="no-referrer">
            <title>{WebUtility.HtmlEncode(walk.Title)}</title>
            <style>{style}</style>
            </head>
            <body>
            <main id="walk"></main>
            <noscript>
            <h1>{WebUtility.HtmlEncode(walk.Title)}</h1>
            <p>{WebUtility.HtmlEncode(walk.Caution)}</p>
            {(walk.IsInvented ? $"<p>{WebUtility.HtmlEncode(Texts.Get("walk-through.simulated"))}</p>" : string.Empty)}
            {string.Concat(walk.Steps.Select(step => $"<h2>{WebUtility.HtmlEncode(step.Heading)}</h2><p>{WebUtility.HtmlEncode(step.Caption)}</p>"))}
            </noscript>

            """);
        Data(page, "walk-play", "application/json", WalkThroughPlay.Write(placed));
        Data(page, "walk-picture", "application/json", JsonSerializer.Serialize(PictureOf(radiograph, columns, rows), WalkThroughJson.Compact));
        Data(page, "walk-greys", "application/octet-stream", Convert.ToBase64String(Packed(greys)));
        Data(page, "walk-pixels", "application/octet-stream", Convert.ToBase64String(PackedPixels(pixels, columns, rows)));
        foreach (string hash in walk.Steps.Select(step => step.Recording?.Voice?.Sha256).OfType<string>().Distinct(StringComparer.Ordinal))
        {
            Data(page, $"voice-{hash}", "application/octet-stream", Convert.ToBase64String(voices[hash]));
        }

        page.Append("<script type=\"module\">").Append(script).Append("</script>\n</body>\n</html>\n");
        return Encoding.UTF8.GetBytes(page.ToString());
    }

    /// <summary>The pixels as the player unpacks them: the difference from the pixel to the left, in the first column from the one above, folded to above 0; all high bytes, then all low bytes; zlib.</summary>
    /// <param name="pixels">The pixels, row by row.</param>
    /// <param name="columns">Columns.</param>
    /// <param name="rows">Rows.</param>
    internal static byte[] PackedPixels(ReadOnlySpan<ushort> pixels, int columns, int rows)
    {
        byte[] planes = new byte[2 * pixels.Length];
        for (int row = 0; row < rows; row++)
        {
            int before = row == 0 ? 0 : pixels[(row - 1) * columns];
            for (int at = row * columns; at < (row + 1) * columns; at++)
            {
                short difference = (short)(pixels[at] - before);
                ushort folded = (ushort)((difference << 1) ^ (difference >> 15));
                planes[at] = (byte)(folded >> 8);
                planes[pixels.Length + at] = (byte)folded;
                before = pixels[at];
            }
        }

        return Packed(planes);
    }

    private static byte[] Packed(byte[] bytes)
    {
        using var packed = new MemoryStream();
        using (var stream = new ZLibStream(packed, CompressionLevel.Fastest, leaveOpen: true))
        {
            stream.Write(bytes);
        }

        return packed.ToArray();
    }

    private static (ushort[] Pixels, int Columns, int Rows, WalkThrough Placed) Reduced(WalkThrough walk, Radiograph radiograph)
    {
        ReadOnlyRaster<ushort> from = radiograph.Pixels;
        int block = 1;
        while (Math.Max(from.Columns, from.Rows) / block > LongestSidePixels)
        {
            block++;
        }

        int columns = from.Columns / block;
        int rows = from.Rows / block;
        ushort[] pixels = new ushort[columns * rows];
        Parallel.For(0, rows, row =>
        {
            for (int column = 0; column < columns; column++)
            {
                uint sum = 0;
                for (int within = 0; within < block; within++)
                {
                    foreach (ushort value in from.Row((row * block) + within).Slice(column * block, block))
                    {
                        sum += value;
                    }
                }

                pixels[(row * columns) + column] = (ushort)((sum + ((uint)(block * block) / 2)) / (uint)(block * block));
            }
        });
        return (pixels, columns, rows, block == 1 ? walk : Placed(walk, block, columns, rows));
    }

    // The centre of the first block lies at (block − 1)/2 of the stored image.
    private static WalkThrough Placed(WalkThrough walk, int block, int columns, int rows)
    {
        double Place(double at) => Math.Round(((at + 0.5) / block) - 0.5, 3);
        WalkView View(WalkView view) => new(Place(view.X), Place(view.Y), view.Width / block, view.Height / block);
        IReadOnlyList<double[]> Run(IReadOnlyList<double[]> run) => [.. run.Select(entry => new[] { entry[0], Place(entry[1]), Place(entry[2]) })];
        return walk with
        {
            Image = walk.Image with { Columns = columns, Rows = rows },
            Steps =
            [
                .. walk.Steps.Select(step => step with
                {
                    View = View(step.View),
                    Marks = [.. step.Marks.Select(mark => mark with { Points = [.. mark.Points.Select(point => new PixelPoint(X: Place(point.X), Y: Place(point.Y)))] })],
                    Recording = step.Recording is not { } recording ? null : recording with
                    {
                        Views = [.. recording.Views.Select(view => new[] { view[0], Place(view[1]), Place(view[2]), view[3] / block, view[4] / block })],
                        Pointer = [.. recording.Pointer.Select(Run)],
                        Strokes = [.. recording.Strokes.Select(Run)],
                    },
                }),
            ],
        };
    }

    private static Picture PictureOf(Radiograph radiograph, int columns, int rows)
    {
        double[] values = new double[radiograph.PixelMaximum + 1];
        for (int value = 0; value < values.Length; value++)
        {
            values[value] = radiograph.Modality.Apply(value + radiograph.StoredMinimum);
        }

        double slope = values.Length > 1 ? values[1] - values[0] : 0;
        bool isStraight = !values.Where((value, at) => Math.Abs(value - values[0] - (slope * at)) > 1e-6 * Math.Max(1, Math.Abs(value))).Any();
        return new Picture(columns, rows, values.Length, radiograph.HighIsShownDark, isStraight ? slope : null, isStraight ? values[0] : null, isStraight ? null : values);
    }

    private static void Data(StringBuilder page, string id, string type, string content)
        => page.Append(CultureInfo.InvariantCulture, $"<script type=\"{type}\" id=\"{id}\">").Append(content).Append("</script>\n");

    private static string HashOf(string content) => $"'sha256-{Convert.ToBase64String(SHA256.HashData(Encoding.UTF8.GetBytes(content)))}'";

    private static string Resource(string name)
    {
        using Stream stream = typeof(WalkThroughPage).Assembly.GetManifestResourceStream(name) ?? throw new InvalidOperationException($"{name} is not in the assembly.");
        using var reader = new StreamReader(stream, Encoding.UTF8);
        return reader.ReadToEnd().ReplaceLineEndings("\n");
    }

    private sealed record Picture(int Columns, int Rows, int Values, bool HighIsDark, double? Slope, double? Intercept, double[]? Modality);
}
