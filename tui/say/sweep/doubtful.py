"""What forbids a verdict, in sentences: what was seen, what to do at the engine, and how to say that all is
well."""

from typing import Final

from coaxly.fitter.result import FORBIDS, Kind
from coaxly.fitter.units import MM_PER_INCH, MM_PER_THOU, from_mm, to_mm

from ...entry.lengths import show_length
from ..filling import Facts, Sentence, fill


def lifted(kind: Kind) -> str:
    """How whoever made sure lifts a doubt, to go after its sentence; nothing of what is none."""
    if kind not in FORBIDS or kind in _OF_THE_UNIT:
        return ""
    return f". If you made sure that all is well: --sure {kind.replace('_', '-')}"


_OF_THE_UNIT: Final = ("other_unit", "too_large")
"""Which have an option of their own, and say so."""


def _too_large(facts: Facts, unit: str) -> str:
    swing, own = facts["swing_mm"], facts["unit"]
    said = (
        f"the dial swings {show_length(swing, own or unit)}, more than such a part is ever off: "
        "is the unit right?"
    )
    ways = (
        f"{other} it is {show_length(to_mm(from_mm(swing, own), other), other)}"
        for other in _SMALLER.get(own or "", ())
    )
    asked = ", if ".join(ways)
    return f"{said} If the dial shows {asked}" if asked else said


_SMALLER: Final = {"in": ("mm", "thou"), "mm": ("thou",), "thou": ("um",)}
"""What a dial shows that swings less by the same number; nothing shows less than um."""


def _other_unit(facts: Facts, unit: str) -> str:
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
        "then sweep with the unit as it is (--unit, or in the dial's profile) and --unit-sure"
    )


def _tip_off(facts: Facts, unit: str) -> str:
    said = (
        "the dial read {same} at {places} neighbouring places, its {end}: the tip is {tip}, or "
        "the plunger at its stop. {push} at its highest and its lowest. Set the preload so that it moves all "
        "the way round, and sweep again"
    )
    end, tip = ("lowest", "off the bore") if facts["lowest"] else ("highest", "pushed in to its end")
    return fill(said, facts, unit, same=_same(facts, unit), end=end, tip=tip, push=_PUSH)


def _held_dial(facts: Facts, unit: str) -> str:
    said = (
        "from {after_deg} on the dial read {same}, where a bore hardly does: is it on HOLD or MAX, is the "
        "plunger stuck? {push}. Set it to live readings and sweep again"
    )
    return fill(said, facts, unit, same=_same(facts, unit), push=_PUSH)


_EQUAL_MM: Final = 1e-6
"""Within which readings are equal but for the arithmetic."""


def _same(facts: Facts, unit: str) -> str:
    """What was read at places that seem to be alike; results of older versions do not tell how much alike."""
    if facts.get("within_mm", 0.0) > _EQUAL_MM:
        return fill("{reads_mm} within {within_mm}", facts, unit)
    return fill("the same {reads_mm}", facts, unit)


def _unit_changed(facts: Facts, unit: str) -> str:
    said = (
        "from {before_deg} on the readings are 25.4 times {way} than those before it: was the unit key "
        "pressed? Set the dial to its unit and sweep again"
    )
    if facts.get("stations") == 1:  # not told where a key was seen to be pressed while the crank turned
        said = (
            "at {before_deg} alone the reading is 25.4 times {way} than those beside it: was it read in "
            "another unit? Set the dial to its unit and sweep again"
        )
    return fill(said, facts, unit, way="smaller" if facts["smaller"] else "larger")


def _wrong_angle(facts: Facts, unit: str) -> str:
    if facts["why"] == "way":
        way, other = ("clockwise", "anticlockwise")[:: 1 if facts["turn"] == "cw" else -1]
        return (
            f"the crank is turned {way} by the job, seen from behind, and the angle went {other}: was it "
            "turned the other way, or does the encoder count against it (--direction -1)? Put that right, "
            "then sweep again"
        )
    if facts["why"] == "mirrored":
        return fill(MIRRORED, facts, unit)
    why = {
        "factor": (
            "they repeat as if the crank turned {factor:.2g} times as far: are counts taken for degrees, are "
            "the counts for one turn right (--counts-per-turn, --ratio)"
        ),
        "jump": (
            "they go on as if the angle had jumped: did the counter wrap (--wrap), was it reset, did it slip"
        ),
        "unlike": (
            "no turn of the crank explains them: are counts taken for degrees (--counts-per-turn), does the "
            "encoder slip"
        ),
    }[facts["why"]]
    return fill(
        "the readings change smoothly, but disagree with the angle they came with by {left_mm}: "
        f"{why}? Put the angle right and sweep again",
        facts,
        unit,
    )


_PUSH: Final = "Push the tip and see the dial move"
_TURNED: Final = (
    f"was the crank turned, is the tip on the surface, the dial not on HOLD? {_PUSH}, turn to each place and "
    "sweep again"
)
MIRRORED: Final = (
    "these readings are those of {file} the other way round, and nothing was done to the housing since: one "
    "of both was turned the other way than was called out, and its direction is wrong. Make sure which way "
    "you turn the crank, seen from behind, and sweep again"
)
"""Readings that are those of another sweep of the same surface the other way round."""

SENTENCES: Final[dict[Kind, Sentence]] = {
    "too_large": _too_large,
    "other_unit": _other_unit,
    "tip_off": _tip_off,
    "dead_dial": (
        "the dial read the same {reads_mm} at all {stations} stations and between them: " + _TURNED
    ),
    "held_dial": _held_dial,
    "not_turned": (
        "all {stations} stations read the same within {swing_mm}, as if nothing had moved: " + _TURNED
    ),
    "unit_changed": _unit_changed,
    "wrong_angle": _wrong_angle,
    "tip_unmoved": (
        "the readings are those of the {feature} ({file}) once more: is the tip still on the {feature}? Move "
        "it and sweep again"
    ),
}
