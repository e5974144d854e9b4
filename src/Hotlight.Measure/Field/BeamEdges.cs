using Hotlight.Core;
using Hotlight.Measure.Document;

namespace Hotlight.Measure.Field;

/// <summary>Puts the collimator's sides where half of the primary intensity is, whatever the pixel's relation to exposure.</summary>
internal static class BeamEdges
{
    // Steps for e times the exposure are looked for where the whole step of a side is a ratio of exposures from e^0.4 to e^9.
    private const double LeastRatio = 0.4;
    private const double MostRatio = 9;
    private const int Scales = 14;

    // Against the phantom lab the place is good to two hundredths of the penumbra (docs/methods/field.md).
    private const double ModelShare = 0.02;

    // A scale that was found rather than known is good to about a quarter.
    private const double ScaleShare = 0.25;

    /// <summary>The field with its beam sides moved to half intensity.</summary>
    /// <param name="pixels">Pixels, rows × columns.</param>
    /// <param name="field">The field as found.</param>
    /// <param name="sign">+1 when a higher pixel value is more exposure, else −1.</param>
    /// <param name="stepsPerEFold">Pixel steps for e times the exposure where known; else 0.</param>
    internal static FieldShape Place(ReadOnlyRaster<ushort> pixels, FieldShape field, int sign, double stepsPerEFold)
    {
        FoundSide[] sides = [.. field.Found];
        var fits = new PenumbraFit?[sides.Length];
        for (int k = 0; k < sides.Length; k++)
        {
            // A step of a pixel or two is no penumbra: a bezel, or a file that was cropped.
            if (sides[k].Edge == FieldEdge.Beam && sides[k].Refined.Width > 2.5 && Math.Sign(sides[k].Refined.Step) == -sign)
            {
                fits[k] = PenumbraFit.Read(pixels, sides[k].Refined.Line, Reach(sides[k]), sign);
            }
        }

        if (fits.All(fit => fit is null))
        {
            return field;
        }

        double scale = stepsPerEFold > 0 ? stepsPerEFold : BestScale(sides, fits);
        Parallel.For(0, sides.Length, k =>
        {
            if (fits[k] is not null)
            {
                sides[k] = Placed(pixels, sides[k], sign, scale, stepsPerEFold > 0);
            }
        });
        return FieldShape.From(field.Rows, field.Columns, sides);
    }

    private static double Reach(FoundSide side) => Math.Max(12, 2.6 * side.Refined.Width);

    private static PenumbraPlace Start(FoundSide side) => new(0, 1.2 * side.Refined.Width, 0);

    // One scale for the whole image: each side's misfit counts by its own step.
    private static double BestScale(FoundSide[] sides, PenumbraFit?[] fits)
    {
        double span = fits.Max(fit => fit?.Span ?? 0);
        var total = new double[Scales];
        Parallel.For(0, sides.Length, k =>
        {
            if (fits[k] is not { } fit)
            {
                return;
            }

            PenumbraPlace place = Start(sides[k]);
            double length = sides[k].Refined.Line.ToT - sides[k].Refined.Line.FromT;
            // From nearly linear pixels, where the side lies halfway, to strongly logarithmic ones: each search begins where the one before ended.
            for (int s = Scales - 1; s >= 0; s--)
            {
                place = fit.At(Scale(s, span), place);
                lock (total)
                {
                    total[s] += length * place.Misfit;
                }
            }
        });
        int best = 0;
        for (int s = 1; s < Scales; s++)
        {
            best = total[s] < total[best] ? s : best;
        }

        if (best == 0 || best == Scales - 1)
        {
            return Scale(best, span);
        }

        double bend = total[best - 1] - (2 * total[best]) + total[best + 1];
        return Scale(best + (bend > 0 ? 0.5 * (total[best - 1] - total[best + 1]) / bend : 0), span);
    }

    private static double Scale(double index, double span) => span / MostRatio * Math.Pow(MostRatio / LeastRatio, index / (Scales - 1));

    private static FoundSide Placed(ReadOnlyRaster<ushort> pixels, FoundSide side, int sign, double scale, bool isKnown)
    {
        RefinedSide refined = SideRefiner.Refine(pixels, side.Refined.Line, Math.Max(1, (int)(side.Refined.Width / 3)), 0, sign * scale) is { } again && again.SeenShare >= 0.6 * side.Refined.SeenShare
            ? again with { ConstantShare = side.Refined.ConstantShare, BeyondValue = side.Refined.BeyondValue, Width = side.Refined.Width }
            : side.Refined;
        if (Math.Abs(Across(refined.Line, side.Refined.Line)) > side.Refined.Width + 2)
        {
            refined = side.Refined;
        }

        if (PenumbraFit.Read(pixels, refined.Line, Reach(side), sign) is not { } fit)
        {
            return side;
        }

        PenumbraPlace place = fit.At(scale, Start(side));
        if (Math.Abs(place.Place) > Math.Max(2, 1.2 * side.Refined.Width))
        {
            return side;
        }

        double model = ModelShare * place.Width, spread = 0;
        if (!isKnown)
        {
            spread = Math.Abs(fit.At(scale * (1 + ScaleShare), place).Place - fit.At(scale / (1 + ScaleShare), place).Place) / 2;
        }

        double position = Math.Sqrt((refined.PositionUncertainty * refined.PositionUncertainty) + (model * model) + (spread * spread));
        double length = Math.Max(1, refined.Line.ToT - refined.Line.FromT);
        double tilt = Math.Sqrt(Math.Pow(refined.TiltDegreesUncertainty, 2) + Math.Pow(model / length * 180 / Math.PI, 2));
        return side with
        {
            Refined = refined with { Line = refined.Line.Moved(place.Place, 0), PositionUncertainty = position, TiltDegreesUncertainty = tilt, SharedUncertainty = spread },
        };
    }

    // Distance of one line's middle from another line.
    private static double Across(SideLine line, SideLine other)
    {
        double t = (line.FromT + line.ToT) / 2;
        double x = (line.NormalX * line.Rho) - (line.NormalY * t), y = (line.NormalY * line.Rho) + (line.NormalX * t);
        return (other.NormalX * x) + (other.NormalY * y) - other.Rho;
    }
}
