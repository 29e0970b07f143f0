"""Who is to blame: found offsets of many jobs, taken apart into block family, housing family, this block,
this housing and measuring.

Every job gives the vector E of its bore (mm, seen from behind: x towards 3 o'clock, y up) as it was found,
with the covariance of its own sweep. Families are the fixed part of a mixed model, single blocks and
housings its random one (`fitter.shop.mixed`). An offset that all jobs share cannot be told apart: it may
be the blocks', the housings', or the way of measuring. So a family's effect is what it differs from the
average of the families that can be compared with it, and those that no job connects are not compared.
"""

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from ..dowels.measurement import Measurement
from ..geometry import Matrix, Vector, matrix_of, vector_of
from ..numeric.basis import Floats
from ..numeric.quantiles import plane_factor
from .mixed import Factor, MixedModel
from .odd import odd_levels
from .reml import Component, Fitted, component, fit
from .sizes import Sizes, sizes

Side = Literal["block", "housing"]
_SIDES: Final[tuple[Side, Side]] = ("block", "housing")
Groups = Sequence[tuple[tuple[str, ...], tuple[str, ...]]]
"""Families that jobs connect with each other: (block families, housing families) of each group."""

TOGETHER = "blocks and housings together"

_MOST_PIECES = 300
"""Single blocks and housings whose own uncertainty is worked out, the farthest first."""


@dataclass(frozen=True, slots=True)
class Found:
    """One job as it was found. vector: E in mm, with what dowels in place had already moved taken out.
    covariance: of the vector, mm^2, (2, 2). day: when, in days from any start; None: not known. A block
    or housing without a name ("") is one that is met only here."""

    block_family: str
    block: str
    housing_family: str
    housing: str
    vector: Vector
    covariance: Matrix
    day: float | None = None
    job: str = ""

    def family(self, side: Side) -> str:
        """Of its block or its housing."""
        return self.block_family if side == "block" else self.housing_family

    def name(self, side: Side) -> str:
        """Of its block or its housing."""
        return self.block if side == "block" else self.housing


@dataclass(frozen=True, slots=True)
class Family:
    """effect: what it adds to the vector compared with the average of `compared` (itself among them), mm;
    None where there is nothing to compare it with. covariance, freedom: of the effect. u95: radius of its
    95 % region, mm. told: whether the region leaves out zero. jobs: how many."""

    side: Side
    name: str
    jobs: int
    compared: tuple[str, ...]
    effect: Vector | None
    covariance: Matrix | None
    freedom: float | None
    u95: float | None
    told: bool


@dataclass(frozen=True, slots=True)
class FamilyMean:
    """Where the bores of a family sit on average. vector: mean of its jobs as fitted, mm. region: root of the
    region that holds it in 95 of 100 shops, (2, 2), mm: the border is vector + region @ (cos t, sin t)."""

    vector: Vector
    region: Matrix

    def border(self, points: int = 72) -> Floats:
        """The border of the region, shape (points, 2), mm."""
        t = np.linspace(0.0, 2.0 * math.pi, points, endpoint=False)
        return np.asarray(
            np.array(self.vector) + np.column_stack([np.cos(t), np.sin(t)]) @ np.array(self.region).T
        )


@dataclass(frozen=True, slots=True)
class Piece:
    """One block or housing: what it adds to its family's vector, drawn towards zero as far as the data are
    few, and the radius of the 95 % region of what remains unknown of it, mm (None for the lesser ones of a
    very long ledger). met: in how many jobs."""

    side: Side
    family: str
    name: str
    met: int
    vector: Vector
    u95: float | None


@dataclass(frozen=True, slots=True)
class Odd:
    """One block or housing that does not belong with its family: where it lies compared with the others, mm,
    the radius of the 95 % region, and the chance of one as far where all belong. met: in how many jobs; in
    only one, its fellow of that job, or the sweep, may be to blame as well. job: of the first."""

    side: Side
    family: str
    name: str
    met: int
    vector: Vector
    u95: float
    chance: float
    job: str


