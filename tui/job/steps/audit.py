"""One recording audited: its seals and its result, both computed anew."""

from collections.abc import Callable, Mapping, Sequence
from contextlib import nullcontext, suppress
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any, Final, Literal

import msgspec

from coaxly.fitter import MODEL
from coaxly.fitter.certainty.decision import judge
from coaxly.logger.errors import LoggerError
from coaxly.logger.recording.reader import RecordingReader
from coaxly.logger.recording.records import End
from coaxly.logger.recording.seals import SealReport, check_seals

from ...errors import OURS, UsageError
from ...version import __version__
from ..folder.details import LIMITS
from ..folder.details import NAME as DETAILS
from ..folder.details import written as details_of
from ..folder.journal import NAME as JOURNAL
from ..folder.journal import Journal, Opened, Unproved, read
from ..folder.journalmarks import Vouched, vouched
from ..folder.shop import Job
from ..folder.snapshot import Snapshot
from ..folder.sworn import edited
from ..recorded.pipeline import Pipeline, replay
from .beside import Point, beside
from .differences import Difference, compare

State = Literal[
    "ok", "unsigned", "unfinished", "unsealed", "incomplete", "damaged", "changed", "different", "unreadable",
    "failed",
]  # fmt: skip
OPEN: Final = ("unfinished", "unsealed", "incomplete")
"""Nothing wrong is known of these, but not all of them is proved either."""
BAD: Final = ("unsigned", "damaged", "changed", "different", "unreadable", "failed")
_NOBODY: Final[Mapping[str, str]] = {}
_DIFFERENCES_KEPT: Final = 100
_WEIGHTY: Final = ("decision.state", "eccentricity.amount", "eccentricity.u95_amount", "tir.fitted")
"""What of a result is told first where it differs."""
_NO_TOML: Final = b"\0"
"""Of a job.toml that cannot be read: who asks for it is told, as of any that is no TOML."""


@dataclass(frozen=True, slots=True)
class Audit:
    """What became of one file.

    points: what was found, in the order in which it is told (`coaxly.say.job.audits` puts it in words).
    finished: whether its sealed end is there.
    last_seal: hash of the last seal that holds.
    id: of the job, in its journal.
    key: that signed it, by a signature that holds.
    signer: its name, "" where it is not known here.
    differences: of the result, the first of them.
    largest: relative, of any number.
    job, stage: of its header.
    """

    path: str
    state: State
    points: tuple[Point, ...]
    seals: int = 0
    software: str = ""
    differences: tuple[Difference, ...] = ()
    largest: float = 0.0
    finished: bool = False
    last_seal: str = ""
    job: str = ""
    stage: str = ""
    id: str = ""
    key: str = ""
    signer: str = ""

    def to_dict(self) -> dict[str, Any]:
        """As JSON-ready dictionaries and lists."""
        return asdict(self)


def audit(path: Path, known: Mapping[str, str] = _NOBODY) -> Audit:
    """Check one file. known: names by public key. Never raises: what is wrong is the finding."""
    return _whatever_comes(path, lambda: _audit(path, known))


def audit_journal(job: Snapshot, known: Mapping[str, str] = _NOBODY) -> Audit:
    """The same of the journal of a job that was read."""
    return _whatever_comes(job.job.written, lambda: _of_journal(job, known))


def _whatever_comes(path: Path, work: Callable[[], Audit]) -> Audit:
    try:
        return work()
    except (*OURS, OSError) as error:
        # The path stands before it already.
        what = str(error).removeprefix(f"{path}: ").removeprefix(f"{path}, ")
        return Audit(str(path), "unreadable", (Point.that("unreadable", what=what),))
    except Exception as error:
        # A fault of our own must not end the audit of all the other files, nor pass for one of theirs.
        failed = Point.that("failed", error=f"{type(error).__name__}: {error}")
        return Audit(str(path), "failed", (failed,))


def _audit(path: Path, known: Mapping[str, str]) -> Audit:
    if path.name == DETAILS:
        return _of_details(_half(path))
    if path.name == JOURNAL and not (job := _half(path)).journal.data:
        return Audit(str(path), "changed", (Point.that("lost"),))
    if path.name == JOURNAL and job.journal.begins_as_one:
        return _of_journal(job, known)
    found = _sealed(path, check_seals(path), known)
    if found.state == "changed":
        return _with(found, *(Point.that("damaged", what=what) for what in _holes(path)))
    pipeline = replay(path)
    header = pipeline.header
    found = replace(found, software=header.software, job=header.job, stage=header.stage)
    if pipeline.damage:
        return _with(replace(found, state="damaged"), Point.that("damaged", what=pipeline.damage))
    return _with_result(found, pipeline)


