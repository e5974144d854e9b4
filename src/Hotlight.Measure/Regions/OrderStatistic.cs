using System.Numerics;

namespace Hotlight.Measure.Regions;

/// <summary>The value that stands at a place of the sorted order, without sorting the rest.</summary>
/// <remarks>Hoare, Find, Communications of the ACM 1961;4:321; pivots are the median of three. A sequence that is made against it is sorted after all.</remarks>
internal static class OrderStatistic
{
    private const int Few = 24;

    /// <summary>The value at a place of the ascending order; the values are put in another order.</summary>
    /// <param name="values">The values, none of them NaN.</param>
    /// <param name="place">The place, 0 for the least.</param>
    /// <exception cref="ArgumentOutOfRangeException">There is no such place.</exception>
    internal static T At<T>(Span<T> values, int place)
        where T : struct, IComparable<T>, IComparisonOperators<T, T, bool>
    {
        ArgumentOutOfRangeException.ThrowIfNegative(place);
        ArgumentOutOfRangeException.ThrowIfGreaterThanOrEqual(place, values.Length);
        int rounds = 2 * (BitOperations.Log2((uint)values.Length) + 1);
        while (values.Length > Few)
        {
            if (rounds-- == 0)
            {
                values.Sort();
                return values[place];
            }

            T pivot = MedianOfThree(values[0], values[values.Length / 2], values[^1]);
            int low = 0, high = values.Length - 1;
            while (low <= high)
            {
                while (values[low] < pivot)
                {
                    low++;
                }

                while (values[high] > pivot)
                {
                    high--;
                }

                if (low <= high)
                {
                    (values[low], values[high]) = (values[high], values[low]);
                    low++;
                    high--;
                }
            }

            // Up to high nothing is above the pivot, from low on nothing below; what lies between is the pivot.
            if (place <= high)
            {
                values = values[..(high + 1)];
            }
            else if (place >= low)
            {
                values = values[low..];
                place -= low;
            }
            else
            {
                return pivot;
            }
        }

        for (int i = 1; i < values.Length; i++)
        {
            T value = values[i];
            int k = i - 1;
            for (; k >= 0 && values[k] > value; k--)
            {
                values[k + 1] = values[k];
            }

            values[k + 1] = value;
        }

        return values[place];
    }

    private static T MedianOfThree<T>(T a, T b, T c)
        where T : struct, IComparisonOperators<T, T, bool>
    {
        if (a > b)
        {
            (a, b) = (b, a);
        }

        return c <= a ? a : c >= b ? b : c;
    }
}
