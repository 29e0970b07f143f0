"""Stations that do not belong, and knocks of the rig, as they are reported. Which there are is the model's to
say (`fitter.mixture`)."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from ..errors import TooFewStations
from ..geometry import clock
from ..reading.stations import Stations
from ..result import Looks, Outlier
from ..units import MM_PER_INCH, MM_PER_THOU
from .model import harmonic_design, supported_harmonics

_KNOCK_WORTH_NAMING_MM = 0.5 * MM_PER_THOU
"""Below that a knock changes no decision, and is left to the bar (common practice, no source)."""

_STATION_WORTH_NAMING_MM, _SECTOR_WORTH_NAMING_MM = 1.5 * MM_PER_THOU, 2.0 * MM_PER_THOU
"""A reading of a dial in order errs by a thou now and then; and of seventy sectors one that is off by two
thou moves the centre by less than a tenth of one (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Faults:
    """outliers: index and finding of each bad station. step_at: index of the first station after a knock, or
    None; step_likely: how likely there was one, where that is known."""

    outliers: tuple[tuple[int, Outlier], ...] = ()
    step_at: int | None = None
    step_likely: float | None = None


def named(stations: Stations, bad: Mapping[int, float], step: tuple[int, float] | None) -> Faults:
    """Faults with what the bad stations look like beside the others. None where what they leave carries no
    circle. bad, step: where each is, and how likely."""
    step_at, step_likely = step or (None, None)
    kept = np.setdiff1d(np.arange(len(stations)), list(bad))
    after = (np.arange(len(stations)) >= (len(stations) if step_at is None else step_at)).astype(np.float64)
    extras = [] if step_at is None else [after]
    left = stations.take(kept)
    try:
        harmonics = supported_harmonics(left, len(extras))
    except TooFewStations:
        return Faults()
    size = np.linalg.lstsq(
        harmonic_design(left, harmonics, [column[kept] for column in extras]), left.value, rcond=None
    )[0]
    expected = harmonic_design(stations, harmonics, extras) @ size
    off = stations.value - expected
    least = _SECTOR_WORTH_NAMING_MM if stations.continuous else _STATION_WORTH_NAMING_MM
    if step_at is not None and abs(size[-1]) < _KNOCK_WORTH_NAMING_MM:
        step_at = None
    return Faults(
        tuple(
            (at, replace(_name(stations, at, float(off[at])), probability=likely))
            for at, likely in sorted(bad.items())
            if abs(off[at]) >= least
        ),
        step_at,
        step_likely,
    )


def _name(stations: Stations, index: int, residual: float) -> Outlier:
    """What a bad station looks like: its reading, set right in one of the usual ways, would fit."""
    value = float(stations.value[index])
    expected = value - residual
    near = 0.1 * abs(residual)
    deg = float(stations.deg[index])
    like: Looks = "high" if residual > 0.0 else "low"
    slips: tuple[tuple[Looks, float], ...] = (
        ("sign", -value),
        ("unit", value * MM_PER_INCH),
        ("unit", value / MM_PER_INCH),
        ("point", value * 10.0),
        ("point", value / 10.0),
    )
    slip, right = min(slips, key=lambda entry: abs(entry[1] - expected))
    if abs(right - expected) < near and abs(value) > near:
        like = slip
    elif index and abs(value - float(stations.value[index - 1])) < near:
        like = "unmoved"
    return Outlier(deg=deg, clock=clock(deg), residual=residual, weight=0.0, like=like)
