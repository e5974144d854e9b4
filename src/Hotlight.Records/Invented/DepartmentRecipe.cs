using System.Reflection;
using System.Text.Json;
using System.Text.Json.Serialization;

namespace Hotlight.Records.Invented;

/// <summary>What an invented department is made by: <c>data/demo/department</c>. Every figure in it was chosen for teaching and is no reference.</summary>
public sealed record DepartmentRecipe
{
    private static readonly JsonSerializerOptions Json = new(JsonSerializerDefaults.Web)
    {
        PropertyNameCaseInsensitive = false,
        UnmappedMemberHandling = JsonUnmappedMemberHandling.Disallow,
        RespectRequiredConstructorParameters = true,
        Converters = { new JsonStringEnumConverter(JsonNamingPolicy.KebabCaseLower, allowIntegerValues: false) },
    };

    /// <summary>The department of the demo.</summary>
    public static DepartmentRecipe SaltmarshLane { get; } = Load("department/saltmarsh-lane.json");

    /// <summary>That it is invented, for the reader.</summary>
    public required string About { get; init; }

    /// <summary>Name and version of this form.</summary>
    public required string Schema { get; init; }

    /// <summary>The site its entries belong to.</summary>
    public required string Site { get; init; }

    /// <summary>Makes the same department every time.</summary>
    public required int Seed { get; init; }

    /// <summary>First day, a Monday.</summary>
    public required DateOnly FirstDay { get; init; }

    /// <summary>Last day.</summary>
    public required DateOnly LastDay { get; init; }

    /// <summary>Mean of the examinations' views on a workday.</summary>
    public required double ExaminationsOnAWorkday { get; init; }

    /// <summary>Mean of the examinations' views on a Saturday or Sunday.</summary>
    public required double ExaminationsOnAWeekend { get; init; }

    /// <summary>Shares of the shifts.</summary>
    public required IReadOnlyDictionary<string, double> ShiftShares { get; init; }

    /// <summary>Share of children.</summary>
    public required double ChildShare { get; init; }

    /// <summary>Test exposures a week and room.</summary>
    public required int TestsAWeek { get; init; }

    /// <summary>The rooms.</summary>
    public required IReadOnlyList<RecipeRoom> Rooms { get; init; }

    /// <summary>Who exposes.</summary>
    public required IReadOnlyList<RecipePerson> People { get; init; }

    /// <summary>What is exposed.</summary>
    public required IReadOnlyList<RecipeProjection> Projections { get; init; }

    /// <summary>Why exposures are rejected.</summary>
    public required IReadOnlyList<RecipeReason> Reasons { get; init; }

    /// <summary>Share of rejects whose reason nobody said.</summary>
    public required double UnsaidReasonShare { get; init; }

    /// <summary>Share of exposures without an exposure index.</summary>
    public required double MissingIndexShare { get; init; }

    /// <summary>Standard deviation of the deviation index.</summary>
    public required double IndexSpread { get; init; }

    /// <summary>Share of rejects that are exposed again.</summary>
    public required double RepeatedShareOfRejects { get; init; }

    /// <summary>The effects that are there to be found.</summary>
    public required PlantedEffects Planted { get; init; }

    private static DepartmentRecipe Load(string name)
    {
        using Stream stream = Assembly.GetExecutingAssembly().GetManifestResourceStream(name)!;
        return JsonSerializer.Deserialize<DepartmentRecipe>(stream, Json)!;
    }
}

/// <summary>A room of an invented department.</summary>
/// <param name="Name">Its name.</param>
/// <param name="Share">Share of the exposures.</param>
/// <param name="Receptors">Its receptors.</param>
/// <param name="TargetFactor">Factor on the target exposure indices.</param>
/// <param name="IndexShift">Mean of the deviation index.</param>
public sealed record RecipeRoom(string Name, double Share, IReadOnlyList<string> Receptors, double TargetFactor, double IndexShift);

/// <summary>Somebody of an invented department.</summary>
/// <param name="Pseudonym">Pseudonym.</param>
/// <param name="Share">Weight among the others.</param>
/// <param name="RejectFactor">Factor on the reject rate.</param>
public sealed record RecipePerson(string Pseudonym, double Share, double RejectFactor);

/// <summary>A projection of an invented department.</summary>
/// <param name="Id">Identifier of the catalogue.</param>
/// <param name="Share">Share of the exposures.</param>
/// <param name="RejectRate">Share of first exposures that are rejected.</param>
/// <param name="Kvp">Tube voltage, in kV peak.</param>
/// <param name="Mas">Tube current times time, in mAs.</param>
/// <param name="KapDgyCm2">Kerma-area product, in dGy·cm².</param>
/// <param name="Target">Target exposure index.</param>
public sealed record RecipeProjection(string Id, double Share, double RejectRate, double Kvp, double Mas, double KapDgyCm2, double Target);

/// <summary>A reason of rejects.</summary>
/// <param name="Reason">The reason.</param>
/// <param name="Share">Share of the rejects.</param>
public sealed record RecipeReason(RejectReason Reason, double Share);

/// <summary>The effects planted in an invented department.</summary>
/// <param name="Training">A training after which positioning rejects fall.</param>
/// <param name="Drift">A room whose deviation index rises.</param>
/// <param name="WeekPattern">Weeks with more rejects.</param>
/// <param name="Person">Somebody with more rejects than the mix explains.</param>
public sealed record PlantedEffects(PlantedTraining Training, PlantedDrift Drift, PlantedWeeks WeekPattern, PlantedPerson Person);

/// <summary>A training.</summary>
/// <param name="From">First day after it.</param>
/// <param name="FactorOnPositioning">Factor on positioning rejects from that day.</param>
/// <param name="About">For the reader.</param>
public sealed record PlantedTraining(DateOnly From, double FactorOnPositioning, string About);

/// <summary>A drift of the exposure.</summary>
/// <param name="Room">The room.</param>
/// <param name="From">First day.</param>
/// <param name="UnitsAYear">Rise of the deviation index a year.</param>
/// <param name="About">For the reader.</param>
public sealed record PlantedDrift(string Room, DateOnly From, double UnitsAYear, string About);

/// <summary>Weeks with more rejects.</summary>
/// <param name="EveryWeeks">After how many weeks they come again.</param>
/// <param name="Weeks">How many in a row.</param>
/// <param name="Factor">Factor on all rejects.</param>
/// <param name="About">For the reader.</param>
public sealed record PlantedWeeks(int EveryWeeks, int Weeks, double Factor, string About);

/// <summary>Somebody with more rejects.</summary>
/// <param name="Pseudonym">The pseudonym.</param>
/// <param name="About">For the reader.</param>
public sealed record PlantedPerson(string Pseudonym, string About);
