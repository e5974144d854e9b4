using System.Globalization;
using Hotlight.Accuracy;
using Hotlight.Accuracy.Scoring;
using Hotlight.Accuracy.Tables;

CultureInfo.CurrentCulture = CultureInfo.InvariantCulture;
if (args.Contains("--help") || args.Contains("-h"))
{
    Console.WriteLine(Settings.Help);
    return 0;
}

Settings settings;
try
{
    settings = Settings.Parse(args);
}
catch (ArgumentException problem)
{
    Console.Error.WriteLine(problem.Message);
    return 2;
}

string folder = settings.Keep ?? Directory.CreateTempSubdirectory("hotlight-accuracy-").FullName;
try
{
    List<(string Name, List<string> Paths)> sets = [];
    if (settings.Words > 0)
    {
        sets.Add(("the lab, words", ExposureStore.LabWords(folder, settings.Words, settings.Seed)));
        sets.Add(("elsewhere, words", ExposureStore.Elsewhere(folder, settings.Words, settings.Seed, words: true)));
    }
    else if (settings.Doubles > 0)
    {
        sets.Add(("the lab, exposed twice", ExposureStore.LabDoubles(folder, settings.Doubles, settings.Seed)));
        sets.Add(("elsewhere, exposed twice", ExposureStore.ElsewhereDoubles(folder, settings.Doubles, settings.Seed)));
    }
    else if (settings.PerKind > 0)
    {
        sets.Add(("the lab", ExposureStore.Lab(folder, settings.PerKind, settings.Seed)));
    }

    if (settings.Words == 0 && settings.Doubles == 0 && settings.Elsewhere > 0)
    {
        sets.Add(("elsewhere", ExposureStore.Elsewhere(folder, settings.Elsewhere, settings.Seed)));
    }

    if (settings.MakeOnly)
    {
        return 0;
    }

    List<(string Name, Outcome[] Outcomes)> series = [];
    foreach ((string name, List<string> paths) in sets)
    {
        foreach (bool forProcessing in new[] { false, true })
        {
            List<Outcome> outcomes = [];
            foreach (string path in paths)
            {
                Console.Error.Write($"\rmeasuring {outcomes.Count + 1} of {paths.Count}  {Path.GetFileName(path),-44}");
                outcomes.Add(Outcome.Of(path, forProcessing, settings.Words > 0));
            }

            series.Add(($"{name}, for {(forProcessing ? "processing" : "presentation")}", [.. outcomes]));
        }
    }

    Console.Error.WriteLine();
    if (series.Count > 0)
    {
        Console.WriteLine("## Summary");
        Console.WriteLine();
        Summary.Print(Console.Out, series);
        foreach ((string name, Outcome[] outcomes) in series)
        {
            foreach (IGrouping<string, Outcome> failed in outcomes.Where(one => one.Failure is not null).GroupBy(one => one.Failure!))
            {
                Console.WriteLine($"- {name}: {failed.Count()} could not be measured ({failed.Key}), such as {failed.First().Name}.");
            }
        }

        Console.WriteLine("## By section");
        Console.WriteLine();
        SeriesTables.OtherFigures(Console.Out, series);
        SeriesTables.Motion(Console.Out, series);
        SeriesTables.Markers(Console.Out, series);
        SeriesTables.Artifacts(Console.Out, series);
        SeriesTables.Processing(Console.Out, series);
        Console.WriteLine("## Stated uncertainties: truth within 1 / 2 standard deviations");
        Console.WriteLine();
        SeriesTables.Coverage(Console.Out, series);
        foreach ((string name, Outcome[] outcomes) in series)
        {
            Console.WriteLine($"## By fault and projection: {name}");
            Console.WriteLine();
            SeriesTables.ByFault(Console.Out, outcomes);
        }

        if (settings.List)
        {
            Listing.Print(Console.Out, series);
        }
    }

    if (settings.Real is not null)
    {
        // Beside the program in the repository: four folders up from where it is built to.
        string truth = Path.Combine(AppContext.BaseDirectory, "..", "..", "..", "..", "truth", "radiographs.json");
        Console.WriteLine("## Real images");
        Console.WriteLine();
        RealImages.Print(Console.Out, settings.Real, settings.Halves, truth, settings.List);
    }

    return 0;
}
finally
{
    if (settings.Keep is null)
    {
        Directory.Delete(folder, recursive: true);
    }
}
