"""From a vector and its covariance to an amount and a direction with their uncertainties."""

import math

import numpy as np

from .basis import Floats
from .student import plane_factor, t_quantile


def radial_and_tangential(vector: Floats, covariance: Floats) -> tuple[float, float]:
    """Standard uncertainties along and across the vector; along the larger axis for no vector."""
    length = math.hypot(*vector)
    if length == 0.0:
        largest = math.sqrt(float(np.linalg.eigvalsh(covariance)[-1]))
        return largest, largest
    along = vector / length
    across = np.array([-along[1], along[0]])
    return (
        math.sqrt(max(float(along @ covariance @ along), 0.0)),
        math.sqrt(max(float(across @ covariance @ across), 0.0)),
    )


def expanded_amount(vector: Floats, covariance: Floats, freedom: float) -> float:
    """Half-width of the 95 % interval of the amount, in units of the vector.

    Far from zero the amount is as good as the component along the vector; near zero its error is
    that of both components (a Rice variate), and the factor rises to that of the plane.
    """
    along, _ = radial_and_tangential(vector, covariance)
    return t_quantile(0.975, freedom) * along


def expanded_direction(vector: Floats, covariance: Floats, freedom: float) -> float:
    """Half-width of the 95 % interval of the direction in degrees; 180 where it is anybody's guess."""
    _, across = radial_and_tangential(vector, covariance)
    swing, length = t_quantile(0.975, freedom) * across, math.hypot(*vector)
    return math.degrees(math.asin(swing / length)) if swing < length else 180.0


def detectable(covariance: Floats, freedom: float) -> float:
    """The largest amount that noise alone passes for, at 95 %: less is "none found"."""
    largest = math.sqrt(float(np.linalg.eigvalsh(covariance)[-1]))
    return plane_factor(0.95, freedom) * largest


def is_detected(vector: Floats, covariance: Floats, freedom: float) -> bool:
    """Whether the 95 % region of the vector leaves the origin out."""
    variances, axes = np.linalg.eigh(covariance)
    if variances[0] <= 0.0:
        return math.hypot(*vector) > detectable(covariance, freedom)
    distance = float(((axes.T @ vector) ** 2 / variances).sum())
    return math.sqrt(distance) > plane_factor(0.95, freedom)
