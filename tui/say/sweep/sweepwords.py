"""What happened in a sweep, and the one instruction: what to do now, in words."""

from collections.abc import Callable
from typing import Final

from coaxly.fitter.geometry import clock
from coaxly.logger.watch.linewatch import MUTE

from ...entry.lengths import show_exact, show_length
from ...job.recorded.slips import NotTaken, Slip
from ...job.sweep.news import Do, News, Task, What, Why
from .markwords import named, says

_SAME: Final = {
    What.ALL_READ: "all stations are read: finish, or undo one",
    What.BUTTON: "press the dial's own button: it takes the station",
    What.BY_ITSELF: "nothing to press: every reading brings its angle. Turn slowly on",
    What.GARBLED: "nothing to take: what comes is no reading",
    What.HELD: "held",
    What.JUST_READ: "that was the last one: press again to finish",
    What.MOVING: "hold still: the dial is moving",
    What.MUTE: MUTE,
    What.NO_ANGLE_MEANT: "that is no angle",
    What.NO_READING: "no reading to take: is the dial switched on and connected?",
    What.NOTHING_TO_RETAKE: "there is nothing to retake",
    What.NOTHING_TO_UNDO: "there is nothing to undo",
    What.NOTHING_TYPED: "nothing typed: type the reading, then Enter",
    What.PAUSED: "paused: nothing is taken",
    What.PAUSED_STILL: "paused: press P to go on",
    What.RESUMED: "goes on",
    What.SILENT: "nothing to take: the dial is silent",
    What.SWITCHED: "nothing to take: the dial jumped by 25.4 times, set it back",
    What.TAKEN_BACK: "last station undone",
    What.TURN: "one more turn",
    What.TURN_BACK: "one more turn, the other way",
    What.UNCHANGEABLE: "a replay cannot be changed",
    What.UNDONE: "last station undone: read it again",
    What.UNHEARD: "waiting for the first reading of the dial",
}

_WHY: Final = {
    Why.COMPLAINS: "not taken, the dial sends no reading",
    Why.GARBLED: "not taken, what comes is no reading",
    Why.MUTE: f"not taken, no reading has come since. {MUTE}",
    Why.RESTLESS: "not taken, the dial does not come to rest",
    Why.SEVERED: "not taken",
    Why.SILENT: "not taken, no reading has come since",
    Why.SWITCHED: "not taken, the dial jumped by 25.4 times",
    Why.TAKEN_BACK: "not taken",
}


def _station(news: News) -> str:
    return f"station {clock(news.deg)}" if news.deg is not None else "station"


def _still_due(news: News) -> str:
    due = f"{news.number:.0f} station{'s are' if news.number > 1 else ' is'} due"
    if news.what is What.STILL_TOO_FEW:
        return f"{due}, too few are read for a result: F again stops, to be gone on with later"
    return f"{due}: F again finishes without"


_MADE: Final[dict[What, Callable[[News], str]]] = {
    What.COMPLAINS: lambda news: f"nothing to take: {says(news.says)}",
    What.CONNECTED: lambda news: f"{named(*news.ports)} connected",
    What.FAILED: lambda news: news.text,
    What.LOST: lambda news: f"cable of the {named(*news.ports)} lost",
    What.NOT_TAKEN: lambda news: f"{_station(news)}: {_WHY[news.why or Why.SEVERED]}",
    What.NOTED: lambda news: news.text,
    What.NOT_TURNED: lambda news: (
        f"reads as at {clock(news.deg or 0.0)} seen from behind: did you turn? Undo if not"
    ),
    What.PACE: lambda news: f"{news.number:g} times as fast as life",
    What.PORTS_LOST: lambda news: f"the cable of the {named(*news.ports)} is lost: nothing can be taken",
    What.SAYS: lambda news: says(news.says, *news.ports),
    What.STILL_DUE: _still_due,
    What.STILL_TOO_FEW: _still_due,
    What.TAKEN: lambda news: f"{_station(news)} taken",
}


def told(news: News | None, unit: str = "thou") -> str:
    """What happened, in words, lengths in `unit`; "" where nothing has."""
    if news is None:
        return ""
    if news.doubt is not None:
        return typed_words(news.doubt, unit)
    made = _MADE.get(news.what)
    return made(news) if made is not None else _SAME[news.what]


_BARE: Final = {"in": ".0149", "mm": "0.378"}
_LIKE: Final = {
    "point": ", perhaps the decimal point slipped",
    "thou": ", perhaps thou were typed",
    "mm": ", perhaps mm were typed",
    None: "",
}


def slip_words(slip: Slip, unit: str, reading: str = "that") -> str:
    """How far off a typed reading, called `reading`, is and what it may have been; lengths in `unit`."""
    far = show_length(slip.far_mm, unit, signed=True)
    return f"{reading} is {far} from the readings before it{_LIKE[slip.like]}"


def typed_words(doubt: Slip | NotTaken, unit: str) -> str:
    """One doubt and what to do about it, lengths in `unit`."""
    if isinstance(doubt, Slip):
        wrong = "undo if so" if doubt.like else "undo it if it was taken wrongly"
        return f"{slip_words(doubt, unit)}: {wrong}"
    if doubt.says:
        return f"{doubt.text.strip()[:24]!r} was not taken: {says(doubt.says)}, then read it again"
    why = "it has no unit" if doubt.bare else "it is no reading"
    bare = f", or {_BARE[doubt.unit]} for {doubt.unit}" if doubt.unit else ""
    return f"{doubt.text.strip()[:24]!r} was not taken, {why}: write it like 14.9thou or 0.378mm{bare}"


_MARK: Final = "turn the crank until its mark is at"

_DO: Final = {
    Do.ALL_ROUND: "all round: finish (F, or done), or turn on for a narrower bar",
    Do.FINISH: "all stations read: finish (F, or done), or undo one",
    Do.HOLD_STILL: "hold still",
    Do.KEPT: "stopped: kept for later",
    Do.MEND_LINE: "what comes from the dial is no reading: check port, speed and profile",
    Do.OVER: "sweep finished",
    Do.SWEEP_AGAIN: "unit key pressed, no verdict: set the dial back, finish, sweep again",
    Do.SWITCH_ON: "dial silent: switch it on, check the cable",
    Do.TURN_ROUND: "turn the crank slowly round, then finish",
    Do.UNPAUSE: "paused: P goes on",
    Do.WAIT_FOR_REST: "hold still. Space again takes it as it stands",
}

_TURNS: Final = {"sag": "turn the bar to", "pilot": _MARK, "flywheel": _MARK}

_REARWARD: Final = ", push the crank rearward"
"""Its end float would be read as a face out of square."""

ENDS: Final = {
    Do.ALL_ROUND: "All round: Space finishes. Or turn on, for a narrower bar",
    Do.FINISH: "All stations read: Space finishes, U takes the last one back",
}
"""On the screen, where one key does everything."""

_LARGE: Final = {
    Do.ALL_ROUND: "ALL ROUND",
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
        return f"dial switched to {task.unit}? Set it back (it was not: P, P)"
    if task.do is Do.MEND_DIAL:
        return says(task.says)
    if task.do is Do.WATCH:
        return f"{'held' if task.held else 'replay'} at {task.at_s:.1f} s: space to the next station"
    if task.do is Do.LAY_STEP:
        return _step(task, unit)
    return _turn_to(task) if task.do is Do.TURN_TO else _DO[task.do]


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
