"""The steps of a job as the journal knows them: what is asked of the fitter, and what is noted of the answer.
Screens and commands take the same steps through here.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import msgspec

from coaxly.fitter import Result, Setup
from coaxly.fitter.dowels.compare import Comparison, compare
from coaxly.fitter.dowels.limits import Limit
from coaxly.fitter.dowels.plan import Measured, Option, Workshop, advice, plan, undressed
from coaxly.fitter.dowels.setting import DowelSetting
from coaxly.fitter.dowels.sweeps import Sweeps, mirrored
from coaxly.fitter.result import Eccentricity, Remark, State
from coaxly.logger.angle.source import Source
from coaxly.logger.recording.writer import being_written

from ...entry.rigging import Rigging, rigging
from ...errors import UsageError
from ..folder.details import NAME
from ..folder.journal import Chosen, Dowels, Fitted, Proof, Sweep, now
from ..folder.material import kit_of, length_of, limit_of, workshop_of
from ..folder.progress import JobState, way_chosen
from ..folder.repeatability import with_kept
from ..folder.rigs import rig_known
from ..folder.shop import Job
from ..folder.sworn import ruling
from ..recorded.consistency import Doubt, form_gone, in_doubt, need, of_a_pair, tampered
from ..recorded.pipeline import Pipeline, replay
from ..recorded.planning import judged_by, measured_by
from ..sweep.request import SweepRequest, asked
from ..sweep.run import SweepRun
from ..sweep.vouching import vouch
from .sweeps import not_noted, swept


@dataclass(frozen=True, slots=True)
class Choice:
    """Dowels to choose from, best first, and what is to be said about them."""

    options: list[Option]
    advice: list[Remark]
    doubts: list[Doubt]
    """Why the sweep may not be what it says it is."""
    workshop: Workshop
    result: Result
    """Of the sweep that they are planned from."""
    limit: Limit | None


@dataclass(frozen=True, slots=True)
class Evidence:
    """The two sweeps of a job side by side, and what their comparison says."""

    found: Result
    left: Result
    comparison: Comparison
    doubts: list[Doubt]
    state: State
    """What is proved: "inside", "outside" or "unsure"."""


def rig_of(job: Job) -> Rigging:
    """What the job says of how the indicator sits. Raises UsageError."""
    rig = job.details.rig
    try:
        return rigging({"rig": rig} if isinstance(rig, str) else rig)
    except UsageError as error:
        raise UsageError(f"{job.path / NAME}: rig: {error}") from error


def in_order(job: Job, stage: str, feature: str) -> None:
    """A sweep that would be taken for another is refused. Raises UsageError."""
    state = job.state()
    if feature not in ("bore", "face"):
        return  # of what turns with the crank nothing is fitted
    if feature == "face":
        if stage == "left" and state.face.shimmed is None:
            raise UsageError(
                f"{job.title}: say first which shims are in: "
                f"coaxly job shimmed {job.folder} 2thou@60, or none"
            )
    elif stage == "left" and state.fitted is None and state.nudged is None:
        raise UsageError(
            f"{job.title}: say first what was put in: coaxly job fitted {job.folder} (as chosen), or DOWELS; "
            "on the screen J, I"
        )
    elif (
        stage == "found"
        and state.fitted is not None
        and state.fitted.dowels
        and state.fitted is not state.before  # known to be in since the face was shimmed
    ):
        raise UsageError(
            f"{job.title}: dowels are fitted, so this is no sweep as found: --stage left; or take them out "
            f"and say so: coaxly job fitted {job.folder} none; on the screen J, I"
        )


def face_radius_of(job: Job, setup: Setup) -> float | None:
    """At which the dial ran on a face that was swept, mm: by its recording, else by job.toml. Raises
    UsageError."""
    return setup.face_radius_mm or length_of(job, "face_radius") or rig_of(job).setup.get("face_radius_mm")


def setup_of(
    job: Job, feature: str, rig: Rigging | None = None, said: Mapping[str, Any] | None = None
) -> Setup:
    """How the indicator sits, and the limit. rig: if not the job's; said: keys of a setup that count before
    all else. Raises UsageError."""
    setup = rig_known(rig or rig_of(job), job.path.parent, said or {})
    if feature == "bore":
        setup = with_kept(setup, job.path.parent)
    told = said or {}
    if feature == "face" and "face_radius_mm" not in told and (radius := length_of(job, "face_radius")):
        setup["face_radius_mm"] = radius
    if "limit_mm" not in told and (limit := limit_of(job, feature)) is not None:
        setup |= {"limit_mm": limit.tir, "limit_source": limit.source}
    return Setup.from_header(setup, feature)


def sweep_request(job: Job, stage: str, feature: str, dial: Source) -> SweepRequest:
    """A sweep for the job. Raises UsageError."""
    rig = rig_of(job)
    if "angle" in dial.profile.regex.groupindex:
        rig = replace(rig, angle="combined")  # a dial whose lines hold the crank's angle is not stopped for
    return asked(
        rig, dial, setup_of(job, feature, rig),
        job=job.title, stage=stage, operator=job.details.technician, out=job.free_recording(stage, feature),
    )  # fmt: skip


def note_sweep(job: Job, run: SweepRun) -> bool:
    """Note a finished sweep, once. Returns whether it was finished. Raises UsageError or Failure."""
    if run.result is None:
        return False
    job.note_sweeps(swept(run.session.writer.path, run.pipeline.header, run.result))
    return True


def note_vouched(job: Job, path: Path, out: Path) -> Result:
    """A sweep whose verdict was withheld, made sure of: its recording and its note. Raises LoggerError,
    FitterError, UsageError or Failure."""
    pipeline = vouch(path, out)
    result = pipeline.result()
    job.note(swept(out, pipeline.header, result))
    return result


def planned_from(job: Job, state: JobState) -> tuple[Path, Fitted | None]:
    """The sweep that dowels are planned from, and what was in when it was made. Raises UsageError."""
    if state.found is not None and (state.mirrored not in ("yes", "known") or state.left is None):
        return job.file(state.found.file), state.before
    if state.left is not None:
        return job.file(state.left.file), state.fitted
    raise UsageError(f"{job.title}: the {state.feature} was not swept yet: coaxly sweep --job {job.folder}")


def perhaps_mirrored(job: Job) -> list[Doubt]:
    """Whether the sweep as found, which dowels are planned from, may be the mirror image of what it should
    be: nothing is chosen by that."""
    state = job.state()
    if (
        state.mirrored == "no"
        or state.found is None
        or planned_from(job, state)[0] != job.file(state.found.file)
    ):
        return []
    return [Doubt.that("mirrored", path=state.found.file)]


def choice(job: Job, usual_kit: str) -> Choice:
    """What can be fitted, seen from the housing without the dowels that are in. Raises LoggerError,
    FitterError or UsageError."""
    state = job.state()
    path, inside = planned_from(job, state)
    workshop, limit = workshop_of(job, usual_kit), ruling(job).limit
    pipeline = replay(path)
    result = judged_by(pipeline, limit)
    measured: Measured = measured_by(pipeline, result)
    if inside is not None:
        measured = undressed(measured, DowelSetting.of(inside.dowels), workshop)
    options = plan(measured, workshop)
    doubts = [
        *tampered(str(path)),
        *not_noted(job, state.found or state.left),
        *in_doubt(str(path), result),
        *perhaps_mirrored(job),
    ]
    return Choice(options, advice(measured, workshop, options), doubts, workshop, result, limit)


def chosen(options: Sequence[Option], which: int, limit: Limit | None) -> Chosen:
    """The record that one of the options was taken. which: from 1. Raises UsageError."""
    if not 1 <= which <= len(options):
        raise UsageError(f"option {which}: there are options 1 to {len(options)}")
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


def not_while_swept(job: Job) -> None:
    """What is fitted cannot change under a sweep that goes on. Raises UsageError."""
    known = {record.file for record in job.records() if isinstance(record, Sweep)}
    for path in job.recordings():
        try:
            if path.name not in known and being_written(path):
                raise UsageError(f"{job.title}: a sweep of this job is running ({path.name}): end it first")
        except OSError:
            continue  # who cannot read it says so elsewhere


def put_in(job: Job, dowels: Dowels) -> Fitted:
    """The record that these dowels are in. Raises UsageError."""
    kit = kit_of(job)
    marks = (deg - (kit.mark_of(offset) if kit is not None else 0.0) for offset, deg in dowels)
    return Fitted(time=now(), dowels=dowels, marks=tuple(mark % 360.0 for mark in marks))


def evidence(job: Job, usual_kit: str) -> Evidence:
    """Found, fitted and left compared. Raises LoggerError, FitterError or UsageError."""
    state = job.state()
    if state.found is None or state.left is None:
        missing = "found" if state.found is None else "left"
        raise UsageError(f"{job.title}: the bore was not swept as {missing} yet")
    paths = [str(job.file(sweep.file)) for sweep in (state.found, state.left)]
    before, after = (replay(Path(path)) for path in paths)
    for path, pipeline in zip(paths, (before, after), strict=True):
        need(pipeline, path, "bore", "the proof")
    limit, workshop = ruling(job).limit, workshop_of(job, usual_kit)
    found, left = turned_over(before, judged_by(before, limit), state), judged_by(after, limit)
    doubts = of_a_pair((paths[0], before), (paths[1], after), limit_given=limit is not None)
    gone = form_gone(paths[1], found, left)
    doubts += [
        *not_noted(job, state.found, state.left),
        *in_doubt(paths[0], found),
        *in_doubt(paths[1], left),
        *gone,
    ]
    sweeps = sweeps_of((before, after), (found, left), state.before, workshop)
    dowels = state.fitted.dowels if state.fitted is not None else ()
    setting = DowelSetting.of(dowels) if dowels else None
    slips = replace(workshop, way=way_chosen(job.records()) or workshop.way).slips
    comparison = compare(sweeps, setting, workshop.pins, workshop.kit, slips)
    return Evidence(found, left, comparison, doubts, proved_state(left, doubtful=bool(gone)))


def proved_state(left: Result, *, doubtful: bool) -> State:
    """What the sweep as left proves. doubtful: it was hardly the bore that was read."""
    return "unsure" if doubtful and left.decision.state == "inside" else left.decision.state


def turned_over(pipeline: Pipeline, result: Result, state: JobState) -> Result:
    """The result of the sweep as found; where it is known to be mirrored, with the bore on the other side."""
    if state.mirrored != "known":
        return result
    return replace(result, eccentricity=mirrored(result.eccentricity, pipeline.setup))


def sweeps_of(
    pipelines: tuple[Pipeline, Pipeline],
    results: tuple[Result, Result],
    inside: Fitted | None,
    workshop: Workshop | None,
) -> Sweeps:
    """Two sweeps, as found and as left, to be compared; the first without what was in when it was made."""
    (before, after), (found, left) = pipelines, results
    other = replace(found, eccentricity=mirrored(found.eccentricity, before.setup))
    return Sweeps(
        bare_bore(before, found, inside, workshop),
        left.eccentricity,
        bare_bore(before, other, inside, workshop),
        mirrored(left.eccentricity, after.setup),
    )


def bare_bore(
    pipeline: Pipeline, result: Result, inside: Fitted | None, workshop: Workshop | None
) -> Eccentricity:
    """Where the bore would be without the dowels that were in when it was swept; with its spread, which is
    wider for them. Amounts and directions beside the vector stay those of the sweep."""
    if inside is None or not inside.dowels or workshop is None:
        return result.eccentricity
    measured = undressed(measured_by(pipeline, result), DowelSetting.of(inside.dowels), workshop)
    (xx, xy), (yx, yy) = measured.covariance.tolist()
    return replace(
        result.eccentricity,
        vector=measured.vector,
        covariance=((xx, xy), (yx, yy)),
        freedom=None if math.isinf(measured.freedom) else measured.freedom,
    )


def note_proof(job: Job, comparison: Comparison, state: str, tir: float) -> None:
    """Note what the comparison said; said twice, it is noted once. Raises UsageError or Failure."""
    known = job.state()
    assert known.found is not None and known.left is not None
    found = comparison.finding
    record = Proof(
        time=now(),
        found=known.found.file,
        left=known.left.file,
        cause=found.cause,
        probability=found.probability,
        state=state,
        tir=tir,
        explanations=tuple((each.cause, each.probability) for each in comparison.explanations),
        among=tuple((each.cause, tuple(each.marks_deg)) for each in found.among),
    )
    old = known.proof
    if old is None or msgspec.structs.replace(old, time=record.time, operator=record.operator) != record:
        job.note(record)
