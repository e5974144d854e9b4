using System.Reflection;
using Spectre.Console.Cli;

namespace Hotlight.Cli.Commands;

/// <summary>Refuses a call in which an option that takes a value got none, and sets the language of a call.</summary>
internal sealed class CallCheck : ICommandInterceptor
{
    // The parser completes a call that ends in such an option with the name of its default command, and takes that as the value.
    private const string Filler = "__default_command";

    public void Intercept(CommandContext context, CommandSettings settings)
    {
        foreach (PropertyInfo property in settings.GetType().GetProperties())
        {
            if (property.PropertyType == typeof(string)
                && property.GetCustomAttribute<CommandOptionAttribute>() is { } option
                && (string?)property.GetValue(settings) == Filler)
            {
                throw new RefusedException($"--{option.LongNames[0]} needs a value after it.");
            }
        }

        if (settings is ILanguageSettings spoken)
        {
            Languages.Speak(spoken.Language);
        }
    }
}
