"""A verdict in few words, or why there is none: what is drawn large, stands in a line, or is said aloud."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final, NamedTuple

if TYPE_CHECKING:  # the list of jobs needs these words, and not the results that it keeps
    from coaxly.fitter.result import Decision, Kind, Remark

STATES: Final = {"inside": "INSIDE", "outside": "OUTSIDE", "unsure": "TOO CLOSE TO CALL"}


class _Why(NamedTuple):
    """A doubt in letters as large as there is room for, in a line, and what a verdict waits for."""

    large: str
    line: str
    before: str


_UNIT: Final = _Why("WHICH UNIT", "UNIT IN DOUBT", "before the unit is sure")
_WHY: "Final[dict[Kind, _Why]]" = {
    "other_unit": _UNIT,
    "too_large": _UNIT,
    "unit_changed": _UNIT,
    "tip_off": _Why("TIP OFF", "TIP OFF OR PLUNGER AT ITS STOP", "before the tip touches all round"),
    "dead_dial": _Why("DIAL DEAD", "DIAL NEVER MOVED", "before the dial moves"),
    "held_dial": _Why("ON HOLD", "DIAL ON HOLD", "before the dial is live all round"),
    "not_turned": _Why("NOT TURNED", "NOTHING MOVED", "before the crank is turned"),
    "wrong_angle": _Why("ANGLE WRONG", "ANGLE IN DOUBT", "before the angle is right"),
    "tip_unmoved": _Why("TIP UNMOVED", "TIP NOT MOVED", "before the tip stands where it must"),
    "not_live": _Why("NOT LIVE", "DIAL NOT LIVE AT A STATION", "before the dial is live all round"),
    "zero_lost": _Why("ZERO MOVED", "ZERO SET ANEW IN MID-SWEEP", "before a sweep with one zero"),
}


def short_state(state: str) -> str:
    """A state in a word or two; one that this version does not know as it stands."""
    return STATES.get(state, state.upper()).removesuffix(" TO CALL")


def state_of(decision: "Decision") -> str:
    """For a picture: "inside", "outside", "unsure" or "withheld"."""
    return "withheld" if decision.withheld else decision.state


def large_word(kinds: Sequence[str]) -> str:
    """Why nothing is decided, large; "" where nothing is in doubt. A kind of a journal that this version does
    not know stands as it is."""
    return _why(kinds[0]).large if kinds else ""


def withheld_words(kinds: Sequence[str]) -> str:
    """The same in a line."""
    return _why(kinds[0]).line if kinds else ""


def first(kinds: "Sequence[Kind]") -> str:
    """What a verdict waits for: "before the unit is sure"."""
    return _WHY[kinds[0]].before


def _why(kind: str) -> _Why:
    unknown = kind.upper().replace("_", " ")
    return next((why for known, why in _WHY.items() if known == kind), _Why(unknown, unknown, ""))


def advised(said: "Sequence[Remark]", unit: str) -> list[str]:
    """What is to be said of dowels; of a sweep in doubt, which is told above them, that nothing is to be
    fitted by it."""
    from coaxly.fitter.result import FORBIDS

    from .warnings import sentence

    kinds = [remark.kind for remark in said if remark.kind in FORBIDS]
    lines = [f"fit nothing by this sweep {first(kinds)}: what follows may be wrong"] if kinds else []
    return [*lines, *(sentence(remark, unit) for remark in said if remark.kind not in FORBIDS)]
