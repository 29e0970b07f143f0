"""Arithmetic that knows nothing of sweeps: least squares, circles, quantiles."""
