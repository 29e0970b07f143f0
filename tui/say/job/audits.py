"""What an audit found, in words."""

from typing import Any, Final

from ...job.folder.journal import Unproved
from ...job.folder.sworn import Edited
from ...job.steps.audit import Audit
from ...job.steps.beside import PointKind
from ..filling import Facts, Sentence, fill
from .amiss import edited_sentence, unproved_words, why_strange

_SHOWN: Final = 60
_SPANS: Final = 5


def audit_words(found: Audit) -> str:
    """Everything that was found of one file, the gravest first."""
    words = ""
    for point in found.points:
        joint = ", " if point.kind in ("signed", "same_result") else "; "
        words += (joint if words else "") + fill(_WORDS[point.kind], point.facts)
    return words


def audit_object(found: Audit) -> dict[str, Any]:
    """What `--json` prints: the facts, and `what` they come to in words."""
    return {**found.to_dict(), "what": audit_words(found)}


def _signed(facts: Facts, unit: str) -> str:
    name, mark = facts["name"], facts["mark"]
    return f"signed by {name} ({mark})" if name else f"signed by a key that is not known here ({mark})"


def _partly_signed(facts: Facts, unit: str) -> str:
    spans = [f"{first}" if first == last else f"{first} to {last}" for first, last in facts["spans"]]
    more = f" and {len(spans) - _SPANS} more" if len(spans) > _SPANS else ""
    word = "line" if len(spans) == 1 and " " not in spans[0] else "lines"
    return (
        f"nobody signed {word} {', '.join(spans[:_SPANS])}{more}: written without a key, or by another hand"
    )


def _same_result(facts: Facts, unit: str) -> str:
    largest = facts["largest"]
    return f"the same result to {largest:.0e} (rounding)" if largest > 0.0 else "the same result"


def _reckoned_otherwise(facts: Facts, unit: str) -> str:
    made = f"another version ({facts['software']}, this is {facts['this']})"
    if facts["models"]:
        then, now = facts["models"]
        made = f"{f'model {then}' if then else 'an earlier model'} of a sweep (this is model {now})"
    return f"made by {made} that reckoned otherwise: {_change(facts)}"


def _result_differs(facts: Facts, unit: str) -> str:
    made = f"made by {facts['software'] or 'unknown'}, this is {facts['this']}"
    return f"the result differs: {_change(facts)} ({made})"


def _change(facts: Facts) -> str:
    return f"{facts['key']} was {_short(facts['stored'])}, is now {_short(facts['now'])}"


def _short(value: Any) -> str:
    text = f"{value:.6g}" if isinstance(value, float) else str(value)
    return text if len(text) <= _SHOWN else text[:_SHOWN] + " ..."


_WORDS: Final[dict[PointKind, Sentence]] = {
    "seals": "{what}",
    "journal": "the journal of a job, {seals:seal|seals} of it hold",
    "unproved": lambda facts, unit: unproved_words(Unproved(time="", **facts)),
    "partly_signed": _partly_signed,
    "nobody_signed": (
        "no key has signed it: whoever rewrites it on purpose can seal it anew, and that would not show"
    ),
    "cut": "lines were cut off it, or it was made anew: it lacks what was in it when {files} began",
    "other": "{files} there: NOT the recording that it noted by that name",
    "not_noted": "no line of it notes {files}: its end may have been cut off",
    "missing": "not in the folder, though it notes that: {files}",
    "replaced": "{files} there: not the file that it noted by that name",
    "double": "other copies of its files lie there: {files}",
    "twin": "the same job lies in {folders} too: keep the better",
    "stranger": lambda facts, unit: (
        f"{facts['file']} is not the job's: {why_strange(facts['why'], facts['what'])}"
    ),
    "details": "it says what was said when it counted",
    "no_details": "the job.toml of this job is gone or empty: put back a copy of it",
    "lost": "the journal of this job is gone or empty: put back a copy of it",
    "edited": lambda facts, unit: edited_sentence(Edited(**facts)),
    "end_open": "a cut at its end does not show where the recordings made since are gone with it",
    "damaged": "{what}",
    "unreadable": "{what}",
    "signed": _signed,
    "false_signature": "the signature of its end is not of the key it names ({mark})",
    "unsigned": "no key that is known here has signed it",
    "failed": "coaxly itself failed on it ({error})",
    "killed": "the process that read it was killed: it may need more memory than there is",
    "no_result": "no result is stored in it",
    "same_result": _same_result,
    "reckoned_otherwise": _reckoned_otherwise,
    "result_differs": _result_differs,
}
