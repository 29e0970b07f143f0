"""Tapping a housing into place, in words: the one instruction, what a reading came to, how it ended."""

from typing import Any, Final

from coaxly.fitter.geometry import clock, wrap

from ..entry.lengths import degrees, number, show_length, whole_degrees
from ..job.steps.nudge import NOTICED_MM, Came, Step
from ..job.steps.nudgerun import NudgeRun, NudgeView
from .cautions import SHORT
from .sweep.live import LINK
from .sweep.sweepwords import prompt, told

SEEN: Final = "seen from BEHIND"
CAUTION: Final = f"{SHORT['nudge']}; {SHORT['always']}"
CHECK: Final = "it held: now the check sweep, as left"

_CAME: Final[dict[Came, str]] = {
    Came.SECOND_TIED: "the second dial is tied to the sweep",
    Came.NOT_YET: "not there yet: tap on",
    Came.RIGHT: "right here: on to the next place",
    Came.BOTH_RIGHT: "right all round",
    Came.CREPT: "the bolts drew it off: slacken them, tap again",
    Came.HELD: CHECK,
}


def large(view: NudgeView, unit: str) -> str:
    """What is to be read from two metres: how far to go, or STOP, or what to do with the crank."""
    if view.go is not None and view.step is Step.TAP:
        return "STOP" if view.go.within else number(view.go.amount, unit)
    if view.step is Step.TIGHTEN:
        return "BOLTS"
    return "DONE" if view.step is Step.DONE else f"TO {clock(view.deg)}"


def to_go(view: NudgeView) -> bool:
    """Whether what is large is how far to go."""
    return view.step is Step.TAP and view.go is not None and not view.go.within


def instruction(view: NudgeView) -> str:
    """What to do now."""
    if view.finished:
        return CHECK if view.step is Step.DONE else "stopped: nothing is proved, sweep again"
    if view.trouble is not None:
        return prompt(view.trouble)
    if view.waiting:
        return "hold still. Space again takes it as it stands"
    return {
        Step.PARK: f"BOLTS TIGHT. Turn the crank until the dial is at {_place(view)}, stop, Space",
        Step.TAP: _tap(view),
        Step.TURN: f"crank on until the dial is at {_place(view)}, stop, Space",
        Step.TIGHTEN: "bolts to the maker's torque, in the maker's order, then Space",
        Step.DONE: CHECK,
    }[view.step]


def came(view: NudgeView, unit: str) -> str:
    """What the last reading came to; "" before the first."""
    if view.news is not None:
        return told(view.news, unit)
    shift = show_length(abs(view.shift), unit) if view.shift is not None else ""
    if view.came is Came.MOVED:
        return (
            f"! the dial reads otherwise than in the sweep, by {shift}. Set anew since? Space takes it so. "
            "Housing moved since? Q, and sweep again"
        )
    if view.came is Came.TIED:
        if view.go is not None and view.go.within:
            return ""  # there already: hands off
        return "slacken the bolts until the housing can just be tapped"
    return _CAME.get(view.came, "") if view.came is not None else ""


def facts(view: NudgeView, unit: str) -> list[str]:
    """What stands beside it."""
    sure = show_length(2.0 * view.sd, unit)
    lines = [
        f"STOP within {show_length(view.tolerance, unit)}",
        f"the sweep knows it to +- {sure}",
        "two dials" if view.dials > 1 else "one dial",
        LINK[view.link],
    ]
    if view.shift is not None and view.came is not Came.MOVED and abs(view.shift) > NOTICED_MM:
        lines.insert(2, f"dial set anew by {show_length(abs(view.shift), unit)}, taken in")
    return lines


def live_line(view: NudgeView, unit: str) -> str:
    """How far it is, for plain lines; "" where that says nothing."""
    if view.go is None:
        return ""
    amount = show_length(view.go.amount, unit)
    if view.go.within:
        return f"STOP: {amount} to go is within {show_length(view.tolerance, unit)}"
    assert view.go.towards_deg is not None
    return f"{amount} to go towards {clock(view.go.towards_deg)} seen from behind"


def summary(run: NudgeRun, unit: str) -> list[str]:
    """How it ended."""
    nudge = run.nudge
    rest = [show_length(abs(way), unit) for way in nudge.remaining()]
    lines = [f"Last to go: {' and '.join(rest)}"] if rest else []
    if nudge.step is Step.DONE:
        return ["Tapped into place, and it held when the bolts were tightened.", *lines]
    return ["Left off before it was right: nothing is proved.", *lines]


def nudge_object(run: NudgeRun) -> dict[str, Any]:
    """For `--json`: lengths in mm, angles in degrees."""
    nudge = run.nudge
    return {
        "held": nudge.step is Step.DONE,
        "high_deg": nudge.aim.high_deg,
        "was_off_mm": list(nudge.aim.vector),
        "remaining_mm": list(nudge.remaining()),
        "tolerance_mm": nudge.tolerance,
        "shift_mm": nudge.shift,
        "recordings": [str(each.session.writer.path) for each in run.runs],
    }


def _tap(view: NudgeView) -> str:
    if view.go is None:
        return "wait for the dial"
    if view.go.within:
        return "STOP. Hands off; Space takes it"
    assert view.go.towards_deg is not None
    towards = view.go.towards_deg
    return f"tap it towards {clock(towards)}: on its {clock(wrap(towards + 180.0))} side. At STOP: Space"


def _place(view: NudgeView) -> str:
    place = f"{clock(view.deg)} ({degrees(view.deg)})"
    return (
        place
        if view.scale_deg is None
        else f"{whole_degrees(view.scale_deg)} on your scale ({clock(view.deg)})"
    )
