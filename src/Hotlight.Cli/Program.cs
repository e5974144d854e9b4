using Hotlight.Cli;

return HotlightCommandLine.Run(args, Console.Out, Console.Error);
