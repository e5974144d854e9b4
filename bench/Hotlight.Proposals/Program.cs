using System.Globalization;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Poses;
using Hotlight.Poses.Proposal;
using Hotlight.Positioning;
using Hotlight.Proposals;

// How far proposed points lie from the true ones (phantom lab) or from marks made by eye (radiographs).
if (args is ["phantom", _, _, ..])
{
    Phantom(int.Parse(args[1], CultureInfo.InvariantCulture), int.Parse(args[2], CultureInfo.InvariantCulture), args.Length > 3 ? args[3..] : LandmarkProposer.Projections);
    return 0;
}

if (args is ["real", _, _])
{
    Real(args[1], args[2]);
    return 0;
}

Console.Error.WriteLine("usage: Hotlight.Proposals phantom COUNT SEED [PROJECTION ...] | real MARKS.tsv FOLDER");
return 1;

static void Phantom(int count, int seed, IEnumerable<string> projections)
{
    foreach (string projection in projections)
    {
        PoseModel model = PoseModels.For(projection)!;
        Dictionary<string, Tally> tallies = [];
        List<double> turns = [], tilts = [], leans = [], milliseconds = [], allTurns = [], allTilts = [], allLeans = [];
        int fitted = 0;
        for (int k = 0; k < count; k++)
        {
            RandomExposure exposure = RandomExposure.Make(model, (seed * 1000) + k);
            double spacing = exposure.Scene.Receptor.SpacingMm;
            TimeSpan start = Environment.CpuUsage.TotalTime;
            LandmarkProposal proposal = LandmarkProposer.Propose(exposure.Radiograph, projection).Value!;
            milliseconds.Add((Environment.CpuUsage.TotalTime - start).TotalMilliseconds);
            foreach (ProposedLandmark point in proposal.Points)
            {
                if (!tallies.TryGetValue(point.Id, out Tally? tally))
                {
                    tallies[point.Id] = tally = new Tally();
                }

                if (!exposure.Places.TryGetValue(point.Id, out PixelPoint place) || !exposure.Shows(place))
                {
                    tally.AddHidden(point.Place.Value);
                    continue;
                }

                PixelPoint at = point.Place.Value?.At ?? place;
                tally.Add(point.Place.Value, at.X - place.X, at.Y - place.Y, spacing);
            }

            // What a reader would get who accepts all of them.
            MarkedLandmarks marks = proposal.Accept(proposal.Points.Where(point => point.Place.IsMeasured).Select(point => point.Id));
            ExposureGeometry geometry = new()
            {
                Spacing = new PixelSpacing(spacing, spacing),
                Columns = exposure.Radiograph.Columns,
                Rows = exposure.Radiograph.Rows,
                SourceImageDistanceMm = exposure.Scene.Tube.SourceImageDistanceMm,
                IsChild = exposure.Scene.Part!.Size == "child",
            };
            if (PoseFitter.Fit(model, marks, geometry, exposure.Scene.Part.Side).Value is { } fit)
            {
                fitted++;
                Add(turns, fit.Turn, exposure.Scene.Part.TurnDegrees);
                Add(tilts, fit.Tilt, exposure.Scene.Part.TiltDegrees);
                Add(leans, fit.Lean, exposure.Scene.Part.LeanDegrees);
                allTurns.Add(Math.Abs(fit.State.TurnDegrees - exposure.Scene.Part.TurnDegrees));
                allTilts.Add(Math.Abs(fit.State.TiltDegrees - exposure.Scene.Part.TiltDegrees));
                allLeans.Add(Math.Abs(fit.State.LeanDegrees - exposure.Scene.Part.LeanDegrees));
            }
        }

        Table(projection, "mm at the receptor", tallies);
        Console.WriteLine(FormattableString.Invariant($"Pose from all proposed points, {fitted} of {count} fitted; error in degrees, median and 90th percentile (number). Said to be determined: turn {Both(turns)}, tilt {Both(tilts)}, lean {Both(leans)}. Best pose, determined or not: turn {Both(allTurns)}, tilt {Both(allTilts)}, lean {Both(allLeans)}. Proposal: median {Tally.At(milliseconds, 0.5):0} ms of processor time."));
        Console.WriteLine();
    }
}

