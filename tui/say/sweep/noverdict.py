"""Why there is no verdict, in few words: what is drawn large, what stands in a line, what is said aloud."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:  # the list of jobs needs these words, and not the results that it keeps
    from coaxly.fitter.result import Decision, Kind, Remark

_LARGE: "Final[dict[Kind, str]]" = {
    "other_unit": "WHICH UNIT",
    "too_large": "WHICH UNIT",
    "unit_changed": "WHICH UNIT",
    "tip_off": "TIP OFF",
    "dead_dial": "DIAL DEAD",
    "held_dial": "ON HOLD",
    "not_turned": "NOT TURNED",
    "wrong_angle": "ANGLE WRONG",
    "tip_unmoved": "TIP UNMOVED",
    "not_live": "NOT LIVE",
    "zero_lost": "ZERO MOVED",
}
_WORDS: "Final[dict[Kind, str]]" = {
    "other_unit": "UNIT IN DOUBT",
    "too_large": "UNIT IN DOUBT",
    "unit_changed": "UNIT IN DOUBT",
    "tip_off": "TIP OFF OR PLUNGER AT ITS STOP",
    "dead_dial": "DIAL NEVER MOVED",
    "held_dial": "DIAL ON HOLD",
    "not_turned": "NOTHING MOVED",
    "wrong_angle": "ANGLE IN DOUBT",
    "tip_unmoved": "TIP NOT MOVED",
    "not_live": "DIAL NOT LIVE AT A STATION",
    "zero_lost": "ZERO SET ANEW IN MID-SWEEP",
}
_FIRST: "Final[dict[Kind, str]]" = {
    "other_unit": "before the unit is sure",
    "too_large": "before the unit is sure",
    "unit_changed": "before the unit is sure",
    "tip_off": "before the tip touches all round",
    "dead_dial": "before the dial moves",
    "held_dial": "before the dial is live all round",
    "not_turned": "before the crank is turned",
    "wrong_angle": "before the angle is right",
    "tip_unmoved": "before the tip stands where it must",
    "not_live": "before the dial is live all round",
    "zero_lost": "before a sweep with one zero",
}


def state_of(decision: "Decision") -> str:
    """For a picture: "inside", "outside", "unsure" or "withheld"."""
    return "withheld" if decision.withheld else decision.state


def large_word(decision: "Decision") -> str:
    """Why, in letters as large as there is room for; "" where nothing is withheld."""
    return in_doubt_words(decision.withheld)


def in_doubt_words(kinds: Sequence[str]) -> str:
    """The same by the kinds of a journal, of which this version need not know all."""
    return _words_of(_LARGE, kinds)


def withheld_words(kinds: Sequence[str]) -> str:
    """Why, in capitals: "DIAL ON HOLD"; a kind of a journal that this version does not know as it stands."""
    return _words_of(_WORDS, kinds)


def _words_of(words: "Mapping[Kind, str]", kinds: Sequence[str]) -> str:
    if not kinds:
        return ""
    return next(
        (said for kind, said in words.items() if kind == kinds[0]), kinds[0].upper().replace("_", " ")
    )


def first(kinds: "Sequence[Kind]") -> str:
    """What a verdict waits for: "before the unit is sure"."""
    return _FIRST[kinds[0]]


def advised(said: "Sequence[Remark]", unit: str) -> list[str]:
    """What is to be said of dowels; of a sweep in doubt, which is told above them, that nothing is to be
    fitted by it."""
    from coaxly.fitter.result import FORBIDS

    from .warnings import sentence

    kinds = [remark.kind for remark in said if remark.kind in FORBIDS]
    lines = [f"fit nothing by this sweep {first(kinds)}: what follows may be wrong"] if kinds else []
    return [*lines, *(sentence(remark, unit) for remark in said if remark.kind not in FORBIDS)]
