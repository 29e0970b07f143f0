"""What job.toml says now against what was said when it counted: at the opening of the job, through the
program since, and in the headers of its recordings. People may edit the file; what differs is named.
"""

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from coaxly.fitter import Setup
from coaxly.fitter.dowels.limits import Limit
from coaxly.logger.recording.records import Header

from ...entry.names import plainly
from ...entry.places import parse_limit
from ...errors import RUN_ERRORS
from .details import ALWAYS_NOTED
from .journal import Changed, Opened, Record, Sweep
from .material import limit_of
from .snapshot import Snapshot

_HOUSING: Final = ("bore", "face")
_SAME_MM: Final = 1e-6


@dataclass(frozen=True, slots=True)
class Edited:
    """A key of job.toml that says something else than was said before.

    before: what was said, "" where nothing was. now: what stands there, "" where nothing does.
    file: the recording that says so, "" where the journal does.
    """

    key: str
    before: str
    now: str
    file: str = ""


@dataclass(frozen=True, slots=True)
class Ruling:
    """By which limit the sweeps of a job are judged.

    limit: one for all, None for the one that each was made for. by_hand: what job.toml says instead, where
    nobody said so through the program and no sweep was made for it.
    made_for: name and limit (mm) of each sweep of the housing that was made for another than `limit`, or than
    `by_hand`.
    """

    limit: Limit | None = None
    by_hand: Limit | None = None
    made_for: tuple[tuple[str, float], ...] = ()


def said(records: Iterable[Record]) -> dict[str, str]:
    """What the journal knows of the keys of job.toml; one that was not kept when the job was opened is not
    there until somebody speaks of it through the program."""
    known: dict[str, str] = {}
    for record in records:
        if isinstance(record, Opened):
            known |= {"title": record.title}
            if record.said:
                known |= dict.fromkeys(ALWAYS_NOTED, "") | _texts(record.said)
        elif isinstance(record, Changed):
            known |= _texts(record.said)
    return known


def _texts(said: Mapping[str, object]) -> dict[str, str]:
    return {key: str(value) for key, value in said.items()}


def edited(known: Snapshot) -> list[Edited]:
    """What was changed by hand. Raises UsageError."""
    now, before = known.details.sworn, said(known.records)
    found = [
        Edited(key, before[key], text) for key, text in now.items() if key in before and before[key] != text
    ]
    if "title" not in before and (title := now["title"]):
        found += [
            Edited("title", header.job, title, sweep.file)
            for sweep, header in _headers(known)
            if header.job
            and not sweep.taken
            and plainly(header.job) not in map(plainly, (title, known.folder))
        ][:1]
    return found


def agree(known: Snapshot) -> dict[str, str]:
    """What is to be noted so that nothing of `edited` is left: keys and values. Raises UsageError."""
    now, before = known.details.sworn, said(known.records)
    return {key: text for key, text in now.items() if before.get(key, "") != text}


def ruling(known: Snapshot) -> Ruling:
    """The limit of sweeps that were made is what their headers say, unless the job was given another through
    the program, or has been swept for that since. Raises UsageError."""
    limit = limit_of(known)
    if limit is None:
        return Ruling()
    made = {sweep.file: Setup.from_header(header.setup, header.feature).limit_mm
            for sweep, header in _headers(known)}  # fmt: skip
    others = tuple((file, made_for) for file, made_for in made.items() if not _same(made_for, limit.tir))
    if not others or _same(list(made.values())[-1], limit.tir) or _said_so(known.records, limit):
        return Ruling(limit, made_for=others)
    return Ruling(by_hand=limit, made_for=others)


def _said_so(records: Sequence[Record], limit: Limit) -> bool:
    try:
        return _same(parse_limit(said(records).get("limit", "")).tir, limit.tir)
    except ValueError:
        return False


def _same(one: float, other: float) -> bool:
    return math.isclose(one, other, abs_tol=_SAME_MM)


def _headers(known: Snapshot) -> Iterator[tuple[Sweep, Header]]:
    """Of each sweep of the housing, once, as it was noted last."""
    for sweep in known.sweeps.values():
        if sweep.feature not in _HOUSING:
            continue
        try:
            yield sweep, known.recording(sweep.file).header
        except RUN_ERRORS:
            continue  # who goes by it says so
