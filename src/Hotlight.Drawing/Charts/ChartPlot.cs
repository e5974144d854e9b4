using ScottPlot;
using ScottPlot.TickGenerators;
using SkiaSharp;

namespace Hotlight.Drawing.Charts;

/// <summary>Lays a chart out with the plotting library. Its fonts are kept in one place for all plots, so one plot is drawn at a time.</summary>
internal sealed class ChartPlot
{
    private const string Font = "Inter";
    private const float TextSize = 14;
    private const float DotSize = 8;
    private const float EdgeSize = 18;

    /// <summary>Held while a plot is made and drawn.</summary>
    public static readonly Lock OneAtATime = new();

    private readonly Plot plot = new();
    private readonly Chart chart;
    private readonly ChartColors colors;

    static ChartPlot()
    {
        Fonts.FontResolvers.Insert(0, new EmbeddedResolver());
        Fonts.Default = Font;
    }

    /// <summary>Lays a chart out.</summary>
    public ChartPlot(Chart chart, ChartColors colors)
    {
        this.chart = chart;
        this.colors = colors;
        plot.FigureBackground.Color = ChartColors.Plot(colors.Ground);
        plot.DataBackground.Color = ChartColors.Plot(colors.Ground);
        plot.Grid.MajorLineColor = ChartColors.Plot(colors.Rule);
        plot.Grid.MajorLineWidth = 1;
        plot.Axes.Color(ChartColors.Plot(colors.Soft));
        foreach (ChartSeries series in chart.Series)
        {
            Add(series);
        }

        Axes();
        foreach (ChartLine line in chart.Lines)
        {
            Add(line);
        }

        Legend();
    }

    /// <summary>Draws the plot at the canvas's origin.</summary>
    public void Draw(SKCanvas canvas, float width, float height)
    {
        // The library clears all that it may draw on.
        Thin(width);

        // The library draws a plot's first picture twice, one over the other, until it has seen its axes: that one goes nowhere.
        using (var nowhere = new SKNoDrawCanvas((int)width, (int)height))
        {
            plot.Render(nowhere, new PixelRect(0, width, height, 0));
        }

        canvas.Save();
        canvas.ClipRect(new SKRect(0, 0, width, height));
        plot.Render(canvas, new PixelRect(0, width, height, 0));
        canvas.Restore();
    }

    /// <summary>Where a point was drawn last.</summary>
    public SKPoint PlaceOf(double across, double up)
    {
        Pixel pixel = plot.GetPixel(new Coordinates(across, up));
        return new SKPoint(pixel.X, pixel.Y);
    }

    private string Tone(ChartTone tone) => tone switch { ChartTone.Main => colors.Main, ChartTone.Second => colors.Second, _ => colors.Soft };

    private (double X, double Y) At(double place, double value) => chart.IsSideways ? (value, -place) : (place, value);

    private void Add(ChartSeries series)
    {
        Color color = ChartColors.Plot(Tone(series.Tone));
        switch (series.Shape)
        {
            case ChartShape.Bars:
                AddBars(series, color);
                break;
            case ChartShape.Dots:
                AddIntervals(series, color);
                AddDots(series, color, filled: series.Tone == ChartTone.Main);
                break;
            default:
                AddLine(series, color);
                if (series.Shape == ChartShape.JoinedDots)
                {
                    AddDots(series, color, filled: series.Tone == ChartTone.Main);
                }

                break;
        }
    }

    private void AddBars(ChartSeries series, Color color)
    {
        foreach (ChartPoint point in series.Points.Where(point => point.Value is not null))
        {
            (double x, double y) = At(point.Place, point.Value!.Value);
            ScottPlot.Plottables.BarPlot bar = plot.Add.Bar(chart.IsSideways
                ? new Bar { Position = y, Value = x, Size = 0.72, Orientation = Orientation.Horizontal, FillColor = color, LineWidth = 0 }
                : new Bar { Position = x, Value = y, Size = 0.72, FillColor = color, LineWidth = 0 });
            bar.LegendText = string.Empty;
        }
    }

    private void AddIntervals(ChartSeries series, Color color)
    {
        foreach (ChartPoint point in series.Points.Where(point => point is { Low: not null, High: not null }))
        {
            (double x1, double y1) = At(point.Place, point.Low!.Value);
            (double x2, double y2) = At(point.Place, point.High!.Value);
            ScottPlot.Plottables.LinePlot line = plot.Add.Line(x1, y1, x2, y2);
            line.LineColor = color;
            line.LineWidth = 2;
            line.MarkerSize = 0;
        }
    }

