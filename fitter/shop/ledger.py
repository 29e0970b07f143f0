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
from typing import Literal

import numpy as np

from ..numeric.basis import Floats
from ..numeric.quantiles import plane_factor
from .mixed import Factor, MixedModel
from .odd import odd_levels
from .reml import Component, Fitted, component, fit
from .sizes import Sizes, sizes

Side = Literal["block", "housing"]
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
    vector: tuple[float, float]
    covariance: tuple[tuple[float, float], tuple[float, float]]
    day: float | None = None
    job: str = ""


@dataclass(frozen=True, slots=True)
class Family:
    """effect: what it adds to the vector compared with the average of `compared` (itself among them), mm;
    None where there is nothing to compare it with. covariance, freedom: of the effect. u95: radius of its
    95 % region, mm. told: whether the region leaves out zero. jobs: how many."""

    side: Side
    name: str
    jobs: int
    compared: tuple[str, ...]
    effect: tuple[float, float] | None
    covariance: tuple[tuple[float, float], tuple[float, float]] | None
    freedom: float | None
    u95: float | None
    told: bool


@dataclass(frozen=True, slots=True)
class Piece:
    """One block or housing: what it adds to its family's vector, drawn towards zero as far as the data are
    few, and the radius of the 95 % region of what remains unknown of it, mm (None for the lesser ones of a
    very long ledger). met: in how many jobs."""

    side: Side
    family: str
    name: str
    met: int
    vector: tuple[float, float]
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
    vector: tuple[float, float]
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
    mean: tuple[tuple[float, float], ...]
    mean_u95: tuple[float, ...]
    families: tuple[Family, ...]
    components: tuple[Component, ...]
    measuring: float
    pieces: tuple[Piece, ...]
    together: bool
    fitted: Fitted
    odd: tuple[Odd, ...] = ()

    def population(self, group: int | None = None) -> tuple[Floats, Floats]:
        """Mean (2,) and covariance (2, 2) of the vector of another job, of a group or of any (None), families
        as often as they were met, uncertainty of the mean included. mm, mm^2."""
        model, at = self.fitted.model, self.fitted.model.mean(self.fitted.sds)
        rows = model.design
        if group is not None:
            rows = rows[np.abs(rows[:, _starts(self.groups)[group]]) > 0.5]
        means = rows @ at.coefficients
        middle = rows.mean(axis=0)
        unsure = np.kron(middle, np.eye(2)) @ at.covariance @ np.kron(middle, np.eye(2)).T
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
    design = _design(found, groups)
    if len(found) - design.shape[1] < 2:
        raise ValueError(
            f"{len(found)} jobs for {design.shape[1]} unknown families: none are left to judge by"
        )
    factors = [Factor("blocks", _levels(found, "block")), Factor("housings", _levels(found, "housing"))]
    model = MixedModel(y, known, design, factors)
    together = bool(model.confounded)
    if together:
        model = MixedModel(y, known, design, [Factor(TOGETHER, factors[0].levels)])
    fitted = fit(model)
    starts = _starts(groups)
    allowed = sizes(fitted)
    unit = np.eye(design.shape[1])
    bases = [allowed.mixture(unit[start]).student() for start in starts]
    return Ledger(
        jobs=len(found),
        groups=groups,
        mean=tuple((float(base.mean[0]), float(base.mean[1])) for base in bases),
        mean_u95=tuple(plane_factor(0.95, base.freedom) * _sd(base.covariance) for base in bases),
        families=tuple(_families(found, groups, allowed)),
        components=tuple(component(fitted, k) for k in range(len(model.names))),
        measuring=float(np.sqrt(np.einsum("nii->n", known).mean() / 2.0)),
        pieces=() if together else tuple(_pieces(found, factors, fitted)),
        together=together,
        fitted=fitted,
        odd=tuple(_odd(found, fitted)),
    )


def _sd(covariance: Floats) -> float:
    """Root mean square of the two standard deviations."""
    return math.sqrt(max(float(np.trace(covariance)) / 2.0, 0.0))


def _family(job: Found, side: Side) -> str:
    return job.block_family if side == "block" else job.housing_family


def _name(job: Found, side: Side) -> str:
    return job.block if side == "block" else job.housing


def _levels(found: Sequence[Found], side: Side) -> "np.ndarray[tuple[int], np.dtype[np.int64]]":
    """Numbers of the single blocks or housings; a nameless one is met once."""
    numbers: dict[object, int] = {}
    keys = [(_family(job, side), _name(job, side)) if _name(job, side) else k for k, job in enumerate(found)]
    return np.array([numbers.setdefault(key, len(numbers)) for key in keys], dtype=np.int64)


