namespace Hotlight.Poses;

/// <summary>A minimum that was found.</summary>
/// <param name="Parameters">The parameters.</param>
/// <param name="Shape">How the person's shape differs, in standard deviations of each way.</param>
/// <param name="Cost">Twice the negative logarithm of the posterior, less a constant.</param>
/// <param name="Covariance">Covariance by the curvature there.</param>
/// <param name="LogRoom">Half the logarithm of the determinant of the covariance of parameters and shape.</param>
/// <param name="Weights">Weight of each point, 0 to 1.</param>
internal sealed record PoseSolution(double[] Parameters, double[] Shape, double Cost, double[,] Covariance, double LogRoom, double[] Weights);
