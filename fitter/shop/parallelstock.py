"""Which dowel sizes to keep, and how many of each.

Engines come from a population of found vectors E (a normal one, from the ledger or stated). Each gets
the parallel pair that is likeliest to go on and to end inside, or none. N sizes that leave most
engines inside are found exactly: between two neighbouring sizes an engine is served by one of the two,
so the best set is a shortest path through the sizes (R. Bellman, Dynamic Programming, 1957).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..dowels.kit import Way
from ..dowels.pins import Pins
from ..dowels.setting import SETTING_SD_DEG
from ..geometry import Matrix, Vector, matrix_of
from ..numeric.basis import Floats
from ..units import MM_PER_THOU

_SPREADS = 5.0
_NORMAL = 1000.0
"""Degrees of freedom beyond which Student's distribution is the normal one."""

_NODES, _WEIGHTS = np.polynomial.hermite_e.hermegauss(9)
_WEIGHTS = _WEIGHTS / _WEIGHTS.sum()


@dataclass(frozen=True, slots=True)
class Population:
    """Found vectors of engines to come: mean (x, y) in mm, covariance in mm^2, with its degrees of freedom:
    a scatter that was judged from few jobs may be larger than it looks (Student's distribution)."""

    mean: Vector
    covariance: Matrix
    freedom: float = math.inf

    def stretch(self, normal: Floats) -> Floats:
        """What to multiply normal vectors by, one for each of so many normal numbers: sqrt(nu / chi^2)."""
        if math.isinf(self.freedom):
            return np.ones(len(normal))
        from scipy.special import chdtri, ndtr

        return np.asarray(np.sqrt(self.freedom / chdtri(self.freedom, ndtr(normal))))

    def as_known(self, measuring_sd: float) -> tuple["Population", float]:
        """The same engines by what a sweep knows of them, and by how much a component of the truth scatters
        about that, mm: sizes are chosen by what was measured, not by what is. What is known scatters less
        than what is, by just that (J. O. Berger, Statistical Decision Theory and
        Bayesian Analysis (1985), 4.2)."""
        covariance = np.array(self.covariance)
        unsure = measuring_sd**2 * covariance @ np.linalg.pinv(covariance + measuring_sd**2 * np.eye(2))
        return replace(self, covariance=matrix_of(covariance - unsure)), math.sqrt(
            float(np.trace(unsure)) / 2.0
        )

    @classmethod
    def scattered(cls, sd: float) -> "Population":
        """About the crank's axis, each component with standard deviation sd, mm."""
        return cls((0.0, 0.0), ((sd * sd, 0.0), (0.0, sd * sd)))


@dataclass(frozen=True, slots=True)
class Work:
    """How dowels are set. limit: permitted run-out (TIR), mm. setting_sd: of a dowel's angle, degrees.
    size_sd: of a dowel's true offset, measuring_sd: of a component of the measured vector, mm. way: "tight",
    each dowel stays where its mark was put, or "free", they are turned until the housing slides home.
    pins, clearance (mm): where the dowels stand and what bind their holes allow; without pins bind is
    left out."""

    limit: float
    setting_sd: float = SETTING_SD_DEG
    size_sd: float = 0.0
    measuring_sd: float = 0.0
    way: Way = "free"
    pins: Pins | None = None
    clearance: float = MM_PER_THOU


@dataclass(frozen=True, slots=True)
class Choice:
    """sizes: offsets in mm, ascending. inside: share of engines that end inside after one round. shares: of
    the engines that get each size; the rest need none or are beyond help."""

    sizes: tuple[float, ...]
    inside: float
    shares: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Kept:
    """Dowels of one size to keep (two to a pair), for a risk of running out."""

    size: float
    dowels: int
    monthly: float


