"""What the model says of sweeps: their faults, the vector, and how sure they are."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..numeric.basis import Floats
from ..reading.stations import Stations
from ..units import MM_PER_THOU
from . import priors
from .evidence import Evidence, Grid, evidence
from .layout import Layout, Suspect, layout
from .search import Parts, search

NAMED = 0.8
"""Chance from which a fault is named, and its reading, or what came before the knock, left to itself."""

_APART = 1000.0
"""Condition number up to which columns are different ones (`fitter.fitting.model`)."""

_COUNTS = 1e-4
"""Share of a node of the grid from which it counts for what each source does."""


@dataclass(frozen=True, slots=True)
class Known:
    """What is stated of sweeps.

    resolution, by_angle: variance of each reading for the display's steps and for wrong angles, mm^2, (n,).
    drift_mm: standard deviation of a drift; None: nobody said.
    fine_form_mm: standard deviation of each coefficient of form of more than four lobes; None: nobody said.
    told: columns of what the sweeps tell of beside the surface, flat in the centre: drift where a place was
        read twice, the sense of turning; (n, any).
    """

    resolution: Floats
    by_angle: Floats
    told: Floats
    drift_mm: float | None = None
    fine_form_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Effects:
    """What each source does to the vector where nothing is wrong: covariance of (a, b), mm^2, (2, 2) each."""

    scatter: Floats
    resolution: Floats
    angle: Floats
    form: Floats
    drift: Floats


@dataclass(frozen=True, slots=True)
class Mixture:
    """The posterior as m normal vectors: first harmonic (a, b) in mm.

    weight: (m,), their sum is one. vector: (m, 2). covariance: (m, 2, 2).
    centre: the vector once what is named is believed, (2,).
    named: those faults, and how likely each is, of a knock wherever in its sweep it was.
    chance: that there is a fault at all.
    noise: standard deviation of a reading, mm.
    """

    weight: Floats
    vector: Floats
    covariance: Floats
    centre: Floats
    named: tuple[tuple[Suspect, float], ...]
    chance: float
    noise: float
    effects: Effects

    def spreads(self, reported: Floats) -> Floats:
        """Second moments of each part about the vector that is reported, (m, 2, 2), mm^2."""
        off = self.vector - reported
        return np.asarray(self.covariance + off[:, :, None] * off[:, None, :])


def mixture(sweeps: Sequence[Stations], known: Known) -> Mixture:
    """The model of sweeps of one surface, stopped at. What is named of them is that of the likeliest set of
    faults, where it is not likely that there is none."""
    columns = layout(sweeps, walks=known.drift_mm is not None)
    value = np.concatenate([sweep.value for sweep in sweeps])
    grid = _grid(columns, known, columns.drift.shape[1], columns.sense.shape[1])
    table = np.column_stack([columns.oval, columns.form, columns.drift, columns.sense])
    seen = evidence(columns.flat, table, columns.suspected, value, grid, known.resolution + known.by_angle)
    parts = search(seen, columns.suspects)
    weight = np.exp(parts.log - parts.log.max())
    weight /= weight.sum()
    by_set = np.bincount(parts.faults, weight, len(parts.sets))
    chance = 1.0 - float(by_set[0])
    likeliest = 1 + int(np.argmax(by_set[1:])) if chance > NAMED else 0
    named = sorted(parts.sets[likeliest])
    believed = weight * (parts.faults == likeliest)
    node = np.bincount(parts.node, believed, len(seen.noise)) / believed.sum()
    return Mixture(
        weight=weight,
        vector=parts.vector,
        covariance=parts.covariance,
        centre=_plainly(columns, known, value, columns.suspected[:, named]),
        named=tuple((columns.suspects[i], _likely(columns.suspects, i, parts, weight)) for i in named),
        chance=chance,
        noise=float(np.sqrt(np.tile(grid.noise, len(grid.variances))) @ node),
        effects=_effects(columns, known, seen, grid, node),
    )


def _likely(suspects: Sequence[Suspect], which: int, parts: Parts, weight: Floats) -> float:
    """How likely a fault is, whatever else there was. When the zero moved is told less surely than that it
    did: of a knock those of its neighbours count too."""
    one = suspects[which]
    alike = {
        i
        for i, each in enumerate(suspects)
        if i == which or (one.knock and each.knock and each.sweep == one.sweep)
    }
    holds = np.array([not alike.isdisjoint(faults) for faults in parts.sets])
    return min(float(weight @ holds[parts.faults]), 1.0)


def _plainly(columns: Layout, known: Known, value: Floats, named: Floats) -> Floats:
    """The vector as it is reported: what is named is taken out, and what else the readings tell. What may be
    beside, an unlikely knock or a drift that nothing shows, makes the bar wider and no other number."""
    flat = columns.flat
    # A drift that cannot be told from what is named is left to the bar.
    for more in (named, known.told):
        wider = np.column_stack([more, flat])
        if np.linalg.cond(wider / np.linalg.norm(wider, axis=0)) < _APART:
            flat = wider
    table = np.column_stack([columns.oval, columns.form])
    grid = _grid(columns, known, 0, 0)
    nobody = np.zeros((len(value), 0))
    seen = evidence(flat, table, nobody, value, grid, known.resolution + known.by_angle)
    weight = np.exp(seen.log - seen.log.max())
    return np.asarray(weight @ seen.vector / weight.sum())


def _grid(columns: Layout, known: Known, drifts: int, fixed: int) -> Grid:
    """The nodes for columns of form, for so many of drift, and for so many of unit size."""
    said = known.drift_mm
    moved = priors.DRIFT if said is None else ((said / MM_PER_THOU, 1.0),)
    axes: list[priors.Sizes] = [priors.OVAL, priors.REST, moved if drifts else ((0.0, 1.0),)]
    oval, rest, drift = (
        axis.reshape(-1, 1) * MM_PER_THOU
        for axis in np.meshgrid(*([size for size, _ in axis] for axis in axes), indexing="ij")
    )
    shares = np.meshgrid(*([share for _, share in axis] for axis in axes), indexing="ij")
    form = rest * columns.shares
    if known.fine_form_mm is not None:
        form[:, 4:] = known.fine_form_mm
    sizes = [np.tile(oval, columns.oval.shape[1]), form, np.tile(drift, drifts), np.ones((len(oval), fixed))]
    return Grid(
        variances=np.column_stack(sizes) ** 2,
        log_weight=np.log(np.prod(shares, axis=0)).ravel(),
        noise=priors.NOISE**2,
        log_noise=priors.log_noise(priors.NOISE),
    )


def _effects(columns: Layout, known: Known, seen: Evidence, grid: Grid, node: Floats) -> Effects:
    """The vector of each node is a sum over readings: what it makes of each source's covariance."""
    at = np.flatnonzero(node > _COUNTS)
    share, gain = node[at], seen.gain[at]
    variances = np.repeat(grid.variances, len(grid.noise), axis=0)[at]
    noise = np.tile(grid.noise, len(grid.variances))[at]

    def of(table: Floats, sizes: Floats) -> Floats:
        moved = gain @ (seen.basis.T @ table)
        return np.asarray(np.einsum("g,gip,gp,gjp->ij", share, moved, sizes, moved))

    n = len(seen.basis)
    first = columns.oval.shape[1] + columns.form.shape[1]
    last = first + columns.drift.shape[1]
    readings = np.ones((len(at), n))
    return Effects(
        scatter=of(np.eye(n), noise[:, None] * readings),
        resolution=of(np.eye(n), known.resolution * readings),
        angle=of(np.eye(n), known.by_angle * readings),
        form=of(np.column_stack([columns.oval, columns.form]), variances[:, :first]),
        drift=of(columns.drift, variances[:, first:last]),
    )
