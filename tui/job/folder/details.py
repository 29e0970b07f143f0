"""job.toml: what people know of a job. They may edit it at any time; comments and keys of theirs are kept."""

import contextlib
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any, Final

import msgspec

from coaxly.fitter.keys import Group, apart, key, keys_of
from coaxly.logger.durable import draft_of, place, write_over
from coaxly.logger.files import amiss, in_words, read_small, toml_table

from ...entry.keys import Written, nearest
from ...errors import UsageError, doing, reading

NAME: Final = "job.toml"
_TRIES: Final = 20


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A block or a housing: the family it is of, and its own number."""

    family: str = ""
    serial: str = ""

    @property
    def text(self) -> str:
        """In one line."""
        return f"{self.family} {self.serial}".strip()


_WHO: Final = Group("whose it is", page="front")
_PIECES: Final = Group("the pieces", page="front")
_LIMITS: Final = Group("the limits", page="back")
_WORK: Final = Group("the work", page="back")
_TEXT: Final = Written("text")
_LENGTH: Final = Written("length")
_LIMIT: Final = Written("limit")


def _key(kind: Written, name: str, says: str, group: Group = _WORK) -> Any:
    return key("", kind, None, name, says, group)


@dataclass(frozen=True, slots=True, kw_only=True)
class Details:
    """What is written there; "" where nobody said. Lengths and dowels are as people write them.

    rig: how the indicator sits: a table (`coaxly.entry.rigging`), or the name of a rig.
    """

    number: str | int = _key(_TEXT, "number", "your number of it (else the next free one)", _WHO)
    title: str = apart("")
    opened: Any = apart("")
    technician: str = _key(_TEXT, "technician", "who works on it", _WHO)
    customer: str = _key(_TEXT, "customer", "whose it is", _WHO)
    block: Place = key(Place(), _TEXT, None, "block", "its serial number", _PIECES)
    housing: Place = key(Place(), _TEXT, None, "housing", "its serial number", _PIECES)
    mileage: str | int | float = _key(_TEXT, "mileage", "with its unit", _WHO)
    limit: str = _key(_LIMIT, "limit", "permitted run-out (TIR): 5thou, or sae00 ... sae3", _LIMITS)
    limit_source: str = _key(_TEXT, "limit-source", "whose limit that is", _LIMITS)
    kit: str = _key(Written("kit"), "kit", "dowels at hand: 5thou,10thou, or TOML files")
    dowels: str = _key(Written("pins"), "dowels", 'the two holes, from behind: "-5.5in,-1in 5.5in,-1in"')
    hole: str = _key(_LENGTH, "hole", "diameter of the dowel holes: kits with other pins are left aside")
    rig: dict[str, Any] | str = apart("")
    bolts: str = _key(
        Written("bolts"), "bolts", "of the housing on the block, from behind: 6@420mm, or x,y x,y ..."
    )
    shims: str = _key(Written("shims"), "shims", "thicknesses in stock: 2thou,5thou")
    face_radius: str = _key(_LENGTH, "face-radius", "at which the dial runs on the face: 6in")
    depth: str = _key(_LENGTH, "depth", "from the shimmed joint back to the bore: 90mm")
    pilot: str = _key(_LENGTH, "pilot", "from the face forward to the pilot bearing: 7in")
    register_clearance: str = _key(
        _LENGTH, "register-clearance", "of the gearbox's register in the bore, in diameter: 2thou"
    )
    pilot_limit: str = _key(
        _LIMIT, "pilot-limit", "what the crank's pilot bore may run out by (TIR)", _LIMITS
    )
    flywheel_limit: str = _key(
        _LIMIT, "flywheel-limit", "what the flywheel's face may run out by (TIR)", _LIMITS
    )
    notes: str = _key(_TEXT, "notes", "anything else")

    def said(self, page: str = "") -> list[tuple[str, str]]:
        """What people said that stands on a page of the report, or anywhere: names of keys, and texts."""
        texts = [(name, _text(getattr(self, name))) for name in names_of(page)]
        return [(name, text) for name, text in texts if text]

    @property
    def sworn(self) -> dict[str, str]:
        """Every key as text, "" where nobody said: what a job's journal notes."""
        return {field.name: _sworn(getattr(self, field.name)) for field in fields(self)}


def names_of(page: str = "") -> list[str]:
    """The keys that stand on a page of the report, or anywhere."""
    keys = keys_of(Details).items()
    return [name for name, one in keys if one.group is not None and page in ("", one.group.page)]


def _text(value: object) -> str:
    if isinstance(value, Place):
        return ", no. ".join(filter(None, (value.family, value.serial)))
    return str(value).strip()


def _sworn(value: object) -> str:
    if isinstance(value, Place):
        return value.text
    if isinstance(value, Mapping):  # in no order that people could change without changing a value
        return ", ".join(f"{name} {value[name]}" for name in sorted(value))
    return str(value).strip()


