using Hotlight.Catalogue;

namespace Hotlight.Judgement;

/// <summary>Whether the patient can take the usual position.</summary>
public enum PatientAbility
{
    /// <summary>The patient can.</summary>
    Can,

    /// <summary>The patient cannot move the part or stand.</summary>
    CannotMove,

    /// <summary>An injury that must not be moved.</summary>
    Trauma,

    /// <summary>A child.</summary>
    Child,

    /// <summary>Plaster, splint or dressing.</summary>
    Cast,

    /// <summary>A large body.</summary>
    LargeBody,
}

/// <summary>What is known of the examination beside the image. All of it is optional: what is not given changes nothing.</summary>
public sealed record ExaminationContext
{
    /// <summary>Nothing known.</summary>
    public static ExaminationContext None { get; } = new();

    /// <summary>What the examination is asked for, an identifier of the projection's purposes; null: the full demand holds.</summary>
    public string? PurposeId { get; init; }

    /// <summary>Whether the patient can take the usual position; null where it is not known.</summary>
    public PatientAbility? Ability { get; init; }

    /// <summary>How many repeats of this view the examination has had already, 0 or more; null where it is not known.</summary>
    public int? RepeatsAlready { get; init; }

    /// <summary>Lines whose content an earlier image or another view of the same examination already shows.</summary>
    public IReadOnlyList<string> ShownElsewhere { get; init; } = [];

    /// <summary>The situation the ability is, as the catalogue's adaptations name it; null where the patient can, or it is not known.</summary>
    internal Situation? Situation => Ability switch
    {
        PatientAbility.CannotMove => Catalogue.Situation.CannotMove,
        PatientAbility.Trauma => Catalogue.Situation.Trauma,
        PatientAbility.Child => Catalogue.Situation.Child,
        PatientAbility.Cast => Catalogue.Situation.Cast,
        PatientAbility.LargeBody => Catalogue.Situation.LargeBody,
        _ => null,
    };

    /// <summary>Whether the usual correction of a position asks for a movement that this patient cannot make or must not make.</summary>
    internal bool RulesOutMoving => Ability is PatientAbility.CannotMove or PatientAbility.Trauma or PatientAbility.Cast;

    /// <summary>The sentence that says why this context cannot be used with a projection; null where it can.</summary>
    /// <param name="projection">The projection that is judged.</param>
    public string? Fault(Projection projection)
    {
        ArgumentNullException.ThrowIfNull(projection);
        if (PurposeId is not null && projection.Purposes.All(purpose => purpose.Id != PurposeId))
        {
            return $"'{PurposeId}' is not a purpose of {projection.Id}; there are {string.Join(", ", projection.Purposes.Select(purpose => $"{purpose.Id} ({purpose.Name})"))}.";
        }

        if (RepeatsAlready is < 0 or > 100)
        {
            return $"{RepeatsAlready} repeats are not a number of repeats; give 0 to 100.";
        }

        IReadOnlyList<ChecklistLine> lines = CritiqueBuilder.BlankChecklist(projection);
        if (ShownElsewhere.FirstOrDefault(id => lines.All(line => line.Id != id)) is { } unknown)
        {
            string near = Nearest.To(unknown, lines.Select(line => line.Id)) is { } best ? $"; the nearest is '{best}'." : ".";
            return $"'{unknown}' is not a line of the checklist for {projection.Id}{near}";
        }

        return null;
    }
}
