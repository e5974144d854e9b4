using System.Text.Json;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Imaging.Display;
using Hotlight.Testing;
using Hotlight.Workflows.Cases;
using Microsoft.Playwright;

namespace Hotlight.Web.Tests;

/// <summary>The greys on the viewer's canvas against the picture as the command line renders it.</summary>
public sealed class ViewerPictureTests(BrowsedBench bench) : IClassFixture<BrowsedBench>
{
    /// <summary>Draws a case at one to one with a painter and in an orientation, and gives the greys as they are seen.</summary>
    private const string Draw =
        """
        async ([link, columns, rows, painter, turns, mirrored, table]) => {
          const { Picture } = await import("/viewer/picture.js");
          const { PlainPicture } = await import("/viewer/plain.js");
          const { Pyramid } = await import("/viewer/pyramid.js");
          const { View } = await import("/viewer/view.js");
          const fetched = async (part) => await (await fetch(link + "/" + part)).arrayBuffer();
          const canvas = document.createElement("canvas");
          canvas.width = turns % 2 === 0 ? columns : rows;
          canvas.height = turns % 2 === 0 ? rows : columns;
          const picture = painter === "graphics" ? new Picture(canvas) : new PlainPicture(canvas);
          picture.load(new Pyramid(new Uint16Array(await fetched("pixels")), columns, rows, 1));
          picture.setTable(table ? Uint8Array.from(table) : new Uint8Array(await fetched("table")));
          const view = new View();
          view.setImage(columns, rows, 1);
          view.setCanvas(canvas.width, canvas.height);
          view.fit();
          view.quarterTurns = turns;
          view.mirrored = mirrored;
          view.fit();
          picture.draw(view.frame(), [0, 0, 0], false);
          return picture.drawn(0, 0, canvas.width, canvas.height);
        }
        """;

    /// <summary>Ways a file may ask to be shown.</summary>
    private static readonly (string Name, Radiograph Radiograph)[] Shown =
    [
        ("no window, high dark", Limb(1)),
        ("no window, high bright", Limb(2) with { HighIsShownDark = false }),
        ("linear", Limb(3) with { HighIsShownDark = false, Windows = [new VoiTransform { Center = 6000.5, Width = 9001, Function = WindowFunction.Linear }] }),
        ("linear exact, high dark", Limb(4) with { Windows = [new VoiTransform { Center = 5000, Width = 4000, Function = WindowFunction.LinearExact }] }),
        ("sigmoid", Limb(5) with { HighIsShownDark = false, Windows = [new VoiTransform { Center = 7000, Width = 5000, Function = WindowFunction.Sigmoid }] }),
        ("falling rescale", Limb(6) with { Modality = new ModalityTransform { Slope = -0.25, Intercept = 4095 }, Windows = [new VoiTransform { Center = 2000, Width = 3000, Function = WindowFunction.LinearExact }] }),
        ("table", Limb(7) with { HighIsShownDark = false, Windows = [new VoiTransform { Table = new LookupTable(200, 12, [.. Enumerable.Range(0, 12000).Select(entry => (ushort)(4095 * Math.Sqrt(entry / 11999.0)))]) }] }),
        ("table, high dark", Limb(8) with { Windows = [new VoiTransform { Table = new LookupTable(0, 8, [.. Enumerable.Range(0, 16384).Select(entry => (ushort)(entry >> 6))]) }] }),
    ];

    [SystemFileFact(SystemChromium.Path)]
    [Trait("evidence", "independent")]
    public async Task Picture_OneToOne_IsPixelForPixelTheRenderedOne()
    {
        IPage page = await bench.PlainPageAsync();
        foreach ((string name, Radiograph radiograph) in Shown)
        {
            (Radiograph kept, CaseRecord record) = await bench.KeepAsync(radiograph);
            int[] expected = [.. DisplayTable.Render(kept).Samples.ToArray().Select(grey => (int)grey)];
            foreach (string painter in new[] { "graphics", "processor" })
            {
                int[] greys = await page.EvaluateAsync<int[]>(Draw, new object?[] { $"/cases/{record.Id}", kept.Columns, kept.Rows, painter, 0, false, null });
                Assert.True(expected.SequenceEqual(greys), $"{name}, {painter}: {expected.Zip(greys).Count(pair => pair.First != pair.Second)} pixels differ");
            }
        }
    }