LIMITS: Final = tuple(name for name, one in keys_of(Details).items() if one.group is _LIMITS)
"""Keys that judge."""

ALWAYS_NOTED: Final = (
    "title",
    *(name for name, one in keys_of(Details).items() if one.group in (_WHO, _PIECES, _LIMITS)),
)
"""Keys that journals of earlier versions noted, and left out where nobody said."""

_KEYS: Final = tuple(field.name for field in fields(Details))


def read(path: Path) -> Details:
    """What is written there; keys that are not known are left alone. Raises UsageError, naming the key."""
    return parsed(written(path), path)


def parsed(data: bytes, path: Path) -> Details:
    """The same from its bytes."""
    try:
        table = toml_table(data.decode("utf-8-sig"))
        for name in _KEYS:
            if (odd := _not_finite(table.get(name))) is not None:
                raise amiss(name, odd, "a date, a number or text")
        return msgspec.convert({name: table[name] for name in _KEYS if name in table}, Details)
    except UnicodeDecodeError as error:
        raise UsageError(f"{path}: byte {error.start} is not UTF-8 text: save it as UTF-8") from error
    except ValueError as error:  # msgspec's are of this kind
        raise UsageError(f"{path}: {in_words(error)}: mend that line") from error


def _not_finite(value: Any) -> float | None:
    """A number that is none, at any depth of a value: no JSON can hold it."""
    if isinstance(value, dict | list):
        inner = value.values() if isinstance(value, dict) else value
        return next((odd for each in inner if (odd := _not_finite(each)) is not None), None)
    return value if isinstance(value, float) and not math.isfinite(value) else None


def unknown(data: bytes) -> list[tuple[str, str]]:
    """Keys that nothing here reads, each with the one that may have been meant, or "". They may be notes of
    somebody's own; of a file that cannot be read there are none."""
    try:
        table = toml_table(data.decode("utf-8-sig"))
    except ValueError:
        return []
    places = [field.name for field in fields(Place)]
    found = _strange(table, _KEYS)
    for piece in ("block", "housing"):
        if isinstance(inner := table.get(piece), dict):
            found += [
                (f"{piece}.{name}", near and f"{piece}.{near}") for name, near in _strange(inner, places)
            ]
    return found


def _strange(table: Mapping[str, Any], known: Sequence[str]) -> list[tuple[str, str]]:
    return [(name, nearest(name, known)) for name in table if name not in known]


def write_new(path: Path, values: Mapping[str, Any]) -> None:
    """Write a new file, every key that may be filled in shown. Raises Failure."""
    import tomlkit

    document = tomlkit.document()
    document.add(tomlkit.comment("Yours to edit. Lengths carry a unit: 5thou, .005in, 0.127mm."))
    tables = {}
    for name in _KEYS:
        value = values.get(name, "")
        if name in ("block", "housing"):
            tables[name] = {**{"family": "", "serial": ""}, **(value or {})}
        elif name == "rig" and isinstance(value, Mapping):
            tables[name] = dict(value)
        else:
            document.add(name, value)
    for name, table in tables.items():
        document.add(name, tomlkit.item(table))
    _put(path, tomlkit.dumps(document).encode("utf-8"))


def edit(path: Path, values: Mapping[str, Any]) -> None:
    """Set some keys and leave all else as it stands, comments and order too. An edit that a person makes in
    the same moment is kept, and these keys set in it. Raises UsageError or Failure."""
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    for _ in range(_TRIES):
        before = written(path)
        try:
            document = tomlkit.parse(before.decode("utf-8-sig"))
        except (TOMLKitError, ValueError, RecursionError) as error:
            raise UsageError(f"{path}: {error}: mend that first") from error
        for name, value in values.items():
            document[name] = value
        with doing(f"write {path}"):
            draft = draft_of(path, _as_it_ended(tomlkit.dumps(document).encode("utf-8"), before))
            if written(path) == before:
                place(draft, path)
                return
            draft.unlink(missing_ok=True)
    raise UsageError(f"{path} is being edited by somebody else: try again when they are done")


def _as_it_ended(data: bytes, before: bytes) -> bytes:
    """With the line ends of a file whose lines all end as on Windows."""
    windows = 0 < before.count(b"\n") == before.count(b"\r\n")
    return data.replace(b"\r\n", b"\n").replace(b"\n", b"\r\n") if windows else data


def written(path: Path) -> bytes:
    """The bytes of it; none where there is no file. Raises UsageError."""
    with reading(path), contextlib.suppress(FileNotFoundError):
        return read_small(path)
    return b""


def heading(path: Path, words: str) -> None:
    """Begin a file with a comment where there is none. Raises Failure."""
    if not path.exists():
        _put(path, f"# {words}\n".encode())


def _put(path: Path, data: bytes) -> None:
    with doing(f"write {path}"):
        write_over(path, data)
