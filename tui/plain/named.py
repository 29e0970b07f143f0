"""What a command line names: a job of the shop, and which dowels and limits."""

import argparse
import math
from pathlib import Path

from .. import output
from ..entry.preferences import load_preferences
from ..job.folder import details
from ..job.folder.index import find_job, need_job
from ..job.folder.kept import kept
from ..job.folder.shop import Job
from ..job.folder.snapshot import Snapshot, look
from ..job.folder.sworn import Ruling, edited
from ..job.steps.noting import catch_up
from ..job.steps.wishes import Wish
from ..say.job import amiss
from ..say.job.jobwords import strange_key
from .rigfindings import rig_setup
from .whichshop import shop_of, watched


def job_named(arguments: argparse.Namespace, words: str) -> Snapshot:
    """A job that must be there, its journal up to date. Raises UsageError."""
    return _current(need_job(shop_of(arguments), words, watched))


def job_perhaps(arguments: argparse.Namespace, words: str) -> Snapshot | None:
    """A job, where what was given is no file and one is called so. Raises UsageError where several are."""
    if Path(words).is_file():
        return None
    job = find_job(shop_of(arguments), words, watched)
    return None if job is None else _current(job)


def _current(job: Job) -> Snapshot:
    known = look(job)
    for line in amiss.unproved_lines(known.journal):
        output.message(line)
    caught = catch_up(known)
    for name in caught.noted:
        output.message(f"{job.folder}: {name} was finished and is noted now")
    if not known.journal.data:
        output.message(f"! {job.written} is not there: {amiss.LOST}")
    for line in amiss.kept_sentences(kept(job, caught.known.records)):
        output.message(f"! {line}")
    for stranger in caught.strangers:
        output.message(f"! {amiss.stranger_sentence(stranger, known)}")
    for key, near in details.unknown(known.toml):
        output.message(f"! {strange_key(key, near)}")
    return caught.known


def wish_of(arguments: argparse.Namespace, known: Snapshot | None, *, taking: bool = False) -> Wish:
    """What options say of dowels. Raises UsageError."""
    usual = load_preferences()
    return Wish(
        limit=arguments.limit,
        given=rig_setup(arguments),
        kit=arguments.kit,
        hole=arguments.hole,
        pins=arguments.dowels,
        fitted=arguments.fitted,
        pair=arguments.pair,
        clearance=arguments.hole_clearance,
        way=arguments.setting,
        turn_limit=math.radians(arguments.rotation_limit) if arguments.rotation_limit else None,
        # Beside a recording alone nothing is taken for granted.
        usual_kit=usual.kit if known is not None or "kit" in usual.said else "",
        taking=taking,
    )


def say_edited(known: Snapshot) -> None:
    """What was edited by hand, and how it is agreed to. Raises UsageError."""
    for each in edited(known):
        output.message(f"! {amiss.edited_sentence(each)}: {amiss.agree_words(known)}")


def say_limit(ruled: Ruling, known: Snapshot | None, unit: str) -> None:
    """That sweeps are not judged by what job.toml says now, where that is so."""
    if known is not None and ruled.by_hand is not None:
        output.message(f"! {amiss.by_hand_sentence(ruled, known, unit)}")