static void Real(string marks, string folder)
{
    // The marks learnt from are known by the recipe: training/landmarks/prepare_real.py.
    var rows = File.ReadLines(marks).Skip(1).Select(row => row.Split('\t')).GroupBy(row => (File: row[0], Projection: row[1]));
    foreach (var examination in rows.GroupBy(row => (row.Key.Projection, IsLearnt: IsLearnt(row.Key.File, row.Key.Projection))).OrderBy(group => group.Key.Projection, StringComparer.Ordinal).ThenBy(group => group.Key.IsLearnt))
    {
        Dictionary<string, Tally> tallies = [];
        foreach (var image in examination)
        {
            Radiograph radiograph = RadiographReader.Read(Path.Combine(folder, image.Key.File));
            LandmarkProposal proposal = LandmarkProposer.Propose(radiograph, image.Key.Projection).Value!;
            foreach (string[] mark in image)
            {
                ProposedLandmark point = proposal.Points.First(each => each.Id == mark[2]);
                PixelPoint place = new(X: double.Parse(mark[3], CultureInfo.InvariantCulture), Y: double.Parse(mark[4], CultureInfo.InvariantCulture));
                if (!tallies.TryGetValue(mark[2], out Tally? tally))
                {
                    tallies[mark[2]] = tally = new Tally();
                }

                // Along a shaft the reader is free to choose: only the error across it counts.
                PixelPoint at = point.Place.Value?.At ?? place;
                double right = at.X - place.X, down = at.Y - place.Y;
                if (Shaft(mark[2], image) is { } axis)
                {
                    double along = (right * axis.X) + (down * axis.Y);
                    (right, down) = (right - (along * axis.X), down - (along * axis.Y));
                }

                tally.Add(point.Place.Value, right, down, 100.0 / radiograph.Columns);
            }
        }

        Table($"{examination.Key.Projection}, {examination.Count()} radiographs, {(examination.Key.IsLearnt ? "learnt from" : "kept apart")}", "% of the width", tallies);
    }
}

static PixelPoint? Shaft(string id, IEnumerable<string[]> marks)
{
    (string Near, string Far)? ends = id switch
    {
        "tibia-near" or "tibia-far" or "fibular-shaft" => ("tibia-near", "tibia-far"),
        "humerus-near" or "humerus-far" => ("humerus-near", "humerus-far"),
        "forearm-near" or "forearm-far" => ("forearm-near", "forearm-far"),
        _ => null,
    };
    double[]? near = Ends(ends?.Near), far = Ends(ends?.Far);
    if (near is null || far is null)
    {
        return null;
    }

    double length = Math.Sqrt(((far[0] - near[0]) * (far[0] - near[0])) + ((far[1] - near[1]) * (far[1] - near[1])));
    return new PixelPoint(X: (far[0] - near[0]) / length, Y: (far[1] - near[1]) / length);

    double[]? Ends(string? end) => marks.FirstOrDefault(mark => mark[2] == end) is { } found
        ? [double.Parse(found[3], CultureInfo.InvariantCulture), double.Parse(found[4], CultureInfo.InvariantCulture)]
        : null;
}

static bool IsLearnt(string file, string projection)
{
    string patient = file.Contains("nih", StringComparison.Ordinal) ? file[..file.LastIndexOf('_')] : file;
#pragma warning disable CA5350 // A name is put into one of two halves; nothing is kept secret.
    byte first = System.Security.Cryptography.SHA1.HashData(System.Text.Encoding.UTF8.GetBytes(patient))[0];
#pragma warning restore CA5350
    return projection == "chest-pa" && first < 0x80;
}

static void Add(List<double> errors, Figure<PoseAngle> angle, double truth)
{
    if (angle.Value is { } known)
    {
        errors.Add(Math.Abs(known.Degrees - truth));
    }
}

static string Both(List<double> errors) => FormattableString.Invariant($"{Tally.At(errors, 0.5):0.0} and {Tally.At(errors, 0.9):0.0} ({errors.Count})");

static void Table(string title, string unit, Dictionary<string, Tally> tallies)
{
    Console.WriteLine($"### {title}");
    Console.WriteLine();
    Console.WriteLine($"| point | found | median, {unit} | 90th percentile | coordinates within one stated deviation | proposed though hidden |");
    Console.WriteLine("| --- | --- | --- | --- | --- | --- |");
    Tally all = new();
    foreach ((string id, Tally tally) in tallies)
    {
        all.Add(tally);
        Console.WriteLine(tally.Row(id));
    }

    Console.WriteLine(all.Row("all"));
    Console.WriteLine();
}
