"""What forbids a verdict, in sentences: what was seen, what to do at the engine, and how to say that all is
well."""

from collections.abc import Callable, Mapping
from typing import Any, Final

from coaxly.fitter.geometry import clock
from coaxly.fitter.result import FORBIDS, Kind
from coaxly.fitter.units import MM_PER_INCH, MM_PER_THOU

from ...entry.lengths import show_length, written

_Facts = Mapping[str, Any]


def lifted(kind: Kind) -> str:
    """How whoever made sure lifts a doubt, to go after its sentence; nothing of what is none."""
    if kind not in FORBIDS or kind in _OF_THE_UNIT:
        return ""
    return f". If you made sure that all is well: --sure {kind.replace('_', '-')}"


_OF_THE_UNIT: Final = ("other_unit", "too_large")
"""Which have an option of their own, and say so."""


def _too_large(facts: _Facts, unit: str) -> str:
    swing, own = facts["swing_mm"], facts["unit"] or unit
    other, shown = ("mm", swing / MM_PER_INCH) if own == "in" else ("thou", swing)
    return (
        f"the dial swings {show_length(swing, own)}, more than such a part is ever off: "
        f"is the unit right? If the dial shows {other} it is {written(shown, '.3g')} {other}"
    )


def _other_unit(facts: _Facts, unit: str) -> str:
    swing = facts["swing_mm"]
    seen = (
        f"the dial swings only {show_length(swing, 'mm')}, in steps of an inch dial: if it shows inches, "
        f"not mm, that is {show_length(swing * MM_PER_INCH, 'thou')}"
    )
    if facts.get("shows") == "mm":
        seen = (
            f"the readings swing only {show_length(swing, 'thou')}, in steps finer than a dial shows: "
            f"if they are mm, not thou, that is {show_length(swing / MM_PER_THOU, 'mm')}"
        )
    return (
        f"{seen}. Make sure of the unit: a feeler gauge under the tip must show its thickness; "
        "then sweep with --unit as it is, and --unit-sure"
    )


def _tip_off(facts: _Facts, unit: str) -> str:
    end, reads = ("lowest", "off the bore") if facts["lowest"] else ("highest", "pushed in to its end")
    return (
        f"the dial read the same {show_length(facts['reads_mm'], unit)} at {facts['places']} neighbouring "
        f"places, its {end}: the tip is {reads}, or the plunger at its stop. "
        f"{_PUSH} at its highest and its lowest. Set the preload so that it moves all the way round, "
        "and sweep again"
    )


def _dead_dial(facts: _Facts, unit: str) -> str:
    return (
        f"the dial read the same {show_length(facts['reads_mm'], unit)} at all {facts['stations']} stations "
        f"and between them: {_TURNED}"
    )


def _held_dial(facts: _Facts, unit: str) -> str:
    return (
        f"from {clock(facts['after_deg'])} on the dial read the same {show_length(facts['reads_mm'], unit)}, "
        f"where a bore hardly does: is it on HOLD or MAX, is the plunger stuck? {_PUSH}. "
        "Set it to live readings and sweep again"
    )


def _not_turned(facts: _Facts, unit: str) -> str:
    swing = show_length(facts["swing_mm"], unit)
    return (
        f"all {facts['stations']} stations read the same within {swing}, as if nothing had moved: {_TURNED}"
    )


_PUSH: Final = "Push the tip and see the dial move"
_TURNED: Final = (
    f"was the crank turned, is the tip on the surface, the dial not on HOLD? {_PUSH}, turn to each place and "
    "sweep again"
)


def _unit_changed(facts: _Facts, unit: str) -> str:
    way, at = "smaller" if facts["smaller"] else "larger", clock(facts["before_deg"])
    if facts["stations"] == 1:
        return (
            f"at {at} alone the reading is 25.4 times {way} than those beside it: was it read in another "
            "unit? Set the dial to its unit and sweep again"
        )
    return (
        f"from {at} on the readings are 25.4 times {way} than those before it: "
        "was the unit key pressed? Set the dial to its unit and sweep again"
    )


def mirrored(facts: _Facts, unit: str) -> str:
    """Readings that are those of another sweep of the same surface the other way round."""
    return (
        f"these readings are those of {facts['file']} the other way round, and nothing was done to the "
        "housing since: one of both was turned the other way than was called out, and its direction is "
        "wrong. Make sure which way you turn the crank, seen from behind, and sweep again"
    )


def _wrong_angle(facts: _Facts, unit: str) -> str:
    if facts["why"] == "way":
        way, other = ("clockwise", "anticlockwise")[:: 1 if facts["turn"] == "cw" else -1]
        return (
            f"the crank is turned {way} by the job, seen from behind, and the angle went {other}: was it "
            "turned the other way, or does the encoder count against it (--direction -1)? Put that right, "
            "then sweep again"
        )
    if facts["why"] == "mirrored":
        return mirrored(facts, unit)
    turns = written(facts["factor"], ".2g") if facts["factor"] is not None else ""
    why = {
        "factor": f"they repeat as if the crank turned {turns} times as far: are counts taken for degrees, "
        "are the counts for one turn right (--counts-per-turn, --ratio)",
        "jump": "they go on as if the angle had jumped: did the counter wrap (--wrap), was it reset, "
        "did it slip",
        "unlike": "no turn of the crank explains them: are counts taken for degrees (--counts-per-turn), "
        "does the encoder slip",
    }[facts["why"]]
    return (
        "the readings change smoothly, but disagree with the angle they came with by "
        f"{show_length(facts['left_mm'], unit)}: {why}? Put the angle right and sweep again"
    )


def _tip_unmoved(facts: _Facts, unit: str) -> str:
    return (
        f"the readings are those of the {facts['feature']} ({facts['file']}) once more: is the tip still on "
        f"the {facts['feature']}? Move it and sweep again"
    )


SENTENCES: Final[dict[Kind, Callable[[_Facts, str], str]]] = {
    "too_large": _too_large,
    "other_unit": _other_unit,
    "tip_off": _tip_off,
    "dead_dial": _dead_dial,
    "held_dial": _held_dial,
    "not_turned": _not_turned,
    "unit_changed": _unit_changed,
    "wrong_angle": _wrong_angle,
    "tip_unmoved": _tip_unmoved,
}
