"""Tapping in a job: the sweep that is gone by, what is asked for, and the note of how it ended."""

from dataclasses import dataclass
from pathlib import Path

from coaxly.logger.angle.source import Source

from ...errors import UsageError
from ..folder.journal import Nudged, now
from ..folder.snapshot import Snapshot
from ..recorded.consistency import Doubt, in_doubt, need, tampered
from ..recorded.pipeline import Pipeline, replay
from .nudge import Step
from .nudgerun import NudgeRequest, NudgeRun


@dataclass(frozen=True, slots=True)
class ToTap:
    """The sweep that a housing is tapped by. doubts: why it may not be what it says it is."""

    path: Path
    pipeline: Pipeline
    doubts: list[Doubt]

    @property
    def off(self) -> bool:
        """Whether anything off-centre was found that could be tapped away. Raises FitterError."""
        return self.pipeline.result().eccentricity.detected


def to_tap(source: Path | Snapshot) -> ToTap:
    """A recording of the bore, or the one that a job goes by. Raises LoggerError, FitterError or
    UsageError."""
    path = source if isinstance(source, Path) else sweep_to_go_by(source)
    pipeline = replay(path)
    need(pipeline, str(path), "bore", "nudge")
    return ToTap(path, pipeline, [*tampered(str(path)), *in_doubt(str(path), pipeline.result())])


def sweep_to_go_by(known: Snapshot) -> Path:
    """The last sweep of the bore as the housing stands. Raises UsageError where there is none, or where
    dowels are in."""
    state = known.state
    if state.fitted is not None and state.fitted.dowels:
        raise UsageError(
            f"{known.title}: dowels are in, and a housing on dowels is not tapped: take them out, say so "
            f"(coaxly job fitted {known.called} none), and sweep again"
        )
    changed = state.nudged is not None or (state.fitted is not None and state.fitted is not state.before)
    sweep = state.left if changed else state.found
    if sweep is None:
        stage = "left" if changed else "found"
        raise UsageError(
            f"{known.title}: sweep the bore first as the housing stands now: "
            f"coaxly sweep --job {known.called} --stage {stage}"
        )
    return known.file(sweep.file)


def request_in(
    known: Snapshot, swept: Pipeline, dials: tuple[Source, Source | None], tolerance: float | None = None
) -> NudgeRequest:
    """What a nudge of the job needs. dials: the first, and one a quarter turn on. Raises UsageError."""
    dial, second = dials
    names = ("nudge", "nudge second")[: 2 if second else 1]
    return NudgeRequest(
        swept=swept,
        dial=dial,
        second=second,
        outs=tuple(known.job.free_recording(name, "bore") for name in names),
        title=known.title,
        operator=known.details.technician,
        tolerance=tolerance,
    )


def note_nudge(known: Snapshot, path: Path, run: NudgeRun) -> bool:
    """Note how it ended, once the bolts may have been slack; empty recordings are removed. Returns whether it
    was noted. Raises UsageError or Failure."""
    if run.nudge.step is Step.PARK:
        run.discard_if_empty()
        return False
    known.job.note(
        Nudged(
            time=now(),
            operator=known.details.technician,
            sweep=path.name,
            files=tuple(each.session.writer.path.name for each in run.runs),
            remaining=run.nudge.remaining(),
            held=run.nudge.step is Step.DONE,
        )
    )
    return True
