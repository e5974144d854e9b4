namespace Hotlight.Poses;

/// <summary>A minimum that was found.</summary>
/// <param name="Parameters">The parameters.</param>
/// <param name="Cost">Twice the negative logarithm of the posterior, less a constant.</param>
/// <param name="Covariance">Covariance by the curvature there.</param>
/// <param name="Weights">Weight of each point, 0 to 1.</param>
internal sealed record PoseSolution(double[] Parameters, double Cost, double[,] Covariance, double[] Weights);
