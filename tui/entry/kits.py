"""Dowel kits on the command line: offsets with units, or a TOML file.

name = "shop drawer"
pin = "0.5in"             # diameter: the hole says which kits come in question ("body" is the same)
setting = "free"          # or "tight": the way of setting that it is made for
labelled = "offset"       # or "tir": the label is the change of TIR, twice the offset
tolerance = "0.3thou"     # spread of true offsets
mark_deg = 0              # from the slot or mark to the high side, clockwise from behind
[[size]]
offset = "5thou"
count = 2                 # how many remain; leave out for plenty
"""

from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any, Final, Literal

from msgspec import Meta

from coaxly.fitter.dowels.kit import OFFSET_SD_MM, Kit, KitError, Size
from coaxly.logger.files import checked, read_toml

from .lengths import parse_kit, parse_length

_MOST_SIZES: Final = 100

_IN_QUOTES: Final = 'a length in quotes, such as "5thou"'
_Length = Annotated[str, Meta(description=_IN_QUOTES)]
_MaybeLength = Annotated[str | None, Meta(description=_IN_QUOTES)]


@dataclass(frozen=True)
class _SizeTable:
    """A [[size]] table as it is written."""

    offset: _Length
    count: Annotated[int | None, Meta(description="a whole number")] = None


@dataclass(frozen=True)
class _KitTable:
    """A kit's table as it is written."""

    name: Annotated[str | None, Meta(description="text")] = None
    pin: _MaybeLength = None
    body: _MaybeLength = None
    setting: Annotated[Literal["tight", "free"] | None, Meta(description="'tight' or 'free'")] = None
    labelled: Annotated[Literal["offset", "tir"], Meta(description="'offset' or 'tir'")] = "offset"
    tolerance: _MaybeLength = None
    mark_deg: Annotated[float, Meta(ge=-360.0, le=360.0, description="an angle in degrees")] = 0.0
    size: Annotated[tuple[dict[str, Any], ...], Meta(description="written as [[size]] tables")] = ()


def load_kits(text: str, folder: Path = Path(), hole: float | None = None) -> Kit:
    """A kit from "5thou,10thou", from a TOML file, or from several files joined by commas. folder: where
    files are that are named without one; hole: diameter of the dowel holes, mm, which says which of the kits
    come in question.

    Raises LengthError or FitterError, each naming what is wrong.
    """
    return kits_at_hand(text, folder).for_hole(hole)


def kits_at_hand(text: str, folder: Path = Path()) -> Kit:
    """The same whatever hole they fit."""
    parts = [part.strip() for part in text.split(",") if part.strip()]
    files = [part for part in parts if part.endswith(".toml")]
    if not files:
        return Kit.of(parse_kit(text))
    kits = [_load(folder / Path(part).expanduser()) for part in files]
    loose = [part for part in parts if part not in files]
    if loose:
        kits.append(Kit.of(parse_kit(",".join(loose)), "loose sizes"))
    return Kit.together(kits)


def _load(path: Path) -> Kit:
    try:
        return _from_table(path, read_toml(path))
    except OSError as error:
        raise KitError(f"kit {path}: {error.strerror or error}") from error
    except ValueError as error:
        raise KitError(f"kit {path}: {error}") from error


def _from_table(path: Path, table: dict[str, Any]) -> Kit:
    kit = checked(_KitTable, table)
    sizes = [checked(_SizeTable, size) for size in kit.size]
    if len(sizes) > _MOST_SIZES:
        raise KitError(f"{len(sizes)} sizes are more than any drawer holds: {_MOST_SIZES} at most")
    spread = parse_length(kit.tolerance) if kit.tolerance is not None else OFFSET_SD_MM
    if not 0.0 <= spread < 1.0:
        raise KitError("tolerance is the spread of true offsets: from 0 to below 1mm")
    if kit.pin is not None and kit.body is not None:
        raise KitError("pin and body are the same: leave one out")
    pin = kit.pin if kit.pin is not None else kit.body
    share = 0.5 if kit.labelled == "tir" else 1.0
    return Kit(
        name=(kit.name if kit.name is not None else path.stem)[:80],
        sizes=tuple(Size(parse_length(size.offset) * share, size.count) for size in sizes),
        offset_sd=spread,
        mark_deg=kit.mark_deg,
        body=parse_length(pin) if pin is not None else None,
        way=kit.setting,
    ).checked()