def _half(path: Path) -> Snapshot:
    """A job by one of its two files: what is wrong with the other is said of that. Raises UsageError."""
    job = Job(path.parent)
    written, toml = Journal(job.written), _NO_TOML
    with nullcontext() if path.name == JOURNAL else suppress(UsageError):
        written = read(job.written)
    with nullcontext() if path.name == DETAILS else suppress(UsageError):
        toml = details_of(job.path / DETAILS)
    return Snapshot(job, written, toml)


def _sealed(path: Path, seals: SealReport, known: Mapping[str, str]) -> Audit:
    """What seals and the signature at the end say."""
    points, signer = [Point.that("seals", what=seals.what)], ""
    if seals.end is not None and seals.end.key:
        point, signer = _signed(seals.end, known)
        points.append(point)
        if point.kind == "false_signature":
            points, seals = [point], replace(seals, state="changed", end=None)
    return Audit(
        str(path),
        seals.state,
        tuple(points),
        seals.seals,
        finished=seals.state == "ok" and seals.end is not None,
        last_seal=seals.head,
        key=seals.end.key if seals.end else "",
        signer=signer,
    )


def _of_journal(job: Snapshot, known: Mapping[str, str]) -> Audit:
    """Of a journal: what its seals say now; what was noted of lines that no seal spoke for before one covered
    them, which stays so for good; who signed it; and whether the files beside it agree."""
    found = _sealed(job.job.written, job.journal.seals, known)
    noted = [record for record in job.records if isinstance(record, Unproved)]
    facts = [{name: getattr(each, name) for name in ("first", "last", "state", "found")} for each in noted]
    points = [Point.that("journal", seals=found.seals), *(found.points[:1] if found.state != "ok" else ())]
    points += [Point.that("unproved", **each) for each in facts]
    signed, key, signer = _signatures(vouched(job.journal.data), known)
    points += [*signed, *beside(job)]
    kinds = {point.kind for point in points}
    state = found.state
    if state == "ok" and noted:
        state = "unsealed" if all(each.state == "unsealed" for each in noted) else "changed"
    if kinds & {"false_signature", "cut", "other", "replaced"}:
        state = "changed"
    elif state == "ok" and kinds & {"not_noted", "missing", "double", "stranger"}:
        state = "incomplete"
    if state == "ok":
        points.append(Point.that("end_open"))
    drawn = next((each.id for each in job.records if isinstance(each, Opened)), "")
    return replace(found, state=state, points=tuple(points), id=drawn, key=key, signer=signer)


def with_twins(found: Sequence[Audit]) -> list[Audit]:
    """The same audits, where journals of one job stand in several folders each with a word of the others: a
    folder that was copied whole is by itself as it was."""
    folders: dict[str, list[Path]] = {}
    for one in found:
        if one.id:
            folders.setdefault(one.id, []).append(Path(one.path).parent)
    return [_beside_twins(one, folders.get(one.id, [])) for one in found]


def _beside_twins(one: Audit, folders: Sequence[Path]) -> Audit:
    twins = tuple(folder.name for folder in folders if folder != Path(one.path).parent)
    if not twins:
        return one
    state: State = "incomplete" if one.state == "ok" else one.state
    return _with(replace(one, state=state), Point.that("twin", folders=twins))


def _of_details(job: Snapshot) -> Audit:
    """Of job.toml: whether it can be read, and what of it was said otherwise when it counted. People may edit
    it; a limit that nobody stands by judges nothing."""
    if not job.toml:
        return Audit(str(job.path / DETAILS), "changed", (Point.that("no_details"),))
    found = [each for each in edited(job) if each.before]
    points = [Point.that("edited", **asdict(each)) for each in found] or [Point.that("details")]
    changed = any(each.key in LIMITS for each in found)
    return Audit(str(job.path / DETAILS), "changed" if changed else "ok", tuple(points))


