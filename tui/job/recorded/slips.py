"""Numbers that may be slips: the wrong unit, or a decimal point in the wrong place. Questions, not verdicts:
nothing is left out or changed because of them.
"""

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np

from coaxly.fitter import Estimate, Fitter, Result, Setup
from coaxly.fitter.clues.unit import better
from coaxly.fitter.geometry import InternalDeg
from coaxly.fitter.meaning import Meaning
from coaxly.fitter.reading.stations import Stations
from coaxly.fitter.result import Remark
from coaxly.fitter.units import MM_PER_INCH, MM_PER_THOU, MM_PER_UNIT
from coaxly.logger.line.grammar import NO_UNIT
from coaxly.logger.marks import FaultKind, is_all_nines, mark_of
from coaxly.logger.profile import BUILT_IN, Profile

from ...entry.lengths import own_unit
from ...entry.names import plainly

_HUGE: Final = 10.0
"""Limits to which no housing that was ever bolted up is off."""

_BETTER, _BETTER_STATED = 2.0, 10.0
"""Times by which another unit must explain the readings better than the one that somebody said, and than one
that a profile of the dial states."""

_APART: Final = 8.0
"""Times the spread of the other readings by which a typed one must stand off to be questioned."""


def unit_doubt(
    result: Result,
    fitter: Fitter,
    profile: Profile,
    stage: str,
    said_by_lines: str = "",
    *,
    two: bool = False,
) -> tuple[Remark, ...]:
    """Whether another unit explains the readings clearly better than the one that was said: one remark, or
    none. result: of this fitter's stations alone. said_by_lines: the unit that a typed list names itself, as
    a person meant it. two: whether two indicators were read together."""
    setup, stations = fitter.setup, fitter.stations()
    if setup.two_numbers or setup.feature == "sag":
        return ()  # who said one number said its unit with it, and a droop may be next to nothing
    typed = profile.typed
    if typed and not profile.unit and said_by_lines in ("mm", "um"):
        profile = replace(profile, unit="mm")  # thou come as inches
    if not profile.unit and profile.says_unit and not typed:
        return ()  # each line says its own
    swing, limit = result.tir.swept, result.decision.limit
    if (given := _as_given(result, stations)) > _HUGE * limit:
        return (Remark.warning("too_large", swing_mm=given, unit=said_by_lines if typed else profile.unit),)
    if profile.unit == "in":
        return ()
    said, other = (1.0, MM_PER_INCH) if profile.unit else (MM_PER_THOU, 1.0)
    # Nobody needs to know the unit of what is inside in either.
    if result.tir.fitted * other / said <= limit / 2.0:
        return ()
    stated = profile.name not in BUILT_IN
    # Counts, differences and what somebody wrote down have digits that no display shows.
    display = not (two or typed) and math.log10(abs(profile.scale)).is_integer()
    times = better(setup, stations, swing, (said, other), plainly(stage), display=display)
    if times < (_BETTER_STATED if stated else _BETTER):
        return ()
    return (Remark.warning("other_unit", swing_mm=swing, shows="in" if profile.unit else "mm"),)


def _as_given(result: Result, stations: Stations) -> float:
    """How far the readings go, mm, as they were given: where many do not agree with a circle it is no few bad
    ones that are left out of a bore, but whole numbers of another unit. A station alone that is far off is
    named by itself, with what it looks like."""
    kept, checks = result.tir.swept, result.checks
    if len(checks.outliers) <= max(1, len(stations) // _ALONE):
        return kept
    jumped = abs(checks.step.size) if checks.step is not None else 0.0
    return max(kept, float(np.ptp(stations.value)) - jumped)


_ALONE: Final = 8
"""Stations among which one may be far off by itself."""


def not_turned(expected: Estimate, setup: Setup, stations: Stations) -> InternalDeg | None:
    """Where the station before the newest was read, degrees, if the newest reads as it does although the fit
    without it, `expected`, has them well apart; None otherwise, and where both are one place."""
    if len(stations) < _FEWEST:
        return None
    before, newest = stations.deg[-2:].tolist()
    deg = np.radians(stations.deg[-2:])
    cos, sin = np.cos(deg), np.sin(deg)
    due = float(np.diff(Meaning.of(setup).slope((expected.x, expected.y), cos, sin))[0])
    came = float(np.diff(stations.value[-2:])[0])
    scatter = max(_RIG_MM, expected.scatter)
    apart = abs((newest - before + 180.0) % 360.0 - 180.0)
    if apart < 1.0 or abs(came) > scatter or abs(due) < _TELLING * scatter:
        return None
    return InternalDeg(before)


_FEWEST: Final = 5
"""Stations from which the fit without the newest says anything."""

_RIG_MM: Final = 0.2 * MM_PER_THOU
"""Within which a dial comes back where it was (common practice, no source)."""

_TELLING: Final = 4.0
"""Times the scatter by which two stations must be expected apart."""


@dataclass(frozen=True, slots=True)
class Slip:
    """A typed reading that is far from those before it.

    far_mm: by how much.
    like: what would explain it: a point that slipped, or thou or mm typed where the other unit was meant;
        None if nothing does.
    """

    far_mm: float
    like: Literal["point", "thou", "mm"] | None


@dataclass(frozen=True, slots=True)
class NotTaken:
    """A typed line that is no reading.

    unit: of a bare number, "" if it needs one.
    bare: whether a unit is all that it lacks.
    says: what an instrument says of itself by it, "" where it says nothing.
    """

    text: str
    unit: str
    bare: bool
    says: FaultKind = ""


def of_typed(fitter: Fitter, text: str, unit: str) -> Slip | None:
    """What is doubtful about the reading that was typed last. text: as it was typed; unit: of a bare number,
    "" if nobody said."""
    if fitter.setup.feature == "steps":
        return None  # which differ as much as they like
    values = fitter.stations().value.tolist()
    return slip_doubt(values, fitter.setup.limit_mm, own_unit(text) or unit or NO_UNIT)


def slip_doubt(values: Sequence[float], limit: float, unit: str) -> Slip | None:
    """Whether the newest of the typed readings, mm, is far from all before it: what it may have been. unit:
    that it was taken for."""
    *before, newest = values
    if not before:
        return None
    middle = float(np.median(before))
    spread = max(float(np.ptp(before)), limit)
    if abs(newest - middle) <= _APART * spread:
        return None
    apart, like = min((abs(newest * factor - middle), like) for factor, like in _slips(unit))
    return Slip(newest - middle, like if apart <= spread and math.isfinite(apart) else None)


def not_taken(text: str, unit: str) -> NotTaken:
    """Why a typed line is no reading. unit: of a bare number, "" if it needs one."""
    number = re.match(r"\s*[+-]?\s*[\d.,]+", text)
    nines = number is not None and is_all_nines(number[0])
    says: FaultKind = "over_range" if nines else mark_of(text) or ""
    return NotTaken(text, unit, not unit and re.fullmatch(r"[\s\d.,+-]+", text) is not None, says)


_POINTS: Final = (0.1, 0.01, 10.0)
_TYPED_FOR_ANOTHER: Final[tuple[Literal["thou", "mm"], ...]] = ("thou", "mm")


def _slips(unit: str) -> Iterator[tuple[float, Literal["point", "thou", "mm"]]]:
    """What a number typed in `unit` times so much would have been."""
    for factor in _POINTS:
        yield factor, "point"
    for each in _TYPED_FOR_ANOTHER:
        if each != unit:
            yield MM_PER_UNIT[each] / MM_PER_UNIT[unit], each
