"""What a report is made of: the recordings of a job through the pipeline, its journal, and what seals prove.

Facts only. Every number comes of the code that `replay`, `verify` and `audit` print with `--json`.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from coaxly.fitter import Result
from coaxly.fitter.analysis import corrected
from coaxly.fitter.dowels.compare import Comparison
from coaxly.fitter.dowels.limits import Limit
from coaxly.fitter.dowels.pins import Pins
from coaxly.fitter.pilot import AtPilot
from coaxly.fitter.reading.stations import Stations

from ..errors import UsageError
from ..job.folder.journal import Fitted, Proof, Record, Sweep, Unproved, now
from ..job.folder.kept import kept
from ..job.folder.material import value_of
from ..job.folder.snapshot import Snapshot
from ..job.folder.sworn import Edited, Ruling, edited, ruling
from ..job.recorded.consistency import Doubt, before_and_after, tampered
from ..job.recorded.pipeline import Pipeline, judged_by, replay
from ..job.steps.audit import Audit, audit, audit_journal
from ..job.steps.noting import is_other, journal_changed
from ..job.steps.proving import pair_of
from ..job.steps.shaft import lie_of_job
from ..job.steps.wishes import Wish


@dataclass(frozen=True, slots=True)
class Sealed:
    """A recording of the job audited. noted: it ends by the seal that the journal noted."""

    record: Sweep
    audit: Audit
    noted: bool


@dataclass(frozen=True, slots=True)
class Swept:
    """One sweep of the job.

    record: of the journal.
    stations: as the surface reads, corrected.
    """

    record: Sweep
    pipeline: Pipeline
    result: Result
    stations: Stations


@dataclass(frozen=True, slots=True)
class Round:
    """Dowels that were in, the last sweep with them, and what was proved by it."""

    fitted: Fitted
    left: Sweep | None = None
    proof: Proof | None = None


@dataclass(frozen=True, slots=True)
class Facts:
    """Everything that a report tells of a job.

    found, left: of the bore; face_found, face_left: of the face; None where there is none.
    parts: what turns with the crank. at_pilot: where bore and face lead the gearbox's shaft, if known.
    comparison: of found and left, where that was proved in the job.
    recordings: every one that the journal knows and that is there, in its order; gone: names of the others.
    journal: the journal itself audited. unproved: what its seals do not prove.
    edited: what was changed in job.toml by hand. ruling: by which limit the sweeps are judged, and why.
    replaced: pictures and earlier reports that hold other bytes than were noted.
    made: when the report is, UTC, ISO 8601.
    """

    job: Snapshot
    limit: Limit | None
    pins: Pins | None
    found: Swept | None
    left: Swept | None
    face_found: Swept | None
    face_left: Swept | None
    parts: tuple[Swept, ...]
    at_pilot: AtPilot | None
    comparison: Comparison | None
    rounds: tuple[Round, ...]
    recordings: tuple[Sealed, ...]
    journal: Audit
    made: str
    unproved: tuple[Unproved, ...] = ()
    edited: tuple[Edited, ...] = ()
    ruling: Ruling = field(default_factory=Ruling)
    replaced: tuple[str, ...] = ()
    gone: tuple[str, ...] = ()

    @property
    def last(self) -> Swept | None:
        """The newest sweep of the bore."""
        return self.left or self.found

    @property
    def last_face(self) -> Swept | None:
        """The newest sweep of the face."""
        return self.face_left or self.face_found

    @property
    def sweeps(self) -> tuple[Swept, ...]:
        """Those that are told in full."""
        each = (self.face_found, self.face_left, self.found, self.left, *self.parts)
        return tuple(swept for swept in each if swept is not None)


def gather(job: Snapshot, known_keys: Mapping[str, str], usual_kit: str) -> Facts:
    """All that a report of a job tells. known_keys: names by public key, as for an audit; usual_kit: where
    job.toml has none.

    Raises UsageError where nothing was swept yet or job.toml makes no sense, LoggerError or FitterError for a
    recording that cannot be read.
    """
    state = job.state
    told = [state.found, state.left, state.face.found, state.face.left]
    if not any(told):
        raise UsageError(
            f"{job.title}: the housing as it is now was not swept yet, so there is nothing to report: "
            f"coaxly sweep --job {job.folder}"
        )
    ruled, files = ruling(job), kept(job.job, job.records)
    limit = ruled.limit
    found, left, face_found, face_left = (
        None if record is None else _swept(job, record, limit) for record in told
    )
    return Facts(
        job=job,
        limit=limit,
        pins=value_of(job, "dowels"),
        found=found,
        left=left,
        face_found=face_found,
        face_left=face_left,
        parts=tuple(_swept(job, record, None) for record in state.parts),
        at_pilot=lie_of_job(job),
        comparison=_comparison(job, usual_kit),
        rounds=rounds(job.records),
        recordings=tuple(
            _sealed(job, record, known_keys)
            for name, record in job.sweeps.items()
            if name not in files.missing
        ),
        journal=audit_journal(job, known_keys),
        made=now(),
        unproved=tuple(job.journal.unproved),
        edited=tuple(edited(job)),
        ruling=ruled,
        replaced=files.replaced,
        gone=tuple(name for name in job.sweeps if name in files.missing),
    )


def doubts(facts: Facts) -> list[Doubt]:
    """What speaks against telling a customer what these files say."""
    written = facts.job.journal.path
    found = journal_changed(facts.job.journal)
    found += [
        Doubt.that("journal_cut", path=str(written), **point.facts)
        for point in facts.journal.points
        if point.kind == "cut"
    ]
    swapped = {each.record.file for each in facts.recordings if not each.noted}
    for swept in facts.sweeps:
        path = str(facts.job.file(swept.record.file))
        found += tampered(path)
        if swept.record.file in swapped:
            found.append(Doubt.that("not_noted", path=path))
    for one, other in ((facts.found, facts.left), (facts.face_found, facts.face_left)):
        if one is not None and other is not None:
            before, after = ((str(facts.job.file(each.record.file)), each.pipeline) for each in (one, other))
            found += before_and_after(before, after)
    return found


def rounds(records: Sequence[Record]) -> tuple[Round, ...]:
    """Every time that dowels were fitted."""
    found: list[Round] = []
    for record in records:
        if isinstance(record, Fitted) and record.slip and found:
            while record.sweep and len(found) > 1 and found[-1].left is None:
                found.pop()  # which went in by that slip alone
            found[-1] = replace(found[-1], fitted=record, proof=None)
        elif isinstance(record, Fitted):
            found.append(Round(record))
        elif not found:
            continue
        elif isinstance(record, Sweep) and record.feature == "bore" and record.stage == "left":
            found[-1] = replace(found[-1], left=record, proof=None)
        elif isinstance(record, Proof) and found[-1].left is not None and record.left == found[-1].left.file:
            found[-1] = replace(found[-1], proof=record)
    return tuple(found)


def _swept(job: Snapshot, record: Sweep, limit: Limit | None) -> Swept:
    pipeline = replay(job.recording_of(record))
    result = judged_by(pipeline, limit)
    return Swept(record, pipeline, result, corrected(pipeline.setup, pipeline.fitter.stations()))


def _sealed(job: Snapshot, record: Sweep, known_keys: Mapping[str, str]) -> Sealed:
    audited = audit(job.file(record.file), known_keys)
    return Sealed(record, audited, noted=not is_other(record, audited.last_seal))


def _comparison(job: Snapshot, usual_kit: str) -> Comparison | None:
    """As `verify JOB` makes it, where that was done for the last sweep, and neither is in doubt. Raises
    UsageError."""
    state = job.state
    if state.proof is None or state.found is None or state.left is None:
        return None
    pair = pair_of(job, Wish(usual_kit=usual_kit))
    return None if pair.unmeasured else pair.comparison