def _signatures(marks: Vouched, known: Mapping[str, str]) -> tuple[list[Point], str, str]:
    """What is to be said of a journal's signatures; the last key and the names of all, where they speak for
    every line and are known."""
    from coaxly.logger.recording.signing import mark

    false = [each for each in marks.signatures if not each.holds]
    points = [Point.that("false_signature", mark=mark(each.key)) for each in false[:1]]
    keys = list(dict.fromkeys(each.key for each in marks.signatures if each.holds))
    if not keys:
        return points or [Point.that("nobody_signed")], "", ""
    points += [Point.that("signed", name=known.get(key, ""), mark=mark(key)) for key in keys]
    if spans := marks.unsigned():
        return [*points, Point.that("partly_signed", spans=spans)], "", ""
    whole = not false and not marks.unsigned(frozenset(known))
    return points, keys[-1], ", ".join(known[key] for key in keys if key in known) if whole else ""


def _with(found: Audit, *more: Point) -> Audit:
    return replace(found, points=(*found.points, *more))


def _signed(end: End, known: Mapping[str, str]) -> tuple[Point, str]:
    """What a signature is worth, and whose it is."""
    from coaxly.logger.recording.signing import mark, signature_holds

    if not signature_holds(end):
        return Point.that("false_signature", mark=mark(end.key)), ""
    name = known.get(end.key, "")
    return Point.that("signed", name=name, mark=mark(end.key)), name


def _with_result(found: Audit, pipeline: Pipeline) -> Audit:
    """The stored result against the one of now."""
    stored = pipeline.stored
    pipeline.torn = ""  # half a line behind a stored result is no part of that result
    if stored is None:
        return _with(found, Point.that("no_result"))
    now = msgspec.json.decode(msgspec.json.encode(pipeline.finding().to_dict()))
    differences, largest = compare(_as_of_now(stored.result, now), now)
    found = replace(found, largest=largest)
    if not differences:
        return _with(found, Point.that("same_result", largest=largest))
    # Another version may reckon better: that is no charge against the file.
    other_model = stored.fit != MODEL
    excused = other_model or found.software not in ("", __version__)
    point = Point.that(
        "reckoned_otherwise" if excused else "result_differs",
        **asdict(min(differences, key=_told_first)),
        software=found.software,
        this=__version__,
        models=(stored.fit, MODEL) if other_model else (),
    )
    return replace(
        found,
        state=found.state if excused else "different",
        points=(point, *found.points),
        differences=tuple(differences[:_DIFFERENCES_KEPT]),
    )


def _told_first(one: Difference) -> int:
    """What turned for the customer is told before what stands first in the file."""
    return next((k for k, key in enumerate(_WEIGHTY) if one.key.startswith(key)), len(_WEIGHTY))


def _as_of_now(stored: dict[str, Any], now: dict[str, Any]) -> dict[str, Any]:
    """A stored result in which a verdict that nobody withheld then is compared by its probability alone.

    Before `withheld` there was one doubt, of the unit, in a key of its own. A verdict that does not follow
    from the probability beside it was no version's, and stays.
    """
    then, decision = stored.get("decision"), now.get("decision")
    if not isinstance(then, dict) or "withheld" in then or not isinstance(decision, dict):
        return stored
    then = {key: value for key, value in then.items() if key != "doubt"}
    probability = then.get("probability")
    given = isinstance(probability, float) and then.get("state") == judge(probability)
    if decision["withheld"] and given:
        then["state"] = decision["state"]
    return {**stored, "decision": then}


def _holes(path: Path) -> list[str]:
    """What of a changed file cannot be read at all."""
    try:
        reader = RecordingReader(path)
        for _ in reader.blocks():
            pass
    except LoggerError as error:
        return [str(error)]
    return [reader.damage] if reader.damage else []


def recordings_in(paths: list[Path]) -> list[Path]:
    """The recordings named, and those in the folders named, recursively, each once; of each job its job.toml
    and its journal, which should be there."""
    found: list[Path] = []
    for path in paths:
        if path.is_dir():
            jobs = {each.parent for name in (DETAILS, JOURNAL) for each in path.rglob(name)}
            found += sorted(
                {*path.rglob("*.jsonl"), *(job / name for job in jobs for name in (DETAILS, JOURNAL))}
            )
        else:
            found.append(path)
    return list(dict.fromkeys(found))
