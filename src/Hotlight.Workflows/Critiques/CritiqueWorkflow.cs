using Hotlight.Catalogue;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Judgement;
using Hotlight.Measure;
using Hotlight.Workflows.Measuring;

namespace Hotlight.Workflows.Critiques;

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
    {
        ArgumentNullException.ThrowIfNull(projection);
        Answers answers = answersPath is null ? Answers.None(projection.Id) : ReadAnswers(answersPath, projection);
        MeasuredRadiograph measured = MeasureWorkflow.Run(path, options, cancellation);
        return CritiqueBuilder.Build(measured.Radiograph.Exposure, measured.Document, projection, answers);
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
