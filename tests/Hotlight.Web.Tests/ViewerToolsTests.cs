using System.Globalization;
using System.Text.Json;
using System.Text.Json.Serialization;
using Deque.AxeCore.Commons;
using Deque.AxeCore.Playwright;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Document;
using Hotlight.Measure.Landmarks;
using Hotlight.Testing;
using Hotlight.Workflows.Cases;
using Microsoft.Playwright;

namespace Hotlight.Web.Tests;

/// <summary>The viewer's tools as a reader works them, their figures against those of the measures.</summary>
public sealed class ViewerToolsTests(BrowsedBench bench) : IClassFixture<BrowsedBench>
{
    private const string State = "async () => { const { viewerOf } = await import('/viewer/viewer.js'); return viewerOf(document.querySelector('.viewer')).state(); }";

    private static readonly JsonSerializerOptions Json = new(JsonSerializerDefaults.Web) { NumberHandling = JsonNumberHandling.AllowNamedFloatingPointLiterals };

    [SystemFileFact(SystemChromium.Path)]
    [Trait("evidence", "independent")]
    public async Task RulerAndAngle_OnATurnedImage_ReadWhatTheMeasuresCompute()
    {
        var spacing = new PixelSpacing(rowSpacingMm: 0.25, columnSpacingMm: 0.2);
        (Radiograph kept, CaseRecord record) = await bench.KeepAsync(InventedExposure.Limb(seed: 21) with { ReceptorSpacing = spacing });
        IPage page = await bench.ShowAsync(record);
        await page.Locator("[data-view=stage]").FocusAsync();
        await page.Keyboard.PressAsync("t");
        await page.Keyboard.PressAsync("x");
        await Assertions.Expect(page.Locator("[data-view=turned]")).ToContainTextAsync("Turned for viewing");
        Stage at = await StageAsync(page);
        (float middleX, float middleY) = (at.WholeX, at.WholeY);

        await page.Keyboard.PressAsync("d");
        await page.Mouse.MoveAsync(middleX - 60, middleY + 40);
        await page.Mouse.DownAsync();
        await page.Mouse.MoveAsync(middleX + 20, middleY + 10, new MouseMoveOptions { Steps = 3 });
        await page.Mouse.MoveAsync(middleX + 90, middleY - 50, new MouseMoveOptions { Steps = 3 });
        await page.Mouse.UpAsync();
        await page.Keyboard.PressAsync("g");
        foreach ((float x, float y) in new[] { (-100f, -20f), (-10f, 15f), (70f, -80f) })
        {
            await page.Mouse.ClickAsync(middleX + x, middleY + y);
        }

        ViewerState state = await StateOfAsync(page);
        Assert.Equal(["ruler", "angle"], state.Measures.Select(measure => measure.Kind));
        double step = state.View.Step;
        foreach (((float x, float y) seen, double[] point) in new[] { (-60f, 40f), (90f, -50f) }.Zip(state.Measures[0].Points))
        {
            // Mirrored as seen after a quarter turn clockwise: to the right lie lower rows, downward later columns; rows are a quarter wider than columns.
            AssertNear((kept.Columns / 2.0) - 0.5 + (at.Down(seen.y) * step), point[0], 1e-6);
            AssertNear((kept.Rows / 2.0) - 0.5 + (at.Right(seen.x) * step * 0.2 / 0.25), point[1], 1e-6);
        }

        LandmarkPoint[] ruler = Points(state.Measures[0]);
        ImageLength length = LandmarkMeasures.Distance(ruler[0], ruler[1], spacing).Value!;
        AssertNear(length.Mm!.Value, state.Measures[0].Reading.Value, 1e-6);
        AssertNear(length.MmUncertainty!.Value, state.Measures[0].Reading.Deviation, 1e-6);
        LandmarkPoint[] legs = Points(state.Measures[1]);
        ImageAngle angle = LandmarkMeasures.Angle(legs[0], legs[1], legs[2], spacing).Value!;
        AssertNear(angle.Degrees, state.Measures[1].Reading.Value, 1e-6);
        AssertNear(angle.DegreesUncertainty, state.Measures[1].Reading.Deviation, 1e-5);

        // They stay where they were laid: turned back, and after the page was opened again.
        await page.Keyboard.PressAsync("u");
        Assert.Equal(state.Measures[0].Points[0], (await StateOfAsync(page)).Measures[0].Points[0]);
        await page.ReloadAsync();
        await page.WaitForSelectorAsync(".viewer[data-state=shown]");
        Assert.Equal(2, (await StateOfAsync(page)).Measures.Count);
        await page.Locator("[data-view=stage]").FocusAsync();
        await page.Keyboard.PressAsync("Backspace");
        Assert.Equal("ruler", (await StateOfAsync(page)).Measures.Single().Kind);
    }

