using System.Globalization;
using System.Numerics;

namespace Hotlight.Simulation.Shapes;

/// <summary>Capital letters of straight strokes, as bent from lead strip; drawn for the phantom lab, after no font.</summary>
internal static class Capitals
{
    // Lines of one letter apart by ";", points by blanks; x from 0 at the left to 1 at the right, y from 0 above to 1 below.
    private static readonly Dictionary<char, string> Lines = new()
    {
        ['A'] = "0,1 .5,0 1,1; .2,.64 .8,.64",
        ['B'] = "0,0 0,1 .7,1 1,.88 1,.62 .7,.5 0,.5; .7,.5 .95,.38 .95,.12 .7,0 0,0",
        ['C'] = "1,.16 .74,0 .26,0 0,.2 0,.8 .26,1 .74,1 1,.84",
        ['D'] = "0,0 0,1 .6,1 1,.74 1,.26 .6,0 0,0",
        ['E'] = "1,0 0,0 0,1 1,1; 0,.5 .8,.5",
        ['F'] = "1,0 0,0 0,1; 0,.5 .8,.5",
        ['G'] = "1,.16 .74,0 .26,0 0,.2 0,.8 .26,1 .74,1 1,.84 1,.55 .6,.55",
        ['H'] = "0,0 0,1; 1,0 1,1; 0,.5 1,.5",
        ['I'] = ".5,0 .5,1",
        ['J'] = "1,0 1,.8 .74,1 .26,1 0,.8",
        ['K'] = "0,0 0,1; 1,0 0,.56; .32,.4 1,1",
        ['L'] = "0,0 0,1 1,1",
        ['M'] = "0,1 0,0 .5,.6 1,0 1,1",
        ['N'] = "0,1 0,0 1,1 1,0",
        ['O'] = ".26,0 .74,0 1,.2 1,.8 .74,1 .26,1 0,.8 0,.2 .26,0",
        ['P'] = "0,1 0,0 .7,0 1,.13 1,.42 .7,.55 0,.55",
        ['Q'] = ".26,0 .74,0 1,.2 1,.8 .74,1 .26,1 0,.8 0,.2 .26,0; .6,.7 1,1.05",
        ['R'] = "0,1 0,0 .7,0 1,.13 1,.42 .7,.55 0,.55; .5,.55 1,1",
        ['S'] = "1,.15 .74,0 .26,0 0,.14 0,.36 .26,.48 .74,.52 1,.64 1,.86 .74,1 .26,1 0,.85",
        ['T'] = "0,0 1,0; .5,0 .5,1",
        ['U'] = "0,0 0,.8 .26,1 .74,1 1,.8 1,0",
        ['V'] = "0,0 .5,1 1,0",
        ['W'] = "0,0 .25,1 .5,.4 .75,1 1,0",
        ['X'] = "0,0 1,1; 1,0 0,1",
        ['Y'] = "0,0 .5,.5 1,0; .5,.5 .5,1",
        ['Z'] = "0,0 1,0 0,1 1,1",
    };

    /// <summary>The strokes' middles, x from 0 to 1 to the right, y from 0 to 1 down.</summary>
    /// <param name="letter">A to Z.</param>
    /// <exception cref="ArgumentException">There is no such letter.</exception>
    public static IReadOnlyList<(Vector2 From, Vector2 To)> Strokes(char letter)
    {
        if (!Lines.TryGetValue(letter, out string? lines))
        {
            throw new ArgumentException($"There is no letter '{letter}'; there are A to Z.", nameof(letter));
        }

        List<(Vector2 From, Vector2 To)> strokes = [];
        foreach (string line in lines.Split(';'))
        {
            Vector2[] points = [.. line.Split(' ', StringSplitOptions.RemoveEmptyEntries).Select(point =>
            {
                float[] numbers = [.. point.Split(',').Select(number => float.Parse(number, CultureInfo.InvariantCulture))];
                return new Vector2(numbers[0], numbers[1]);
            })];
            strokes.AddRange(points.Zip(points.Skip(1)));
        }

        return strokes;
    }
}
