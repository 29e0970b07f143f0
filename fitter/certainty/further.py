"""Which further readings would tell most: by how much each way of reading on would make the bar narrower.

What scatters, and form, drift and faults, shrink as the model has it, which then also knows better how large
they are (`fitter.mixture.ahead`); of sectors that were passed over as least squares have it. Of what no model
sees, a dial or an angle that drags is the less the more a turn the other way cancels it; all else stays.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np

from ..fitting.model import Fit, carried_harmonics, fit
from ..fitting.together import Sweep
from ..mixture.ahead import Ahead, Then
from ..mixture.answer import Mixture
from ..numeric.basis import Floats, harmonic_rows
from ..reading import checks
from ..reading.setup import Setup
from ..reading.stations import MOST_HARMONICS, Ints, Stations, one_table
from .amount import expanded_amount
from .budget import beyond_scatter
from .modelled import MODELLED
from .unseen import Unseen, unseen

Way = Literal["turn", "turn_between", "turn_back", "closing", "station"]
"""All places once more as they are, half way between, or the other way round; the first place once more; one
more place."""

_PLACES: Final = np.arange(0.0, 360.0, 15.0)
"""That are looked at for one more station, degrees."""

_NM: Final = 6
"""Decimals of a millimetre to which a bar is promised: further ones hang on the last bits."""

_AS_GOOD: Final = 1.1
"""Of ways that leave bars within a tenth of the narrowest, that of fewest readings is the best."""


@dataclass(frozen=True, slots=True)
class Further:
    """A way of reading on.

    deg: where it begins, internal. readings: how many. u95_amount: the half-width of the amount that it is
    expected to leave, mm.
    """

    way: Way
    deg: float
    readings: int
    u95_amount: float


@dataclass(frozen=True, slots=True)
class Sure:
    """How sure one sweep is, or several together.

    first: the first harmonic (a, b) that is reported, mm.
    sweeps: stations of each as the model had them. hidden: what they do not show.
    variance: of both components of the vector together, mm^2, all told. u95: half-width of the amount, mm.
    """

    model: Mixture
    fitted: Fit
    first: Floats
    setup: Setup
    sweeps: Sequence[Stations]
    hidden: Unseen
    variance: float
    u95: float

    @property
    def passing(self) -> bool:
        """Whether a sweep did not stop at its stations."""
        return any(sweep.continuous for sweep in self.sweeps)


def after_one_more(now: Sure, deg: Floats) -> list[float]:
    """Half-width of the amount, mm, that one more reading of the last sweep at each of these angles
    leaves."""
    return _after_one_more(now, _ahead(now), deg)


def best_place(now: Sure) -> float:
    """Where one more reading would tell most, internal degrees."""
    return float(_PLACES[int(np.argmin(after_one_more(now, _PLACES)))])


def _ahead(now: Sure) -> Ahead | None:
    """What the model says of further readings; None where a sweep did not stop."""
    return None if now.passing else Ahead(now.model)


def ways_on(now: Sure) -> tuple[Further, ...]:
    """Every way of reading on with the bar that it leaves, the best first."""
    ahead = _ahead(now)
    found = [_turn(now, ahead, "turn"), _turn(now, ahead, "turn_back")]
    if not now.passing:
        found.append(_turn(now, ahead, "turn_between"))
        if len(now.sweeps) == 1:
            found += _one_reading(now, ahead)
    good = _AS_GOOD * min(one.u95_amount for one in found)
    return tuple(sorted(found, key=lambda one: _rank(one, good)))


def _rank(one: Further, good: float) -> tuple[float, float]:
    # Of equals the first, whatever the last bits say: one more station may be at the first place.
    return (-1.0 / one.readings if one.u95_amount <= good else 0.0, round(one.u95_amount, 9))


def _one_reading(now: Sure, ahead: Ahead | None) -> list[Further]:
    """Where one more reading tells most; and the first place once more, where nobody read it again."""
    (sweep,) = now.sweeps
    first = float(sweep.deg[0])
    *left, closed = _after_one_more(now, ahead, np.append(_PLACES, first))
    best = int(np.argmin(left))
    found = [Further("station", float(_PLACES[best]), 1, left[best])]
    return found if checks.closure(sweep) is not None else [*found, Further("closing", first, 1, closed)]


def _after_one_more(now: Sure, ahead: Ahead | None, deg: Floats) -> list[float]:
    last = now.sweeps[-1]
    rows = _rows(now, last, deg, _sense(last))
    # Each of them is read next, and no other.
    rows = replace(rows, t=np.full(len(deg), rows.t[0]))
    longer = [*now.sweeps[:-1], one_table([last, rows])]
    return _left(now, ahead, longer, np.arange(len(deg))[:, None], now.hidden)


def _turn(now: Sure, ahead: Ahead | None, way: Way) -> Further:
    """All places once more: as they are, half way between, or the other way round. Several sweeps are
    finished, so that it would be another one."""
    last = now.sweeps[-1]
    places, sense = _round(last), _sense(last)
    if way == "turn_back":
        places, sense = places[::-1], -sense
    elif way == "turn_between":
        places = (places + float(np.median(last.gaps())) / 2.0) % 360.0
    rows = _rows(now, last, places, sense)
    all_read = one_table([*now.sweeps, rows])
    longer = [*now.sweeps, rows] if len(now.sweeps) > 1 else [all_read]
    fitted = fit(all_read, carried_harmonics(all_read, ()))
    hidden = unseen(now.setup, all_read, fitted, [Sweep(slice(0, len(all_read)))], now.model.effects)
    (left,) = _left(now, ahead, longer, np.arange(len(places))[None], hidden)
    return Further(way, float(places[0]), len(places), left)


def _left(
    now: Sure, ahead: Ahead | None, longer: Sequence[Stations], ways: Ints, hidden: Unseen
) -> list[float]:
    """The half-width of the amount that each way leaves, mm. ways: which fresh rows each takes, (w, r).
    hidden: what does not show then."""
    known = sum(
        float(np.trace(part)) for _, _, part in beyond_scatter(now.setup, float(np.hypot(*now.first)))
    )
    beyond = known + _unseen(hidden)
    fresh = np.arange(sum(map(len, longer))) >= sum(map(len, now.sweeps))
    if ahead is None:
        basis = np.concatenate([table.basis for table in longer])[fresh]
        shares = _by_least_squares(now.fitted, basis, ways)
    else:
        then = ahead.after(longer, fresh, ways)
        if not now.setup.repeatability_mm:
            was = _expected(now, then[0].unread(), (known + _unseen(now.hidden)) / 2.0)
            left = (_expected(now, each, beyond / 2.0) for each in then)
            return [min(round(each * min(now.u95 / was, 1.0), _NM), now.u95) for each in left]
        shares = [each.share for each in then]
    own = max(now.variance - known - _unseen(now.hidden), 0.0)
    # What a shop repeats to comes and goes with the sweep, however much is read in it.
    shop = min(2.0 * now.setup.repeatability_mm**2, own)
    left = (float(np.sqrt((max(own * share, shop) + beyond) / now.variance)) for share in shares)
    return [round(now.u95 * each, _NM) for each in left]


def _expected(now: Sure, then: Then, beyond: float) -> float:
    """The half-width of the amount that is expected then, mm, as the parts have it that stand for all.
    beyond: variance of a component, mm^2, that no reading tells of."""
    length = float(np.hypot(*now.first))
    # Of no vector at all any direction is as good.
    towards = now.first / length if length > 0.0 else np.array([1.0, 0.0])
    far = then.half_width(towards, beyond)
    whole = then.mean + beyond * np.eye(2)
    return expanded_amount(now.first, whole, np.inf, far)


def _by_least_squares(fitted: Fit, basis: Floats, ways: Ints) -> list[float]:
    """The share of the vector's variance that each way leaves where every reading scatters alike. basis: of
    the rows that the ways take, (n, any)."""
    p = 1 + 2 * fitted.harmonics
    now, left = fitted.unscaled[:p, :p], []
    for way in ways:
        rows = basis[way, :p]
        seen = rows @ now
        told = seen.T @ np.linalg.solve(seen @ rows.T + np.eye(len(way)), seen)
        left.append(1.0 - float((told[1, 1] + told[2, 2]) / (now[1, 1] + now[2, 2])))
    return left


def _unseen(hidden: Unseen) -> float:
    """Variance of what no model sees, both components together, mm^2; of a delay without what only turns."""
    parts = sum(float(np.trace(part)) for source, part in hidden.parts if source not in MODELLED)
    return parts - float(np.trace(hidden.turning))


def _round(stations: Stations) -> Floats:
    """The places of a sweep, each once, the way it went round from where it began."""
    places = stations.places()
    first = int(np.argmin(np.abs((places - stations.deg[0] + 180.0) % 360.0 - 180.0)))
    on = np.roll(places, -first)
    return on if _sense(stations) > 0 else np.roll(on[::-1], 1)


def _sense(stations: Stations) -> int:
    """Which way it goes on."""
    return int(stations.sense[-1]) or 1


def _rows(now: Sure, after: Stations, deg: Floats, sense: int) -> Stations:
    """Readings that go on at the pace of a sweep, of a circle about the centre that is reported."""
    n, pace = len(deg), float(np.median(np.diff(after.t))) if len(after) > 1 else 1.0
    basis = harmonic_rows(deg, MOST_HARMONICS)
    mean = float((after.value - after.basis[:, 1:3] @ now.first).mean())
    unknown = np.full(n, np.nan)
    return Stations(
        deg=deg,
        basis=basis,
        value=mean + basis[:, 1:3] @ now.first,
        count=np.ones(n, dtype=np.int64),
        scatter=unknown,
        t=after.t[-1] + (pace if pace > 0.0 else 1.0) * np.arange(1.0, n + 1.0),
        turn=np.zeros(n, dtype=np.int64),
        sense=np.full(n, sense, dtype=np.int64),
        moved=unknown,
        speed=np.full(n, sense * float(np.median(np.abs(after.speed)))),
        continuous=after.continuous,
    )
