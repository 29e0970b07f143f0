"""From a vector and its covariance to an amount and a direction with their uncertainties; and the dial's
swing, largest less smallest reading: what noise adds to it, and how sure it is.
"""

import math

import numpy as np

from ..numeric.basis import Floats
from ..numeric.quantiles import normal_below, plane_factor, plane_tail, t_quantile

_DECAY = 0.4 / plane_factor(0.95, math.inf)
"""Length within which the excess near the origin goes, as a share of how far the region reaches: 0.4 standard
uncertainties."""

_STEPS = np.arange(-8.0, 8.25, 0.25)
"""Of the largest reading, standard deviations."""

BEND = math.sqrt(0.75)
"""Root mean square of half the square of a normal variate (JCGM 100:2008, 5.1.2, note)."""


def radial_and_tangential(vector: Floats, covariance: Floats) -> tuple[float, float]:
    """Standard uncertainties along and across the vector; along the larger axis for no vector."""
    length = math.hypot(*vector)
    if length == 0.0:
        largest = math.sqrt(float(np.linalg.eigvalsh(covariance)[-1]))
        return largest, largest
    along, across = axes_of(vector)
    return math.sqrt(max(along @ covariance @ along, 0.0)), math.sqrt(max(across @ covariance @ across, 0.0))


def expanded_amount(vector: Floats, covariance: Floats, freedom: float, far: float | None = None) -> float:
    """Half-width of the 95 % interval of the amount, in the unit of the vector. far: of the component along
    the vector, where more is known of it than covariance and freedom tell.

    Far from zero the amount is as good as that component. At zero the amount is the length of a vector of
    pure noise (Rice), which 95 % of the time lies within the region: up to its edge the half-width must be
    as large as the vector is long, and beyond it the excess may go quickly. Between the two a vector that is
    less sure across than along is bent about the origin: its length errs by half the square of the error
    across. So it holds within 94.1 and 99.5 % at every true amount, of a round scatter within 94.9 and
    97.1 % (tests/fitter/certainty/test_amount.py).
    """
    along, across = radial_and_tangential(vector, covariance)
    t, edge, length = t_quantile(0.975, freedom), plane_factor(0.95, freedom), math.hypot(*vector)
    if far is None:
        far = t * along
    bar = far
    if across > 0.0:
        largest = math.sqrt(float(np.linalg.eigvalsh(covariance)[-1]))
        bar = math.hypot(far, min(t * BEND * across**2 / max(length, 1e-9 * across), largest))
    far_off = _distance(vector, covariance) if length > 0.0 else math.inf
    near = edge * (length / far_off if 0.0 < far_off < math.inf else along)
    if near <= far:
        return bar
    return max(bar, far + (near - far) * math.exp(-max(length - near, 0.0) / (_DECAY * near)))


def expanded_direction(
    vector: Floats, covariance: Floats, freedom: float, reach: Floats | None = None
) -> float:
    """Half-width of the 95 % interval of the direction in degrees; 180: it is anybody's guess.

    A direction is held to be possible while the vector is no further from the line that way than the 95 %
    half-width across that line (E. C. Fieller, J. R. Statist. Soc. B 16 (1954) 175-185; from memory). Of a
    scatter that is the same all round that is asin(half-width / length).

    reach: squares of half-widths as a quadratic form in the axes along and across the vector, (2, 2), mm^2,
    where more is known of them than covariance and freedom tell.
    """
    length = math.hypot(*vector)
    if length == 0.0:
        return 180.0
    if reach is None:
        axes = axes_of(vector)
        reach = t_quantile(0.975, freedom) ** 2 * axes @ covariance @ axes.T
    room = length**2 - float(reach[0, 0])
    if room <= 0.0:
        return 180.0
    askew, across = abs(float(reach[0, 1])), float(reach[1, 1])
    return math.degrees(math.atan((askew + math.sqrt(askew**2 + room * across)) / room))


def axes_of(vector: Floats) -> Floats:
    """Unit vectors along a vector that has a length, and across it, as rows, (2, 2)."""
    along = vector / math.hypot(*vector)
    return np.array([along, [-along[1], along[0]]])


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
    return plane_tail(_distance(vector, covariance), freedom)


def _distance(vector: Floats, covariance: Floats) -> float:
    """Length of the vector in its own standard deviations; inf where there is an error of none."""
    variances, axes = np.linalg.eigh(covariance)
    if variances[0] <= 0.0:
        return math.inf
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
    near = (curve[curve > top - 10.0 * sd] - top) / sd
    chance = np.diff(normal_below(_STEPS[:, None] - near).prod(axis=1))
    middle = (_STEPS[1:] + _STEPS[:-1]) / 2.0
    mean = float(chance @ middle)
    # Less what steps add to a variance (W. F. Sheppard, Proc. London Math. Soc. 29 (1898) 353; from memory).
    variance = float(chance @ (middle - mean) ** 2) - (_STEPS[1] - _STEPS[0]) ** 2 / 12.0
    return top + sd * mean, sd * math.sqrt(max(variance, 0.0))
