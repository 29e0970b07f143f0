"""Readings that lie flat at one end of the travel: the bore, or bounds of it.

Where the tip is off the surface, or the plunger at its stop, the bore would read lower still (or higher)
than the dial shows. That is one more hypothesis. With o the other readings and f the flat ones, it has the
evidence

    p(o) P(the bore reads no more than the level at f | o) p(f are equal, the level anywhere)

against p(o, f). Both are taken at the same nodes and with an offset of usual sizes: others that lie on one
side of the circle leave it open how far the bore goes on the other, and one that is flat beforehand would
have it go any distance.

In a sweep that does not stop the flat ones are many, and the display ties them: what they say of a bore is
no density but the chance that all of it, noise and all, lies within a step of the display there. The odds are

    P(the bore reads no more than the level at f | o) P(the level) / P(the bore is that near to it at f | o)

and of a dial on hold, which any bore may have passed by, the first is one.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise

import numpy as np

from ..numeric.basis import Floats
from ..numeric.logs import LOG_TWO_PI, log_below, log_sum
from ..reading.stations import Ints
from ..units import MM_PER_THOU
from . import priors
from .evidence import Evidence, evidence
from .layout import Layout
from .search import Parts
from .views import View

_COUNTS = math.log(1e-4)
"""Logarithm of the odds from which a bound counts."""

_MOST = 12.0
"""No logarithm of odds says more."""

_NEXT_TO_NOTHING = 6.0
"""Logarithm of odds against the best node from which one does not count."""

_ASKED, _BORES = 18, 10
"""Readings of a run, and bores, that are asked in a sweep that did not stop."""

_FEW = 8
"""Readings beside it without which nothing is told."""

_LEAST_LIKELY = 20.0
"""Logarithm by which readings of a bore are less likely than any, at the most: what else they are is told by
what they would be, not by the last of that."""


@dataclass(frozen=True, slots=True)
class Bound:
    """Readings that may be those of a stop.

    rows: which of the sweep, (f,). sign: one where it is the lowest that is cut off, else minus one.
    level: the bore would read no more there, times the sign, mm, (f,).
    log: logarithm of how well a stop explains that they are equal, the level anywhere: density, mm^(1-f).
    step: of the display, mm.
    sure: whether somebody made sure that they are none: it is weighed, and does not count.
    """

    rows: Ints
    sign: float
    level: Floats
    log: float
    step: float
    sure: bool


@dataclass(frozen=True, slots=True)
class Stood(Bound):
    """The same in a sweep that did not stop; with a sign of nought, readings of a dial on hold, whose level
    says nothing.

    log: logarithm of how often that is met and reads so. step: of the display, with its flicker.
    room: how near the level a bore has to lie there to pass for it, mm.
    away: how far each reading of the sweep is off it, but for what it scatters, mm, (n,).
    """

    room: float
    away: Floats


@dataclass(frozen=True, slots=True)
class Bounded:
    """What the model would be, were some readings bounds: m normal vectors.

    log: logarithms of their weights beside those of all else, whose sum is one, (m,).
    vector: (m, 2), mm. covariance: (m, 2, 2), mm^2. node: of the grid, (m,).
    """

    log: Floats
    vector: Floats
    covariance: Floats
    node: Ints

    @property
    def odds(self) -> float:
        """Logarithm of how likely it is beside all else."""
        return log_sum(self.log)


def bounded(
    columns: Layout, views: Sequence[View], late: Floats, value: Floats, bounds: Sequence[Bound]
) -> list[Bounded]:
    """Each of some bounds of a sweep, beside its readings as they are. value: those, mm, (n,). late: columns
    of what a late dial adds."""
    if not bounds:
        return []
    view = max(views, key=lambda each: float(each.log().max(initial=-np.inf)))
    if isinstance(bounds[0], Stood):
        return [_stood(columns, view, late, value, one) for one in bounds if isinstance(one, Stood)]
    usual = _Usual.of(columns, view, value, bounds)
    return [_bounded(usual, one) for one in bounds]


def beside(
    parts: Parts, bounds: Sequence[Bound], found: Sequence[Bounded]
) -> tuple[Parts, tuple[Bounded, ...], Ints]:
    """The parts of a model with those of the bounds that count, each of the bounds as it stands beside all
    else, and which of them each part has, -1 for none. found: of each bound what `bounded` found."""
    which = np.full(len(parts.log), -1)
    if not found:
        return parts, (), which
    total, share = log_sum(parts.log), 0.0
    if not isinstance(bounds[0], Stood):
        # What a fault explains needs no stop.
        sound = parts.log[parts.faults == 0]
        share = log_sum(sound) - total if len(sound) else -_MOST
    stops = tuple(replace(one, log=one.log + share) for one in found)
    pairs = enumerate(zip(stops, bounds, strict=True))
    counted = [k for k, (one, bound) in pairs if one.odds > _COUNTS and not bound.sure]
    if not counted:
        return parts, stops, which
    of = [stops[k] for k in counted]
    more = sum(len(one.log) for one in of)
    joined = Parts(
        log=np.concatenate([parts.log, *(one.log + total for one in of)]),
        vector=np.concatenate([parts.vector, *(one.vector for one in of)]),
        covariance=np.concatenate([parts.covariance, *(one.covariance for one in of)]),
        node=np.concatenate([parts.node, *(one.node for one in of)]),
        faults=np.concatenate([parts.faults, np.zeros(more, dtype=np.int64)]),
        sets=parts.sets,
        nodes=parts.nodes,
    )
    return joined, stops, np.concatenate([which, np.repeat(counted, [len(one.log) for one in of])])


@dataclass(frozen=True)
class _Usual:
    """Bores of usual offsets, o of them, at g nodes of the grid.

    seen: of all readings, the flat ones suspects. flat: which those are, (h,). value: of all, mm, (n,).
    node: of the whole grid, (g,).
    """

    seen: Evidence
    flat: Ints
    value: Floats
    node: Ints

    @classmethod
    def of(cls, columns: Layout, view: View, value: Floats, bounds: Sequence[Bound]) -> "_Usual":
        """At usual sizes of drift: how far a bore goes on beyond a stop hardly hangs on it."""
        sizes = view.grid.variances[:, columns.of_form]
        every = np.unique(sizes)
        chosen = np.flatnonzero(sizes == every[len(every) // 2])
        log_weight = view.grid.log_weight[chosen]
        grid = replace(view.grid, variances=view.grid.variances[chosen], log_weight=log_weight)
        # A step that nobody stated shows in readings that are equal, and all of them have it.
        known = np.maximum(view.known.sum(axis=0), bounds[0].step ** 2 / 12.0)
        flat = np.unique(np.concatenate([one.rows for one in bounds]))
        seen = evidence(columns.flat, view.table, np.eye(len(value))[:, flat], value, grid, known)
        node = chosen[:, None] * len(grid.noise) + np.arange(len(grid.noise))
        return cls(seen, flat, value, node.ravel())

    @cached_property
    def cross(self) -> Floats:
        """What the flat readings have in common, (g, h, h)."""
        return np.moveaxis(np.array([self.seen.cross(k) for k in range(len(self.flat))]), 2, 0)

    @cached_property
    def offset(self) -> Floats:
        """Variance of each coordinate of the offset, mm^2, (o, 1, 1, 1)."""
        sizes, _ = np.array(priors.OFFSET).T
        return np.asarray((sizes * MM_PER_THOU) ** 2)[:, None, None, None]

    @cached_property
    def precision(self) -> Floats:
        """One over the covariance of the vector as it is seen, (o, g, 2, 2)."""
        return np.asarray(np.linalg.inv(self.offset * np.eye(2) + self.seen.covariance))

    @cached_property
    def log(self) -> Floats:
        """Logarithm of how likely the readings are, (o, g)."""
        _, share = np.array(priors.OFFSET).T
        away = np.einsum("gi,ogij,gj->og", self.seen.vector, self.precision, self.seen.vector)
        _, size = np.linalg.slogdet(self.precision)
        return np.asarray(self.seen.log + np.log(share)[:, None] + (size - away) / 2.0)

    @cached_property
    def plain(self) -> float:
        """The same of all bores."""
        return log_sum(self.log.ravel())


def _bounded(usual: _Usual, bound: Bound) -> Bounded:
    """What the other readings tell: a flat one may be off by anything, as by a fault of any size."""
    seen, rows, f = usual.seen, bound.rows, len(bound.rows)
    at = np.searchsorted(usual.flat, rows)
    moved = seen.gain @ seen.basis[rows].T  # the vector, by each of them, (g, 2, f)
    held = np.swapaxes(moved, 1, 2) @ usual.precision
    room = usual.cross[:, at[:, None], at] + held @ moved
    pull = seen.pulls[0, at].T[:, :, None] + held @ seen.vector[:, :, None]  # (o, g, f, 1)
    free = np.linalg.inv(room)
    off = free @ pull
    _, size = np.linalg.slogdet(free)
    log = usual.log + ((pull * off).sum(axis=(2, 3)) + size + f * LOG_TWO_PI) / 2.0
    o, g = np.nonzero(log >= log.max() - _NEXT_TO_NOTHING)
    off, free, moved = off[o, g], free[o, g], moved[g]
    shrunk = usual.offset[o, 0] * usual.precision[o, g]
    vector = shrunk @ (seen.vector[g][:, :, None] - moved @ off)
    across = free @ np.swapaxes(shrunk @ moved, 1, 2)
    own = usual.offset[o, 0] * (np.eye(2) - shrunk) + shrunk @ moved @ across
    mean = np.concatenate([usual.value[rows] - off[:, :, 0], vector[:, :, 0]], axis=1)
    covariance = np.block([[free, across], [np.swapaxes(across, 1, 2), own]])
    chance, mean, covariance = log_below(bound.sign * mean, covariance, bound.level)
    return Bounded(
        log=np.minimum(log[o, g] - usual.plain + chance + bound.log + math.log(priors.STOP_PER_MM), _MOST),
        vector=bound.sign * mean,
        covariance=covariance,
        node=usual.node[g],
    )


def _stood(columns: Layout, view: View, late: Floats, value: Floats, bound: Stood) -> Bounded:
    """Of a sweep that did not stop. A fault that is likely is one of the bore's here: what is flat beside it
    is still to be explained."""
    best = int(np.argmax(view.parts.log))
    faults = columns.suspected[:, sorted(view.parts.sets[view.parts.faults[best]])]
    table = np.column_stack([np.ones(len(value)), columns.flat[:, -2:], columns.sized(late), faults])
    node, scatter = divmod(int(view.parts.node[best]), len(view.grid.noise))
    drift = view.grid.variances[:, columns.of_form :]
    alike = np.flatnonzero((drift == drift[node]).all(axis=1))
    noise = float(view.grid.noise[scatter])
    # Sectors beside it are of both, and so are those that only noise took off it.
    free = bound.away > math.sqrt(noise)
    free[np.clip(bound.rows + np.array([[-1], [0], [1]]), 0, len(value) - 1)] = False
    if free.sum() < _FEW:
        free[:] = True
        free[bound.rows] = False
    zero, sign = float(np.median(value)), bound.sign or 1.0
    log, mean, covariance = _bores(table, view, alike, noise, value - zero, np.flatnonzero(free))
    asked = np.unique(np.linspace(0, len(bound.rows) - 1, _ASKED).round().astype(int))
    rows, level, f = bound.rows[asked], bound.level[asked] - sign * zero, len(asked)
    wanted = np.concatenate([sign * table[rows], np.eye(3, table.shape[1])[1:]])
    mean, covariance = mean @ wanted.T, wanted @ covariance @ wanted.T
    covariance[:, :f, :f] += noise * view.tie.phi ** np.abs(rows[:, None] - rows)
    both = np.kron(np.eye(f), [[1.0], [-1.0]])  # one after the other, each from above and from below
    near = both @ level + bound.room
    as_read, _, _ = log_below(mean[:, :f] @ both.T, both @ covariance[:, :f, :f] @ both.T, near)
    if bound.sign:
        chance, mean, covariance = log_below(mean, covariance, level + bound.step / 2.0)
        held = log + chance + bound.log
    else:
        mean, covariance, held = mean[:, f:], covariance[:, f:, f:], log + bound.log
    held -= max(log_sum(log + as_read), log_sum(log) - _LEAST_LIKELY)
    return Bounded(held, mean, covariance, np.zeros(len(log), dtype=np.int64))


def _bores(
    table: Floats, view: View, alike: Ints, noise: float, value: Floats, rows: Ints
) -> tuple[Floats, Floats, Floats]:
    """The likeliest bores, with their drift, by some rows of a sweep that did not stop: logarithm of their
    weight, (m,), and mean and covariance of the unknowns, (m, p) and (m, p, p), at the scatter and the drift
    that the whole sweep shows. table: all columns, (n, p). alike: choices of form with that drift. noise:
    that scatter, mm^2. value: about the zero, mm, (n,)."""
    grid, p = view.grid, table.shape[1]
    noise += float(view.known.sum(axis=0)[rows].mean())
    ends = [0, *(np.flatnonzero(np.diff(rows) > 1) + 1).tolist(), len(rows)]
    tie = replace(view.tie, rows=tuple((slice(*each), True) for each in pairwise(ends)))
    own = tie.loosened(np.column_stack([table, value])[rows])
    k, offsets = len(alike), np.array(priors.OFFSET)
    sd = np.full((len(offsets), k, p), priors.KNOCK.sizes[-1][0] * MM_PER_THOU)  # of the faults
    sd[:, :, 0], sd[:, :, 1:3] = priors.ZERO_MM, offsets[:, :1, None] * MM_PER_THOU
    sd[:, :, 3 : 3 + grid.variances.shape[1]] = np.sqrt(grid.variances[alike])
    told = own[:, :-1].T @ own / noise
    each = sd.reshape(-1, p)
    whole = each[:, :, None] * told[:, :-1] * each[:, None, :] + np.eye(p)
    left = np.linalg.inv(whole)
    pull = each * told[:, -1]
    mean = (left @ pull[:, :, None])[:, :, 0]
    log = (grid.log_weight[alike] + np.log(offsets[:, 1:])).ravel()
    log += ((mean * pull).sum(axis=1) - np.linalg.slogdet(whole)[1]) / 2.0
    kept = np.argsort(-log, kind="stable")[:_BORES]
    each, left = each[kept], left[kept]
    return log[kept], each * mean[kept], each[:, :, None] * left * each[:, None, :]