    [SystemFileFact(SystemChromium.Path)]
    [Trait("evidence", "analytic")]
    public async Task Ruler_ByKeyboardAlone_IsAsLongAsTheImageWasMoved()
    {
        (_, CaseRecord record) = await bench.KeepAsync(InventedExposure.Limb(seed: 22));
        IPage page = await bench.ShowAsync(record);
        await page.Locator("[data-view=stage]").FocusAsync();
        await page.Keyboard.PressAsync("1");
        await page.Keyboard.PressAsync("d");
        await page.Keyboard.PressAsync("Enter");
        for (int press = 0; press < 5; press++)
        {
            await page.Keyboard.PressAsync("Shift+ArrowRight");
        }

        await page.Keyboard.PressAsync("Enter");

        // Five pixels of the screen at one to one are five image pixels of 0.2 mm; ends of half a pixel each give √2 · 0.5 · 0.2 mm.
        MeasureState ruler = (await StateOfAsync(page)).Measures.Single();
        AssertNear(1, ruler.Reading.Value, 1e-9);
        AssertNear(Math.Sqrt(2) * 0.1, ruler.Reading.Deviation, 1e-9);
        await Assertions.Expect(page.Locator("[data-view=spoken]")).ToContainTextAsync("1.0 mm ± 0.1");
        await page.Keyboard.PressAsync("Escape");
        await Assertions.Expect(page.Locator("[data-view=stage]")).Not.ToHaveAttributeAsync("data-tool", "");
    }

    [SystemFileFact(SystemChromium.Path)]
    [Trait("evidence", "independent")]
    public async Task Probe_InTheMiddle_SaysPixelModalityValueAndSignal()
    {
        (Radiograph kept, CaseRecord record) = await bench.KeepAsync(InventedExposure.Limb(rows: 301, columns: 251, seed: 23) with { Modality = new ModalityTransform { Slope = 2, Intercept = -10 } });
        IPage page = await bench.ShowAsync(record);
        await page.Locator("[data-view=stage]").FocusAsync();
        await page.Keyboard.PressAsync("p");

        // In the middle of the picture lies the middle of the image: column 125 of 251, row 150 of 301.
        int pixel = kept.Pixels[150, 125];
        double modality = (2.0 * pixel) - 10;
        await Assertions.Expect(page.Locator("[data-view=spoken]")).ToContainTextAsync(
            string.Create(CultureInfo.InvariantCulture, $"column 125, row 150: pixel {pixel}, modality value {modality}, linear signal {modality} in an unknown unit"));

        (_, CaseRecord shown) = await bench.KeepAsync(InventedExposure.Limb(seed: 24) with { PresentationIntent = PresentationIntent.ForPresentation });
        IPage other = await bench.ShowAsync(shown);
        await other.Locator("[data-view=stage]").FocusAsync();
        await other.Keyboard.PressAsync("p");
        await Assertions.Expect(other.Locator("[data-view=spoken]")).ToContainTextAsync("cannot tell, the pixels were processed for presentation");
    }

    [SystemFileFact(SystemChromium.Path)]
    public async Task Landmark_OnATurnedImage_IsPlacedWhereItIsSeen()
    {
        (Radiograph kept, CaseRecord record) = await bench.KeepAsync(InventedExposure.Limb(seed: 25));
        IPage page = await bench.ShowAsync(record);
        Stage at = await StageAsync(page);
        await page.Locator("[data-view=stage]").FocusAsync();
        await page.Keyboard.PressAsync("x");
        await page.EvaluateAsync(
            """
            async () => {
              const { viewerOf } = await import("/viewer/viewer.js");
              const viewer = viewerOf(document.querySelector(".viewer"));
              viewer.page = { invokeMethodAsync: async (...what) => { window.placed = what; } };
              viewer.setLandmarks([{ id: "here", label: "here", number: 1, x: null, y: null }], "here");
            }
            """);
        await Assertions.Expect(page.Locator("[data-do=layer][data-layer=landmarks]")).Not.ToHaveAttributeAsync("data-empty", "");
        await page.Mouse.ClickAsync(at.WholeX + 50, at.WholeY + 30);

        JsonElement placed = await page.EvaluateAsync<JsonElement>("() => window.placed");
        double step = (await StateOfAsync(page)).View.Step;
        Assert.Equal("here", placed[1].GetString());
        AssertNear((kept.Columns / 2.0) - 0.5 - (at.Right(50) * step), placed[2].GetDouble(), 1e-6);
        AssertNear((kept.Rows / 2.0) - 0.5 + (at.Down(30) * step), placed[3].GetDouble(), 1e-6);
    }

