"""`coaxly job`: the shop's jobs, one by one."""

import argparse
from pathlib import Path
from typing import Any

import msgspec

from .. import output
from ..entry.kits import load_kits
from ..entry.lengths import parse_length
from ..entry.places import parse_shims
from ..errors import FINE, UsageError
from ..job.folder import packing
from ..job.folder.details import NAME as DETAILS
from ..job.folder.details import Details
from ..job.folder.index import Index, open_job
from ..job.folder.journal import (
    Changed,
    Chosen,
    Closed,
    Dowels,
    Note,
    Opened,
    Packed,
    Photo,
    Record,
    Shimmed,
    now,
)
from ..job.folder.material import kit_from, limit_of
from ..job.folder.newjob import proper_title
from ..job.folder.pictures import taken_in
from ..job.folder.shop import Job
from ..job.folder.snapshot import Snapshot, look
from ..job.folder.sworn import agree
from ..job.steps.beside import changed
from ..job.steps.jobsteps import choice_in_hand, dowels_in, odd_about, put_in
from ..job.steps.leftoff import running
from ..job.steps.noting import take_in
from ..job.steps.shaft import lie_of_job
from ..options.keys import given
from ..plain.named import job_named, say_edited
from ..plain.whichshop import shop_of
from ..say.job.amiss import LOST, changed_sentence, unproved_lines
from ..say.job.jobwords import (
    job_lines,
    job_object,
    next_of,
    odd_words,
    record_words,
    seen,
)
from ..say.smallwords import counted


def run(arguments: argparse.Namespace) -> int:
    """Do one thing to a job and say what comes next."""
    doing = arguments.doing
    if doing == "open":
        return _said(arguments, _open(arguments), "opened")
    if doing == "unpack":
        unpacked = packing.unpack(Path(arguments.file), shop_of(arguments))
        if not (unpacked.path / DETAILS).is_file():
            output.message(f"! no {DETAILS} was in it: what people said of the job is not known")
        if not unpacked.written.is_file():
            output.message(f"! no journal was in it: {LOST}")
        for line in unproved_lines(look(unpacked).journal):
            output.message(line)
        _say_twins(unpacked)
        return _said(arguments, unpacked, "unpacked")
    known = job_named(arguments, arguments.job)
    job = known.job
    if doing == "show":
        _say_amiss(known)
        at, unit = lie_of_job(known), arguments.unit_shown
        told = {**job_object(known, unit), "at_pilot": None if at is None else at.to_dict()}
        output.answer({"job": told}, job_lines(known, unit, at), as_json=arguments.json)
        return FINE
    if doing == "pack":
        return _pack(arguments, known)
    if doing == "take":
        taken = take_in(known, arguments.file, arguments.stage, anyway=arguments.anyway)
        return _said(arguments, job, record_words(taken, arguments.unit_shown))
    return _said(arguments, job, _noted(known, arguments))


def _pack(arguments: argparse.Namespace, known: Snapshot) -> int:
    job, begun = known.job, running(known)
    packed = packing.pack(job, Path(arguments.out))
    for path in begun:
        output.message(f"! {path.name} is a sweep that runs: the pack has it as far as it came")
    for name in packed.left_out:
        output.message(f"! {name} is no file of the job and was left out")
    where = str(Path(arguments.out).resolve())
    job.note(Packed(time=now(), operator=arguments.operator, file=where, sha256=packed.sha256))
    return _said(arguments, job, f"packed in {arguments.out}, {counted(packed.files, 'file')}")


def _say_twins(unpacked: Job) -> None:
    """That other jobs have its number: from now on the number alone does not tell which is meant."""
    number = str(look(unpacked).details.number)
    with Index(unpacked.path.parent) as index:
        twins = [row.folder for row in index.rows() if row.number == number and row.folder != unpacked.folder]
    if number and twins:
        output.message(
            f"! number {number} is that of {', '.join(twins)} too: give one of them another, in job.toml"
        )


def _say_amiss(known: Snapshot) -> None:
    """A limit that the steps of the job are going to refuse, what was edited by hand, recordings that were
    changed. Raises UsageError where job.toml cannot be read at all."""
    _ = known.details  # told once, and not of each limit
    for feature in ("bore", "pilot", "flywheel"):
        try:
            limit_of(known, feature)
        except UsageError as error:
            output.message(f"! {error}")
    say_edited(known)
    for name, what in changed(known).items():
        output.message(f"! {changed_sentence(name, what)}")


def _said(arguments: argparse.Namespace, job: Job, done: str) -> int:
    """done: what was done, which is not what comes next."""
    known, unit = look(job), arguments.unit_shown
    lines = [f"{known.title}: {done}", f"  NEXT: {next_of(known, unit)}", f"  {known.path}"]
    output.answer({"job": job_object(known, unit)}, lines, as_json=arguments.json)
    return FINE


def _open(arguments: argparse.Namespace) -> Job:
    title = proper_title(arguments.title)
    if arguments.kit:
        load_kits(arguments.kit, hole=parse_length(arguments.hole) if arguments.hole else None)
    shop = shop_of(arguments)
    values: dict[str, Any] = {
        **given(arguments, Details),
        "kit": kit_from(arguments.kit or "", shop),
        "block": {"family": arguments.block_family or "", "serial": arguments.block or ""},
        "housing": {"family": arguments.housing_family or "", "serial": arguments.housing or ""},
    }
    opened = Opened(time=now(), operator=arguments.operator, title=title, face=arguments.face)
    return open_job(shop, title, values, opened)


def _noted(known: Snapshot, arguments: argparse.Namespace) -> str:
    """What was done, in words."""
    unit = arguments.unit_shown
    by = {"time": now(), "operator": arguments.operator}
    match arguments.doing:
        case "note":
            if not arguments.text.strip():
                raise UsageError("there is nothing to note: give a text in quotes")
            record: Record = Note(text=arguments.text, **by)
        case "photo":
            name, sha256 = taken_in(known.path, Path(arguments.file))
            record = Photo(file=name, sha256=sha256, **by)
        case "fitted":
            dowels = _chosen(known, unit) if arguments.dowels is None else dowels_in(arguments.dowels)
            record = msgspec.structs.replace(put_in(known, dowels, slip=arguments.slip), **by)
            for line in odd_words(odd_about(known, dowels), unit):
                output.message(line)
        case "shimmed":
            record = Shimmed(shims=parse_shims(arguments.shims), **by)
        case "changed":
            if not (said := agree(known)):
                raise UsageError(
                    f"{known.title}: the journal knows what job.toml says: there is nothing to note"
                )
            record = Changed(said=said, **by)
        case _:
            if known.state.unproved:
                output.message(
                    f"! {known.title}: closed before it is proved. Due was: {next_of(known, unit)}"
                )
            record = Closed(**by)
    known.job.note(record)
    return "noted" if isinstance(record, Note) else record_words(record, unit)


def _chosen(known: Snapshot, unit: str) -> Dowels:
    """The dowels that were chosen. Raises UsageError where none were, and where that is noted already."""
    choice, fitted = choice_in_hand(known), known.state.fitted
    noted = fitted is not None and choice is not None and fitted.dowels == choice.dowels
    if choice is None or (noted and known.state.chosen is None):
        why = "no dowels were chosen"
        if choice is not None:
            why = f"that they are in as chosen is noted already ({seen(choice.dowels, unit)})"
        elif any(isinstance(record, Chosen) for record in known.records):
            why = "more was done since dowels were chosen"
        raise UsageError(f"{known.title}: {why}: say what was put in, such as 10thou@200, or none")
    return choice.dowels
