"""What the steps of a job take from it: limit, lengths, kit, holes, and how the housing stands.

What people wrote in job.toml is put into values here, and what is wrong with it is said with its key.
"""

import os
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any, TypeVar

from coaxly.fitter.dowels.kit import Kit
from coaxly.fitter.dowels.limits import Limit
from coaxly.fitter.dowels.pins import Pins
from coaxly.fitter.keys import keys_of

from ...entry.keys import read_text
from ...entry.kits import load_kits
from ...entry.lengths import written_length
from ...errors import UsageError
from .details import NAME, Details
from .snapshot import Snapshot

T = TypeVar("T")


def value_of(known: Snapshot, key: str) -> Any:
    """What stands under a key of job.toml, read as its kind says, lengths in mm; None where nobody said.
    Raises UsageError."""
    text = str(getattr(known.details, key))
    return _read(known, key, partial(read_text, keys_of(Details)[key].kind), text) if text else None


def limit_of(known: Snapshot, feature: str = "bore") -> Limit | None:
    """The permitted run-out, and whose it is; None where nobody said. That of the housing is none of what
    turns with the crank. Raises UsageError."""
    if feature in ("pilot", "flywheel"):
        of_part: Limit | None = value_of(known, f"{feature}_limit")
        return of_part
    limit: Limit | None = value_of(known, "limit")
    return limit and replace(limit, source=known.details.limit_source or limit.source)


def kit_of(known: Snapshot, usual: str = "", hole: float | None = None) -> Kit | None:
    """The dowels at hand that the holes take. usual: what is taken where the job names none; hole: diameter,
    mm, if not the job's. Raises UsageError."""
    hole = value_of(known, "hole") if hole is None else hole
    if known.details.kit:
        return _read(known, "kit", lambda text: load_kits(text, known.path, hole), known.details.kit)
    return _read(known, "hole", lambda text: load_kits(text, hole=hole), usual) if usual else None


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


def _read(known: Snapshot, key: str, parse: Callable[[str], T], text: str) -> T:
    try:
        return parse(text)
    except ValueError as error:
        raise UsageError(f"{known.path / NAME}: {key}: {error}") from error