    [SystemFileFact(SystemChromium.Path)]
    [Trait("evidence", "analytic")]
    public async Task LifeSize_AfterTheScreenWasMeasured_ShowsAMillimetreOnAMillimetre()
    {
        (_, CaseRecord record) = await bench.KeepAsync(InventedExposure.Limb(seed: 26));
        IPage page = await bench.ShowAsync(record);
        await page.Locator("[data-view=stage]").FocusAsync();
        await page.Keyboard.PressAsync("2");
        ILocator dialog = page.Locator("dialog[data-view=screen]");
        await Assertions.Expect(dialog).ToBeVisibleAsync();
        await AssertAccessibleAsync(page);
        await dialog.Locator("[data-screen=size]").FillAsync("400");
        await dialog.Locator("[data-screen=mm]").FillAsync("100");
        await dialog.Locator("button[type=submit]").ClickAsync();
        await Assertions.Expect(dialog).ToBeHiddenAsync();

        // 100 mm on 400 pixels of the screen, 0.2 mm on an image pixel: 0.25 / 0.2 image pixels a screen pixel.
        AssertNear(1.25, (await StateOfAsync(page)).View.Step, 1e-9);
        await Assertions.Expect(page.Locator("[data-view=spoken]")).ToContainTextAsync("in the receptor's plane");
        await page.Locator("[data-view=stage]").FocusAsync();
        await page.Keyboard.PressAsync("f");
        await page.Keyboard.PressAsync("2");
        AssertNear(1.25, (await StateOfAsync(page)).View.Step, 1e-9);

        (_, CaseRecord bare) = await bench.KeepAsync(InventedExposure.Limb(seed: 27) with { ReceptorSpacing = null });
        await page.GotoAsync(new Uri(bench.Address, $"/cases/{bare.Id}").ToString());
        await page.WaitForSelectorAsync(".viewer[data-state=shown]");
        await page.Locator("[data-view=stage]").FocusAsync();
        await page.Keyboard.PressAsync("2");
        await Assertions.Expect(page.Locator("[data-view=spoken]")).ToContainTextAsync("no pixel spacing");
    }

    [SystemFileFact(SystemChromium.Path)]
    [Trait("evidence", "independent")]
    public async Task WindowsAndHistogram_OfAnImage_AreThoseOfItsMeasurements()
    {
        (Radiograph kept, CaseRecord record) = await bench.KeepAsync(InventedExposure.Limb(seed: 28), "wrist-pa");
        MeasurementDocument measured = (await bench.Cases.OpenAsync(record.Id)).Measurements;
        IPage page = await bench.ShowAsync(record);
        await page.Locator("[data-view=stage]").FocusAsync();
        IReadOnlyList<WindowChoice> choices = WindowChoices.Of(kept, measured);
        Assert.Equal(["5", "6", "7", "8", "9"], choices.Select(choice => choice.Key));
        foreach (WindowChoice choice in choices)
        {
            await page.Keyboard.PressAsync(choice.Key);
            ViewerState state = await StateOfAsync(page);
            Assert.Equal((choice.Window!.Center, choice.Window.Width), (state.Window.Center, state.Window.Width));
        }

        Assert.Equal(measured.Display.Value!.ProposedWindowCenter, choices[2].Window!.Center);
        await page.Keyboard.PressAsync("h");
        ILocator panel = page.Locator(".histogram");
        ValueHistogram histogram = measured.Display.Value.Histogram!;
        await Assertions.Expect(panel).ToContainTextAsync(string.Create(CultureInfo.InvariantCulture, $"whole image, {kept.Rows * kept.Columns:N0} pixels"));
        await Assertions.Expect(panel).ToContainTextAsync(string.Create(CultureInfo.InvariantCulture, $"anatomy, {histogram.Anatomy.Sum():N0} pixels"));
        await panel.Locator("summary").ClickAsync();
        await Assertions.Expect(panel.Locator("tbody td:last-child")).ToHaveCountAsync(histogram.Anatomy.Count);
        string[] anatomy = [.. await panel.Locator("tbody td:last-child").AllTextContentsAsync()];
        Assert.Equal(histogram.Anatomy.Select(count => count.ToString("N0", CultureInfo.InvariantCulture)), anatomy);
        await AssertAccessibleAsync(page);
        await panel.Locator("[data-histogram=low]").FillAsync("1000");
        await panel.Locator("[data-histogram=high]").FillAsync("5000");
        await panel.Locator("[data-histogram=high]").PressAsync("Tab");
        ViewerState limited = await StateOfAsync(page);
        Assert.Equal((3000, 4000), (limited.Window.Center, limited.Window.Width));
    }

