"""`coaxly job`: the shop's jobs."""

import argparse
from pathlib import Path
from typing import Any

import msgspec

from .. import output
from ..entry.kits import load_kits
from ..entry.lengths import parse_length
from ..entry.places import parse_setting, parse_shims
from ..errors import FINE, UsageError
from ..job.folder import packing
from ..job.folder.details import Details
from ..job.folder.index import Index, open_job
from ..job.folder.journal import Changed, Closed, Dowels, Note, Opened, Photo, Record, Shimmed, now
from ..job.folder.material import kit_from, limit_of
from ..job.folder.opening import proper_title
from ..job.folder.shop import Job
from ..job.folder.sworn import agree, edited
from ..job.steps.jobsteps import not_while_swept, put_in
from ..job.steps.shaft import lie_of_job
from ..job.steps.sweeps import left_off, take_in
from ..options.keys import given
from ..say.job.jobs import job_lines, job_object, list_line, next_of, record_words, row_object
from ..say.job.sworn import agree_words, edited_sentence
from ..say.job.unproved import unproved_lines
from .injob import job_named, shop_of


def run(arguments: argparse.Namespace) -> int:
    """Do one thing to a job and say what comes next."""
    doing = arguments.doing
    if doing == "list":
        return _list(arguments)
    if doing == "open":
        return _said(arguments, _open(arguments), "opened")
    if doing == "unpack":
        unpacked = packing.unpack(Path(arguments.file), shop_of(arguments))
        if not unpacked.written.is_file():
            output.message("! no journal was in it: what was chosen, fitted and proved before is not known")
        for line in unproved_lines(unpacked.written):
            output.message(line)
        return _said(arguments, unpacked, "unpacked")
    job = job_named(arguments, arguments.job)
    if doing == "show":
        at = lie_of_job(job)
        _say_amiss(job)
        if not arguments.json:
            output.text(job_lines(job, arguments.unit_shown, at))
            return FINE
        known = job_object(job, arguments.unit_shown)
        output.json_object({"job": {**known, "at_pilot": None if at is None else at.to_dict()}})
        return FINE
    if doing == "pack":
        count = packing.pack(job, Path(arguments.out))
        return _said(arguments, job, f"packed in {arguments.out}, {count} files")
    if doing == "take":
        taken = take_in(job, arguments.file, arguments.stage)
        return _said(arguments, job, record_words(taken, arguments.unit_shown))
    return _said(arguments, job, _noted(job, arguments))


def _say_amiss(job: Job) -> None:
    """A limit that the steps of the job are going to refuse, and what was edited by hand."""
    for feature in ("bore", "pilot", "flywheel"):
        try:
            limit_of(job, feature)
        except UsageError as error:
            output.message(f"! {error}")
    for each in edited(job, job.records()):
        output.message(f"! {edited_sentence(each)}: {agree_words(job)}")


def _said(arguments: argparse.Namespace, job: Job, done: str) -> int:
    """done: what was done, which is not what comes next."""
    unit = arguments.unit_shown
    if arguments.json:
        output.json_object({"job": job_object(job, unit)})
    else:
        output.text([f"{job.title}: {done}", f"  NEXT: {next_of(job, unit)}", f"  {job.path}"])
    return FINE


def _list(arguments: argparse.Namespace) -> int:
    shop = shop_of(arguments)
    with Index(shop) as index:
        rows = index.rows(" ".join(arguments.words))
    if arguments.json:
        output.json_object({"shop": str(shop), "jobs": [row_object(row) for row in rows]})
    elif rows:
        output.text(
            [
                list_line(row, arguments.unit_shown, left_off(Job(shop / row.folder), row.next, row.feature))
                for row in rows
            ]
        )
    else:
        output.text([f"no such job in {shop}: 'coaxly job open TITLE' begins one"])
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


def _noted(job: Job, arguments: argparse.Namespace) -> str:
    """What was done, in words."""
    unit = arguments.unit_shown
    by = {"time": now(), "operator": arguments.operator}
    match arguments.doing:
        case "note":
            if not arguments.text.strip():
                raise UsageError("there is nothing to note: give a text in quotes")
            record: Record = Note(text=arguments.text, **by)
        case "photo":
            record = Photo(file=job.add_photo(Path(arguments.file)), **by)
        case "fitted":
            not_while_swept(job)
            record = msgspec.structs.replace(put_in(job, _dowels(job, arguments.dowels)), **by)
        case "shimmed":
            record = Shimmed(shims=parse_shims(arguments.shims), **by)
        case "changed":
            if not (said := agree(job, job.records())):
                raise UsageError(
                    f"{job.title}: the journal knows what job.toml says: there is nothing to note"
                )
            record = Changed(said=said, **by)
        case _:
            record = Closed(**by)
    job.note(record)
    return "noted" if isinstance(record, Note) else record_words(record, unit)


def _dowels(job: Job, text: str | None) -> Dowels:
    """What was put in: as said, else as chosen. Raises UsageError."""
    if text is None:
        chosen = job.state().chosen
        if chosen is None:
            raise UsageError(
                f"{job.title}: no dowels were chosen: say what was put in, such as 10thou@200, or none"
            )
        return chosen.dowels
    setting = parse_setting(text)
    if not any(setting.offsets):
        return ()
    return tuple((offset, deg % 360.0) for offset, deg in zip(setting.offsets, setting.degrees, strict=True))
