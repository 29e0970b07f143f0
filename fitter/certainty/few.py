"""What few stations leave over may be scatter of the dial or an out-of-round bore: how much of it may be
either.

Up to seven stations carry a circle and no more (nor do eight or nine, of which some go to a drift or a
knock), so that a bore's out of round stands in the residuals beside the scatter of the dial. Taken for
scatter of three degrees of freedom it claims five to fifteen times the error that there is: form of
even size leaks little into an offset, and shows in a pattern of its own. So the residuals are explained
by both, of every size in turn; how well each pair of sizes explains them, and how usual it is, weighs
what it would do to the vector (A. Gelman et al., Bayesian Data Analysis, ch. 5; from memory).

What is usual is broad on purpose. Bounded to what a good dial and a good bore do, it would promise too
much to a dial that scatters by a thou.
"""

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from ..fitting.model import Fit
from ..fitting.scatter import Scatter
from ..numeric.basis import Floats
from ..numeric.quantiles import plane_factor
from ..reading.stations import Stations
from ..units import MM_PER_THOU
from .freedom import directions, radius, root, whitening
from .unseen import ARC_GAP_DEG, FORM_SD_MM, visible_form

MOST_TO_SPARE = 4
"""Up to so many stations to spare beside a circle: with eight an oval is fitted."""

ASSUMED_SCATTER_MM = MM_PER_THOU
"""Scatter of a station beforehand: 1 thou ("a thou or two" between sweeps is usual; common practice, no
source)."""

_LESS, _MORE = math.log(3.3), math.log(2.4)
"""How far it usually is from that, as one standard deviation of its logarithm, below and above: a good dial
scatters by a tenth of a thou, and one that scatters by three is rare (a judgement, no source)."""

_OUT_OF_ORDER = 0.01
"""How usual a scatter of any size is beside that: a sweep in which nothing is right must not be explained by
a bore that is oval as no bore is (a judgement, no source)."""

ORDERS = (2, 3)
"""Lobes of the form that is looked for: more of them are smaller than the scatter."""


@dataclass(frozen=True, slots=True)
class Few:
    """What the residuals of few stations say.

    covariance: of the vector (x, y) for scatter and form that shows, mm^2, shape (2, 2).
    freedom: degrees of the Student distribution that has it for a scale matrix.
    """

    covariance: Floats
    freedom: float


def few(stations: Stations, fit: Fit, scatter: Scatter, floor: float) -> Few | None:
    """How sure the vector of few stations is; None where they are not few, or do not go round.

    floor: variance of a reading that is known beforehand, mm^2.
    """
    if (
        fit.harmonics > 1
        or not 0 < fit.freedom <= MOST_TO_SPARE
        or stations.continuous
        or stations.largest_gap() > ARC_GAP_DEG
    ):
        return None
    towards = (fit.unscaled @ fit.design.T)[[2, 1]]
    rest = np.linalg.qr(fit.design, mode="complete")[0][:, fit.design.shape[1] :]
    scattered, *sizes, log_usual = _usual()
    # The readings' covariance is a sum of variance times shape; each is seen by residuals and vector.
    variances = [scattered**2 + floor, *(size**2 for size in sizes)]
    shapes = [np.eye(len(stations)) if scatter.tied is None else scatter.tied]
    shapes += [wave @ wave.T for wave in (visible_form(stations, fit, order) for order in ORDERS)]

    def summed(left: Floats, right: Floats) -> Floats:
        return np.tensordot(np.transpose(variances), [left @ shape @ right for shape in shapes], 1)

    seen, across = summed(rest.T, rest), summed(towards, rest)
    inverse = np.linalg.inv(seen)
    left = rest.T @ fit.residuals
    log = log_usual - 0.5 * np.linalg.slogdet(seen)[1] - 0.5 * (inverse @ left) @ left
    weight = np.exp(log - log.max())
    weight /= weight.sum()
    told = weight > 1e-12
    weight, inverse, across = weight[told], inverse[told], across[told]
    # The error of the vector, given the residuals: its mean is what form has leaked into it.
    gain = across @ inverse
    leaked = gain @ left
    spread = summed(towards, towards.T)[told] - gain @ np.swapaxes(across, 1, 2)
    return _summed_up(weight, spread + leaked[:, :, None] * leaked[:, None, :])


def _summed_up(weight: Floats, spreads: Floats) -> Few:
    """A mixture of normal errors as one Student error with the same half and the same 95 % region.

    weight: shape (k,). spreads: second moments of (x, y), (k, 2, 2)."""
    mean = np.tensordot(weight, spreads, 1)
    half = whitening(mean)
    each_way = directions(half @ spreads @ half.T)
    near, far = (radius(weight, each_way, p, 1e-3) for p in (0.5, 0.95))
    ratio = far / near
    log_freedom = root(
        lambda x: ratio - plane_factor(0.95, math.exp(x)) / plane_factor(0.5, math.exp(x)), -1.0, 9.0
    )
    freedom = math.exp(log_freedom)
    return Few(mean * (far / plane_factor(0.95, freedom)) ** 2, freedom)


@lru_cache(maxsize=1)
def _usual() -> tuple[Floats, Floats, Floats, Floats]:
    """Sizes of scatter and of form of two and three lobes, mm, and the logarithm of how usual each
    combination is, shape (k,) each.

    The scatter is log-normal on either side, but for what is out of order; the coefficients of form are
    normal with a standard deviation that is half-Cauchy about the usual one, which lets a much larger one
    be (A. Gelman, Bayesian Analysis 1 (2006) 515-534; from memory).
    """
    scattered = np.log(np.geomspace(0.05, 50.0, 16) * MM_PER_THOU)
    oval, three = (
        np.log(np.geomspace(0.06, 120.0, n) * FORM_SD_MM[order])
        for n, order in zip((11, 8), ORDERS, strict=True)
    )
    table = [axis.ravel() for axis in np.meshgrid(scattered, oval, three, indexing="ij")]
    off = table[0] - math.log(ASSUMED_SCATTER_MM)
    in_order = np.exp(-0.5 * (off / np.where(off > 0.0, _MORE, _LESS)) ** 2)
    log_usual = np.log(in_order + _OUT_OF_ORDER / (1.0 + np.exp(-2.0 * off)))
    for order, size in zip(ORDERS, table[1:], strict=True):
        log_usual += size - np.log1p((np.exp(size) / FORM_SD_MM[order]) ** 2)
    scatter, second, third = (np.exp(axis) for axis in table)
    return scatter, second, third, log_usual