    [SystemFileFact(SystemChromium.Path)]
    [Trait("evidence", "analytic")]
    public async Task Lenses_OnDrawnPixels_LieOneToOneSpreadTheDarkAndReadTheNoise()
    {
        IPage page = await bench.PlainPageAsync();

        // A slope across with white noise of 80: the figures below are of 25 squares, each with 4090 degrees of freedom.
        double[] deviations = await page.EvaluateAsync<double[]>(
            """
            async () => {
              const { noiseAt } = await import("/viewer/lens.js");
              const { Pyramid } = await import("/viewer/pyramid.js");
              let state = 7;
              const uniform = () => ((state = (Math.imul(state, 1664525) + 1013904223) >>> 0) + 0.5) / 4294967296;
              const normal = () => Math.sqrt(-2 * Math.log(uniform())) * Math.cos(2 * Math.PI * uniform());
              const pixels = Uint16Array.from({ length: 320 * 320 }, (_, place) => Math.round(8000 + 10 * (place % 320) + 0.02 * (place % 320) ** 2 + 80 * normal()));
              const signal = Float64Array.from({ length: 65536 }, (_, value) => value);
              const pyramid = new Pyramid(pixels, 320, 320, 1);
              const found = [];
              for (let row = 32; row < 320; row += 64) for (let column = 32; column < 320; column += 64) found.push(noiseAt(pyramid, signal, column, row).deviation);
              return [...found, noiseAt(pyramid, signal, 10, 100) === null ? 1 : 0];
            }
            """);
        Assert.Equal(1, deviations[^1]);

        // The deviation's own relative spread is 1/√(2·4090·25) = 0.0022; four of it.
        AssertNear(80, deviations[..^1].Average(), 80 * 4 * 0.0022);

        JsonElement lens = await page.EvaluateAsync<JsonElement>(
            """
            async () => {
              const { underLens, valuesUnder, equalised } = await import("/viewer/lens.js");
              const { Pyramid } = await import("/viewer/pyramid.js");
              const { View } = await import("/viewer/view.js");
              const pixels = Uint16Array.from({ length: 400 * 400 }, (_, place) => (place * 7919) % 16384);
              const dark = Uint16Array.from({ length: 400 * 400 }, (_, place) => 16000 + (place % 380));
              const view = new View();
              view.setImage(400, 400, 1);
              view.setCanvas(300, 200);
              view.fit();
              view.turn(1);
              const under = underLens({ x: 131.3, y: 77.7, radius: 50 }, view.frame(), true);
              const values = valuesUnder(under, new Pyramid(pixels, 400, 400, 1));
              const middle = [Math.round(under.middleX), Math.round(under.middleY)];
              // Half of the lens lies outside a field, far from the values in it: it must not take the greys from the field's own.
              const half = Int32Array.from({ length: 100 * 100 }, (_, place) => (place % 100 < 50 ? 100 : 12000 + (place % 40) * 10));
              const parted = equalised(half, 100, 50, { pixelMaximum: 16383, brightIsHigh: true, field: [[50, 0], [100, 0], [100, 100], [50, 100]] });
              const inside = parted.filter((_, place) => place % 100 >= 50 && place % 100 < 90);
              const greys = equalised(valuesUnder(under, new Pyramid(dark, 400, 400, 1)), under.side, 50, { pixelMaximum: 16383, brightIsHigh: true });
              return { side: under.side, values: [...values], middle, levels: new Set(greys).size, spread: Math.max(...inside) - Math.min(...inside), place: view.toImage(131.3, 77.7) };
            }
            """);
        int side = lens.GetProperty("side").GetInt32();
        int[] values = [.. lens.GetProperty("values").EnumerateArray().Select(value => value.GetInt32())];
        (int middleColumn, int middleRow) = (lens.GetProperty("middle")[0].GetInt32(), lens.GetProperty("middle")[1].GetInt32());
        AssertNear(lens.GetProperty("place")[0].GetDouble() + 0.5, middleColumn, 0.5001);
        AssertNear(lens.GetProperty("place")[1].GetDouble() + 0.5, middleRow, 0.5001);
        for (int y = 0; y < side; y++)
        {
            for (int x = 0; x < side; x++)
            {
                // A quarter turn clockwise: to the right lie earlier rows, downward later columns; each canvas pixel is one image pixel.
                int column = middleColumn + (y - (side / 2)), row = middleRow - 1 - (x - (side / 2));
                Assert.Equal((int)(((row * 400) + column) * 7919L % 16384), values[(y * side) + x]);
            }
        }

        // 100 neighbouring values that a usual window shows as one black are told apart.
        Assert.InRange(lens.GetProperty("levels").GetInt32(), 60, 256);
        Assert.InRange(lens.GetProperty("spread").GetInt32(), 230, 255);
    }

