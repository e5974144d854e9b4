namespace Hotlight.Cli.Commands;

/// <summary>Settings of a command that says texts in a language.</summary>
internal interface ILanguageSettings
{
    /// <summary>Code of the language, such as "de"; null: English.</summary>
    string? Language { get; }
}
