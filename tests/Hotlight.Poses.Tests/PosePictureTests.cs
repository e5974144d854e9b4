using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Simulation;
using Hotlight.Simulation.Scene;

namespace Hotlight.Poses.Tests;

/// <summary>The phantom's picture and contours on the grid of an image whose pose is known.</summary>
public sealed class PosePictureTests
{
    [Theory]
    [InlineData("knee-lateral")]
    [InlineData("elbow-lateral")]
    [Trait("evidence", "independent")]
    public void Draw_OfTheFittedPose_IsTheImageItWasFittedTo(string projection)
    {
        PoseModel model = PoseModels.For(projection)!;
        SceneDocument truth = Coarse(LabPoses.Scene(model, 6, -4, 5));
        LabExposure exposure = Lab.Expose(truth);
        PoseFit fit = Fitted(model, truth);
        PoseImage image = PoseImage.Of(SceneFile.Radiograph(exposure.Simulated, linear: false), 400);
        PosePicture picture = PosePicture.Draw(fit, image: image, field: exposure.Truth.FieldOutline);
        Assert.Equal(image.Brightness.Rows, picture.Grey.Rows);
        Assert.Equal(image.Brightness.Columns, picture.Grey.Columns);
        List<(double Own, double Real)> both = [];
        for (int row = 0; row < picture.Grey.Rows; row++)
        {
            for (int column = 0; column < picture.Grey.Columns; column++)
            {
                if (picture.Visible[row, column])
                {
                    both.Add((picture.Grey[row, column], 255 * image.Brightness[row, column]));
                }
                else
                {
                    Assert.Equal(0, picture.Grey[row, column]);
                }
            }
        }

        // The same anatomy at the same pose: only marker, noise and the fit's own small errors differ.
        Assert.InRange(Correlation(both), 0.97, 1);
        Assert.InRange(both.Average(pair => Math.Abs(pair.Own - pair.Real)), 0, 10);
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Draw_OfAnotherPoseWithTheFirstsTone_ChangesOnlyThePose()
    {
        PoseModel model = PoseModels.For("knee-lateral")!;
        SceneDocument truth = Coarse(LabPoses.Scene(model, 6, -4, 5));
        PoseFit fit = Fitted(model, truth);
        PoseImage image = PoseImage.Of(SceneFile.Radiograph(Lab.Expose(truth).Simulated, linear: false), 300);
        PosePicture first = PosePicture.Draw(fit, image: image, noise: false);
        PosePicture again = PosePicture.Draw(fit, fit.State, image, tone: first.Tone, noise: false);
        PosePicture turned = PosePicture.Draw(fit, fit.State with { TurnDegrees = fit.State.TurnDegrees + 12 }, image, tone: first.Tone, noise: false);
        Assert.True(first.Grey.Samples.SequenceEqual(again.Grey.Samples));
        Assert.Same(first.Tone, turned.Tone);
        Assert.False(first.Grey.Samples.SequenceEqual(turned.Grey.Samples));
        for (int grey = 1; grey < 256; grey++)
        {
            Assert.True(first.Tone!.Of((byte)grey) >= first.Tone.Of((byte)(grey - 1)));
        }
    }

    [Fact]
    [Trait("evidence", "independent")]
    public void Contours_OfTheKneecap_LieWhereItsShadowEnds()
    {
        PoseModel model = PoseModels.For("knee-lateral")!;
        SceneDocument truth = LabPoses.Scene(model, 6, -4, 5);
        PoseFit fit = Fitted(model, truth);
        double size = PoseScene.Size(fit.Problem, fit.State);
        PoseState even = fit.State with { AxisSizes = [size, size, size] };
        LabLook look = Lab.Look(fit.SceneAt(even), 800, noise: false);
        double factor = fit.Problem.Setting.Rows / (double)look.BoneMm.Rows;
        PoseContour kneecap = Assert.Single(PoseContours.Of(fit, even), contour => contour.Structure == "patella");
        Assert.Equal(kneecap.Points[0], kneecap.Points[^1]);
        double middleX = kneecap.Points.Average(point => point.X), middleY = kneecap.Points.Average(point => point.Y);
        int right = 0, looked = 0;
        foreach (PixelPoint point in kneecap.Points)
        {
            // A millimetre outwards and inwards of the middle of the kneecap, whose shadow is convex here.
            double x = point.X - middleX, y = point.Y - middleY, length = Math.Sqrt((x * x) + (y * y)), millimetre = 1 / fit.State.SpacingMm;
            float Bone(double away) => look.BoneMm[Row(point.Y + (y / length * away), factor, look.BoneMm.Rows, fit.Problem.Setting.Rows), Row(point.X + (x / length * away), factor, look.BoneMm.Columns, fit.Problem.Setting.Columns)];
            if (Bone(3 * millimetre) > 0.5)
            {
                // The femur lies there.
                continue;
            }

            looked++;
            right += Bone(-millimetre) > 1 && Bone(millimetre) < 0.5 ? 1 : 0;
        }

        Assert.InRange(looked, kneecap.Points.Count / 2, kneecap.Points.Count);
        Assert.InRange(right / (double)looked, 0.97, 1);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Of_ARampOfBrightness_KeepsItsMeanAndItsPlaces()
    {
        Raster<ushort> pixels = new(301, 203);
        for (int row = 0; row < pixels.Rows; row++)
        {
            for (int column = 0; column < pixels.Columns; column++)
            {
                pixels[row, column] = (ushort)(1000 + (5 * row) + (2 * column));
            }
        }

        Radiograph ramp = new()
        {
            FileName = "ramp",
            Source = ImageSource.Dicom,
            Pixels = pixels,
            BitsStored = 12,
            HighIsShownDark = false,
            PresentationIntent = PresentationIntent.ForPresentation,
            Windows = [new VoiTransform { Center = 2048, Width = 4096, Function = WindowFunction.LinearExact }],
            LossyCompressed = false,
            Encoding = "none",
        };
        PoseImage image = PoseImage.Of(ramp, 100);
        Assert.Equal(3.01, image.Factor, 1e-9);
        Assert.Equal(100, image.Brightness.Rows);
        Assert.Equal(67, image.Brightness.Columns);
        PixelPoint middle = image.Scaled(new PixelPoint(X: 101, Y: 150));
        Assert.Equal(33, middle.X, 1e-9);
        Assert.Equal(49.5, middle.Y, 1e-9);

        // A plane's mean over a pixel is its value at the pixel's middle.
        for (int row = 2; row < 98; row += 7)
        {
            for (int column = 2; column < 65; column += 7)
            {
                double y = ((row - 49.5) * 3.01) + 150, x = ((column - 33) * 3.01) + 101;
                Assert.Equal((1000 + (5 * y) + (2 * x)) / 4096, image.Brightness[row, column], 2e-3);
            }
        }
    }

    internal static SceneDocument Coarse(SceneDocument scene) => scene with { Receptor = scene.Receptor with { SpacingMm = Math.Max(scene.Receptor.WidthMm, scene.Receptor.HeightMm) / 800 } };

    internal static PoseFit Fitted(PoseModel model, SceneDocument scene)
    {
        Figure<PoseFit> fit = PoseFitter.Fit(model, LabPoses.Marks(model, scene), LabPoses.Geometry(scene), scene.Part!.Side);
        Assert.True(fit.IsMeasured, fit.Why);
        return fit.Value;
    }

    private static int Row(double place, double factor, int scaled, int full) => Math.Clamp((int)Math.Round(((place - ((full - 1) / 2.0)) / factor) + ((scaled - 1) / 2.0)), 0, scaled - 1);

    private static double Correlation(List<(double Own, double Real)> both)
    {
        double own = both.Average(pair => pair.Own), real = both.Average(pair => pair.Real);
        return both.Sum(pair => (pair.Own - own) * (pair.Real - real))
            / Math.Sqrt(both.Sum(pair => (pair.Own - own) * (pair.Own - own)) * both.Sum(pair => (pair.Real - real) * (pair.Real - real)));
    }
}
