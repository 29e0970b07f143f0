"""Before a sweep, in words: where dial and tip go, how far the plunger is in, which way the crank turns."""

from typing import Final

from coaxly.fitter.clues.angles import Turn
from coaxly.logger.watch.preload import LEAST_MM, MOST_MM, Preload, State

from ...entry.lengths import show_length

TURNS: Final[dict[Turn, str]] = {"cw": "CLOCKWISE", "ccw": "ANTICLOCKWISE"}
WHICH_WAY: Final = "Which way do you turn the crank, seen from behind? A anticlockwise, D clockwise."
ASK_NUMBERS: Final = (
    "What did the dial read? Largest less smallest, then where it read highest, seen from behind: 9thou 3:40"
)
AGAIN: Final = "Space again begins all the same."

_PLACE: Final = {
    "bore": [
        "1 Dial on the flywheel or the crank flange, never on the housing.",
        "2 Tip square on the BORE, on its plain part, clear of bolt holes.",
    ],
    "face": [
        "1 Dial on the flywheel or the crank flange, never on the housing.",
        "2 Tip square on the FACE, inside the bolts, off paint and burrs.",
    ],
}
_ROUND: Final = "3 Turn once round: nothing may touch, the tip stays on all the way."
_REARWARD: Final = "  Push the crank rearward each time: its end float reads as tilt."
_ZERO: Final = "4 Back to 12 o'clock, zero the dial. From then on nobody leans on it."

_WIDE_MM: Final = 2.0
_BAR: Final = 24

_STATES: Final[dict[State, str]] = {
    "typed": "typed by hand: press it in by a quarter to half a turn of the hand",
    "opening": "opening the port of the dial ...",
    "silent": "the dial is silent: switch it on, check the cable",
    "unknown": "let the tip off once and on again: then the bar knows where it is free",
    "little": "press it in further",
    "good": "good",
    "much": "too far: its stop is near",
}


def place_lines(feature: str, before: str) -> list[str]:
    """What is to be done at the engine. before: the feature that the tip stood on last, "" for none."""
    lines = []
    if before and before != feature:
        lines.append(f"! The tip stood on the {before.upper()} last: move it to the {feature.upper()}.")
    lines += [*_PLACE[feature], _ROUND]
    if feature == "face":
        lines.append(_REARWARD)
    return [*lines, _ZERO]


def bar(preload: Preload, unit: str) -> str:
    """How far the plunger is in: a bar with its safe part marked, and what to do. unit: of lengths shown."""
    state = preload.state
    if state in ("typed", "opening", "silent"):
        return f"PRELOAD  {_STATES[state]}"
    if state == "failed":
        return f"PRELOAD  {preload.why}"
    first, last = (round(_BAR * at / _WIDE_MM) for at in (LEAST_MM, MOST_MM))
    safe = "".join("=" if first <= k < last else "." for k in range(_BAR))
    filled = min(max(round(_BAR * preload.pressed_mm / _WIDE_MM), 0), _BAR)
    shown = "".join("#" if k < filled else each for k, each in enumerate(safe))
    length = show_length(preload.pressed_mm, unit)
    drawn = f"free |{shown[:first]}[{shown[first:last]}]{shown[last:]}| end"
    return f"PRELOAD  {length}: {_STATES[state]}\n{drawn}"


def turn_line(turn: Turn | None, *, called: bool = True) -> str:
    """Which way it is turned. called: whether places are called out, whose order that is."""
    if turn is None:
        return WHICH_WAY
    if not called:
        return f"You turn {TURNS[turn]}, seen from behind: an angle that goes the other way is doubted."
    return f"You turn {TURNS[turn]}, seen from behind, the way the maker allows: so are places called out."
