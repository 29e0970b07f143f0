"""A job's report written to a file that was not there before, and noted in its journal."""

from collections.abc import Mapping
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import Final, Literal

from coaxly.logger.durable import write_new

from ..errors import Failure, UsageError
from ..job.folder.journal import Reported, now
from ..job.folder.shop import Job
from ..job.folder.snapshot import Snapshot
from .content import Content, Style, content
from .facts import Facts

Form = Literal["html", "pdf"]
_FORMS: Final[Mapping[str, Form]] = {".html": "html", ".htm": "html", ".pdf": "pdf"}
_MOST: Final = 10_000


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
    if target.exists():
        raise in_the_way(target)


def in_the_way(target: Path) -> UsageError:
    """That something of that name is there already."""
    return UsageError(f"{target} is there already: give another name, nothing was changed")


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
    from .html import html

    return html(told)


def _put(job: Job, target: Path | None, data: bytes) -> Path:
    if target is not None:
        if not put_new(target, data):
            raise in_the_way(target)
        return target
    names = (job.path / ("report.html" if k == 1 else f"report-{k}.html") for k in range(1, _MOST))
    path = next((path for path in names if not path.exists() and put_new(path, data)), None)
    if path is None:
        raise UsageError(f"ten thousand reports are in {job.path}: move some away")
    return path


def put_new(path: Path, data: bytes) -> bool:
    """Write a file that was not there; False where one is. Nothing stays of one that could not be written
    whole. Raises UsageError or Failure."""
    try:
        write_new(path, data)
    except FileExistsError:
        return False
    except (FileNotFoundError, NotADirectoryError) as error:
        raise UsageError(f"cannot write {path}: {error.strerror}: make its folder first") from error
    except OSError as error:
        raise Failure(f"cannot write {path}: {error.strerror or error}") from error
    return True
