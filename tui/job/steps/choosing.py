"""Which dowels go in: planned from a recording, or from the sweep of a job that shows the bare bore."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import msgspec

from coaxly.fitter import Result
from coaxly.fitter.analysis import corrected
from coaxly.fitter.dowels.limits import Limit
from coaxly.fitter.dowels.plan import Measured, Option, Workshop, advice, plan, undressed
from coaxly.fitter.dowels.setting import DowelSetting
from coaxly.fitter.result import Remark

from ...errors import UsageError
from ..folder.journal import Chosen, Fitted, now
from ..folder.material import learn
from ..folder.progress import JobState
from ..folder.snapshot import Snapshot, look
from ..folder.sworn import Ruling, ruling
from ..recorded.consistency import Doubt, in_doubt, stage, tampered
from ..recorded.pipeline import Pipeline, judged_by, replay
from .noting import not_noted
from .wishes import Wish


@dataclass(frozen=True)
class Basis:
    """The sweep that dowels are planned from; and what can be fitted, once somebody asks.

    known: its job, None for a recording alone. wish: what was said, and what the job says of the rest.
    ruling: the job's limit, and why that. inside: what was in when it was swept.
    doubts: why it may not be what it says it is.
    """

    known: Snapshot | None
    wish: Wish
    pipeline: Pipeline
    result: Result
    ruling: Ruling
    inside: DowelSetting | None
    doubts: list[Doubt]

    @property
    def workshop(self) -> Workshop:
        """What there is to work with. Raises UsageError."""
        return self.wish.workshop

    @cached_property
    def options(self) -> list[Option]:
        """What can be fitted, best first. Raises FitterError or UsageError."""
        return plan(self._bare, self.workshop)

    @cached_property
    def advice(self) -> list[Remark]:
        """What dowels cannot do. Raises FitterError or UsageError."""
        return advice(self._bare, self.workshop, self.options)

    @cached_property
    def _bare(self) -> Measured:
        """The housing without the dowels that are in."""
        measured = measured_by(self.pipeline, self.result)
        return measured if self.inside is None else undressed(measured, self.inside, self.workshop)


def basis(source: Path | Snapshot, wish: Wish) -> Basis:
    """The sweep to plan from. Raises LoggerError, FitterError or UsageError."""
    if isinstance(source, Path):
        known, path, inside, doubts = None, source, wish.fitted, []
    else:
        known = source
        path, fitted = planned_from(known)
        inside = wish.fitted
        if inside is None and fitted is not None:
            inside = DowelSetting.of(fitted.dowels)
        doubts = [*not_noted(known, known.state.found or known.state.left), *_mirrored(known)]
    wish = wish.within(known)
    pipeline = replay(path, wish.given)
    ruled = limit_in(known, wish.limit)
    result = judged_by(pipeline, ruled.limit)
    wish.need_kit(known)
    doubts += tampered(str(path))
    # What was hardly measured is planned from for a look, and nothing is taken of it.
    doubts += [each for each in in_doubt(str(path), result) if each.kind == "unit" or wish.taking]
    if stage(pipeline) == "left" and inside is None and not (known and known.state.nudged):
        doubts.append(Doubt.that("dowels_in_it", path=str(path)))
    return Basis(known, wish, pipeline, result, ruled, inside, doubts)


def take(found: Basis, which: int) -> None:
    """Note in its job that one of the options was taken, and what it was planned with where job.toml does not
    say it. which: from 1. Raises UsageError or Failure."""
    known, wish, limit = found.known, found.wish, found.ruling.limit
    assert known is not None
    record = chosen(found.options, which, limit)
    # What was written into job.toml while the options were looked at stays.
    learn(look(known.job), wish.kit, limit, wish.pins)
    known.job.note(record)


def chosen(options: Sequence[Option], which: int, limit: Limit | None) -> Chosen:
    """The record that one of the options was taken. which: from 1. Raises UsageError."""
    if not 1 <= which <= len(options):
        raise UsageError(f"--take {which}: there are options 1 to {len(options)}")
    option = options[which - 1]
    return Chosen(
        time=now(),
        which=which,
        options=tuple(each.to_dict() for each in options),
        dowels=tuple((dowel.offset, dowel.deg) for dowel in option.dowels),
        promise={
            "probability": option.probability,
            "tir_fitted": option.predicted.tir_fitted,
            "tir_swept": option.predicted.tir_swept,
            "limit": limit.tir if limit is not None else None,
            "way": option.way,
        },
    )


def option_of(record: Chosen) -> Option | None:
    """The option that was taken, as it was shown; None where another version wrote it otherwise."""
    if not 1 <= record.which <= len(record.options):
        return None
    try:
        return msgspec.convert(record.options[record.which - 1], Option)
    except msgspec.ValidationError:
        return None


def planned_from(known: Snapshot) -> tuple[Path, Fitted | None]:
    """The sweep that dowels are planned from, and what was in when it was made. Raises UsageError."""
    state = known.state
    if state.found is not None and not _turned(state):
        return known.recording_of(state.found), state.before
    if state.left is not None:
        return known.recording_of(state.left), state.fitted
    raise UsageError(
        f"{known.title}: the {state.feature} was not swept yet",
        command=f"coaxly sweep --job {known.called}",
        keys="Enter sweeps it",
    )


def _turned(state: JobState) -> bool:
    """Whether the sweep as found was mirrored, and one as left can stand in for it."""
    return state.mirrored in ("yes", "known") and state.left is not None


def _mirrored(known: Snapshot) -> list[Doubt]:
    """Whether the sweep as found, which dowels are planned from, may be the mirror image of what it should
    be: nothing is chosen by that."""
    state = known.state
    if state.mirrored == "no" or state.found is None or _turned(state):
        return []
    return [Doubt.that("mirrored", path=state.found.file)]


def limit_in(known: Snapshot | None, said: Limit | None) -> Ruling:
    """By which limit sweeps that were made are judged: as was said, else as the job rules. Raises
    UsageError."""
    return Ruling(said) if said is not None or known is None else ruling(known)


def measured_by(pipeline: Pipeline, result: Result) -> Measured:
    """What the planner needs of a sweep."""
    stations = corrected(pipeline.setup, pipeline.fitter.stations())
    return Measured.of(pipeline.setup, result, stations, result.decision.limit)
