"""What the other commands take from a job: its recordings, limit, kit, holes, rig and what is fitted."""

import argparse
from dataclasses import replace
from pathlib import Path
from typing import Any

from fitter.dowels.compare import Comparison
from fitter.dowels.plan import Option
from fitter.dowels.setting import DowelSetting
from fitter.errors import FitterError

from .. import output
from ..entry.kits import load_kits
from ..entry.places import parse_limit, parse_pins
from ..entry.preferences import load_preferences
from ..errors import UsageError
from ..job.index import find_job, need_job
from ..job.journal import Chosen, Fitted, Proof, now
from ..job.progress import way_chosen
from ..job.shop import Job, shop_folder
from ..job.sweep import SweepRun
from ..job.sweeps import broken_off, catch_up, swept


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
    for name in catch_up(job):
        output.message(f"{job.folder}: {name} was finished and is noted now")
    return job


def for_plan(arguments: argparse.Namespace, job: Job) -> None:
    """Fill in what `plan JOB` takes from the job. Raises UsageError."""
    state = job.state()
    if state.feature == "face" and state.face.found is not None:
        arguments.file = str(job.file(state.face.found.file))
        _limit(arguments, job)
        return
    if state.found is not None:
        arguments.file, inside = str(job.file(state.found.file)), state.before
    elif state.left is not None:
        arguments.file, inside = str(job.file(state.left.file)), state.fitted
    else:
        raise UsageError(
            f"{job.title}: the {state.feature} was not swept yet: coaxly sweep --job {job.folder}"
        )
    if arguments.fitted is None and inside is not None:
        arguments.fitted = setting_in(inside)
    _kit(arguments, job)


def for_verify(arguments: argparse.Namespace, job: Job) -> None:
    """Fill in what `verify JOB` takes from the job. Raises UsageError."""
    state = job.state()
    if state.found is None or state.left is None:
        missing = "found" if state.found is None else "left"
        raise UsageError(
            f"{job.title}: the bore was not swept as {missing} yet: "
            f"coaxly sweep --job {job.folder} --stage {missing}"
        )
    if state.before is not None and state.before.dowels:
        raise UsageError(
            f"{job.title}: dowels were in when it was swept as found, so what those now fitted did cannot be "
            f"told from the two sweeps alone: coaxly plan {job.folder} says what to fit next"
        )
    arguments.found, arguments.left = str(job.file(state.found.file)), str(job.file(state.left.file))
    if arguments.fitted is None and arguments.offset is None and state.fitted is not None:
        arguments.fitted = setting_in(state.fitted)
    if arguments.setting is None:
        arguments.setting = way_chosen(job.records())
    _kit(arguments, job)


def for_sweep(arguments: argparse.Namespace, job: Job, plain: argparse.Namespace, parse: Any) -> None:
    """Fill in what a sweep takes from the job. plain: the options as they are when nobody gives them; parse:
    reads options. Raises UsageError."""
    known, state = job.details, job.state()
    if arguments.out:
        raise UsageError(
            f"{arguments.job!r} is a job of the shop, which names its recordings: leave --out out"
        )
    _in_order(arguments, job)
    given = known.rig if isinstance(known.rig, dict) else {"rig": known.rig} if known.rig else {}
    words = ["sweep"]
    for key, value in given.items():
        option = f"--{str(key).replace('_', '-')}"
        words += [option] if value is True else [] if value is False else [f"{option}={value}"]
    rig = parse(words) if len(words) > 1 else plain
    for key, usual in vars(plain).items():
        if getattr(arguments, key) == usual:
            setattr(arguments, key, getattr(rig, key))
    _limit(arguments, job)
    if arguments.feature == "bore" and state.feature == "face" and arguments.stage == state.next[6:]:
        output.message(
            f"! {job.title}: the face comes first, for shimming it moves the bore (--feature face)"
        )
    for old in broken_off(job, arguments.stage, arguments.feature):
        output.message(f"! {old.name} was broken off: 'coaxly sweep --resume {old}' goes on with it instead")
    arguments.out = str(job.free_recording(arguments.stage, arguments.feature))
    arguments.operator = arguments.operator or known.technician
    arguments.job = job.title


