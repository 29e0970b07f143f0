"""Is the true run-out within the limit? A probability, and a word for it.

The measured vector and its covariance describe what is known of the true vector; the probability
that its length lies within a radius is that of conformity (JCGM 106:2012, 7.2). With few degrees
of freedom the vector follows a bivariate Student distribution.
"""

import math

import numpy as np

from ..numeric.basis import Floats
from ..numeric.quantiles import MANY, t_below_many, t_density
from ..result import State
from .amount import chance_of_none, expanded_amount

SURE = 0.95
"""Probability from which a verdict is given (JCGM 106:2012, 8.3, with a 5 % risk)."""


ALMOST = 0.001
"""Where no more than this is against it, a verdict is almost certain."""


_ONE_END = 0.025
"""What a 95 % bar leaves beyond each of its ends."""


def judge(probability: float) -> State:
    """ "inside", "outside", or "unsure" where neither has a probability of 95 %."""
    if probability >= SURE:
        return "inside"
    return "outside" if probability <= 1.0 - SURE else "unsure"


def conformity(radius: float, vector: Floats, covariance: Floats, freedom: float) -> float:
    """Probability that the true vector lies within `radius`, as a verdict may use it: never less than how
    often no offset at all would look like this.

    A limit much smaller than what the sweep can tell has next to no probability, wherever the vector lies:
    of a dial that tells nothing that would make "outside, almost certainly", of a housing that may well
    stand true. The bound ends where it is less than the word "almost" allows.

    Nor is a verdict surer than the bar of the amount: near the origin and of scatter across the vector the
    two count differently. While the limit lies within the 95 % bar, one end of which leaves 2.5 %, no more
    than 97.5 % are claimed. That moves no verdict.
    """
    within = probability_within(radius, vector, covariance, freedom)
    bar = expanded_amount(vector, covariance, freedom)
    return claimed(within, radius - math.hypot(*vector), bar, chance_of_none(vector, covariance, freedom))


def claimed(within: float, room: float, bar: float, by_chance: float) -> float:
    """What of a probability of being within the limit a verdict may use (`conformity`). room: from the amount
    to the limit. bar: of the amount. by_chance: how often no offset at all would look like this."""
    if abs(room) < bar:
        within = min(max(within, _ONE_END), 1.0 - _ONE_END)
    return within if by_chance <= ALMOST else max(within, min(by_chance, 0.5))


def probability_within(
    radius: float, mean: tuple[float, float] | Floats, covariance: Floats, freedom: float = math.inf
) -> float:
    """Probability that a vector lies within `radius` of the origin.

    mean (x, y) and covariance (2, 2) in units of the radius; `freedom` degrees of the Student
    distribution whose scale matrix is the covariance. Computed in the principal axes: across the
    disc the inner integral is a difference of two distribution functions (given x, y is Student
    again with one more degree), and Gauss-Legendre panels around the mean do the outer one to
    about 1e-7.
    """
    return float(chances_within(radius, np.asarray(mean, dtype=np.float64)[None, :], covariance, freedom)[0])


def chances_within(radius: float, means: Floats, covariance: Floats, freedom: float = math.inf) -> Floats:
    """`probability_within` of many vectors of one covariance: means (n, 2), answers (n,)."""
    if radius <= 0.0:
        return np.zeros(len(means))
    variances, axes = np.linalg.eigh(np.asarray(covariance, dtype=np.float64))
    mu = means @ axes
    # A standard deviation of nothing would divide by zero; a billionth of the radius is nothing.
    sd = np.sqrt(np.maximum(variances, (1e-9 * radius) ** 2))
    # The narrow axis goes outside, where the panels follow it.
    breaks = np.clip(mu[:, :1] + sd[0] * _BREAKS, -radius, radius)
    ends = np.full((len(mu), 1), radius)
    edges = np.concatenate([-ends, breaks, ends], axis=1)
    # x = R sin(a) takes the square root out of the chord's ends.
    angle = np.arcsin(np.clip(edges / radius, -1.0, 1.0))
    row, panel = np.nonzero(np.diff(edges, axis=1) > 0.0)
    half = (angle[row, panel + 1] - angle[row, panel])[:, None] / 2.0
    a = (angle[row, panel][:, None] + half) + half * _NODES
    x, chord = radius * np.sin(a), radius * np.cos(a)
    z = (x - mu[row, :1]) / sd[0]
    if freedom >= MANY:
        stretch, inner = np.ones_like(z), freedom
    else:
        stretch, inner = np.sqrt((freedom + z * z) / (freedom + 1.0)), freedom + 1.0
    scale, across = sd[1] * stretch, mu[row, 1:]
    share = t_below_many((chord - across) / scale, inner)
    share -= t_below_many((-chord - across) / scale, inner)
    density = t_density(z, freedom) / sd[0]
    parts = (half * _WEIGHTS * density * share * chord).sum(axis=1)
    return np.clip(np.bincount(row, parts, len(mu)), 0.0, 1.0)


_BREAKS = np.array([-200.0, -40.0, -10.0, -5.0, -2.0, 0.0, 2.0, 5.0, 10.0, 40.0, 200.0])
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(20)
