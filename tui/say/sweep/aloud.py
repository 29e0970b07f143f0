"""What is said aloud to somebody who cannot see the screen: the same words, fit for an ear."""

import re
from typing import Final

from coaxly.fitter import Result

from ...entry.lengths import show_length
from ...job.sweep.news import Do, News, Task, What
from .features import SWEPT
from .findings import must_move, state_words
from .sweepwords import prompt, told

_WRITTEN: Final = (
    (r"\([^()]*\)", ""),  # keys and asides
    (r"\b(\d{1,2}):00\b", r"\1 o'clock"),
    (r"\b(\d{1,2}):0(\d)\b", r"\1 oh \2"),
    (r"\b(\d{1,2}):(\d\d)\b", r"\1 \2"),
    (r"\bthou\b", "thousandths"),
    (r"(?<=\d) in\b", " inches"),
    (r"(?<=\d) mm\b", " millimetres"),
    (r"(?<=\d) um\b", " micrometres"),
    (r"\bdeg\b", "degrees"),
    (r"\+-", "plus or minus"),
    (r"(?<=\d)\.0(?= (thousandths|degrees))", ""),
    (r"\bTIR\b", "T I R"),
    (r"[\"'`!<>]+(?=\s|$)|^[-\s]+", ""),
    (r"\s+", " "),
    (r" (?=[,.:;])", ""),
)
_QUIET: Final = (Do.HOLD_STILL, Do.WAIT_FOR_REST, Do.WATCH, Do.OVER, Do.KEPT)
"""What comes and goes while a station is being taken, or is told otherwise."""

_UNSAID: Final = (What.PACE, What.HELD)


def aloud(words: str) -> str:
    """Words as they are spoken: clock positions, units and signs in full, asides left out."""
    for written, spoken in _WRITTEN:
        words = re.sub(written, spoken, words)
    return words.strip()


def news_aloud(news: News | None, unit: str) -> str:
    """What happened; "" where that needs no voice."""
    return "" if news is None or news.what in _UNSAID else aloud(told(news, unit))


def task_aloud(task: Task, unit: str) -> str:
    """What to do now; "" where it is only to wait."""
    return "" if task.do in _QUIET else aloud(prompt(task, unit))


def finding_aloud(result: Result, unit: str) -> str:
    """Verdict, run-out, and which way the housing goes where it has to go somewhere."""
    ecc = result.eccentricity
    run_out = show_length(result.tir.fitted, unit)
    said = [f"{state_words(result.decision)}.", f"{SWEPT[result.feature]} run-out {run_out}."]
    if ecc.has_direction and result.feature == "bore" and must_move(result):
        off = show_length(ecc.amount, unit)
        said.append(f"The housing must move {off} towards {ecc.move_clock}, seen from behind.")
    elif ecc.has_direction and result.feature != "bore":
        said.append(f"High at {ecc.high_clock}, seen from behind.")
    return aloud(" ".join(said).capitalize())
