"""From a vector and its covariance to an amount and a direction with their uncertainties; and the dial's
swing, largest less smallest reading: what noise adds to it, and how sure it is.
"""

import math

import numpy as np

from ..numeric.basis import Floats
from ..numeric.quantiles import log_normal_below, plane_factor, plane_tail, t_quantile


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
    """Half-width of the 95 % interval of the amount, in the unit of the vector.

    Far from zero the amount is as good as the component along the vector and Student's t holds. At
    zero the amount is the length of a vector of pure noise (Rice), which 95 % of the time is below
    the factor of the plane: up to there the half-width must be that, and beyond it the excess may
    go quickly. The decay length of 0.4 standard uncertainties keeps the coverage of a round scatter
    within 94.9 and 97.1 % at every true amount (tests/fitter/certainty/test_amount.py).
    """
    along, across = radial_and_tangential(vector, covariance)
    far = t_quantile(0.975, freedom) * along
    both = math.sqrt((along**2 + across**2) / 2.0)
    near = plane_factor(0.95, freedom) * both
    if both == 0.0 or near <= far:
        return far
    beyond = max(math.hypot(*vector) - near, 0.0)
    scale = 0.4 * both * t_quantile(0.975, freedom) / 1.96
    return far + (near - far) * math.exp(-beyond / scale)


def expanded_direction(vector: Floats, covariance: Floats, freedom: float) -> float:
    """Half-width of the 95 % interval of the direction in degrees; 180: it is anybody's guess."""
    _, across = radial_and_tangential(vector, covariance)
    swing, length = t_quantile(0.975, freedom) * across, math.hypot(*vector)
    return math.degrees(math.asin(swing / length)) if swing < length else 180.0


def unbiased_amount(vector: Floats, covariance: Floats) -> float:
    """The amount less what noise adds to any length: sqrt(max(|E|^2 - trace, 0)).

    The expected square of a measured length is the true square plus both variances (S. O. Rice,
    Bell Syst. Tech. J. 24 (1945) 46-156).
    """
    return math.sqrt(max(float(vector @ vector) - float(np.trace(covariance)), 0.0))


def detectable(covariance: Floats, freedom: float) -> float:
    """The largest amount that noise alone passes for, at 95 %: less is "none found"."""
    largest = math.sqrt(float(np.linalg.eigvalsh(covariance)[-1]))
    return plane_factor(0.95, freedom) * largest


def is_detected(vector: Floats, covariance: Floats, freedom: float) -> bool:
    """Whether the 95 % region of the vector leaves the origin out."""
    if np.linalg.eigvalsh(covariance)[0] <= 0.0:
        return math.hypot(*vector) > detectable(covariance, freedom)
    return _distance(vector, covariance) > plane_factor(0.95, freedom)


def chance_of_none(vector: Floats, covariance: Floats, freedom: float) -> float:
    """How often no offset at all would look as far off as this: 0.05 where the 95 % region just leaves the
    origin out. 0 for a covariance that has no inverse."""
    if np.linalg.eigvalsh(covariance)[0] <= 0.0:
        return 0.0
    return plane_tail(_distance(vector, covariance), freedom)


def _distance(vector: Floats, covariance: Floats) -> float:
    """Length of the vector in its own standard deviations."""
    variances, axes = np.linalg.eigh(covariance)
    return math.sqrt(float(((axes.T @ vector) ** 2 / variances).sum()))


def expected_swing(curve: Floats, sd: float) -> tuple[float, float]:
    """Mean excess of the swing over that of the noiseless curve, and its standard deviation, mm.

    Noise can only push the largest up and the smallest down. The distribution of the largest of
    independent readings about the fitted curve gives the excess by integration.

    curve: fitted readings at the stations, shape (n,); sd: of one reading about it. The largest and
    the smallest are taken for independent, as they are for all but the flattest curves.
    """
    if not sd > 0.0 or len(curve) == 0:
        return 0.0, 0.0
    above, above_sd = _largest(curve, sd)
    below, below_sd = _largest(-curve, sd)
    return above - float(curve.max()) + below + float(curve.min()), math.hypot(above_sd, below_sd)


def _largest(curve: Floats, sd: float) -> tuple[float, float]:
    """Mean and standard deviation of the largest of curve + noise."""
    top = float(curve.max())
    near = curve[curve > top - 10.0 * sd]
    x = top + sd * np.linspace(-8.0, 8.0, 321)
    below = np.exp(log_normal_below((x[:, None] - near[None, :]) / sd).sum(axis=1))
    step = x[1] - x[0]
    chance = np.diff(below)
    middle = x[:-1] + step / 2.0
    mean = float((chance * middle).sum())
    return mean, math.sqrt(max(float((chance * (middle - mean) ** 2).sum()), 0.0))
