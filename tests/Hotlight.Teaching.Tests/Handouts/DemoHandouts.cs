using System.Collections.Concurrent;
using System.Globalization;
using Hotlight.Catalogue;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Judgement;
using Hotlight.Measure;
using Hotlight.Measure.Document;
using Hotlight.Simulation;
using Hotlight.Teaching.Handouts;

namespace Hotlight.Teaching.Tests.Handouts;

/// <summary>Four demo cases, measured, and answered as a careful reader would.</summary>
internal static class DemoHandouts
{
    private static readonly ConcurrentDictionary<string, (Radiograph Radiograph, MeasurementDocument Document)> Measured = new();

    private static readonly Dictionary<string, (string Line, string Miss, string? Remark)[]> Faults = new(StringComparer.Ordinal)
    {
        ["wrist-pa-moved"] = [("sharpness.edges", "moved", null)],
        ["elbow-lateral-low"] = [("position.shoulder-level", "head-anterior", "The epicondyles lie one before the other; look there first.")],
        ["knee-ap-underexposed"] = [],
        ["chest-pa-clipped"] = [("anatomy.costophrenic-right", "cut", null), ("position.no-rotation", string.Empty, null)],
    };

    /// <summary>More cases, answered as met throughout: other measures and artifacts than the four have.</summary>
    public static IReadOnlyList<string> More { get; } = ["wrist-pa-ring", "wrist-pa-masked", "lumbar-spine-ap-cut-off", "ankle-mortise-overexposed"];

    /// <summary>The cases.</summary>
    public static IEnumerable<string> Ids => Faults.Keys;

    /// <summary>A case's radiograph, measured once.</summary>
    public static (Radiograph Radiograph, MeasurementDocument Document) Of(string id) => Measured.GetOrAdd(id, key =>
    {
        DemoCase demo = DemoCases.All.Single(each => each.Id == key);
        Radiograph radiograph = RadiographReader.Read(demo.Expose().Dicom, demo.FileName);
        double margin = ProjectionCatalogue.BuiltIn.Get(demo.ProjectionId).Collimation.SkinMarginMm.Value;
        return (radiograph, RadiographMeasure.Measure(radiograph, new MeasureOptions { SkinMarginMm = margin }));
    });

    /// <summary>A case's critique in the language in use.</summary>
    public static Critique Judge(string id)
    {
        (Radiograph radiograph, MeasurementDocument document) = Of(id);
        return Judge(id, radiograph.Exposure, document);
    }

    /// <summary>The same case with another header or other measurements.</summary>
    public static Critique Judge(string id, ExposureRecord exposure, MeasurementDocument document)
    {
        Projection projection = ProjectionCatalogue.BuiltIn.In(CultureInfo.CurrentUICulture).Get(DemoCases.All.Single(each => each.Id == id).ProjectionId);
        Answers answers = Answers.None(projection.Id);
        foreach (ChecklistLine line in CritiqueBuilder.Build(exposure, document, projection, answers).Lines.Where(line => line is { DecidedBy: DecidedBy.Nobody, State: ChecklistState.CannotTell } && line.Section != ChecklistSection.ShieldingAndRecords))
        {
            (string Line, string Miss, string? Remark) fault = Faults.GetValueOrDefault(id, []).FirstOrDefault(each => each.Line == line.Id);
            answers = answers.With(line.Id, fault.Line is null
                ? id == "wrist-pa-moved" && line.Id == "brightness.tissues" ? new Answer(ChecklistState.CannotTell, Remark: "The monitor was not fit for it") : new Answer(ChecklistState.Met)
                : new Answer(ChecklistState.NotMet, fault.Miss.Length == 0 ? line.Misses[0].Id : fault.Miss, fault.Remark));
        }

        return CritiqueBuilder.Build(exposure, document, projection, answers);
    }

    /// <summary>A case's handout in a language.</summary>
    public static (Handout Handout, Critique Critique) Write(string id, string language) => InLanguage(language, () =>
    {
        Critique critique = Judge(id);
        (Radiograph radiograph, _) = Of(id);
        return (HandoutWriter.Write(new HandoutFacts { Critique = critique, Version = "1.0", IsInvented = true, Columns = radiograph.Columns, Rows = radiograph.Rows }), critique);
    });

    /// <summary>Something made in a language.</summary>
    public static T InLanguage<T>(string language, Func<T> make)
    {
        CultureInfo before = CultureInfo.CurrentUICulture;
        try
        {
            CultureInfo.CurrentUICulture = CultureInfo.GetCultureInfo(language);
            return make();
        }
        finally
        {
            CultureInfo.CurrentUICulture = before;
        }
    }
}
