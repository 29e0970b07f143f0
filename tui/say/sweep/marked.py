"""What an instrument says of itself, in words: what it means, and what to do about it."""

from collections.abc import Callable, Mapping
from typing import Any, Final

from coaxly.fitter.geometry import clock
from coaxly.fitter.result import Kind
from coaxly.logger.marks import FaultKind
from coaxly.logger.recording.records import INDICATOR

from ...entry.lengths import show_length, written
from ..portwords import named
from ..smallwords import counted

_Facts = Mapping[str, Any]

_MEANING: Final[dict[FaultKind, tuple[str, str]]] = {
    "over_range": (
        "is over its range",
        "Set it so that the plunger has travel left both ways, all round",
    ),
    "held": ("is on hold, so that it shows an old reading", "Take it off hold"),
    "extreme": ("shows its largest or smallest reading", "Set it to show the reading as it is"),
    "low_battery": ("says that its battery is low", "Put a fresh one in"),
    "instrument_error": ("reports an error", "Switch it off and on, and see its manual"),
    "flagged": ("marks its readings as not good", "See its manual for the word"),
    "rezeroed": ("was set to zero or to a preset", "Leave its keys alone while you sweep"),
    "unit_switched": ("was switched between mm and inch", "Set it back, and sweep again"),
}
"""What it does, and what to do."""

_SHORT_OF_IT: Final[dict[FaultKind, str]] = {
    "over_range": "over range",
    "held": "on hold",
    "extreme": "showing its largest or smallest reading",
    "instrument_error": "in error",
    "flagged": "marked as not good",
    "rezeroed": "being set to zero",
    "unit_switched": "being switched to another unit",
}
"""How the dial was at a station."""


def says(kind: FaultKind, port: str = INDICATOR) -> str:
    """As it happens."""
    does, todo = _MEANING[kind]
    return f"the {named(port)} {does}. {todo}"


def _of(kind: FaultKind) -> Callable[[_Facts, str], str]:
    def sentence(facts: _Facts, unit: str) -> str:
        does, todo = _MEANING[kind]
        sent = f"it sent {facts['word']!r} with {counted(facts['count'], 'line')}"
        unused = "" if kind == "low_battery" else ", which were not used"
        return (
            f"the {named(facts['port'])} {does}: {sent}{unused}, first at "
            f"{written(facts['at_s'], '.1f')} s. {todo}"
        )

    return sentence


def _not_live(facts: _Facts, unit: str) -> str:
    places = " and ".join(clock(deg) for deg in facts["stations_deg"])
    were = " or ".join(_SHORT_OF_IT[kind] for kind in facts["said"])
    if "gap_deg" in facts:
        return (
            f"nothing was read over {facts['gap_deg']:.0f} degrees, and the dial was {were}: what lies "
            "there is not known. Set it to live readings and sweep again"
        )
    return (
        f"at {places} seen from behind the dial was {were} while it was read: set it to live readings and "
        "sweep again"
    )


def _rezeroed(facts: _Facts, unit: str) -> str:
    times = "" if facts["count"] == 1 else f" {facts['count']} times"
    return (
        f"a key of the dial was pressed{times} in mid-sweep: at {written(facts['at_s'], '.1f')} s it was set "
        f"to zero or to a preset, and read {show_length(abs(facts['size_mm']), unit)} differently from then "
        f"on. {_MEANING['rezeroed'][1]}"
    )


def _zero_lost(facts: _Facts, unit: str) -> str:
    return (
        f"the dial was set anew by {show_length(facts['size_mm'], unit)} in mid-sweep, and these stations do "
        "not tell it from what was measured: sweep again"
    )


SENTENCES: Final[dict[Kind, Callable[[_Facts, str], str]]] = {
    "over_range": _of("over_range"),
    "held": _of("held"),
    "extreme": _of("extreme"),
    "low_battery": _of("low_battery"),
    "instrument_error": _of("instrument_error"),
    "flagged": _of("flagged"),
    "rezeroed": _rezeroed,
    "zero_lost": _zero_lost,
    "not_live": _not_live,
}