    [SystemFileFact(SystemChromium.Path)]
    [Trait("evidence", "analytic")]
    public async Task Picture_TurnedAndMirrored_IsTheSamePixelsElsewhere()
    {
        IPage page = await bench.PlainPageAsync();
        (Radiograph kept, CaseRecord record) = await bench.KeepAsync(Limb(9));
        Raster<byte> rendered = DisplayTable.Render(kept);
        for (int turns = 0; turns < 4; turns++)
        {
            foreach (bool mirrored in new[] { false, true })
            {
                Raster<byte> expected = Turned(rendered, turns, mirrored);
                foreach (string painter in new[] { "graphics", "processor" })
                {
                    int[] greys = await page.EvaluateAsync<int[]>(Draw, new object?[] { $"/cases/{record.Id}", kept.Columns, kept.Rows, painter, turns, mirrored, null });
                    Assert.True(expected.Samples.ToArray().Select(grey => (int)grey).SequenceEqual(greys), $"{turns} quarter turns, mirrored {mirrored}, {painter}");
                }
            }
        }
    }

    [SystemFileFact(SystemChromium.Path)]
    [Trait("evidence", "independent")]
    public async Task DisplayTable_InTheBrowser_IsTheServersToTheLastStep()
    {
        IPage page = await bench.PlainPageAsync();
        foreach (WindowFunction function in Enum.GetValues<WindowFunction>())
        {
            foreach (bool highIsDark in new[] { false, true })
            {
                Radiograph radiograph = InventedExposure.Limb(rows: 8, columns: 8) with
                {
                    HighIsShownDark = highIsDark,
                    Modality = new ModalityTransform { Slope = 0.5, Intercept = -1000 },
                };

                // With a width of 510 half steps of grey fall on pixel values: ties must be rounded alike.
                foreach ((double center, double width) in new[] { (1500.25, 4200.0), (2000, 510), (2000, 511), (0, 1), (3000, 0.4) })
                {
                    var window = new VoiTransform { Center = center, Width = width, Function = function };
                    double[] modality = [.. Enumerable.Range(0, radiograph.PixelMaximum + 1).Select(value => radiograph.Modality.Apply(value))];
                    int[] expected = [.. DisplayTable.Create(radiograph, window).Select(shown => (int)Math.Round(shown * 255f))];

                    int[] table = await page.EvaluateAsync<int[]>(
                        """
                        async ([modality, center, width, name, highIsDark]) => {
                          const { displayTable } = await import("/viewer/window.js");
                          return [...displayTable(Float64Array.from(modality), { center, width, function: name }, highIsDark)];
                        }
                        """,
                        new object[] { modality, center, width, JsonNamingPolicy.KebabCaseLower.ConvertName(function.ToString()), highIsDark });

                    Assert.True(expected.SequenceEqual(table), $"{function}, high dark {highIsDark}, {center}/{width}: {expected.Zip(table).Count(pair => pair.First != pair.Second)} values differ");
                }
            }
        }
    }

    private static Radiograph Limb(int seed) => InventedExposure.Limb(rows: 120, columns: 101, seed: seed);

    /// <summary>Left and right exchanged, then turned clockwise.</summary>
    private static Raster<byte> Turned(Raster<byte> stored, int quarterTurns, bool mirrored)
    {
        var seen = new Raster<byte>(stored.Rows, stored.Columns);
        for (int row = 0; row < stored.Rows; row++)
        {
            for (int column = 0; column < stored.Columns; column++)
            {
                seen[row, column] = stored[row, mirrored ? stored.Columns - 1 - column : column];
            }
        }

        for (int turn = 0; turn < quarterTurns; turn++)
        {
            var next = new Raster<byte>(seen.Columns, seen.Rows);
            for (int row = 0; row < seen.Rows; row++)
            {
                for (int column = 0; column < seen.Columns; column++)
                {
                    next[column, seen.Rows - 1 - row] = seen[row, column];
                }
            }

            seen = next;
        }

        return seen;
    }
}
