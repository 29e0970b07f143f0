"""What the steps of a job take from it: limit, lengths, kit, holes, and how the housing stands.

What people wrote in job.toml is put into values here, and what is wrong with it is said with its key.
"""

import os
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TypeVar

from coaxly.fitter.dowels.kit import Kit
from coaxly.fitter.dowels.limits import Limit
from coaxly.fitter.dowels.pins import Pins
from coaxly.fitter.errors import FitterError
from coaxly.fitter.geometry import Vector

from ...entry.kits import load_kits
from ...entry.lengths import parse_kit, parse_length, written_length
from ...entry.places import parse_bolts, parse_limit, parse_pins
from ...errors import UsageError
from .details import NAME
from .snapshot import Snapshot

T = TypeVar("T")


def limit_of(known: Snapshot, feature: str = "bore") -> Limit | None:
    """The permitted run-out, and whose it is; None where nobody said. That of the housing is none of what
    turns with the crank. Raises UsageError."""
    if feature in ("pilot", "flywheel"):
        return _said(known, f"{feature}_limit", parse_limit)
    limit = _said(known, "limit", parse_limit)
    return limit and replace(limit, source=known.details.limit_source or limit.source)


def length_of(known: Snapshot, key: str) -> float | None:
    """A length of the job, mm; None where nobody said. Raises UsageError."""
    return _said(known, key, parse_length)


def bolts_of(known: Snapshot) -> Sequence[Vector] | None:
    """Where the bolts of the housing are, mm; None where nobody said. Raises UsageError."""
    return _said(known, "bolts", parse_bolts)


def stock_of(known: Snapshot) -> Sequence[float] | None:
    """The shims at hand, mm; None where nobody said. Raises UsageError."""
    return _said(known, "shims", parse_kit)


def kit_of(known: Snapshot, usual: str = "", hole: float | None = None) -> Kit | None:
    """The dowels at hand that the holes take. usual: what is taken where the job names none; hole: diameter,
    mm, if not the job's. Raises UsageError."""
    hole = length_of(known, "hole") if hole is None else hole
    if known.details.kit:
        return _said(known, "kit", lambda text: load_kits(text, known.path, hole))
    return _read(known, "hole", usual, lambda text: load_kits(text, hole=hole)) if usual else None


def pins_of(known: Snapshot) -> Pins | None:
    """The two dowel holes; None where nobody said. Raises UsageError."""
    return _said(known, "dowels", parse_pins)


def kit_from(text: str, shop: Path) -> str:
    """A kit as it is written into a job: files are found from the job's folder, wherever somebody stands who
    opens it later, and on another machine if the file is in the shop."""
    parts = [part.strip() for part in text.split(",") if part.strip()]
    return ",".join(_from_a_job(part, shop) if part.endswith(".toml") else part for part in parts)


def learn(known: Snapshot, kit: Kit | None, limit: Limit | None, pins: Pins | None) -> None:
    """Write what was used into job.toml where nobody has said it yet, so that tomorrow's proof uses the same;
    what people wrote stays. A kit that is more than plain sizes stays where it is. Raises UsageError or
    Failure."""
    said, values = known.details, {}
    if kit is not None and not said.kit and kit == Kit.of([size.offset for size in kit.sizes], kit.name):
        values["kit"] = ",".join(written_length(size.offset) for size in kit.sizes)
    if limit is not None and not said.limit:
        values["limit"] = written_length(limit.tir)
        if limit.source and not said.limit_source:
            values["limit_source"] = limit.source
    if pins is not None and not said.dowels:
        values["dowels"] = " ".join(
            f"{written_length(x)},{written_length(y)}" for x, y in (pins.first, pins.second)
        )
    if values:
        known.job.edit(**values)


def _from_a_job(name: str, shop: Path) -> str:
    path, shop = Path(name).expanduser().resolve(), shop.resolve()
    # Every job's folder stands in the shop's, one deep.
    return os.path.relpath(path, shop / "job") if path.is_relative_to(shop) else str(path)


def _said(known: Snapshot, key: str, parse: Callable[[str], T]) -> T | None:
    """What stands under a key of job.toml; None where nothing does."""
    text = str(getattr(known.details, key))
    return _read(known, key, text, parse) if text else None


def _read(known: Snapshot, key: str, text: str, parse: Callable[[str], T]) -> T:
    try:
        return parse(text)
    except (FitterError, ValueError) as error:
        raise UsageError(f"{known.path / NAME}: {key}: {error}") from error
