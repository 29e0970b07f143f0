"""job.toml: what people know of a job. They may edit it at any time; comments and keys of theirs are kept."""

import math
import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from difflib import get_close_matches
from pathlib import Path
from typing import Any, Final

import msgspec

from coaxly.logger.files import amiss, in_words, read_small, toml_table

from ..errors import Failure, UsageError

NAME: Final = "job.toml"
_TRIES: Final = 20
_ALIKE: Final = 0.7
"""How like two keys are where the one is a slip for the other (`difflib`): limti, limit; not paint, pilot."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A block or a housing: the family it is of, and its own number."""

    family: str = ""
    serial: str = ""

    @property
    def text(self) -> str:
        """In one line."""
        return f"{self.family} {self.serial}".strip()


@dataclass(frozen=True, slots=True, kw_only=True)
class Details:
    """What is written there; "" where nobody said. Lengths and dowels are as people write them."""

    number: str | int = ""
    title: str = ""
    opened: Any = ""
    technician: str = ""
    customer: str = ""
    block: Place = Place()
    housing: Place = Place()
    mileage: str | int | float = ""
    limit: str = ""
    limit_source: str = ""
    kit: str = ""
    dowels: str = ""
    """The two holes, seen from behind."""
    hole: str = ""
    """Their diameter: kits with other pins are left aside."""
    rig: dict[str, Any] | str = ""
    """How the indicator sits: options of a sweep by name, or the name of a rig."""
    bolts: str = ""
    """Of the housing on the block, seen from behind."""
    shims: str = ""
    """Thicknesses in stock."""
    face_radius: str = ""
    """At which the dial runs on the face: tilt and shims hang on it."""
    depth: str = ""
    """From the shimmed joint back to the bore."""
    pilot: str = ""
    """From the face forward to the pilot bearing."""
    register_clearance: str = ""
    """Of the gearbox's register in the bore, in diameter."""
    pilot_limit: str = ""
    """What the crank's pilot bore may run out by."""
    flywheel_limit: str = ""
    """What the flywheel's face may run out by."""
    notes: str = ""

    @property
    def sworn(self) -> dict[str, str]:
        """What of SWORN anybody said, as text."""
        said = {key: getattr(self, key) for key in SWORN}
        texts = {key: value.text if isinstance(value, Place) else str(value) for key, value in said.items()}
        return {key: text.strip() for key, text in texts.items() if text.strip()}


SWORN: Final = (
    "number", "title", "technician", "customer", "block", "housing", "mileage",
    "limit", "limit_source", "pilot_limit", "flywheel_limit",
)  # fmt: skip
"""Keys that say whose work it is, on what, and by which limit: a job's journal notes them."""

_KEYS: Final = tuple(field.name for field in fields(Details))


def read(path: Path) -> Details:
    """What is written there; keys that are not known are left alone. Raises UsageError, naming the key."""
    try:
        return parsed(read_small(path), path)
    except FileNotFoundError:
        return Details()
    except OSError as error:
        raise UsageError(f"{path}: {error.strerror or error}") from error


def parsed(data: bytes, path: Path) -> Details:
    """The same from its bytes."""
    try:
        table = toml_table(data.decode("utf-8-sig"))
        for key in _KEYS:
            if isinstance(value := table.get(key), float) and not math.isfinite(value):
                raise amiss(key, value, "a date, a number or text")
        return msgspec.convert({key: table[key] for key in _KEYS if key in table}, Details)
    except UnicodeDecodeError as error:
        raise UsageError(f"{path}: byte {error.start} is not UTF-8 text: save it as UTF-8") from error
    except ValueError as error:  # msgspec's are of this kind
        raise UsageError(f"{path}: {in_words(error)}: mend that line") from error


def unknown(path: Path) -> list[tuple[str, str]]:
    """Keys that nothing here reads, each with the one that may have been meant, or "". They may be notes of
    somebody's own; of a file that cannot be read there are none."""
    try:
        table = toml_table(read_small(path).decode("utf-8-sig"))
    except (OSError, ValueError):
        return []
    places = [field.name for field in fields(Place)]
    found = _strange(table, _KEYS)
    for key in ("block", "housing"):
        if isinstance(inner := table.get(key), dict):
            found += [(f"{key}.{name}", near and f"{key}.{near}") for name, near in _strange(inner, places)]
    return found


def _strange(table: Mapping[str, Any], known: Sequence[str]) -> list[tuple[str, str]]:
    return [
        (key, next(iter(get_close_matches(key, known, 1, _ALIKE)), "")) for key in table if key not in known
    ]


def write_new(path: Path, values: Mapping[str, Any]) -> None:
    """Write a new file, every key that may be filled in shown. Raises Failure."""
    import tomlkit

    document = tomlkit.document()
    document.add(tomlkit.comment("Yours to edit. Lengths carry a unit: 5thou, .005in, 0.127mm."))
    tables = {}
    for key in _KEYS:
        value = values.get(key, "")
        if key in ("block", "housing"):
            tables[key] = {**{"family": "", "serial": ""}, **(value or {})}
        elif key == "rig" and isinstance(value, Mapping):
            tables[key] = dict(value)
        else:
            document.add(key, value)
    for key, table in tables.items():
        document.add(key, tomlkit.item(table))
    _put(path, tomlkit.dumps(document).encode("utf-8"))


def edit(path: Path, values: Mapping[str, Any]) -> None:
    """Set some keys and leave all else as it stands, comments and order too. An edit that a person makes in
    the same moment is kept, and these keys set in it. Raises UsageError or Failure."""
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    for _ in range(_TRIES):
        before = _bytes(path)
        try:
            document = tomlkit.parse(before.decode("utf-8-sig"))
        except (TOMLKitError, ValueError, RecursionError) as error:
            raise UsageError(f"{path}: {error}: mend that first") from error
        for key, value in values.items():
            document[key] = value
        draft = _draft(path, tomlkit.dumps(document).encode("utf-8"))
        if _bytes(path) == before:
            _rename(draft, path)
            return
        draft.unlink(missing_ok=True)
    raise UsageError(f"{path} is being edited by somebody else: try again when they are done")


def _bytes(path: Path) -> bytes:
    try:
        return read_small(path)
    except FileNotFoundError:
        return b""
    except OSError as error:
        raise UsageError(f"{path}: {error.strerror or error}") from error


def heading(path: Path, words: str) -> None:
    """Begin a file with a comment where there is none. Raises Failure."""
    if not path.exists():
        _put(path, f"# {words}\n".encode())


def _put(path: Path, data: bytes) -> None:
    _rename(_draft(path, data), path)


def _draft(path: Path, data: bytes) -> Path:
    draft = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        with draft.open("wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
    except OSError as error:
        raise Failure(f"cannot write {path}: {error.strerror or error}") from error
    return draft


def _rename(draft: Path, path: Path) -> None:
    try:
        draft.replace(path)
    except OSError as error:
        raise Failure(f"cannot write {path}: {error.strerror or error}") from error
