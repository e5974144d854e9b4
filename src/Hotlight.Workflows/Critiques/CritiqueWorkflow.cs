using Hotlight.Catalogue;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Judgement;
using Hotlight.Measure;
using Hotlight.Positioning;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.Measuring;
using Hotlight.Workflows.Positions;

namespace Hotlight.Workflows.Critiques;

/// <summary>What a critique is made with beside the radiograph and its projection; all of it optional.</summary>
public sealed record CritiqueInputs
{
    /// <summary>Path of the reader's answers.</summary>
    public string? AnswersPath { get; init; }

    /// <summary>Path of marked landmarks; null: those among the answers, if there are any.</summary>
    public string? LandmarksPath { get; init; }

    /// <summary>Path of a clinic's own thresholds; null: those built in.</summary>
    public string? ThresholdsPath { get; init; }

    /// <summary>The clinic's settings, for what the options and the thresholds leave open; null: none.</summary>
    public ClinicSettings? Clinic { get; init; }

    /// <summary>What is known of the examination.</summary>
    public ExaminationContext? Context { get; init; }
}

/// <summary>Reads, measures and judges a file.</summary>
public static class CritiqueWorkflow
{
    /// <summary>Makes the critique of a file.</summary>
    /// <param name="path">Path of the radiograph; never changed.</param>
    /// <param name="projection">The projection it should be.</param>
    /// <param name="answersPath">Path of the reader's answers; null: none given yet.</param>
    /// <param name="options">What the caller knows that the file does not say.</param>
    /// <param name="cancellation">Stops the reading.</param>
    /// <exception cref="UnreadableImageException">The file is not a radiograph Hotlight can judge.</exception>
    /// <exception cref="UnreadableAnswersException">The answers cannot be used.</exception>
    public static Critique Run(string path, Projection projection, string? answersPath, MeasureOptions options, CancellationToken cancellation = default)
        => Run(path, projection, new CritiqueInputs { AnswersPath = answersPath }, options, cancellation);

    /// <summary>Makes the critique of a file with what is known beside it.</summary>
    /// <param name="path">Path of the radiograph; never changed.</param>
    /// <param name="projection">The projection it should be.</param>
    /// <param name="inputs">Answers, landmarks, thresholds and context, each optional.</param>
    /// <param name="options">What the caller knows that the file does not say.</param>
    /// <param name="cancellation">Stops the reading.</param>
    /// <exception cref="UnreadableImageException">The file is not a radiograph Hotlight can judge.</exception>
    /// <exception cref="UnreadableAnswersException">The answers cannot be used.</exception>
    /// <exception cref="UnreadableLandmarksException">The landmarks cannot be used.</exception>
    /// <exception cref="UnreadableThresholdsException">The thresholds cannot be used.</exception>
    /// <exception cref="ArgumentException">The context names a purpose or a line that the projection does not have.</exception>
    public static Critique Run(string path, Projection projection, CritiqueInputs inputs, MeasureOptions options, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(projection);
        ArgumentNullException.ThrowIfNull(inputs);
        Answers answers = inputs.AnswersPath is null ? Answers.None(projection.Id) : ReadAnswers(inputs.AnswersPath, projection);
        JudgementRules? rules = inputs.ThresholdsPath is null ? inputs.Clinic?.Rules : ReadThresholds(inputs.ThresholdsPath);
        MeasuredRadiograph measured = MeasureWorkflow.Run(path, options, cancellation, inputs.Clinic, projection.Id);
        MarkedLandmarks? marked = inputs.LandmarksPath is not null ? LandmarkFiles.Read(inputs.LandmarksPath, projection, measured.Radiograph.ReceptorSpacing)
            : answers.Landmarks.Count > 0 ? new MarkedLandmarks(projection.Id, answers.Landmarks)
            : null;
        IReadOnlyList<RelationFinding>? positions = marked is null
            ? null
            : RelationMeasurer.Measure(projection, marked, PositionWorkflow.GeometryOf(measured.Radiograph.Exposure, measured.Document, inputs.Context ?? answers.Examination));
        return CritiqueBuilder.Build(measured.Radiograph.Exposure, measured.Document, projection, answers, rules, inputs.Context, positions);
    }

    private static JudgementRules ReadThresholds(string path)
    {
        string name = Path.GetFileName(path);
        try
        {
            return PlainFile.Is(path)
                ? JudgementRulesJson.Read(File.ReadAllText(path), name)
                : throw new UnreadableThresholdsException([new CatalogueError(name, "$", "it is a pipe, a terminal or a socket; give the path of a file of thresholds.")]);
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            throw new UnreadableThresholdsException([new CatalogueError(name, "$", error is FileNotFoundException or DirectoryNotFoundException ? "there is no such file." : "it cannot be read; check that it is a file you may read.")], error);
        }
    }

    private static Answers ReadAnswers(string path, Projection projection)
    {
        string json;
        try
        {
            if (!PlainFile.Is(path))
            {
                throw new UnreadableAnswersException(Path.GetFileName(path), "it is a pipe, a terminal or a socket; give the path of an answers file.");
            }

            json = File.ReadAllText(path);
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            string reason = error is FileNotFoundException or DirectoryNotFoundException
                ? "there is no such file; give the path of an answers file, or leave --answers out."
                : "it cannot be read; check that it is a file you may read.";
            throw new UnreadableAnswersException(Path.GetFileName(path), reason, error);
        }

        return AnswersJson.Read(json, Path.GetFileName(path), projection);
    }
}
