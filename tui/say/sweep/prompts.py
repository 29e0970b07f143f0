"""The one instruction of a sweep: what to do now, in words."""

from typing import Final

from coaxly.fitter.geometry import clock

from ...entry.lengths import show_exact
from ...job.sweep.news import Do, Task
from ..portwords import named
from .marked import says

_MARK: Final = "turn the crank until its mark is at"

_SAME: Final = {
    Do.FINISH: "all stations read: finish (F, or done), or undo one",
    Do.HOLD_STILL: "hold still",
    Do.KEPT: "stopped: kept for later",
    Do.MEND_LINE: "what comes from the dial is no reading: check port, speed and profile",
    Do.OVER: "sweep finished",
    Do.SWITCH_ON: "dial silent: switch it on, check the cable",
    Do.TURN_ROUND: "turn the crank slowly round, then finish",
    Do.UNPAUSE: "paused: P goes on",
    Do.WAIT_FOR_REST: "hold still. Space again takes it as it stands",
}


_TURNS: Final = {"sag": "turn the bar to", "pilot": _MARK, "flywheel": _MARK}


_REARWARD: Final = ", push the crank rearward"
"""Its end float would be read as a face out of square."""


ALL_READ: Final = "All stations read: Space finishes, U takes the last one back"
"""On the screen, where one key does everything."""


_LARGE: Final = {
    Do.FINISH: "ALL READ",
    Do.HOLD_STILL: "HOLD STILL",
    Do.WAIT_FOR_REST: "HOLD STILL",
    Do.PLUG_IN: "PLUG IN",
    Do.SWITCH_ON: "SILENT",
    Do.UNPAUSE: "PAUSED",
}


def large(task: Task) -> str:
    """The instruction in a few capitals, for a screen that has room for them: where to turn; "" for none."""
    if task.do is Do.TURN_TO and task.deg is not None:
        return clock(task.deg)
    return _LARGE.get(task.do, "")


def prompt(task: Task, unit: str = "thou") -> str:
    """The instruction, lengths in `unit`. The crank is never turned back, unless a turn the other way was
    asked for."""
    if task.do is Do.PLUG_IN:
        return f"cable of the {named(*task.ports)} lost: plug it in again, the sweep goes on"
    if task.do is Do.SET_BACK:
        return f"dial switched to {task.unit}? Set it back (P, P if it is right)"
    if task.do is Do.MEND_DIAL:
        return says(task.says)
    if task.do is Do.WATCH:
        return f"{'held' if task.held else 'replay'} at {task.at_s:.1f} s: space to the next station"
    if task.do is Do.LAY_STEP:
        return _step(task, unit)
    return _turn_to(task) if task.do is Do.TURN_TO else _SAME[task.do]


def _turn_to(task: Task) -> str:
    assert task.deg is not None
    place = clock(task.deg)
    if task.scale_deg is not None:
        place = f"{task.scale_deg:g} on your scale ({place} seen from behind)"
    push = _REARWARD if task.feature == "face" else ""
    stop = f", stop{push}{_by_hand(task)}" if push or _by_hand(task) else " and stop"
    if task.closing:
        return f"turn on, the same way, to {place} for the closing reading{stop}"
    if task.back:
        return f"turn the other way to {place}{stop}"
    return f"{_TURNS.get(task.feature, 'turn to')} {place}{stop}"


def _by_hand(task: Task) -> str:
    return ", press the dial's button" if task.on_demand else ", type the reading" if task.typed else ""


def _step(task: Task, unit: str) -> str:
    assert task.step_mm is not None
    step = show_exact(task.step_mm, unit)
    lay = (
        f"step {step} under the tip, the plunger going in"
        if task.inwards
        else f"lift the plunger above step {step} and let it down onto it"
    )
    return f"{lay}{_by_hand(task)}"
