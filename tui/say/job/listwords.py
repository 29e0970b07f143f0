"""The list of jobs in words: a line each, and the newest job's next step, short enough to be drawn large."""

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any, Final, NamedTuple

from coaxly.fitter.geometry import clock

from ...entry.lengths import number, show_length
from ...job.folder.index import Row
from ...job.folder.progress import JobState
from ...job.steps.leftoff import LeftOff
from ..smallwords import shortened, whole_words
from ..sweep.noverdict import large_word, short_state, withheld_words
from .amiss import kept_sentences

FIRST: Final = """\
Coaxly reads a dial indicator while you turn the crank.
F  a dial with a cable (Enter)
N  a dial with a hand, or two numbers
B  no dial: the built-in engine
O  old recordings"""
NO_JOB: Final = "No job yet. Enter begins the first one; F finds a dial, if another is to be used."


class _Step(NamedTuple):
    """A step for a list, and as it is drawn large; the same where it is of the face."""

    words: str
    large: str
    of_face: str = ""
    large_of_face: str = ""


_STEPS: Final = {
    "sweep found": _Step("sweep the {feature} as found", "SWEEP AS FOUND", "", "SWEEP THE FACE"),
    "choose": _Step("choose dowels", "CHOOSE DOWELS"),
    "fit": _Step("fit the dowels", "SET THE DOWELS", "shim the face", "SHIM THE FACE"),
    "sweep left": _Step("sweep the {feature} as left", "SWEEP AS LEFT", "", "FACE AS LEFT"),
    "verify": _Step("compare and prove it", "PROVE IT"),
    "again": _Step("not proved yet", "NOT PROVED", "face outside, shim again", "FACE OUTSIDE"),
    "report": _Step("write the report", "REPORT"),
    "done": _Step("done", "DONE"),
}
_NARROW, _WIDE = 76, 104
"""Columns from which the day, and block and housing, stand in the list as well."""


def large_step(now: JobState, unit: str) -> str:
    """The next step in capitals; of dowels that are to be set, which and where to, as on their own page."""
    if now.feature == "face" and _STEPS[now.next].large_of_face:
        return _large(now.next, now.feature)
    if now.next == "fit" and now.chosen is not None and now.chosen.dowels:
        set_so = [f"{number(offset, unit)} TO {clock(deg)}" for offset, deg in now.chosen.dowels]
        return "  ".join(dict.fromkeys(set_so))
    if now.closed and now.unproved:
        return _STEPS["again"].large
    if now.next == "again" and now.choose_others:
        return "CHOOSE OTHERS"
    return _large(now.next, now.feature)


def _large(step: str, feature: str) -> str:
    of_face = _STEPS[step].large_of_face if feature == "face" else ""
    return of_face or _STEPS[step].large


def broken_words(off: LeftOff) -> str:
    """How far a sweep came that was left off, or is being made."""
    how = "running" if off.runs else "broken off"
    return how if off.read is None else f"{how}, {off.read} of {off.of} read"


def due(step: str, feature: str) -> str:
    """A step by its name, short enough for a list."""
    of_face = _STEPS[step].of_face if feature == "face" else ""
    return of_face or _STEPS[step].words.format(feature=feature)


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
    came = came_to(row, unit) if off is None else broken_words(off).removesuffix(" read")
    if width < _NARROW:
        return f"{_cut(row.title, max(width - 35, 12))} {came:<19} {_next_short(row, off)}"
    if width < _WIDE:
        named = _cut(row.title, width - 58)
    else:
        room = min((width - 58) // 2, 40)
        named = f"{_cut(row.title, room)} {_cut(' '.join(_parts(row)), room)}"
    come_and_due = f"{came:<19} {_next(row, off)}"
    return f"{named} {come_and_due:<44} {when}"


def list_line(row: Row, unit: str, off: LeftOff | None = None) -> str:
    """One job of the list. off: how far the sweep that is due came, where it was left off."""
    if row.amiss:
        return f"{row.number:>5}  {row.title}: ! {row.amiss}"
    if lost := kept_sentences(row.lost):
        more = f" (and {len(lost) - 1} more)" if len(lost) > 1 else ""
        return f"{row.number:>5}  {row.title:<28} ! {lost[0]}{more}"
    given = row.answer
    of = "face " if given and given.get("feature") == "face" else ""
    came = f"{of}{came_words(given, unit)}" if given else "not swept yet"
    came = came if off is None else broken_words(off)
    line = f"{row.number:>5}  {row.title:<28} {came:<24} next: {_next(row, off):<24} {row.opened[:10]}"
    twins = f"! {twins_words(row)}" if row.twins else ""
    return "  ".join(filter(None, (line.rstrip(), " ".join(_parts(row)), twins)))


def _parts(row: Row) -> list[str]:
    """Block and housing, as far as they were said."""
    return [f"{part} {name}" for part, name in (("block", row.block), ("housing", row.housing)) if name]


def _next(row: Row, off: LeftOff | None) -> str:
    if off is not None:
        return "end that sweep" if off.runs else "go on with the sweep"
    return "closed, nothing proved" if row.unproved else due(row.next, row.feature)


def _next_short(row: Row, off: LeftOff | None) -> str:
    if off is not None:
        return "end it" if off.runs else "go on"
    return _large("again" if row.unproved else row.next, row.feature).lower()


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
    number = f"no. {row.number}" if row.number else ""
    twins = f"! {twins_words(row)}" if row.twins else ""
    return "   ".join(filter(None, (shortened(row.title), number, *_parts(row), twins)))


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
    cut = text if len(text) <= room else f"{whole_words(text, room - 2)}.."
    return f"{cut:<{room}}"
