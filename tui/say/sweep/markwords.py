"""What an instrument says of itself, in words: what it means, and what to do about it."""

from typing import Final

from coaxly.fitter.result import Kind
from coaxly.logger.marks import FaultKind
from coaxly.logger.recording.records import INDICATOR

from ...job.sweep.faultwords import CALLED
from ..filling import Facts, Sentence, fill

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


def named(*ports: str) -> str:
    """Ports in words: "dial and encoder"."""
    return " and ".join(CALLED.get(port, port) for port in ports)


def says(kind: FaultKind, port: str = INDICATOR) -> str:
    """As it happens."""
    does, todo = _MEANING[kind]
    return f"the {named(port)} {does}. {todo}"


def _of(kind: FaultKind) -> Sentence:
    def sentence(facts: Facts, unit: str) -> str:
        said = (
            "the {named} {does}: it sent {word!r} with {count:line|lines}{unused}, first at {at_s:.1f} s. "
            "{todo}"
        )
        unused = "" if kind == "low_battery" else ", which were not used"
        does, todo = _MEANING[kind]
        return fill(said, facts, unit, named=named(facts["port"]), does=does, todo=todo, unused=unused)

    return sentence


def _not_live(facts: Facts, unit: str) -> str:
    said = (
        "at {stations_deg} seen from behind the dial was {were} while it was read: set it to live readings "
        "and sweep again"
    )
    if "gap_deg" in facts:
        said = (
            "nothing was read over {gap_deg:.0f} degrees, and the dial was {were}: what lies there is not "
            "known. Set it to live readings and sweep again"
        )
    return fill(said, facts, unit, were=" or ".join(_SHORT_OF_IT[kind] for kind in facts["said"]))


def _rezeroed(facts: Facts, unit: str) -> str:
    said = (
        "a key of the dial was pressed{times} in mid-sweep: at {at_s:.1f} s it was set to zero or to a "
        "preset, and read {size_mm:abs} differently from then on. {todo}"
    )
    times = "" if facts["count"] == 1 else f" {facts['count']} times"
    return fill(said, facts, unit, times=times, todo=_MEANING["rezeroed"][1])


SENTENCES: Final[dict[Kind, Sentence]] = {
    "over_range": _of("over_range"),
    "held": _of("held"),
    "extreme": _of("extreme"),
    "low_battery": _of("low_battery"),
    "instrument_error": _of("instrument_error"),
    "flagged": _of("flagged"),
    "rezeroed": _rezeroed,
    "zero_lost": (
        "in mid-sweep the dial was set anew by {size_mm}, and these stations do not tell it from what was "
        "measured: sweep again"
    ),
    "not_live": _not_live,
}