class Stock:
    """The engines of a population, and what each size does for them."""

    def __init__(self, population: Population, work: Work, sizes: Sequence[float]) -> None:
        """sizes: offsets to choose from, mm."""
        self.sizes = np.array([0.0, *sorted(set(sizes) - {0.0})])
        known, unsure = population.as_known(work.measuring_sd)
        radii, degrees, weight = _engines(known)
        work = replace(work, measuring_sd=unsure)
        if work.pins is None or work.way == "free":
            # Nothing binds, so that it does not matter which way an engine is off.
            degrees, weight = degrees[:1], weight.sum(axis=1, keepdims=True)
        self._radius, self._weight = np.repeat(radii, len(degrees)), weight.ravel()
        self._served = np.array([
            np.outer(_served(radii, d, work), _goes_on(degrees, d, work)).ravel() for d in self.sizes.tolist()
        ])  # fmt: skip

    def curve(self, most: int) -> list[Choice]:
        """The best sets of 1, 2 ... `most` sizes. Raises ValueError where there are fewer to choose from."""
        k = len(self.sizes)
        if not 1 <= most < k:
            raise ValueError(f"{k - 1} sizes are offered: ask for 1 to {k - 1} of them")
        gain = np.full((k, k), -math.inf)
        for a in range(k):
            for b in range(a + 1, k):
                between = (self._radius >= self.sizes[a]) & (self._radius < self.sizes[b])
                either = np.maximum(self._served[a, between], self._served[b, between])
                gain[a, b] = float(self._weight[between] @ either)
        farther = [self._radius >= d for d in self.sizes]
        served = zip(farther, self._served, strict=True)
        beyond = np.array([float(self._weight[there] @ row[there]) for there, row in served])
        value = np.where(np.arange(k) == 0, 0.0, -math.inf)
        came: list[np.ndarray[tuple[int], np.dtype[np.int64]]] = []
        choices = []
        for _ in range(most):
            steps = value[:, None] + gain
            came.append(steps.argmax(axis=0))
            value = steps.max(axis=0)
            at = int(np.argmax(value + beyond))
            path = [at]
            for back in reversed(came):
                path.append(int(back[path[-1]]))
            choices.append(self.of([float(self.sizes[i]) for i in reversed(path[:-1])]))
        return choices

    def of(self, sizes: Sequence[float]) -> Choice:
        """What a given set of sizes does for the population. Raises ValueError for a size not offered."""
        places = [0]
        for size in sizes:
            near = int(np.argmin(np.abs(self.sizes - size)))
            if abs(self.sizes[near] - size) > 1e-9:
                raise ValueError(f"{size:g} mm is not among the sizes offered")
            places.append(near)
        served = self._served[places]
        best = served.argmax(axis=0)
        helped = served.max(axis=0) > 0.01
        shares = [float(self._weight[(best == i) & helped].sum()) for i in range(1, len(places))]
        return Choice(tuple(sizes), float(self._weight @ served.max(axis=0)), tuple(shares))


def to_keep(choice: Choice, engines: float, risk: float) -> list[Kept]:
    """How many dowels of each size last a month of `engines` (Poisson) with at most `risk` of running out of
    any. Sizes are independent then; each further pair goes where it lowers the risk most."""
    if not (engines > 0.0 and 0.0 < risk < 1.0):
        raise ValueError("engines a month must be more than 0, and the risk between 0 and 1")
    rates = [engines * share for share in choice.shares]
    pairs = [0] * len(rates)
    enough = [_poisson_upto(0, rate) for rate in rates]
    while math.prod(enough) < 1.0 - risk:
        more = [_poisson_upto(n + 1, rate) for n, rate in zip(pairs, rates, strict=True)]
        at = max(range(len(rates)), key=lambda k: more[k] / enough[k])
        pairs[at] += 1
        enough[at] = more[at]
    return [Kept(size, 2 * n, 2.0 * rate) for size, n, rate in zip(choice.sizes, pairs, rates, strict=True)]


def _poisson_upto(n: int, rate: float) -> float:
    if rate == 0.0:
        return 1.0
    return math.fsum(math.exp(k * math.log(rate) - rate - math.lgamma(k + 1)) for k in range(n + 1))


