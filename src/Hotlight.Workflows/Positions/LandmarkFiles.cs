using Hotlight.Catalogue;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Poses;
using Hotlight.Positioning;

namespace Hotlight.Workflows.Positions;

/// <summary>Files of marked landmarks.</summary>
public static class LandmarkFiles
{
    /// <summary>Reads a file of landmarks. It may hold the points of the projection's pose as well; they are kept where they are asked for.</summary>
    /// <param name="path">Its path.</param>
    /// <param name="projection">The projection that is judged.</param>
    /// <param name="spacing">Pixel spacing of the image; null where it is not known.</param>
    /// <param name="withPosePoints">Whether points that only the pose needs are kept.</param>
    /// <exception cref="UnreadableLandmarksException">It is missing, cannot be read, or is not a file of landmarks of that projection.</exception>
    public static MarkedLandmarks Read(string path, Projection projection, PixelSpacing? spacing, bool withPosePoints = false)
    {
        ArgumentException.ThrowIfNullOrEmpty(path);
        string name = Path.GetFileName(path);
        string json;
        try
        {
            json = PlainFile.Is(path)
                ? File.ReadAllText(path)
                : throw new UnreadableLandmarksException(name, "it is a pipe, a terminal or a socket; give the path of a file of landmarks.");
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            string reason = error is FileNotFoundException or DirectoryNotFoundException ? "there is no such file; give the path of a file of landmarks." : "it cannot be read; check that it is a file you may read.";
            throw new UnreadableLandmarksException(name, reason, error);
        }

        MarkedLandmarks all = LandmarksJson.Read(json, name, PoseModels.WithPosePoints(projection), spacing);
        return withPosePoints
            ? all
            : all with { Points = all.Points.Where(point => projection.Landmarks.Any(landmark => landmark.Id == point.Key)).ToDictionary(StringComparer.Ordinal) };
    }
}