    private void AddDots(ChartSeries series, Color color, bool filled)
    {
        foreach (ChartPoint point in series.Points.Where(point => point.Value is not null))
        {
            (double x, double y) = At(point.Place, point.Value!.Value);
            ScottPlot.Plottables.Marker marker = plot.Add.Marker(x, y);
            marker.MarkerShape = point.CallsForALook ? MarkerShape.FilledDiamond : filled ? MarkerShape.FilledCircle : MarkerShape.OpenCircle;
            marker.MarkerSize = point.CallsForALook ? DotSize * 1.7f : DotSize;
            marker.MarkerFillColor = point.CallsForALook ? ChartColors.Plot(colors.Look) : color;
            marker.MarkerLineColor = point.CallsForALook ? ChartColors.Plot(colors.Ink) : color;
            marker.MarkerLineWidth = point.CallsForALook || !filled ? 1.5f : 0;
        }
    }

    private void AddLine(ChartSeries series, Color color)
    {
        // A gap ends a line and begins another.
        List<List<ChartPoint>> pieces = [[]];
        foreach (ChartPoint point in series.Points)
        {
            if (point.Value is null)
            {
                pieces.Add([]);
            }
            else
            {
                pieces[^1].Add(point);
            }
        }

        foreach (List<ChartPoint> piece in pieces.Where(piece => piece.Count > 0))
        {
            (double X, double Y)[] places = series.Shape == ChartShape.DashedSteps
                ? [.. piece.SelectMany(point => new[] { At(point.Place - 0.5, point.Value!.Value), At(point.Place + 0.5, point.Value.Value) })]
                : [.. piece.Select(point => At(point.Place, point.Value!.Value))];
            ScottPlot.Plottables.Scatter line = plot.Add.Scatter(places.Select(place => place.X).ToArray(), places.Select(place => place.Y).ToArray());
            line.MarkerSize = 0;
            line.LineColor = color;
            line.LineWidth = series.Tone == ChartTone.Quiet ? 1.6f : 2;
            line.LinePattern = PatternOf(series.Shape);
        }
    }

    private void Add(ChartLine line)
    {
        CoordinateRange range = chart.IsSideways ? plot.Axes.GetLimits().XRange : plot.Axes.GetLimits().YRange;
        if (!range.Contains(line.Value))
        {
            return;
        }

        ScottPlot.Plottables.AxisLine drawn = chart.IsSideways ? plot.Add.VerticalLine(line.Value) : plot.Add.HorizontalLine(line.Value);
        drawn.LineColor = ChartColors.Plot(colors.Ink);
        drawn.LineWidth = 1.2f;
        drawn.LinePattern = LinePattern.DenselyDashed;
        AxisLimits limits = plot.Axes.GetLimits();
        ScottPlot.Plottables.Text text = chart.IsSideways ? plot.Add.Text(line.Label, line.Value, limits.Top) : plot.Add.Text(line.Label, limits.Right, line.Value);
        text.LabelAlignment = chart.IsSideways ? Alignment.UpperLeft : Alignment.LowerRight;
        text.LabelFontName = Font;
        text.LabelFontSize = TextSize - 2;
        text.LabelFontColor = ChartColors.Plot(colors.Ink);
        text.LabelBackgroundColor = ChartColors.Plot(colors.Ground);
        text.OffsetX = chart.IsSideways ? 4 : -4;
    }

    private void Axes()
    {
        IXAxis bottom = plot.Axes.Bottom;
        IYAxis left = plot.Axes.Left;
        ChartAxis names = chart.IsSideways ? chart.Up : chart.Across;
        Style(bottom, chart.Across.Title);
        Style(left, chart.IsSideways && names.Names is not null ? string.Empty : chart.Up.Title);
        foreach (IAxis edge in new IAxis[] { plot.Axes.Right, plot.Axes.Top })
        {
            edge.FrameLineStyle.Width = 0;
            edge.TickLabelStyle.IsVisible = false;
            edge.MajorTickStyle.Length = 0;
            edge.MinorTickStyle.Length = 0;
            edge.MinimumSize = EdgeSize;
        }

        plot.Axes.AutoScale();
        AxisLimits seen = plot.Axes.GetLimits();
        double[] places = names.Names is null ? [] : [-0.6, names.Names.Count - 0.4];
        CoordinateRange across = Range(chart.Across, seen.XRange, chart.IsSideways ? [] : places);
        CoordinateRange up = chart.IsSideways && names.Names is not null
            ? new CoordinateRange(0.4 - names.Names.Count, 0.6)
            : Range(chart.Up, seen.YRange, []);
        plot.Axes.SetLimits(across.Min, across.Max, up.Min, up.Max);
        if (names.Names is { } texts)
        {
            (double Place, string Name)[] ticks = [.. texts.Select((name, index) => (chart.IsSideways ? -(double)index : index, name)).Where(tick => tick.name.Length > 0)];
            var manual = new NumericManual([.. ticks.Select(tick => tick.Place)], [.. ticks.Select(tick => string.Join('\n', tick.Name.Split('\n').Select(EmbeddedFonts.Printable)))]);
            if (chart.IsSideways)
            {
                left.TickGenerator = manual;
            }
            else
            {
                bottom.TickGenerator = manual;
            }
        }
    }

