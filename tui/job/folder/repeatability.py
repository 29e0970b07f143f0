"""What a study found of the shop's own sweeps, kept in `repeatability.toml`, for people to read too: how well
they repeat, how a reading scatters, and how far from round the housings of each family are.

What a sweep of a job takes from it goes into its header, so that a replay needs no such file.
"""

import math
from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Final

import msgspec

from coaxly.logger.files import read_toml

from ...entry.lengths import parse_length
from ...errors import UsageError, doing, reading
from . import details

if TYPE_CHECKING:
    from coaxly.fitter.mixture.priors import Sizes
    from coaxly.fitter.shop.study import Study
    from coaxly.fitter.shop.usual import InShop

NAME: Final = "repeatability.toml"
_HEADING: Final = "By coaxly study --keep; yours to edit."
_PLENTY: Final = 1e6


Share = tuple[str, Annotated[float, msgspec.Meta(gt=0.0)]]
"""A standard deviation, a length with its unit, and how usual it is."""


class Form(msgspec.Struct, frozen=True):
    """Of the housings of a family: sizes of the oval's coefficients, and of those of three lobes. pieces: how
    many were swept."""

    oval: list[Share]
    lobes: list[Share]
    pieces: int = 0


class Kept(msgspec.Struct, frozen=True):
    """sd: standard deviation of x or y between sweeps of one housing, a length with its unit, judged from so
    many degrees of freedom. of: whose differences are in it. date: of the study. noise: of a reading at a
    station.
    form: by family of housings."""

    date: date
    sd: str
    freedom: Annotated[float, msgspec.Meta(gt=0.0)]
    of: list[str]
    sweeps: int = 0
    housings: int = 0
    noise: list[Share] = []
    form: dict[str, Form] = {}


def keep(shop: Path, found: "Study", usual: "InShop", today: date) -> Kept:
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
        noise=_written(usual.noise),
        form={
            family: Form(_written(form.oval), _written(form.lobes), form.pieces)
            for family, form in usual.form.items()
        },
    )
    details.heading(shop / NAME, _HEADING)
    details.edit(shop / NAME, msgspec.to_builtins(kept, builtin_types=(date,)))
    return kept


def forget(shop: Path) -> bool:
    """Drop what was kept. Returns whether there was anything. Raises Failure."""
    there = (shop / NAME).exists()
    with doing(f"remove {shop / NAME}"):
        (shop / NAME).unlink(missing_ok=True)
    return there


def kept_in(shop: Path) -> Kept | None:
    """What was kept; None where nothing was. Raises UsageError for a file that cannot be read."""
    return _read(shop / NAME) if (shop / NAME).exists() else None


def with_kept(setup: Mapping[str, Any], shop: Path, family: str = "") -> dict[str, Any]:
    """A bore's setup with what the shop's study found, where nothing nearer says it. family: of the housing.
    Raises UsageError for a file that cannot be read."""
    kept = kept_in(shop)
    if kept is None:
        return dict(setup)
    form = kept.form.get(family, Form([], []))
    shares = {"noise": kept.noise, "oval": form.oval, "lobes": form.lobes}
    told: dict[str, Any] = {}
    if any(shares.values()):
        sizes = {name: _sizes(shop, name, of) for name, of in shares.items()}
        told = {"study": {"sweeps": kept.sweeps, **sizes}}
    if "repeatability_mm" not in setup:
        told |= {"repeatability_mm": _length(shop, "sd", kept.sd), "repeatability_freedom": kept.freedom}
    return {**told, **setup}


def _sizes(shop: Path, name: str, shares: Sequence[Share]) -> list[list[float]]:
    """In mm, with their shares, as a header has them."""
    return sorted([_length(shop, name, text), share] for text, share in shares)


def _length(shop: Path, name: str, text: str) -> float:
    try:
        length = parse_length(text)
    except ValueError as error:
        raise UsageError(f"{shop / NAME}: {name}: {error}") from error
    if not (math.isfinite(length) and length > 0.0):
        raise UsageError(
            f"{shop / NAME}: {name} must be more than nothing; delete the file to count without it"
        )
    return length


def _written(sizes: "Sizes") -> list[Share]:
    return [(f"{size:.6f}mm", round(share, 6)) for size, share in sizes if share > 1e-6]


def _read(path: Path) -> Kept:
    try:
        with reading(path):
            return msgspec.convert(read_toml(path), Kept)
    except ValueError as error:
        raise UsageError(
            f"{path}: {error}: mend that line, or delete the file to count without it"
        ) from error
