"""What may be readings of a stop, and how likely the model says that is."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from .certainty.normals import Normals
from .clues.flat import stops
from .clues.looking import FEWEST, STILL, UNLOOKED
from .clues.passed import stands
from .clues.sweeping import Looked, Weighed
from .fitting.believed import believed
from .fitting.prepare import Levelled
from .meaning import Meaning
from .mixture.answer import Mixture
from .mixture.bounds import Bound, Bounded
from .reading import corrections
from .reading.setup import Setup
from .reading.stations import Stations
from .result import Remark

_WORTH = -6.0
"""Logarithm of odds from which it is worth knowing what it would mean."""


@dataclass(frozen=True, slots=True)
class Stopped:
    """A sweep, ready to be fitted, with what may be bounds in it and what would be told of each."""

    setup: Setup
    sweep: Levelled
    bounds: tuple[Bound, ...] = ()
    remarks: tuple[Remark, ...] = ()

    @classmethod
    def of(cls, setup: Setup, raw: Stations, sweep: Levelled) -> "Stopped":
        """Of stations as they were read, and the same ready to be fitted."""
        if len(raw) < FEWEST or setup.feature in UNLOOKED:
            return cls(setup, sweep)
        raw = raw.take(sweep.rows)
        found = list(stands(setup, raw) if raw.continuous else _stops(setup, raw))
        # A stop is one of the dial, whose readings hold the droop of its arm.
        moved = sweep.stations.value - raw.value
        bounds = (replace(one, level=one.level + (one.sign or 1.0) * moved[one.rows]) for one, _ in found)
        return cls(setup, sweep, tuple(bounds), tuple(remark for _, remark in found))

    def weighed(self, model: Mixture | None) -> list[Weighed]:
        """How likely each is. model: of this sweep alone; None where there are several, of which each is
        looked at by itself."""
        if not self.bounds:
            return []
        own = believed([(self.setup, self.sweep)], self.bounds) if model is None else model
        return [
            Weighed(stop.odds, remark, self._over(stop), counted=model is not None and not bound.sure)
            for bound, stop, remark in zip(self.bounds, own.stops, self.remarks, strict=True)
        ]

    def _over(self, stop: Bounded) -> float:
        """Chance that the run-out of such a bore is over the limit. Of a sweep that did not stop nothing is
        said for it: its run is long, and what is left of the circle form bends to nearly anything."""
        if stop.odds < _WORTH or self.sweep.stations.continuous:
            return 1.0
        vector = Meaning.of(self.setup).sign * stop.vector[:, ::-1] + corrections.resting(self.setup)
        may_be = Normals(np.exp(stop.log - stop.odds), vector, stop.covariance[:, ::-1, ::-1])
        return 1.0 - may_be.within(self.setup.limit_mm / 2.0, np.zeros(2))


def _stops(setup: Setup, raw: Stations) -> Iterator[tuple[Bound, Remark]]:
    """Of stations that were stopped at."""
    looked = Looked.at(setup, raw)
    # Of what hardly moved, and was turned, nothing stands at a stop.
    sure = {"tip_off", *(STILL if looked.hardly else ())}
    return stops(looked, sure=not sure.isdisjoint(setup.sure))
