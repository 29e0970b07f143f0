"""The list of jobs in words: a line each, and the newest job's next step, short enough to be drawn large."""

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any, Final

from coaxly.fitter.geometry import clock

from ...entry.lengths import number, show_length
from ...job.folder.index import Row
from ...job.folder.progress import JobState
from ...job.steps.leftoff import LeftOff
from ..sweep.noverdict import large_word, short_state, withheld_words
from .strangers import kept_sentences

FIRST: Final = """\
Coaxly reads a dial indicator while you turn the crank.
F  a dial with a cable (Enter)
N  a dial with a hand, or two numbers
B  no dial: the built-in engine
O  old recordings"""
NO_JOB: Final = "No job yet. Enter begins the first one; F finds a dial, if another is to be used."

_NEXT: Final = {
    "sweep found": "sweep the {feature} as found",
    "choose": "choose dowels",
    "fit": "fit the dowels",
    "sweep left": "sweep the {feature} as left",
    "verify": "compare and prove it",
    "again": "not proved yet",
    "report": "write the report",
    "done": "done",
}
_NEXT_FACE: Final = {"fit": "shim the face", "again": "face outside, shim again"}

_LARGE: Final = {
    "sweep found": "SWEEP AS FOUND",
    "choose": "CHOOSE DOWELS",
    "fit": "SET THE DOWELS",
    "sweep left": "SWEEP AS LEFT",
    "verify": "PROVE IT",
    "again": "NOT PROVED",
    "report": "REPORT",
    "done": "DONE",
}
_LARGE_FACE: Final = {
    "sweep found": "SWEEP THE FACE",
    "fit": "SHIM THE FACE",
    "sweep left": "FACE AS LEFT",
    "again": "FACE OUTSIDE",
}
_WIDE: Final = 104
"""Columns from which block and housing stand in the list as well."""


def large_step(now: JobState, unit: str) -> str:
    """The next step in capitals; of dowels that are to be set, which and where to, as on their own page."""
    if now.feature == "face" and now.next in _LARGE_FACE:
        return _LARGE_FACE[now.next]
    if now.next == "fit" and now.chosen is not None and now.chosen.dowels:
        set_so = [f"{number(offset, unit)} TO {clock(deg)}" for offset, deg in now.chosen.dowels]
        return "  ".join(dict.fromkeys(set_so))
    if now.next == "again" and now.choose_others:
        return "CHOOSE OTHERS"
    return _LARGE[now.next]


def broken_words(off: LeftOff) -> str:
    """How far a sweep came that was left off."""
    return "broken off" if off.read is None else f"broken off, {off.read} of {off.of} read"


def due(step: str, feature: str) -> str:
    """A step by its name, short enough for a list."""
    if feature == "face" and step in _NEXT_FACE:
        return _NEXT_FACE[step]
    return _NEXT[step].format(feature=feature)


def came_to(row: Row, unit: str) -> str:
    """What the last sweep came to, of the bore or else of the face."""
    if row.answer is None:
        return "not swept yet"
    state = large_word(row.answer.get("doubts", ())) or short_state(row.answer["state"])
    if row.answer.get("feature") == "face":
        return f"face {state}"  # there is no room for the amount as well
    return state if row.answer.get("doubts") else f"{state} {show_length(row.answer['tir'], unit)}"


def job_line(row: Row, unit: str, width: int, today: datetime, off: LeftOff | None = None) -> str:
    """One job of the list, for a screen of so many columns. off: how far the sweep that is due came, where
    it was left off."""
    when = day(row.changed / 1e9, today)
    if row.amiss:
        return f"{_cut(row.title, 22)} ! {row.amiss}"
    if lost := kept_sentences(row.lost):
        return f"{_cut(row.title, 22)} ! {lost[0]}"
    came = came_to(row, unit) if off is None else broken_words(off)
    next_step = due(row.next, row.feature) if off is None else "go on with the sweep"
    if width < _WIDE:
        room = max(width - 58, 12)
        return f"{_cut(row.title, room)} {came:<19} {next_step:<24} {when}"
    what = " ".join(
        filter(None, (row.block and f"block {row.block}", row.housing and f"housing {row.housing}"))
    )
    room = min((width - 58) // 2, 40)
    return f"{_cut(row.title, room)} {_cut(what, room)} {came:<19} {next_step:<24} {when}"


def list_line(row: Row, unit: str, off: LeftOff | None = None) -> str:
    """One job of the list. off: how far the sweep that is due came, where it was left off."""
    if row.amiss:
        return f"{row.number:>5}  {row.title}: ! {row.amiss}"
    what = " ".join(
        filter(None, (row.block and f"block {row.block}", row.housing and f"housing {row.housing}"))
    )
    if lost := kept_sentences(row.lost):
        more = f" (and {len(lost) - 1} more)" if len(lost) > 1 else ""
        return f"{row.number:>5}  {row.title:<28} ! {lost[0]}{more}"
    given = row.answer
    of = "face " if given and given.get("feature") == "face" else ""
    came = f"{of}{came_words(given, unit)}" if given else "not swept yet"
    came = came if off is None else broken_words(off)
    step = due(row.next, row.feature) if off is None else "go on with the sweep"
    line = f"{row.number:>5}  {row.title:<28} {came:<24} next: {step:<24} {row.opened[:10]}  {what}".rstrip()
    return f"{line}  ! {twins_words(row)}" if row.twins else line


def twins_words(row: Row) -> str:
    """That the shop has the same job once more; "" where it has not."""
    return f"{row.folder} is the same job as {', '.join(row.twins)}: keep the better" if row.twins else ""


def came_words(given: Mapping[str, Any], unit: str) -> str:
    """What a sweep came to, short: its state and run-out; of one in doubt no more than why."""
    why = withheld_words(given.get("doubts", ()))
    return why or f"{short_state(given['state'])} {show_length(given['tir'], unit)}"


def row_object(row: Row) -> dict[str, Any]:
    """A job of the list for `--json`."""
    return {
        "folder": row.folder,
        "title": row.title,
        "number": row.number,
        "next": row.next,
        "feature": row.feature,
        "state": row.answer,
        "opened": row.opened,
        "block": row.block,
        "housing": row.housing,
        "amiss": row.amiss or "; ".join(filter(None, (*kept_sentences(row.lost), twins_words(row)))),
    }


def whose(row: Row) -> str:
    """A job's title, number, block and housing."""
    pieces = (
        row.number and f"no. {row.number}",
        row.block and f"block {row.block}",
        row.housing and f"housing {row.housing}",
        f"! {twins_words(row)}" if row.twins else "",
    )
    return "   ".join([row.title, *filter(None, pieces)])


def day(seconds: float, today: datetime) -> str:
    """When that was, as people say it: 09:14, yesterday, Fri, 12 Nov, 12 Nov 2024. today: in local time."""
    then = datetime.fromtimestamp(seconds, today.tzinfo)
    days = (today.date() - then.date()).days
    if days == 0:
        return f"{then:%H:%M}"
    if days == 1:
        return "yesterday"
    if 1 < days < 7:
        return f"{then:%a}"
    near = today - timedelta(days=300) < then
    return f"{then.day} {then:%b}" if near else f"{then.day} {then:%b %Y}"


def _cut(text: str, room: int) -> str:
    return f"{text:<{room}}" if len(text) <= room else f"{text[: room - 2]}.."
