using Hotlight.Core;

namespace Hotlight.Records.Analysis;

/// <summary>Kerma-area product spent on rejects, as far as it is known.</summary>
/// <param name="Rejected">Rejected exposures.</param>
/// <param name="Known">Those with a known kerma-area product.</param>
/// <param name="SumDgyCm2">Sum over these, in dGy·cm².</param>
/// <param name="AllKnown">Exposures of patients with a known kerma-area product.</param>
/// <param name="ShareOfKnown">That sum over the sum of all exposures with a known one, 0 to 1; cannot-tell where none is known.</param>
public sealed record RejectDose(long Rejected, long Known, double SumDgyCm2, long AllKnown, Figure<DoseShare> ShareOfKnown)
{
    /// <summary>Rejects that lack it.</summary>
    public long Lacking => Rejected - Known;

    /// <summary>Reads it from counts.</summary>
    /// <param name="count">The counts of what is looked at.</param>
    public static RejectDose Of(LogCount count)
    {
        ArgumentNullException.ThrowIfNull(count);
        return new RejectDose(
            count.Rejected,
            count.RejectedWithKermaAreaProduct,
            count.RejectedKermaAreaProductDgyCm2,
            count.WithKermaAreaProduct,
            count.KermaAreaProductDgyCm2 > 0
                ? Figure<DoseShare>.Measured(new DoseShare(count.RejectedKermaAreaProductDgyCm2 / count.KermaAreaProductDgyCm2))
                : Figure<DoseShare>.CannotTell("No exposure here has a known kerma-area product."));
    }
}

/// <summary>Share of the known kerma-area product.</summary>
/// <param name="Fraction">0 to 1.</param>
public sealed record DoseShare(double Fraction);
