"""The readings seen through each tie of neighbours: sizes that are summed over, and what each source does."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..numeric.basis import Floats, spanned
from ..reading.stations import Ints
from ..units import MM_PER_THOU
from . import priors
from .evidence import Evidence, Grid, evidence
from .layout import Layout
from .priors import USUAL, Priors
from .search import Parts, search
from .ties import Tie

_COUNTS = 1e-4
"""Share of a node of the grid from which it counts for what each source does."""

_TOO_LOUD = math.log(1e-8)
"""Logarithm of what a scatter at most counts for, of what the readings without form and drift do."""

_WORTH = 1e-3
"""Share of all from which a tie, a scatter or a fault is worth a look with every size of form and drift."""


@dataclass(frozen=True, slots=True)
class Known:
    """What is stated of sweeps.

    resolution, by_angle: variance of each reading for the display's steps and for wrong angles, mm^2, (n,).
    wander_mm: standard deviation of each dial's walk in a sweep. drift_mm: of a drift; None: nobody said.
    fine_form_mm: standard deviation of each coefficient of form of more than four lobes; None: nobody said.
    told: columns of what the sweeps tell of beside the surface, flat in the centre: drift where a place was
        read twice, the sense of turning; (n, any).
    late: columns of what a late dial adds, for one standard deviation of its delay, where they tell it.
    priors: of scatter at stations, and of form.
    """

    resolution: Floats
    by_angle: Floats
    told: Floats
    late: Floats
    wander_mm: tuple[float, ...] = ()
    drift_mm: float | None = None
    fine_form_mm: float | None = None
    priors: Priors = USUAL


@dataclass(frozen=True, slots=True)
class Effects:
    """What each source does to the vector where nothing is wrong: covariance of (a, b), mm^2, (2, 2) each."""

    scatter: Floats
    resolution: Floats
    angle: Floats
    form: Floats
    drift: Floats


@dataclass(frozen=True, slots=True)
class View:
    """The model under one tie. table: columns that have a size, loosened, (n, p). known: variance of each
    reading for the display's steps and for wrong angles, (2, n), mm^2."""

    tie: Tie
    grid: Grid
    table: Floats
    known: Floats
    seen: Evidence
    parts: Parts

    def log(self) -> Floats:
        """Logarithms of the weights, beside those of other ties."""
        return self.parts.log + self.tie.log


def viewed(columns: Layout, known: Known, value: Floats, ties: Sequence[Sequence[Tie]]) -> list[View]:
    """The model under each tie that is worth it, all with one grid. ties: those of one correlation together.

    Ties, scatters and faults that are next to impossible are known from a look at usual sizes of form and
    drift.
    """
    grid, every = _grid(columns, known, ties), np.arange(len(columns.suspects))
    if len(ties) == 1:
        return _views(columns, known, value, ties[0], _not_too_loud(grid, columns.flat, value), every)
    looks = _looks(columns, known, value, ties, grid)
    least = max(look.log().max(initial=-np.inf) for look in looks) + np.log(_WORTH)
    worth = [look.log() >= least for look in looks]
    nodes = np.concatenate([look.parts.node[good] for look, good in zip(looks, worth, strict=True)])
    told = frozenset[int]().union(
        *(
            look.parts.sets[k]
            for look, good in zip(looks, worth, strict=True)
            for k in set(look.parts.faults[good])
        )
    )
    # Next to those that count, others may where form is not the usual.
    near = slice(max(nodes.min() - 1, 0), nodes.max() + 2)
    finer = replace(grid, noise=grid.noise[near], log_noise=grid.log_noise[near])
    kept = [tie for group, good in zip(ties, worth, strict=True) for tie in group if good.any()]
    return _views(columns, known, value, kept, finer, np.array(sorted(told), dtype=np.int64))


def glanced(columns: Layout, known: Known, value: Floats, ties: Sequence[Sequence[Tie]]) -> list[View]:
    """The same at usual sizes of form and drift, under one tie of each correlation."""
    return _looks(columns, known, value, ties, _grid(columns, known, ties))


