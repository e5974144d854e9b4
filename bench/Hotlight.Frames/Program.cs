// Frame times of the bench's viewer and times to the first picture, in a browser without a graphics unit.
// usage: Hotlight.Frames [FILE] [--frames N] [--chromium PATH]. Without FILE a 3000 x 3000 x 16 exposure is drawn.
using System.Globalization;
using System.Runtime.InteropServices;
using Hotlight.Frames;

CultureInfo.CurrentCulture = CultureInfo.InvariantCulture;
string? file = null;
string chromium = "/usr/bin/chromium";
int frames = 120;
for (int place = 0; place < args.Length; place++)
{
    switch (args[place])
    {
        case "--frames" when place + 1 < args.Length && int.TryParse(args[place + 1], out int wanted) && wanted is >= 20 and <= 2000:
            frames = wanted;
            place++;
            break;
        case "--chromium" when place + 1 < args.Length:
            chromium = args[++place];
            break;
        case { } name when file is null && File.Exists(name):
            file = name;
            break;
        default:
            Console.Error.WriteLine("usage: Hotlight.Frames [FILE] [--frames 20..2000] [--chromium PATH]");
            return 2;
    }
}

if (!File.Exists(chromium))
{
    Console.Error.WriteLine($"No browser at {chromium}; give one with --chromium.");
    return 2;
}

Console.WriteLine($"{RuntimeInformation.OSDescription}, {Environment.ProcessorCount} cores, .NET {Environment.Version}; load of others not excluded");
await using var bench = await MeasuredBench.StartAsync(file, chromium);
Console.WriteLine($"{bench.Columns} × {bench.Rows} pixels; browser {bench.BrowserVersion}, without a graphics unit");
foreach ((int width, int height) in new[] { (1280, 720), (1920, 1080) })
{
    await bench.PrintAsync(width, height, frames);
}

return 0;
