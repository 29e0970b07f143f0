"""Numbers that may be slips: the wrong unit, or a decimal point in the wrong place. Questions, not verdicts:
nothing is left out or changed because of them.
"""

import math
import re
from collections.abc import Sequence
from typing import Final

import numpy as np

from fitter import Fitter, Result
from fitter.result import Remark
from fitter.units import MM_PER_INCH
from logger.profile import Profile

from ..entry.lengths import show_length

_HUGE: Final = 10.0
"""Limits to which no housing that was ever bolted up is off."""

_SMALL: Final = {"left": 1.0 / 12.0}
_SMALL_FOUND: Final = 0.25
"""Shares of the limit below which a housing is too good to be believed without a look at the unit, as left
and as found."""

_APART: Final = 8.0
"""Times the spread of the other readings by which a typed one must stand off to be questioned."""


def unit_doubt(result: Result, profile: Profile, stage: str) -> Remark | None:
    """Whether the dial's swing is what its limit makes plausible only if another unit is meant."""
    if not profile.unit and profile.says_unit:
        return None  # each line says its own
    swing, limit = result.tir.swept, result.decision.limit
    # One station alone that is far off is named by itself, with what it looks like.
    if swing > _HUGE * limit and not result.checks.outliers:
        return Remark.warning("too_large", swing_mm=swing, unit=profile.unit)
    small = _SMALL.get(" ".join(stage.casefold().split()), _SMALL_FOUND)
    if profile.unit == "mm" and swing < small * limit and swing * MM_PER_INCH > small * limit:
        return Remark.warning("other_unit", swing_mm=swing)
    return None


def of_typed(fitter: Fitter) -> str | None:
    """What is doubtful about the reading that was typed last."""
    return slip_doubt(fitter.stations().value.tolist(), fitter.setup.limit_mm)


def slip_doubt(values: Sequence[float], limit: float) -> str | None:
    """Whether the newest of the typed readings, mm, is far from all before it: what it may have been."""
    *before, newest = values
    if not before:
        return None
    middle = float(np.median(before))
    spread = max(float(np.ptp(before)), limit)
    if abs(newest - middle) <= _APART * spread:
        return None
    near = [
        (abs(newest * factor - middle), words)
        for factor, words in (
            (0.1, _POINT),
            (0.01, _POINT),
            (10.0, _POINT),
            (1e-3, _THOU),
            (0.0254, _THOU),
            (1.0 / 25.4, _INCH),
        )
    ]
    apart, likely = min(near)
    slip = f", perhaps {likely}" if apart <= spread and math.isfinite(apart) else ""
    far = show_length(newest - middle, "thou", signed=True)
    return f"that is {far} from the readings before it{slip}: undo if so"


def not_taken(text: str, unit: str) -> str:
    """Why a typed line is no reading, and how to write one. unit: of a bare number, "" if it needs one."""
    why = "it has no unit" if not unit and re.fullmatch(r"[\s\d.,+-]+", text) else "it is no reading"
    bare = f", or {_BARE[unit]} for {unit}" if unit else ""
    return f"{text.strip()[:24]!r} was not taken, {why}: write it like 14.9thou or 0.378mm{bare}"


_BARE: Final = {"in": ".0149", "mm": "0.378"}
_POINT: Final = "the decimal point slipped"
_THOU: Final = "thou were typed"
_INCH: Final = "mm were typed"