    [SystemFileFact(SystemChromium.Path)]
    public async Task Opening_ALargeImage_ShowsItCoarselyUntilAllPixelsAreThere()
    {
        (Radiograph kept, CaseRecord record) = await bench.KeepAsync(InventedExposure.Limb(rows: 1700, columns: 1500, seed: 29));
        var letThrough = new TaskCompletionSource();
        IPage page = await bench.ShowAsync(
            record,
            before: each => each.RouteAsync(new System.Text.RegularExpressions.Regex("/pixels$"), async route =>
            {
                await letThrough.Task;
                await route.ContinueAsync();
            }),
            state: "coarse");
        await Assertions.Expect(page.Locator("[data-view=message]")).ToContainTextAsync("Coarse");
        await page.Locator("[data-view=stage]").FocusAsync();
        await page.Keyboard.PressAsync("p");
        await Assertions.Expect(page.Locator("[data-view=spoken]")).ToContainTextAsync("values come with the full image");
        await page.Keyboard.PressAsync("d");
        await page.Keyboard.PressAsync("Enter");
        await page.Keyboard.PressAsync("ArrowRight");
        await page.Keyboard.PressAsync("Enter");
        await page.Keyboard.PressAsync("]");
        ViewerState before = await StateOfAsync(page);
        Assert.Single(before.Measures);

        letThrough.SetResult();
        await page.WaitForSelectorAsync(".viewer[data-state=shown]");
        await Assertions.Expect(page.Locator("[data-view=message]")).ToBeEmptyAsync();
        ViewerState after = await StateOfAsync(page);
        Assert.Equal((before.Window.Width, before.View.CentreX), (after.Window.Width, after.View.CentreX));
        Assert.Equal(before.Measures[0].Points[0], after.Measures.Single().Points[0]);
        int[] greys = await page.EvaluateAsync<int[]>("async () => { const { viewerOf } = await import('/viewer/viewer.js'); const viewer = viewerOf(document.querySelector('.viewer')); viewer.resetWindow(); await new Promise((done) => setTimeout(done, 300)); return viewer.probe(700, 800, 16, 16); }");
        Raster<byte> rendered = Imaging.Display.DisplayTable.Render(kept);
        Assert.Equal(Enumerable.Range(0, 256).Select(place => (int)rendered[800 + (place / 16), 700 + (place % 16)]), greys);
    }

