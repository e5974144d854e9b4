namespace Hotlight.Measure.Sharpness;

/// <summary>A place where the image may have an edge.</summary>
/// <param name="X">Column, in pixels.</param>
/// <param name="Y">Row, in pixels.</param>
/// <param name="NormalX">Component along the rows of the unit vector, in mm space, towards higher values.</param>
/// <param name="NormalY">Component down the columns of the same.</param>
/// <param name="Gradient">Size of the gradient of the smoothed image, in units of value per mm.</param>
internal readonly record struct EdgeCandidate(double X, double Y, double NormalX, double NormalY, double Gradient)
{
    /// <summary>Direction of the normal, 0 to 180 degrees: 0 along +x, 90 down.</summary>
    internal double DirectionDegrees
    {
        get
        {
            double degrees = Math.Atan2(NormalY, NormalX) * 180 / Math.PI;
            return degrees < 0 ? degrees + 180 : degrees >= 180 ? degrees - 180 : degrees;
        }
    }
}