def _in_order(arguments: argparse.Namespace, job: Job) -> None:
    """A sweep that would be taken for another is refused. Raises UsageError."""
    state = job.state()
    if arguments.feature == "face":
        if arguments.stage == "left" and state.face.shimmed is None:
            raise UsageError(
                f"{job.title}: say first which shims are in: "
                f"coaxly job shimmed {job.folder} 2thou@60, or none"
            )
    elif arguments.stage == "left" and state.fitted is None:
        raise UsageError(
            f"{job.title}: say first what was put in: coaxly job fitted {job.folder} (as chosen), or DOWELS"
        )
    elif arguments.stage == "found" and state.fitted is not None and state.fitted.dowels:
        raise UsageError(
            f"{job.title}: dowels are fitted, so this is no sweep as found: --stage left; or take them out "
            f"and say so: coaxly job fitted {job.folder} none"
        )


def note_sweep(run: SweepRun) -> None:
    """Note a finished sweep in the job in whose folder it is. Raises UsageError or Failure."""
    from ..job.shop import is_job

    path = run.session.writer.path
    if run.result is None or not is_job(path.resolve().parent):
        return
    job = Job(path.resolve().parent)
    record = swept(path, run.pipeline.header, run.result)
    if all(getattr(old, "file", "") != record.file for old in job.records()):
        job.note(record)


def take(job: Job, options: list[Option], which: int, arguments: argparse.Namespace) -> None:
    """Note which option was taken. Raises UsageError."""
    if not 1 <= which <= len(options):
        raise UsageError(f"--take {which}: there are options 1 to {len(options)}")
    option = options[which - 1]
    job.note(
        Chosen(
            time=now(),
            which=which,
            options=tuple(each.to_dict() for each in options),
            dowels=tuple((dowel.offset, dowel.deg) for dowel in option.dowels),
            promise={
                "probability": option.probability,
                "tir_fitted": option.predicted.tir_fitted,
                "tir_swept": option.predicted.tir_swept,
                "limit": arguments.limit.tir if arguments.limit is not None else None,
                "way": option.way,
            },
        )
    )


def note_proof(job: Job, comparison: Comparison, state: str, tir: float) -> None:
    """Note what the comparison said. Raises UsageError or Failure."""
    now_ = job.state()
    assert now_.found is not None and now_.left is not None
    found = comparison.finding
    record = Proof(
        time=now(),
        found=now_.found.file,
        left=now_.left.file,
        cause=found.cause,
        probability=found.probability,
        state=state,
        tir=tir,
        explanations=tuple((each.cause, each.probability) for each in comparison.explanations),
    )
    if now_.proof is None or replace_time(now_.proof, record) != record:
        job.note(record)


def replace_time(old: Proof, new: Proof) -> Proof:
    """The old proof with the time of the new one: said twice, it is noted once."""
    import msgspec

    return msgspec.structs.replace(old, time=new.time, operator=new.operator)


def setting_in(fitted: Fitted) -> DowelSetting:
    """What is in, as the planner knows it."""
    if not fitted.dowels:
        return DowelSetting((0.0, 0.0), (0.0, 0.0))
    first, second = fitted.dowels[0], fitted.dowels[-1]
    return DowelSetting((first[0], second[0]), (first[1], second[1]))


def _kit(arguments: argparse.Namespace, job: Job) -> None:
    known = job.details
    try:
        if arguments.kit is None and (text := known.kit or load_preferences().kit):
            arguments.kit = load_kits(text)
        if arguments.dowels is None and known.dowels:
            arguments.dowels = parse_pins(known.dowels)
    except (FitterError, ValueError) as error:
        raise UsageError(f"{job.path / 'job.toml'}: {error}") from error
    _limit(arguments, job)


def _limit(arguments: argparse.Namespace, job: Job) -> None:
    known = job.details
    if arguments.limit is not None or not known.limit:
        return
    try:
        limit = parse_limit(known.limit)
    except ValueError as error:
        raise UsageError(f"{job.path / 'job.toml'}: limit: {error}") from error
    arguments.limit = replace(limit, source=known.limit_source or limit.source)