@dataclass(frozen=True, slots=True)
class Ledger:
    """mean: vector that all jobs share (families of a group equally weighted), mm, for each group of families
    that jobs connect; groups: their names, block families first. components: standard deviations, of each
    component of the vector, of single blocks and housings, mm. measuring: of the sweeps themselves (root
    mean square). together: True where blocks and housings cannot be told apart. odd: single ones that do
    not belong, the farthest first."""

    jobs: int
    groups: tuple[tuple[tuple[str, ...], tuple[str, ...]], ...]
    mean: tuple[Vector, ...]
    mean_u95: tuple[float, ...]
    families: tuple[Family, ...]
    components: tuple[Component, ...]
    measuring: float
    pieces: tuple[Piece, ...]
    together: bool
    fitted: Fitted
    odd: tuple[Odd, ...] = ()

    def population(self) -> tuple[Floats, Floats]:
        """Mean (2,) and covariance (2, 2) of the vector of another job, families as often as they were met,
        uncertainty of the mean included. mm, mm^2."""
        at, rows = self.fitted.model.mean(self.fitted.sds), self.fitted.model.design
        means = rows @ at.coefficients
        middle = np.kron(rows.mean(axis=0), np.eye(2))
        unsure = middle @ at.covariance @ middle.T
        scatter = sum(c.sd**2 for c in self.components) * np.eye(2)
        return means.mean(axis=0), np.atleast_2d(np.cov(means.T, bias=True)) + scatter + unsure


def ledger(found: Sequence[Found]) -> Ledger:
    """Take the jobs apart. Raises ValueError, in words, where they are too few."""
    if len(found) < 4:
        few = f"{len(found)} {'job is' if len(found) == 1 else 'jobs are'}"
        raise ValueError(f"{few} too few to tell anything from: it takes 4, better 20")
    groups = _groups(found)
    y = np.array([job.vector for job in found])
    known = np.array([job.covariance for job in found])
    columns = _columns(groups)
    pairs = [(job.block_family, job.housing_family) for job in found]
    rows = {pair: _mean(columns, [pair[0]], [pair[1]]) for pair in pairs}
    design = np.array([rows[pair] for pair in pairs])
    if len(found) - design.shape[1] < 2:
        raise ValueError(
            f"{len(found)} jobs for {design.shape[1]} unknown families: none are left to judge by"
        )
    factors = [Factor(f"{side}s", _levels(found, side)) for side in _SIDES]
    # Where both tie the same jobs, their scatter only shows as one.
    together = np.array_equal(factors[0].levels, factors[1].levels)
    model = MixedModel(y, known, design, [Factor(TOGETHER, factors[0].levels)] if together else factors)
    fitted = fit(model)
    allowed = sizes(fitted)
    bases = [allowed.mixture(_mean(columns, *group)).student() for group in groups]
    return Ledger(
        jobs=len(found),
        groups=groups,
        mean=tuple(vector_of(base.vector) for base in bases),
        mean_u95=tuple(base.u95 for base in bases),
        families=tuple(_families(found, groups, columns, allowed)),
        components=tuple(component(fitted, k) for k in range(len(model.names))),
        measuring=float(np.sqrt(np.einsum("nii->n", known).mean() / 2.0)),
        pieces=() if together else tuple(_pieces(found, factors, fitted)),
        together=together,
        fitted=fitted,
        odd=tuple(_odd(found, fitted)),
    )


def family_mean(found: Sequence[Found], told: Ledger, family: Family) -> FamilyMean:
    """Of the jobs of one family of a ledger, which was made of `found`."""
    of_it = np.array([job.family(family.side) == family.name for job in found])
    model = told.fitted.model
    at = model.mean(told.fitted.sds)
    row = model.design[of_it].mean(axis=0)
    pick = np.kron(row, np.eye(2))
    factor = plane_factor(0.95, family.freedom if family.freedom is not None else math.inf)
    root = factor * np.linalg.cholesky(pick @ at.covariance @ pick.T)
    return FamilyMean(vector_of(row @ at.coefficients), matrix_of(root))


def _levels(found: Sequence[Found], side: Side) -> "np.ndarray[tuple[int], np.dtype[np.int64]]":
    """Numbers of the single blocks or housings, as they come; a nameless one is met once."""
    numbers: dict[object, int] = {}
    keys = [(job.family(side), job.name(side)) if job.name(side) else k for k, job in enumerate(found)]
    return np.array([numbers.setdefault(key, len(numbers)) for key in keys], dtype=np.int64)