def _looks(
    columns: Layout, known: Known, value: Floats, ties: Sequence[Sequence[Tie]], grid: Grid
) -> list[View]:
    every = np.arange(len(columns.suspects))
    usual = replace(grid, variances=np.median(grid.variances, axis=0, keepdims=True), log_weight=np.zeros(1))
    return _views(columns, known, value, [group[len(group) // 2] for group in ties], usual, every)


def _grid(columns: Layout, known: Known, ties: Sequence[Sequence[Tie]]) -> Grid:
    unit = sum(group.shape[1] for group in (columns.wander, columns.sense, known.late))
    return grid_of(columns, known, columns.drift.shape[1], unit, tied=len(ties) > 1)


def _not_too_loud(grid: Grid, flat: Floats, value: Floats) -> Grid:
    """The grid without scatters that are too large to count: each reading would be the less likely.

    flat: (n, q). value: (n,), mm.
    """
    Q = spanned(flat)
    rest, free = value - Q @ (Q.T @ value), len(value) - Q.shape[1]
    most = grid.log_noise - 0.5 * free * np.log(grid.noise)
    found = most - 0.5 * float(rest @ rest) / grid.noise
    kept = slice(1 + int(np.flatnonzero(most >= found.max() + _TOO_LOUD)[-1]))
    return replace(grid, noise=grid.noise[kept], log_noise=grid.log_noise[kept])


def _views(
    columns: Layout, known: Known, value: Floats, ties: Sequence[Tie], grid: Grid, which: Ints
) -> list[View]:
    """The model under each of some ties, one grid and some of the suspects."""
    table = columns.sized(known.late)
    stacked = np.column_stack([columns.flat, table, value, columns.suspected[:, which]])
    q, p = columns.flat.shape[1], table.shape[1]
    seen = []
    for tie in ties:
        flat, own, read, suspected = np.split(tie.loosened(stacked), [q, q + p, q + p + 1], axis=1)
        sizes = np.array([tie.shrunk(known.resolution), tie.shrunk(known.by_angle)])
        found = evidence(flat, own, suspected, read[:, 0], grid, sizes.sum(axis=0))
        seen.append((tie, own, sizes, found))
    most = max(float(found.log.max()) + tie.log for tie, _, _, found in seen)
    suspects = [columns.suspects[k] for k in which.tolist()]
    views = []
    for tie, own, sizes, found in seen:
        # What another tie explains by itself no faults need to explain under this one.
        parts = search(found, suspects, most - tie.log if len(ties) > 1 else -np.inf)
        sets = tuple(frozenset(int(which[k]) for k in one) for one in parts.sets)
        views.append(View(tie, grid, own, sizes, found, replace(parts, sets=sets)))
    return views


def grid_of(columns: Layout, known: Known, drifts: int, fixed: int, *, tied: bool = False) -> Grid:
    """The nodes for columns of form, for so many of drift, and for so many of unit size."""
    said = known.drift_mm
    moved = priors.DRIFT if said is None else ((said / MM_PER_THOU, 1.0),)
    axes: list[priors.Sizes] = [known.priors.oval, known.priors.rest, moved if drifts else ((0.0, 1.0),)]
    oval, rest, drift = (
        axis.reshape(-1, 1) * MM_PER_THOU
        for axis in np.meshgrid(*([size for size, _ in axis] for axis in axes), indexing="ij")
    )
    shares = np.meshgrid(*([share for _, share in axis] for axis in axes), indexing="ij")
    form = rest * columns.shares
    if known.fine_form_mm is not None:
        form[:, 4:] = known.fine_form_mm
    sizes = [np.tile(oval, columns.oval.shape[1]), form, np.tile(drift, drifts), np.ones((len(oval), fixed))]
    scatter, scatter_shares = np.array(known.priors.noise).T
    noise = priors.SECTOR_NOISE if tied else scatter * MM_PER_THOU
    return Grid(
        variances=np.column_stack(sizes) ** 2,
        log_weight=np.log(np.prod(shares, axis=0)).ravel(),
        noise=noise**2,
        log_noise=priors.log_sector_noise(noise) if tied else np.log(scatter_shares),
    )


def effects(columns: Layout, views: Sequence[View], node: Floats) -> Effects:
    """The vector of each node is a sum over readings: what it makes of each source's covariance. node: the
    weight of each, (views, g)."""
    return Effects(
        *np.sum([_effects(columns, view, one) for view, one in zip(views, node, strict=True)], axis=0)
    )


def _effects(columns: Layout, view: View, node: Floats) -> Floats:
    """Of one view: (5, 2, 2), in the order of `Effects`."""
    seen, grid = view.seen, view.grid
    at = np.flatnonzero(node > _COUNTS)
    share, gain = node[at], seen.gain[at]
    variances = np.repeat(grid.variances, len(grid.noise), axis=0)[at]
    noise = np.tile(grid.noise, len(grid.variances))[at]
    first = columns.of_form
    last = first + columns.drift.shape[1] + columns.wander.shape[1]

    def of(directions: Floats, sizes: Floats) -> Floats:
        moved = gain @ directions
        return np.asarray(np.einsum("g,gip,gp,gjp->ij", share, moved, sizes, moved))

    alone, ones = seen.basis.T, np.ones((len(at), len(seen.basis)))
    surface, drift = (alone @ view.table[:, part] for part in (slice(first), slice(first, last)))
    return np.array(
        [
            of(alone, noise[:, None] * ones),
            of(alone, view.known[0] * ones),
            of(alone, view.known[1] * ones),
            of(surface, variances[:, :first]),
            of(drift, variances[:, first:last]),
        ]
    )
