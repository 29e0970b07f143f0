"""What an audit found, in words."""

from collections.abc import Callable, Mapping
from typing import Any, Final

from ...job.folder.journal import Unproved
from ...job.folder.sworn import Edited
from ...job.steps.audit import Audit, Point, PointKind
from ..smallwords import counted
from .strangers import why_strange
from .sworn import edited_sentence
from .unproved import unproved_words

_SHOWN: Final = 60
_SPANS: Final = 5
_Facts = Mapping[str, Any]


def audit_words(found: Audit) -> str:
    """Everything that was found of one file, the gravest first."""
    words = ""
    for point in found.points:
        joint = ", " if point.kind in ("signed", "same_result") else "; "
        words += (joint if words else "") + point_words(point)
    return words


def audit_object(found: Audit) -> dict[str, Any]:
    """What `--json` prints: the facts, and `what` they come to in words."""
    return {**found.to_dict(), "what": audit_words(found)}


def point_words(point: Point) -> str:
    """One thing that was found."""
    return _WORDS[point.kind](point.facts)


def _what(facts: _Facts) -> str:
    return str(facts["what"])


def _signed(facts: _Facts) -> str:
    name, mark = facts["name"], facts["mark"]
    return f"signed by {name} ({mark})" if name else f"signed by a key that is not known here ({mark})"


def _false_signature(facts: _Facts) -> str:
    return f"the signature of its end is not of the key it names ({facts['mark']})"


def _partly_signed(facts: _Facts) -> str:
    spans = [f"{first}" if first == last else f"{first} to {last}" for first, last in facts["spans"]]
    more = f" and {len(spans) - _SPANS} more" if len(spans) > _SPANS else ""
    word = "line" if len(spans) == 1 and " " not in spans[0] else "lines"
    return (
        f"nobody signed {word} {', '.join(spans[:_SPANS])}{more}: written without a key, or by another hand"
    )


def _listed(facts: _Facts) -> str:
    return ", ".join(facts["files"])


def _failed(facts: _Facts) -> str:
    return f"coaxly itself failed on it ({facts['error']})"


def _same_result(facts: _Facts) -> str:
    largest = facts["largest"]
    return f"the same result to {largest:.0e} (rounding)" if largest > 0.0 else "the same result"


def _reckoned_otherwise(facts: _Facts) -> str:
    made = f"another version ({facts['software']}, this is {facts['this']})"
    if facts["models"]:
        then, now = facts["models"]
        made = f"{f'model {then}' if then else 'an earlier model'} of a sweep (this is model {now})"
    return f"made by {made} that reckoned otherwise: {_change(facts)}"


def _result_differs(facts: _Facts) -> str:
    made = f"made by {facts['software'] or 'unknown'}, this is {facts['this']}"
    return f"the result differs: {_change(facts)} ({made})"


def _change(facts: _Facts) -> str:
    return f"{facts['key']} was {_short(facts['stored'])}, is now {_short(facts['now'])}"


def _short(value: Any) -> str:
    text = str(value)
    return text if len(text) <= _SHOWN else text[:_SHOWN] + " ..."


_WORDS: Final[dict[PointKind, Callable[[_Facts], str]]] = {
    "seals": _what,
    "journal": lambda facts: f"the journal of a job, {counted(facts['seals'], 'seal')} of it hold",
    "unproved": lambda facts: unproved_words(Unproved(time="", **facts)),
    "partly_signed": _partly_signed,
    "nobody_signed": lambda facts: (
        "no key has signed it: whoever rewrites it on purpose can seal it anew, and that would not show"
    ),
    "cut": lambda facts: (
        f"lines were cut off it, or it was made anew: it lacks what was in it when {_listed(facts)} began"
    ),
    "other": lambda facts: f"{_listed(facts)} there: NOT the recording that it noted by that name",
    "not_noted": lambda facts: f"no line of it notes {_listed(facts)}: its end may have been cut off",
    "missing": lambda facts: f"not in the folder, though it notes that: {_listed(facts)}",
    "replaced": lambda facts: f"{_listed(facts)} there: not the file that it noted by that name",
    "double": lambda facts: f"other copies of its files lie there: {_listed(facts)}",
    "stranger": lambda facts: f"{facts['file']} is not the job's: {why_strange(facts['why'], facts['what'])}",
    "details": lambda facts: "it says what was said when it counted",
    "no_details": lambda facts: "the job.toml of this job is gone or empty: put back a copy of it",
    "lost": lambda facts: "the journal of this job is gone or empty: put back a copy of it",
    "edited": lambda facts: edited_sentence(Edited(**facts)),
    "end_open": lambda facts: (
        "a cut at its end does not show where the recordings made since are gone with it"
    ),
    "damaged": _what,
    "unreadable": _what,
    "signed": _signed,
    "false_signature": _false_signature,
    "unsigned": lambda facts: "no key that is known here has signed it",
    "failed": _failed,
    "killed": lambda facts: "the process that read it was killed: it may need more memory than there is",
    "no_result": lambda facts: "no result is stored in it",
    "same_result": _same_result,
    "reckoned_otherwise": _reckoned_otherwise,
    "result_differs": _result_differs,
}