    [SystemFileFact(SystemChromium.Path)]
    public async Task Touch_TwoFingersZoomOneLeadsTheLens()
    {
        (_, CaseRecord record) = await bench.KeepAsync(InventedExposure.Limb(seed: 30));
        IPage page = await bench.ShowAsync(record, hasTouch: true);
        Stage at = await StageAsync(page);
        (double x, double y) = (at.WholeX, at.WholeY);
        ICDPSession session = await page.Context.NewCDPSessionAsync(page);
        ViewerState first = await StateOfAsync(page);

        await TouchAsync(session, "touchStart", [(x - 40, y), (x + 40, y)]);
        await TouchAsync(session, "touchMove", [(x - 80, y), (x + 80, y)]);
        await TouchAsync(session, "touchEnd", []);
        ViewerState zoomed = await StateOfAsync(page);

        // Twice the distance between the fingers: half the step, and what lay between them stays there.
        AssertNear(first.View.Step / 2, zoomed.View.Step, first.View.Step * 1e-6);
        AssertNear(first.View.CentreX + (at.Right(0) * first.View.Step), zoomed.View.CentreX + (at.Right(0) * zoomed.View.Step), 1e-6);

        await page.Locator("[data-view=stage]").FocusAsync();
        await page.Keyboard.PressAsync("l");
        await TouchAsync(session, "touchStart", [(x, y)]);
        await TouchAsync(session, "touchMove", [(x + 60, y + 20)]);
        await TouchAsync(session, "touchEnd", []);
        ViewerState led = await StateOfAsync(page);
        Assert.Equal("hot", led.Lens);
        Assert.Equal((zoomed.Window.Center, zoomed.Window.Width, zoomed.View.CentreX), (led.Window.Center, led.Window.Width, led.View.CentreX));
    }

    [SystemFileFact(SystemChromium.Path)]
    [Trait("evidence", "analytic")]
    public async Task LinkedViewers_OfUnlikeSpacing_FollowEachOtherInMillimetres()
    {
        (Radiograph one, CaseRecord first) = await bench.KeepAsync(InventedExposure.Limb(seed: 31));
        (Radiograph two, CaseRecord second) = await bench.KeepAsync(InventedExposure.Limb(rows: 400, columns: 400, seed: 32) with { ReceptorSpacing = new PixelSpacing(0.3, 0.3) });
        ViewerFacts[] facts = [ViewerFacts.Of(first.Id, one, (await bench.Cases.OpenAsync(first.Id)).Measurements), ViewerFacts.Of(second.Id, two, (await bench.Cases.OpenAsync(second.Id)).Measurements)];
        IPage page = await bench.ShowAsync(first);

        JsonElement views = await page.EvaluateAsync<JsonElement>(
            """
            async (facts) => {
              const { open } = await import("/viewer/viewer.js");
              const host = document.querySelector(".viewer");
              const opened = [];
              for (const each of JSON.parse(facts)) {
                const copy = host.cloneNode(true);
                host.parentElement.append(copy);
                const viewer = open(copy, null, "side-by-side");
                await viewer.show(each);
                opened.push(viewer);
              }
              const settled = () => new Promise((done) => setTimeout(done, 300));
              await settled();
              const [a, b] = opened;
              a.zoomTo(0.5, a.view.width / 2, a.view.height / 2);
              a.pan(40, -25);
              a.setWindow({ ...a.window, center: a.facts.window.center + 0.25 * a.facts.window.width, width: 2 * a.facts.window.width });
              await settled();
              const afterFirst = [a.sharedView(), b.sharedView()];
              b.zoomTo(0.8, b.view.width / 2, b.view.height / 2);
              b.invert();
              await settled();
              const afterSecond = [a.sharedView(), b.sharedView()];
              opened.forEach((each) => each.close());
              return [afterFirst, afterSecond];
            }
            """,
            JsonSerializer.Serialize(facts, Json));
        foreach (JsonElement pair in views.EnumerateArray())
        {
            foreach (string name in new[] { "centreMmX", "centreMmY", "mmPerCanvasPixel" })
            {
                AssertNear(pair[0].GetProperty(name).GetDouble(), pair[1].GetProperty(name).GetDouble(), 1e-9);
            }

            Assert.Equal(2, pair[1].GetProperty("windowChange").GetProperty("factor").GetDouble(), 9);
            Assert.Equal(0.25, pair[1].GetProperty("windowChange").GetProperty("shift").GetDouble(), 9);
        }

        AssertNear(0.5 * 0.2, views[0][1].GetProperty("mmPerCanvasPixel").GetDouble(), 1e-9);
        AssertNear(0.8 * 0.3, views[1][0].GetProperty("mmPerCanvasPixel").GetDouble(), 1e-9);
        Assert.True(views[1][0].GetProperty("inverted").GetBoolean());
    }

