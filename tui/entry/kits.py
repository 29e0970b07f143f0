"""Dowel kits on the command line: offsets with units, or a TOML file.

name = "shop drawer"
body = "1/2in"            # diameter, for the record
labelled = "offset"       # or "tir": the label is the change of TIR, twice the offset
tolerance = "0.3thou"     # spread of true offsets
mark_deg = 0              # from the slot or mark to the high side, clockwise from behind
[[size]]
offset = "5thou"
count = 2                 # how many remain; leave out for plenty
"""

from pathlib import Path
from typing import Any, Final

from fitter.dowels.kit import OFFSET_SD_MM, Kit, KitError, Size
from fitter.errors import FitterError
from logger.files import read_toml

from .lengths import LengthError, parse_kit, parse_length

_KEYS: Final = {"name", "body", "labelled", "tolerance", "mark_deg", "size"}
_MOST_SIZES: Final = 100


def load_kits(text: str) -> Kit:
    """A kit from "5thou,10thou", from a TOML file, or from several files joined by commas.

    Raises LengthError or FitterError, each naming what is wrong.
    """
    parts = [part.strip() for part in text.split(",") if part.strip()]
    files = [part for part in parts if part.endswith(".toml")]
    if not files:
        return Kit.of(parse_kit(text))
    kits = [_load(Path(part)) for part in files]
    loose = [part for part in parts if part not in files]
    if loose:
        kits.append(Kit.of(parse_kit(",".join(loose)), "loose sizes"))
    first = kits[0]
    if any(kit.mark_deg != first.mark_deg for kit in kits):
        raise KitError("these kits carry their marks differently: plan with one at a time")
    return Kit(
        name=" + ".join(kit.name for kit in kits),
        sizes=tuple(size for kit in kits for size in kit.sizes),
        offset_sd=max(kit.offset_sd for kit in kits),
        mark_deg=first.mark_deg,
        body=first.body,
    ).checked()


def _load(path: Path) -> Kit:
    try:
        table = read_toml(path)
    except OSError as error:
        raise KitError(f"kit {path}: {error.strerror or error}") from error
    except ValueError as error:
        raise KitError(f"kit {path}: {error}") from error
    try:
        return _from_table(path, table)
    except (LengthError, FitterError) as error:
        raise KitError(f"kit {path}: {error}") from error


def _from_table(path: Path, table: dict[str, Any]) -> Kit:
    if unknown := sorted(set(table) - _KEYS):
        raise KitError(f"unknown key {unknown[0]!r}; use {', '.join(sorted(_KEYS))}")
    labelled = table.get("labelled", "offset")
    if labelled not in ("offset", "tir"):
        raise KitError("labelled must be 'offset' or 'tir'")
    mark = table.get("mark_deg", 0.0)
    if isinstance(mark, bool) or not isinstance(mark, int | float) or not -360.0 <= mark <= 360.0:
        raise KitError("mark_deg must be an angle in degrees")
    sizes = table.get("size", [])
    if not isinstance(sizes, list) or not all(isinstance(size, dict) for size in sizes):
        raise KitError("sizes are written as [[size]] tables")
    if len(sizes) > _MOST_SIZES:
        raise KitError(f"{len(sizes)} sizes are more than any drawer holds: {_MOST_SIZES} at most")
    spread = _length(table, "tolerance") if "tolerance" in table else OFFSET_SD_MM
    if not 0.0 <= spread < 1.0:
        raise KitError("tolerance is the spread of true offsets: from 0 to below 1mm")
    return Kit(
        name=str(table.get("name", path.stem))[:80],
        sizes=tuple(_size(size, 0.5 if labelled == "tir" else 1.0) for size in sizes),
        offset_sd=spread,
        mark_deg=float(mark),
        body=_length(table, "body") if "body" in table else None,
    ).checked()


def _size(table: dict[str, Any], factor: float) -> Size:
    count = table.get("count")
    if count is not None and (isinstance(count, bool) or not isinstance(count, int)):
        raise KitError(f"count is {str(count)[:20]!r}, but must be a whole number")
    if unknown := sorted(set(table) - {"offset", "count"}):
        raise KitError(f"unknown key {unknown[0]!r} in a size; use offset, count")
    return Size(_length(table, "offset") * factor, count)


def _length(table: dict[str, Any], key: str) -> float:
    value = table.get(key)
    if not isinstance(value, str):
        raise KitError(f'{key} must be a length in quotes, such as "5thou"')
    return parse_length(value)
