"""What the steps of a job take from it: limit, lengths, kit, holes, and how the housing stands.

What people wrote in job.toml is put into values here, and what is wrong with it is said with its key.
"""

import os
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Literal, TypeVar

from coaxly.fitter.dowels.kit import Kit
from coaxly.fitter.dowels.limits import Limit
from coaxly.fitter.dowels.pins import Pins
from coaxly.fitter.dowels.plan import Workshop
from coaxly.fitter.errors import FitterError
from coaxly.fitter.face import Mounting

from ...entry.kits import load_kits
from ...entry.lengths import parse_kit, parse_length
from ...entry.places import parse_bolts, parse_limit, parse_pins
from ...errors import UsageError
from .details import NAME
from .shop import Job

T = TypeVar("T")


def limit_of(job: Job, feature: str = "bore") -> Limit | None:
    """The permitted run-out, and whose it is; None where nobody said. That of the housing is none of what
    turns with the crank. Raises UsageError."""
    known = job.details
    if feature in ("pilot", "flywheel"):
        text = str(getattr(known, f"{feature}_limit"))
        return _read(job, f"{feature}_limit", text, parse_limit) if text else None
    if not known.limit:
        return None
    limit = _read(job, "limit", known.limit, parse_limit)
    return replace(limit, source=known.limit_source or limit.source)


def length_of(job: Job, key: Literal["pilot", "register_clearance", "depth", "face_radius"]) -> float | None:
    """A length of the job, mm; None where nobody said. Raises UsageError."""
    text = str(getattr(job.details, key))
    return _read(job, key, text, parse_length) if text else None


def mounting_of(job: Job) -> Mounting:
    """How the housing stands on the block, and the shims at hand, where anybody said. Raises UsageError."""
    known = job.details
    return Mounting(
        bolts=_read(job, "bolts", known.bolts, parse_bolts) if known.bolts else (),
        stock=_read(job, "shims", known.shims, parse_kit) if known.shims else (),
        depth=length_of(job, "depth"),
        pilot=length_of(job, "pilot"),
    )


def kit_of(job: Job, usual: str = "", hole: float | None = None) -> Kit | None:
    """The dowels at hand that the holes take. usual: what is taken where the job names none; hole: diameter,
    mm, if not the job's. Raises UsageError."""
    hole = hole_of(job) if hole is None else hole
    if text := job.details.kit:
        return _read(job, "kit", text, lambda text: load_kits(text, job.path, hole))
    return _read(job, "hole", usual, lambda text: load_kits(text, hole=hole)) if usual else None


def hole_of(job: Job) -> float | None:
    """Diameter of the dowel holes, mm; None where nobody said. Raises UsageError."""
    text = job.details.hole
    return _read(job, "hole", text, parse_length) if text else None


def pins_of(job: Job) -> Pins | None:
    """The two dowel holes; None where nobody said. Raises UsageError."""
    text = job.details.dowels
    return _read(job, "dowels", text, parse_pins) if text else None


def workshop_of(job: Job, usual: str) -> Workshop:
    """Kit and holes; unlike pairs are planned where the holes are known. Raises UsageError."""
    kit = kit_of(job, usual)
    if kit is None:
        raise UsageError(f"{job.path / NAME}: kit: say which dowels are at hand, such as 5thou,10thou")
    pins = pins_of(job)
    return Workshop(kit, pins=pins, pair="parallel" if pins is None else "any", way=kit.way or "tight")


def kit_from(text: str, shop: Path) -> str:
    """A kit as it is written into a job: files are found from the job's folder, wherever somebody stands who
    opens it later, and on another machine if the file is in the shop."""
    parts = [part.strip() for part in text.split(",") if part.strip()]
    return ",".join(_from_a_job(part, shop) if part.endswith(".toml") else part for part in parts)


def learn(job: Job, kit: Kit | None, limit: Limit | None, pins: Pins | None) -> None:
    """Write what was used into job.toml where nobody has said it yet, so that tomorrow's proof uses the same;
    what people wrote stays. A kit that is more than plain sizes stays where it is. Raises UsageError or
    Failure."""
    known, values = job.details, {}
    if kit is not None and not known.kit and kit == Kit.of([size.offset for size in kit.sizes], kit.name):
        values["kit"] = ",".join(_mm(size.offset) for size in kit.sizes)
    if limit is not None and not known.limit:
        values["limit"] = _mm(limit.tir)
        if limit.source and not known.limit_source:
            values["limit_source"] = limit.source
    if pins is not None and not known.dowels:
        values["dowels"] = " ".join(f"{_mm(x)},{_mm(y)}" for x, y in (pins.first, pins.second))
    if values:
        job.edit(**values)


def _mm(length: float) -> str:
    return f"{length:.6g}mm"


def _from_a_job(name: str, shop: Path) -> str:
    path, shop = Path(name).expanduser().resolve(), shop.resolve()
    # Every job's folder stands in the shop's, one deep.
    return os.path.relpath(path, shop / "job") if path.is_relative_to(shop) else str(path)


def _read(job: Job, key: str, text: str, parse: Callable[[str], T]) -> T:
    try:
        return parse(text)
    except (FitterError, ValueError) as error:
        raise UsageError(f"{job.path / NAME}: {key}: {error}") from error