def _engines(population: Population) -> tuple[Floats, Floats, Floats]:
    """A polar grid over the population: lengths of the vector in mm, (r,), its directions in degrees, (k,),
    and the share of the engines there, (r, k)."""
    mean, covariance = np.array(population.mean), np.array(population.covariance)
    sd = math.sqrt(max(float(np.linalg.eigvalsh(covariance)[-1]), 1e-12))
    freedom = population.freedom
    # As far as one engine in a million lies: |v|^2 / 2 is of Fisher's distribution with 2 and nu degrees.
    tails = _SPREADS if freedom > _NORMAL else math.sqrt(freedom * (1e-6 ** (-2.0 / freedom) - 1.0))
    far = math.hypot(*population.mean) + tails * sd
    radii, degrees = (np.arange(400) + 0.5) / 400.0 * far, (np.arange(48) + 0.5) * 7.5
    r, deg = (grid.ravel() for grid in np.meshgrid(radii, degrees, indexing="ij"))
    points = np.column_stack([r * np.sin(np.deg2rad(deg)), r * np.cos(np.deg2rad(deg))]) - mean
    inverse = np.linalg.inv(covariance + (1e-6 * sd) ** 2 * np.eye(2))
    off = np.einsum("ni,ij,nj->n", points, inverse, points)
    chance = np.exp(-0.5 * off) if freedom > _NORMAL else (1.0 + off / freedom) ** (-(freedom + 2.0) / 2.0)
    weight = r * chance
    shares = np.asarray(weight / weight.sum(), dtype=np.float64)
    return np.asarray(radii), np.asarray(degrees), shares.reshape(len(radii), len(degrees))


def _served(radius: Floats, d: float, work: Work) -> Floats:
    """Chance of each engine, of which so much is known, to end inside with a parallel pair of offset d
    towards its measured high point; d = 0: with none.

    With angle errors of half sum s and half difference t the bore is carried d cos t towards s: inside if
    r^2 + d^2 - 2 r d cos s <= (L/2)^2; the pair binds by 2 d t across the line of the pins.
    """
    half = work.limit / 2.0
    if d == 0.0:
        return as_it_is(radius, work.limit, work.measuring_sd)
    total = np.zeros_like(radius)
    along = math.hypot(work.size_sd / math.sqrt(2.0), work.measuring_sd)
    across = math.radians(work.setting_sd) / math.sqrt(2.0)
    for node, weight in zip(_NODES.tolist(), _WEIGHTS.tolist(), strict=True):
        carried = d + node * along
        cosine = (radius**2 + carried**2 - half**2) / np.maximum(2.0 * radius * abs(carried), 1e-12)
        window = np.arccos(np.clip(cosine, -1.0, 1.0))
        # What a wrong measurement turns the aim by adds to what the hand does.
        turn = np.sqrt(across**2 + (work.measuring_sd / np.maximum(radius, 1e-9)) ** 2)
        total += weight * _within(window, turn)
    return total


def as_it_is(radius: Floats, limit: float, unsure: float) -> Floats:
    """Chance to be inside without any dowels of bores known to be off by so much, up to `unsure` (mm, of a
    component): two squares about a middle, the non-central chi square."""
    half = limit / 2.0
    if unsure < 1e-6 * half:
        return np.asarray((radius <= half).astype(np.float64))
    from scipy.special import chndtr

    return np.asarray(chndtr((half / unsure) ** 2, 2.0, (radius / unsure) ** 2))


def _goes_on(deg: Floats, d: float, work: Work) -> Floats:
    """Chance of the housing to go on where the pair is set towards these directions."""
    if work.pins is None or work.way == "free":
        return np.ones(len(deg))
    across = math.radians(work.setting_sd) / math.sqrt(2.0)
    along, _, _ = work.pins.axes()
    # Turning a dowel moves its hole across its high side; offsets that are not alike pull along it.
    sin, cos = np.sin(np.deg2rad(deg)), np.cos(np.deg2rad(deg))
    by_angles = 2.0 * d * across * (cos * along[0] - sin * along[1])
    by_sizes = math.sqrt(2.0) * work.size_sd * (sin * along[0] + cos * along[1])
    return _within(np.full_like(deg, work.clearance), np.hypot(by_angles, by_sizes))


def _within(reach: Floats, sd: Floats) -> Floats:
    """Chance of a normal error to stay within +-reach."""
    from scipy.special import erf

    return np.asarray(erf(reach / (math.sqrt(2.0) * np.maximum(sd, 1e-12))))
