"""What the other commands take from a job: its recordings, limit, kit, holes, rig and what is fitted."""

import argparse
from pathlib import Path

from coaxly.fitter.dowels.plan import Option
from coaxly.fitter.dowels.setting import DowelSetting

from .. import output
from ..entry.preferences import load_preferences
from ..errors import UsageError
from ..job.folder import details
from ..job.folder.index import find_job, need_job
from ..job.folder.journal import Sweep
from ..job.folder.material import hole_of, kit_of, learn, length_of, mounting_of, pins_of
from ..job.folder.progress import way_chosen
from ..job.folder.shop import Job, is_job, shop_folder
from ..job.folder.sworn import ruling
from ..job.steps import jobsteps as steps
from ..job.steps.jobsteps import planned_from
from ..job.steps.sweeps import broken_off, catch_up, not_noted
from ..job.sweep.run import SweepRun
from ..plain.asking import settle
from ..say.job.jobs import strange_key
from ..say.job.strangers import stranger_sentence
from ..say.job.sworn import by_hand_sentence
from ..say.job.unproved import unproved_lines


def shop_of(arguments: argparse.Namespace) -> Path:
    """The shop's folder. Raises UsageError."""
    return shop_folder(arguments.shop, load_preferences().shop)


def job_named(arguments: argparse.Namespace, words: str) -> Job:
    """A job that must be there, its journal up to date. Raises UsageError."""
    return _current(need_job(shop_of(arguments), words))


def job_perhaps(arguments: argparse.Namespace, words: str) -> Job | None:
    """A job, where what was given is no file and one is called so. Raises UsageError where several are."""
    if Path(words).is_file():
        return None
    job = find_job(shop_of(arguments), words)
    return None if job is None else _current(job)


def _current(job: Job) -> Job:
    for line in unproved_lines(job.written):
        output.message(line)
    caught = catch_up(job)
    for name in caught.noted:
        output.message(f"{job.folder}: {name} was finished and is noted now")
    for stranger in caught.strangers:
        output.message(f"! {stranger_sentence(stranger, job)}")
    for key, near in details.unknown(job.path / details.NAME):
        output.message(f"! {strange_key(key, near)}")
    return job


def for_plan(arguments: argparse.Namespace, job: Job) -> None:
    """Fill in what `plan JOB` takes from the job. Raises UsageError."""
    state = job.state()
    if state.feature == "face" and state.face.found is not None:
        if arguments.take is not None:
            raise UsageError(
                f"--take {arguments.take}: the face of {job.title} comes first, its shims have no options: "
                f"say which went in, such as coaxly job shimmed {job.folder} 2thou@60, or none"
            )
        _genuine(arguments, job, state.face.found)
        arguments.file = str(job.file(state.face.found.file))
        _limit(arguments, job)
        return
    path, inside = planned_from(job, state)
    _genuine(arguments, job, state.found or state.left)
    arguments.file = str(path)
    if arguments.fitted is None and inside is not None:
        arguments.fitted = DowelSetting.of(inside.dowels)
    _kit(arguments, job)


def _genuine(arguments: argparse.Namespace, job: Job, *sweeps: Sweep | None) -> None:
    """Recordings that were replaced are refused, or named and used all the same. Raises UsageError."""
    settle(not_noted(job, *sweeps), arguments.unit_shown, anyway=arguments.anyway)


def for_verify(arguments: argparse.Namespace, job: Job) -> None:
    """Fill in what `verify JOB` takes from the job. Raises UsageError."""
    state = job.state()
    if state.found is None or state.left is None:
        missing = "found" if state.found is None else "left"
        raise UsageError(
            f"{job.title}: the bore was not swept as {missing} yet: "
            f"coaxly sweep --job {job.folder} --stage {missing}"
        )
    _genuine(arguments, job, state.found, state.left)
    arguments.found, arguments.left = str(job.file(state.found.file)), str(job.file(state.left.file))
    if arguments.fitted is None and state.fitted is not None:
        arguments.fitted = DowelSetting.of(state.fitted.dowels)
    if arguments.setting is None:
        arguments.setting = way_chosen(job.records())
    _kit(arguments, job)


def may_sweep(arguments: argparse.Namespace, job: Job, feature: str) -> None:
    """Whether this sweep is one of the job's now, and what else is to be said. Raises UsageError."""
    state, stage = job.state(), arguments.stage
    if arguments.out:
        raise UsageError(
            f"{arguments.job!r} is a job of the shop, which names its recordings: leave --out out"
        )
    steps.in_order(job, stage, feature)
    if state.closed:
        output.message(f"! {job.title} was closed: this sweep opens it again")
    if feature == "bore" and state.feature == "face" and stage == state.next[6:]:
        output.message(
            f"! {job.title}: the face comes first, for shimming it moves the bore (--feature face)"
        )
    for old in broken_off(job, stage, feature):
        output.message(f"! {old.name} was broken off: 'coaxly sweep --resume {old}' goes on with it instead")


def note_sweep(run: SweepRun) -> None:
    """Note a finished sweep in the job in whose folder it is. Raises UsageError or Failure."""
    folder = run.session.writer.path.resolve().parent
    if is_job(folder):
        steps.note_sweep(Job(folder), run)


def take(job: Job, options: list[Option], which: int, arguments: argparse.Namespace) -> None:
    """Note which option was taken. Raises UsageError."""
    if not 1 <= which <= len(options):
        raise UsageError(f"--take {which}: there are options 1 to {len(options)}")
    learn(job, arguments.kit, arguments.limit, arguments.dowels)
    job.note(steps.chosen(options, which, arguments.limit))


def _kit(arguments: argparse.Namespace, job: Job) -> None:
    if arguments.kit is None:
        arguments.kit = kit_of(job, load_preferences().kit, arguments.hole)
    arguments.hole = hole_of(job) if arguments.hole is None else arguments.hole
    if arguments.dowels is None:
        arguments.dowels = pins_of(job)
    _limit(arguments, job)


def _limit(arguments: argparse.Namespace, job: Job) -> None:
    """By which sweeps that were made are judged."""
    if arguments.limit is None:
        ruled = ruling(job)
        arguments.limit = ruled.limit
        if ruled.by_hand is not None:
            output.message(f"! {by_hand_sentence(ruled, job, arguments.unit_shown)}")


def of_the_face(arguments: argparse.Namespace, job: Job, swept_mm: float | None) -> None:
    """How the housing stands and the gearbox lies, where the job knows it. swept_mm: the radius at which the
    dial ran, as its recording says. Raises UsageError."""
    known = mounting_of(job)
    if arguments.face_radius is None and not swept_mm:
        rig = steps.rig_of(job).setup
        arguments.face_radius = length_of(job, "face_radius") or rig.get("face_radius_mm")
    if arguments.bolts is None and known.bolts:
        if arguments.face_radius or swept_mm:
            arguments.bolts = list(known.bolts)
        else:
            output.message(
                "! bolts of job.toml need the radius at which the dial ran; until then places are stations: "
                "give it, such as --face-radius 6in, or face_radius in job.toml"
            )
    if arguments.shims is None and known.stock:
        arguments.shims = list(known.stock)
    if arguments.depth is None:
        arguments.depth = known.depth
    if arguments.pilot is None:
        arguments.pilot = length_of(job, "pilot")
    if arguments.register_clearance is None and arguments.bore is not None:
        arguments.register_clearance = length_of(job, "register_clearance")