    [SystemFileFact(SystemChromium.Path)]
    public async Task Popovers_EachOpened_AreAccessibleAndStayOnThePage()
    {
        (_, CaseRecord record) = await bench.KeepAsync(InventedExposure.Limb(seed: 33));
        IPage page = await bench.ShowAsync(record);
        foreach (string noun in new[] { "Window…", "Size…", "View…", "Measure…", "Marks…" })
        {
            await page.GetByRole(AriaRole.Button, new PageGetByRoleOptions { Name = noun, Exact = true }).ClickAsync();
            ILocator popover = page.Locator(".view-popover:popover-open");
            await Assertions.Expect(popover).ToBeVisibleAsync();
            LocatorBoundingBoxResult box = (await popover.BoundingBoxAsync())!;
            Assert.InRange(box.Y, 0, 720 - box.Height);
            Assert.InRange(box.X, 0, 1280 - box.Width);
            AssertAccessible(await popover.RunAxe());
            await page.Keyboard.PressAsync("Escape");
            await Assertions.Expect(popover).ToHaveCountAsync(0);
        }
    }

    private static LandmarkPoint[] Points(MeasureState measure)
        => [.. measure.Points.Zip(measure.Deviations, (point, deviation) => LandmarkPoint.At(new PixelPoint(X: point[0], Y: point[1]), deviation))];

    private static void AssertNear(double expected, double found, double tolerance) => Assert.InRange(found, expected - tolerance, expected + tolerance);

    private static async Task<ViewerState> StateOfAsync(IPage page) => (await page.EvaluateAsync<JsonElement>(State)).Deserialize<ViewerState>(Json)!;

    private static async Task TouchAsync(ICDPSession session, string type, (double X, double Y)[] fingers)
        => await session.SendAsync("Input.dispatchTouchEvent", new Dictionary<string, object>
        {
            ["type"] = type,
            ["touchPoints"] = fingers.Select((finger, id) => new Dictionary<string, object> { ["x"] = finger.X, ["y"] = finger.Y, ["id"] = id }).ToArray(),
        });

    private static async Task AssertAccessibleAsync(IPage page) => AssertAccessible(await page.Locator(".viewer").RunAxe());

    private static void AssertAccessible(AxeResult result)
    {
        string[] serious = [.. result.Violations.Where(each => each.Impact is "serious" or "critical")
            .Select(each => $"{each.Id}: {each.Help}: {string.Join(", ", each.Nodes.Select(node => node.Html))}")];
        Assert.Empty(serious);
    }

    /// <summary>The middle of the stage, and how canvas pixels lie on it.</summary>
    private static async Task<Stage> StageAsync(IPage page)
    {
        double[] box = await page.EvaluateAsync<double[]>("() => { const box = document.querySelector('[data-view=stage]').getBoundingClientRect(); const canvas = document.querySelector('[data-view=picture]'); return [box.left, box.top, box.width, box.height, canvas.width, canvas.height]; }");
        return new Stage(box[0] + (box[2] / 2), box[1] + (box[3] / 2), box[4] / box[2], box[5] / box[3]);
    }

    /// <summary>Events carry whole pixels: tools are tried at whole pixels near the middle.</summary>
    private sealed record Stage(double MiddleX, double MiddleY, double CanvasPerPixelX, double CanvasPerPixelY)
    {
        public float WholeX => (float)Math.Round(MiddleX);

        public float WholeY => (float)Math.Round(MiddleY);

        /// <summary>Canvas pixels from the true middle to a place so far right of the whole one.</summary>
        public double Right(double pixels) => (WholeX + pixels - MiddleX) * CanvasPerPixelX;

        /// <summary>The same, down.</summary>
        public double Down(double pixels) => (WholeY + pixels - MiddleY) * CanvasPerPixelY;
    }

    private sealed record ViewerState(WindowState Window, string? Lens, ViewState View, IReadOnlyList<MeasureState> Measures);

    private sealed record WindowState(double Center, double Width);

    private sealed record ViewState(double CentreX, double CentreY, double Step, int QuarterTurns, bool Mirrored);

    private sealed record MeasureState(string Kind, IReadOnlyList<double[]> Points, IReadOnlyList<double> Deviations, ReadingState Reading);

    private sealed record ReadingState(double Value, double Deviation, string Unit, string Text);
}
