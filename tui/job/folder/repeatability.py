"""How well the shop's own sweeps repeat, kept from a study in `repeatability.toml`, for people to read too.

What a sweep of a job takes from it goes into its header, so that a replay needs no such file.
"""

import math
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Final

import msgspec

from coaxly.logger.files import read_toml

from ...entry.lengths import parse_length
from ...errors import UsageError, reading
from . import details

if TYPE_CHECKING:
    from coaxly.fitter.shop.study import Study

NAME: Final = "repeatability.toml"
_HEADING: Final = "By coaxly study --keep; yours to edit."
_PLENTY: Final = 1e6


class Kept(msgspec.Struct, frozen=True):
    """sd: standard deviation of x or y between sweeps of one housing, a length with its unit, judged from so
    many degrees of freedom. of: whose differences are in it. date: of the study."""

    date: date
    sd: str
    freedom: Annotated[float, msgspec.Meta(gt=0.0)]
    of: list[str]
    sweeps: int = 0
    housings: int = 0


def keep(shop: Path, found: "Study", today: date) -> Kept:
    """Write down what later sweeps may count on: of one sweep by anybody with the dial put on anew, so that
    what differs between people and mountings is in it as far as the study tells. Raises UsageError where
    every sweep was the same, or Failure."""
    names = {"people": "people", "mountings": "mountings", "residual": "repeats"}
    if not found.reproducibility > 0.0:
        raise UsageError("these sweeps are all alike to the last digit: they tell nothing of repeatability")
    kept = Kept(
        date=today,
        sd=f"{found.reproducibility:.6f}mm",
        freedom=round(min(found.reproducibility_freedom, _PLENTY), 1),
        of=[names[one.name] for one in found.components],
        sweeps=found.sweeps,
        housings=found.housings,
    )
    details.heading(shop / NAME, _HEADING)
    details.edit(shop / NAME, msgspec.to_builtins(kept, builtin_types=(date,)))
    return kept


def with_kept(setup: Mapping[str, Any], shop: Path) -> dict[str, Any]:
    """A bore's setup with the shop's repeatability, where nothing nearer says it. Raises UsageError for a
    file that cannot be read."""
    if "repeatability_mm" in setup or not (shop / NAME).exists():
        return dict(setup)
    kept = _read(shop / NAME)
    try:
        sd = parse_length(kept.sd)
    except ValueError as error:
        raise UsageError(f"{shop / NAME}: sd: {error}") from error
    if not (math.isfinite(sd) and sd > 0.0):
        raise UsageError(f"{shop / NAME}: sd must be more than nothing; delete the file to count without it")
    return {**setup, "repeatability_mm": sd, "repeatability_freedom": kept.freedom}


def _read(path: Path) -> Kept:
    try:
        with reading(path):
            return msgspec.convert(read_toml(path), Kept)
    except ValueError as error:
        raise UsageError(
            f"{path}: {error}: mend that line, or delete the file to count without it"
        ) from error