def _groups(found: Sequence[Found]) -> tuple[tuple[tuple[str, ...], tuple[str, ...]], ...]:
    """Families that jobs connect with each other: (block families, housing families) of each group."""
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


def _starts(groups: Sequence[tuple[tuple[str, ...], tuple[str, ...]]]) -> list[int]:
    """The column of each group's mean; its families' columns follow."""
    sizes = [len(blocks) + len(housings) - 1 for blocks, housings in groups]
    return [sum(sizes[:k]) for k in range(len(sizes))]


def _weights(
    groups: Sequence[tuple[tuple[str, ...], tuple[str, ...]]], side: Side, family: str, columns: int
) -> tuple[int, Floats]:
    """The group of a family, and its effect as weights of the fixed coefficients: effects of a side add up
    to nothing, so that of the last family is less the sum of the others."""
    for number, (start, group) in enumerate(zip(_starts(groups), groups, strict=True)):
        names = group[0] if side == "block" else group[1]
        if family not in names:
            continue
        first = start + 1 + (0 if side == "block" else len(group[0]) - 1)
        weights = np.zeros(columns)
        if family == names[-1]:
            weights[first : first + len(names) - 1] = -1.0
        else:
            weights[first + names.index(family)] = 1.0
        return number, weights
    raise ValueError(f"no job of the {side} family {family!r}")


def _design(found: Sequence[Found], groups: tuple[tuple[tuple[str, ...], tuple[str, ...]], ...]) -> Floats:
    columns = sum(len(blocks) + len(housings) - 1 for blocks, housings in groups)
    starts = _starts(groups)
    rows = np.zeros((len(found), columns))
    kept: dict[tuple[str, str], Floats] = {}
    for k, job in enumerate(found):
        pair = job.block_family, job.housing_family
        if pair not in kept:
            group, row = _weights(groups, "block", pair[0], columns)
            row = row + _weights(groups, "housing", pair[1], columns)[1]
            row[starts[group]] = 1.0
            kept[pair] = row
        rows[k] = kept[pair]
    return rows


def _families(
    found: Sequence[Found],
    groups: tuple[tuple[tuple[str, ...], tuple[str, ...]], ...],
    allowed: Sizes,
) -> list[Family]:
    listed = []
    columns = len(allowed.means[0].coefficients)
    sides: tuple[Side, Side] = ("block", "housing")
    for side in sides:
        for name, jobs in sorted(Counter(_family(job, side) for job in found).items()):
            group, weights = _weights(groups, side, name, columns)
            compared = groups[group][0 if side == "block" else 1]
            if len(compared) < 2:
                listed.append(Family(side, name, jobs, compared, None, None, None, None, told=False))
                continue
            effect = allowed.mixture(weights).student()
            factor = plane_factor(0.95, effect.freedom)
            far = float(effect.mean @ np.linalg.solve(effect.covariance, effect.mean)) > factor**2
            (xx, xy), (yx, yy) = effect.covariance.tolist()
            x, y = effect.mean.tolist()
            listed.append(
                Family(side, name, jobs, compared, (x, y), ((xx, xy), (yx, yy)), effect.freedom,
                       factor * _sd(effect.covariance), told=far)
            )  # fmt: skip
    return listed


def _pieces(found: Sequence[Found], factors: Sequence[Factor], fitted: Fitted) -> list[Piece]:
    listed = []
    sides: tuple[Side, Side] = ("block", "housing")
    for k, (side, factor) in enumerate(zip(sides, factors, strict=True)):
        values, met = fitted.model.predicted(fitted.sds, k)
        first = {int(level): j for j, level in reversed(list(enumerate(factor.levels)))}
        named = [level for level, j in first.items() if _name(found[j], side)]
        named.sort(key=lambda level: -math.hypot(*values[level]))
        unsure = fitted.model.unsure(fitted.sds, k, named[:_MOST_PIECES])
        for at, level in enumerate(named):
            job = found[first[level]]
            u95 = plane_factor(0.95, math.inf) * _sd(unsure[at]) if at < len(unsure) else None
            x, y = values[level].tolist()
            listed.append(Piece(side, _family(job, side), _name(job, side), int(met[level]), (x, y), u95))
    return listed


def _odd(found: Sequence[Found], fitted: Fitted) -> list[Odd]:
    sides: tuple[Side, Side] = ("block", "housing")
    listed = []
    for one in odd_levels(fitted):
        side = sides[one.factor]
        jobs = np.flatnonzero(fitted.model.factors[one.factor].levels == one.level)
        job = found[int(jobs[0])]
        listed.append(
            Odd(
                side,
                _family(job, side),
                _name(job, side),
                len(jobs),
                one.vector,
                one.u95,
                one.chance,
                job.job,
            )
        )
    return listed