    /// <summary>Along an axis whose names run on, leaves names out until those that stay do not touch.</summary>
    private void Thin(float width)
    {
        if (chart.IsSideways || chart.Across is not { RunsOn: true, Names: { Count: > 0 } names })
        {
            return;
        }

        // About so much stands beside the plot: title and figures of the axis upwards.
        const float BesidePlot = 90;
        using Paint paint = Paint.NewDisposablePaint();
        double widest = names.Max(name => plot.Axes.Bottom.TickLabelStyle.Measure(EmbeddedFonts.Printable(name), paint).Width) + TextSize;
        int every = Math.Max(1, (int)Math.Ceiling(widest * names.Count / (width - BesidePlot)));
        int[] kept = [.. Enumerable.Range(0, names.Count).Where(place => place % every == 0)];
        plot.Axes.Bottom.TickGenerator = new NumericManual([.. kept.Select(place => (double)place)], [.. kept.Select(place => EmbeddedFonts.Printable(names[place]))]);
    }

    private static CoordinateRange Range(ChartAxis axis, CoordinateRange seen, double[] places)
    {
        double low = axis.From ?? (places.Length > 0 ? places[0] : seen.Min);
        double high = axis.To ?? (places.Length > 0 ? places[1] : seen.Max);
        return high > low ? new CoordinateRange(low, high) : new CoordinateRange(low - 1, low + 1);
    }

    private void Style(IAxis axis, string title)
    {
        axis.Label.Text = EmbeddedFonts.Printable(title);
        axis.Label.FontName = Font;
        axis.Label.FontSize = TextSize;
        axis.Label.Bold = false;
        axis.Label.ForeColor = ChartColors.Plot(colors.Ink);
        axis.TickLabelStyle.FontName = Font;
        axis.TickLabelStyle.FontSize = TextSize - 1;
        axis.TickLabelStyle.ForeColor = ChartColors.Plot(colors.Ink);
    }

    private void Legend()
    {
        ScottPlot.Legend legend = plot.Legend;
        legend.FontName = Font;
        legend.FontSize = TextSize - 1;
        legend.FontColor = ChartColors.Plot(colors.Ink);
        legend.BackgroundColor = ChartColors.Plot(colors.Ground);
        legend.OutlineWidth = 0;
        legend.ShadowColor = Colors.Transparent;
        legend.Orientation = Orientation.Horizontal;
        legend.Margin = new PixelPadding(0);
        legend.Padding = new PixelPadding(4);
        foreach (ChartSeries series in chart.Series.Where(series => series.Name.Length > 0).DistinctBy(series => series.Name))
        {
            Color color = ChartColors.Plot(Tone(series.Tone));
            bool dots = series.Shape is ChartShape.Dots or ChartShape.JoinedDots && series.Points.Any(point => point.Value is not null);
            bool bars = series.Shape == ChartShape.Bars;
            legend.ManualItems.Add(new LegendItem
            {
                LabelText = EmbeddedFonts.Printable(series.Name),
                LineColor = color,
                LineWidth = bars ? 0 : 2,
                LinePattern = PatternOf(series.Shape),
                FillColor = bars ? color : Colors.Transparent,
                MarkerShape = dots ? (series.Tone == ChartTone.Main ? MarkerShape.FilledCircle : MarkerShape.OpenCircle) : MarkerShape.None,
                MarkerSize = DotSize,
                MarkerFillColor = color,
                MarkerLineColor = color,
                MarkerLineWidth = 1,
            });
        }

        if (chart.Series.Any(series => series.Points.Any(point => point.CallsForALook)))
        {
            legend.ManualItems.Add(new LegendItem { LabelText = "calls for a look", MarkerShape = MarkerShape.FilledDiamond, MarkerSize = DotSize * 1.5f, MarkerFillColor = ChartColors.Plot(colors.Look), MarkerLineColor = ChartColors.Plot(colors.Ink), MarkerLineWidth = 1.5f });
        }

        if (legend.ManualItems.Count > 1)
        {
            plot.ShowLegend(Edge.Bottom);
        }
        else
        {
            plot.HideLegend();
        }
    }

    private static LinePattern PatternOf(ChartShape shape) => shape switch
    {
        ChartShape.DashedSteps or ChartShape.DashedCurve => LinePattern.Dashed,
        ChartShape.DottedCurve => LinePattern.Dotted,
        _ => LinePattern.Solid,
    };

    /// <summary>Gives the plotting library the project's own fonts.</summary>
    private sealed class EmbeddedResolver : IFontResolver
    {
        public SKTypeface? CreateTypeface(string fontName, bool bold, bool italic) => fontName == Font ? EmbeddedFonts.TypefaceOf(bold ? TextWeight.SemiBold : TextWeight.Regular) : null;

        public SKTypeface? CreateTypeface(string fontName, FontWeight weight, FontSlant slant, FontSpacing spacing) => CreateTypeface(fontName, weight >= FontWeight.SemiBold, false);
    }
}
