"""A job's report written to a file that was not there before, and noted in its journal."""

from collections.abc import Mapping
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import Final, Literal

from ..entry.names import free, numbered, put_new, was_put
from ..errors import UsageError
from ..job.folder.journal import Reported, now
from ..job.folder.shop import Job
from ..job.folder.snapshot import Snapshot
from .content import Content, Style, content
from .facts import Facts

Form = Literal["html", "pdf"]
_FORMS: Final[Mapping[str, Form]] = {".html": "html", ".htm": "html", ".pdf": "pdf"}


@dataclass(frozen=True, slots=True)
class Made:
    """A report that was written. content: what it says."""

    path: Path
    form: Form
    content: Content


def form_of(path: Path) -> Form:
    """What a name asks for. Raises UsageError."""
    form = _FORMS.get(path.suffix.lower())
    if form is None:
        raise UsageError(f"{path.name[:60]!r} is no name for a report: end it in .html or .pdf")
    return form


def check(target: Path | None) -> None:
    """Whether a report can be written there at all: said before anything is computed. Raises UsageError."""
    if target is None:
        return
    if form_of(target) == "pdf":
        from .pdf import need_typst

        need_typst()
    free(target)


def write_report(facts: Facts, style: Style, target: Path | None, operator: str = "") -> Made:
    """Write it and note it. target: None for the next free name in the job's folder.

    Raises UsageError where the target is there already or cannot be made, or Failure.
    """
    check(target)
    form: Form = form_of(target) if target is not None else "html"
    told = content(facts, style)
    data = _rendered(told, form)
    path = _put(facts.job.job, target, data)
    inside = path.resolve().parent == facts.job.path.resolve()
    name = path.name if inside else str(path)
    facts.job.job.note(Reported(time=now(), operator=operator, file=name, sha256=sha256(data).hexdigest()))
    return Made(path, form, told)


def make_report(job: Snapshot, unit: str, target: Path | None = None) -> Made:
    """The same for who has no facts at hand: paper, decimal mark and known keys are those of the user.

    Raises what `gather` and `write_report` do.
    """
    from ..entry.keyring import known_keys
    from ..entry.preferences import load_preferences
    from .facts import gather

    known = load_preferences()
    facts = gather(job, known_keys(), known.kit)
    return write_report(facts, Style(unit, known.decimal, known.paper), target)


def _rendered(told: Content, form: Form) -> bytes:
    if form == "pdf":
        from .pdf import pdf

        return pdf(told)
    from .content import html

    return html(told)


def _put(job: Job, target: Path | None, data: bytes) -> Path:
    if target is None:
        return next(path for path in numbered(job.path / "report.html") if was_put(path, data))
    put_new(target, data)
    return target