def _groups(found: Sequence[Found]) -> tuple[tuple[tuple[str, ...], tuple[str, ...]], ...]:
    groups: list[tuple[set[str], set[str]]] = []
    for block, housing in dict.fromkeys((job.block_family, job.housing_family) for job in found):
        joined = ({block}, {housing})
        apart = []
        for group in groups:
            if group[0] & joined[0] or group[1] & joined[1]:
                joined = (joined[0] | group[0], joined[1] | group[1])
            else:
                apart.append(group)
        groups = [*apart, joined]
    return tuple((tuple(sorted(blocks)), tuple(sorted(housings))) for blocks, housings in groups)


def _columns(groups: Groups) -> dict[tuple[Side, str], int]:
    """The column of each family in the fixed part: a coefficient is what a block family's vectors are with
    the first housing family of its group, which has none, and what another housing family adds."""
    named: list[tuple[Side, str]] = []
    for blocks, (_, *others) in groups:
        named += [("block", name) for name in blocks]
        named += [("housing", name) for name in others]
    return {one: k for k, one in enumerate(named)}


def _average(columns: dict[tuple[Side, str], int], side: Side, names: Sequence[str]) -> Floats:
    """Weights of the coefficients that give the average of some families of a side."""
    weights = np.zeros(len(columns))
    for name in names:
        if (side, name) in columns:
            weights[columns[side, name]] = 1.0 / len(names)
    return weights


def _mean(columns: dict[tuple[Side, str], int], blocks: Sequence[str], housings: Sequence[str]) -> Floats:
    """The same of the vectors of all pairs of some block and some housing families."""
    return _average(columns, "block", blocks) + _average(columns, "housing", housings)


def _families(
    found: Sequence[Found], groups: Groups, columns: dict[tuple[Side, str], int], allowed: Sizes
) -> list[Family]:
    listed = []
    for at, side in enumerate(_SIDES):
        for name, jobs in sorted(Counter(job.family(side) for job in found).items()):
            compared = next(group[at] for group in groups if name in group[at])
            if len(compared) < 2:
                listed.append(Family(side, name, jobs, compared, None, None, None, None, told=False))
                continue
            weights = _average(columns, side, [name]) - _average(columns, side, compared)
            effect = allowed.mixture(weights).student()
            far = float(effect.vector @ np.linalg.solve(effect.covariance, effect.vector))
            listed.append(
                Family(side, name, jobs, compared, vector_of(effect.vector), matrix_of(effect.covariance),
                       effect.freedom, effect.u95, told=far > plane_factor(0.95, effect.freedom) ** 2)
            )  # fmt: skip
    return listed


def _pieces(found: Sequence[Found], factors: Sequence[Factor], fitted: Fitted) -> list[Piece]:
    listed = []
    for k, (side, factor) in enumerate(zip(_SIDES, factors, strict=True)):
        values, met = fitted.model.predicted(fitted.sds, k)
        first = {int(level): j for j, level in reversed(list(enumerate(factor.levels)))}
        named = [level for level, j in first.items() if found[j].name(side)]
        # Two that balance each other lie as far off: rounding is not to say which comes first.
        named.sort(key=lambda level: -round(math.hypot(*values[level]), 9))
        unsure = fitted.model.unsure(fitted.sds, k, named[:_MOST_PIECES])
        for at, level in enumerate(named):
            job = found[first[level]]
            u95 = Measurement(values[level], unsure[at], math.inf).u95 if at < len(unsure) else None
            vector = vector_of(values[level])
            listed.append(Piece(side, job.family(side), job.name(side), int(met[level]), vector, u95))
    return listed


def _odd(found: Sequence[Found], fitted: Fitted) -> list[Odd]:
    listed = []
    for one in odd_levels(fitted):
        side = _SIDES[one.factor]
        jobs = np.flatnonzero(fitted.model.factors[one.factor].levels == one.level)
        job = found[int(jobs[0])]
        place = side, job.family(side), job.name(side), len(jobs)
        listed.append(Odd(*place, one.vector, one.u95, one.chance, job.job))
    return listed
