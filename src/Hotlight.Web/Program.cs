using Hotlight.Web;

try
{
    BenchOptions options = BenchOptions.Parse(args);
    if (options.WantsHelp)
    {
        Console.WriteLine(BenchOptions.Help);
        return 0;
    }

    if (options.IsCheckOnly)
    {
        Console.WriteLine($"The settings are in order: port {options.Port}, data in {options.DataFolder}{(options.Store is null ? string.Empty : $" and {options.Store.Shown}")}.");
        return 0;
    }

    BenchOptions.RefuseOtherAddresses(Environment.GetEnvironmentVariable);
    await using WebApplication bench = await Bench.StartAsync(options, Console.Out);
    Console.WriteLine($"Hotlight is ready on {Bench.AddressOf(bench)} (Ctrl+C stops it; cases are kept in {options.DataFolder}{(options.Store is null ? string.Empty : $" and {options.Store.Shown}")}).");
    await bench.WaitForShutdownAsync();
    return 0;
}
catch (BenchRefusedException refused)
{
    Console.Error.WriteLine($"Hotlight: {refused.Message}");
    return 2;
}
