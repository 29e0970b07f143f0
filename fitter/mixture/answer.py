"""What the model says of sweeps: their faults, the vector, and how sure they are."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from ..numeric.basis import Floats
from ..reading.stations import Ints, Stations
from .bounds import Bound, Bounded, beside, bounded
from .evidence import Grid, evidence
from .layout import Layout, layout
from .search import Parts, joined
from .suspects import Suspect
from .ties import ties
from .views import Effects, Known, View, effects, glanced, grid_of, viewed

NAMED = 0.8
"""Chance that there is a fault, from which the likeliest is named, and its reading, or what came before the
knock, left to itself."""

_NAMED_KNOCK = 0.92
"""Chance from which a knock is named: a drift that settles within a station or two looks like one, and of
rigs that gave way one in fifty was said to be knocked."""

_NAMED_READING = 0.5
"""Chance from which a reading is: it is that one sooner than any other."""

_APART = 1000.0
"""Condition number up to which columns are different ones (`fitter.fitting.model`)."""


@dataclass(frozen=True)
class Mixture:
    """The posterior as m normal vectors: first harmonic (a, b) in mm.

    weight: (m,), their sum is one. parts: vector and covariance of each, at which node, with which faults.
    believed: the weights once what is named is, (m,).
    named: those faults, and how likely each is, of a knock wherever in its sweep it was.
    noise: standard deviation of a reading, mm. neighbours: correlation of those of neighbouring sectors.
    stops: what it would be, were some readings bounds, weighed beside all else.
    stop: which of those each part is, (m,), -1 for none.
    columns, grid, known, value: what it was made of. passed: of a sweep that did not stop.
    """

    weight: Floats
    parts: Parts
    believed: Floats
    named: tuple[tuple[Suspect, float], ...]
    noise: float
    neighbours: float
    effects: Effects
    columns: Layout
    grid: Grid
    known: Known
    value: Floats
    passed: bool
    stops: tuple[Bounded, ...]
    stop: Ints

    @cached_property
    def centre(self) -> Floats:
        """The vector once what is named is believed, (2,), mm."""
        if self.passed:
            return np.asarray(self.believed @ self.parts.vector)
        named = [self.columns.suspects.index(one) for one, _ in self.named]
        return _plainly(self.columns, self.known, self.value, self.columns.suspected[:, named])


def mixture(sweeps: Sequence[Stations], known: Known, bounds: Sequence[Bound] = ()) -> Mixture:
    """The model of sweeps of one surface. bounds: what may be, of a single one."""
    columns, value = _read(sweeps, known)
    views = viewed(columns, known, value, ties(sweeps))
    parts = _parts(views)
    parts, stops, stop = beside(parts, bounds, bounded(columns, views, known.late, value, bounds))
    weight = np.exp(parts.log - parts.log.max())
    weight /= weight.sum()
    likeliest, named = _named(columns.suspects, parts, weight)
    believed = _believed(weight, parts.faults == likeliest, stop < 0)
    nodes = len(views[0].seen.noise)
    node: Floats = np.bincount(parts.node, believed, nodes * len(views)).astype(np.float64)
    node = node.reshape(len(views), nodes)
    grid, steps = views[0].grid, float((known.resolution + known.by_angle).mean())
    return Mixture(
        weight=weight,
        parts=parts,
        believed=believed,
        named=tuple((columns.suspects[i], likely) for i, likely in named.items()),
        noise=float(np.sqrt(np.tile(grid.noise, len(grid.variances)) + steps) @ node.sum(axis=0)),
        neighbours=float(node.sum(axis=1) @ [view.tie.phi for view in views]),
        effects=effects(columns, views, node),
        columns=columns,
        grid=grid,
        known=known,
        value=value,
        passed=any(sweep.continuous for sweep in sweeps),
        stops=stops,
        stop=stop,
    )


def glance(sweeps: Sequence[Stations], known: Known) -> Floats:
    """The vector as a first look has it, (2,), mm, whatever the faults: near enough for what hardly hangs on
    it."""
    columns, value = _read(sweeps, known)
    parts = _parts(glanced(columns, known, value, ties(sweeps)))
    weight = np.exp(parts.log - parts.log.max())
    return np.asarray(weight @ parts.vector / weight.sum())


def _read(sweeps: Sequence[Stations], known: Known) -> tuple[Layout, Floats]:
    """The columns, and the readings, mm, (n,)."""
    columns = layout(sweeps, walks=known.drift_mm is not None, wander=known.wander_mm)
    return columns, np.concatenate([sweep.value for sweep in sweeps])


def _parts(views: Sequence[View]) -> Parts:
    return joined([view.parts for view in views], [view.tie.log for view in views])


def _believed(weight: Floats, named: NDArray[np.bool_], free: NDArray[np.bool_]) -> Floats:
    """The weight of each part, (m,), once what is named is believed, of those that are `free` of a stop: of
    any of them, where a stop and faults that are not named leave next to nothing for readings without."""
    which = named & free if (named & free).any() else free
    believed = weight * which
    return np.asarray(believed / believed.sum())


def _named(suspects: Sequence[Suspect], parts: Parts, weight: Floats) -> tuple[int, dict[int, float]]:
    """The set of faults that is believed, and what is named of it with its chance: the likeliest one, where
    it is not likely that there is none, and each of it is likely enough by itself; else the empty one."""
    by_set = np.bincount(parts.faults, weight, len(parts.sets))
    if 1.0 - float(by_set[0]) > NAMED:
        likeliest = 1 + int(np.argmax(by_set[1:]))
        named = {i: _likely(suspects, i, parts, weight) for i in sorted(parts.sets[likeliest])}
        if all(of > (_NAMED_KNOCK if suspects[i].knock else _NAMED_READING) for i, of in named.items()):
            return likeliest, named
    return 0, {}


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
    # A drift that cannot be told from what is named is left to the bar, as is more than there are readings.
    for more in (named, known.told):
        wider = np.column_stack([more, flat])
        apart = np.linalg.cond(wider / np.linalg.norm(wider, axis=0)) < _APART
        if apart and wider.shape[1] <= len(wider):
            flat = wider
    table = np.column_stack([columns.oval, columns.form])
    grid = grid_of(columns, known, 0, 0)
    nobody = np.zeros((len(value), 0))
    seen = evidence(flat, table, nobody, value, grid, known.resolution + known.by_angle)
    weight = np.exp(seen.log - seen.log.max())
    return np.asarray(weight @ seen.vector / weight.sum())
