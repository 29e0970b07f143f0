"""Opening files that others made: only real ones, and small ones only up to a size; and tables that people
wrote, as data classes.
"""

import dataclasses
import errno
import hashlib
import os
import re
import stat
from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any, BinaryIO, Final, TypeVar, get_args, get_origin, get_type_hints

import msgspec

_Kind = TypeVar("_Kind")

SMALL_FILE: Final = 1 << 16
"""Settings, profiles and kits are written by people: a larger file is something else."""
_BLOCK: Final = 1 << 20
_NO_FILE: Final = "it is no file but a pipe or a device"
_NOWHERE: Final = "it is a link to a file that is not there"


def open_regular(path: Path) -> BinaryIO:
    """Open `path` for reading. Raises OSError, also for a folder, a pipe or a device: opening a pipe
    that nobody writes to would wait for ever, and a device may never end."""
    flags = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)
    try:
        number = os.open(path, flags | getattr(os, "O_CLOEXEC", 0))
    except OSError as error:
        if error.errno == errno.ENXIO:  # a socket
            raise OSError(0, _NO_FILE, str(path)) from error
        if error.errno == errno.ENOENT:
            why = _NOWHERE if path.is_symlink() else f"{error.strerror}: is its name right, and its folder?"
            raise FileNotFoundError(errno.ENOENT, why, str(path)) from error
        raise
    except ValueError as error:  # a zero byte, or half a letter
        raise OSError(0, "no file can be called so", str(path)) from error
    mode = os.fstat(number).st_mode
    if stat.S_ISREG(mode):
        return os.fdopen(number, "rb")
    os.close(number)
    raise OSError(0, "it is a folder" if stat.S_ISDIR(mode) else _NO_FILE, str(path))


def read_small(path: Path, limit: int = SMALL_FILE) -> bytes:
    """All of a small file. Raises OSError, also where it is larger than `limit` bytes."""
    with open_regular(path) as file:
        data = file.read(limit + 1)
    if len(data) > limit:
        shown = f"{limit >> 20} MiB" if limit >> 20 else f"{limit >> 10} KiB"
        raise OSError(0, f"it is larger than {shown}", str(path))
    return data


def sha256_of(path: Path) -> str:
    """The hash of a file's bytes, in hexadecimal digits. Raises OSError."""
    digest = hashlib.sha256()
    with open_regular(path) as file:
        while block := file.read(_BLOCK):
            digest.update(block)
    return digest.hexdigest()


def read_toml(path: Path) -> dict[str, Any]:
    """The table of a small TOML file. Raises OSError, and ValueError in words for what it holds."""
    try:
        text = read_small(path).decode("utf-8-sig")  # some editors put a mark before it
    except UnicodeDecodeError as error:
        raise ValueError(f"not proper TOML: byte {error.start} is not UTF-8 text") from error
    return toml_table(text)


def toml_table(text: str) -> dict[str, Any]:
    """The same of its text. Raises ValueError in words."""
    import tomllib

    try:
        table = tomllib.loads(text)
        _check_numbers(table)
    except tomllib.TOMLDecodeError as error:
        raise ValueError(f"not proper TOML: {_said_plainly(error, text)}") from error
    except ValueError as error:
        raise ValueError("a number in it has more digits than any that could be meant") from error
    except RecursionError as error:
        raise ValueError("not proper TOML: brackets within brackets within brackets") from error
    return table


def _said_plainly(error: Exception, text: str) -> str:
    """What is wrong with a text, naming a key that stands in it twice."""
    twice = re.fullmatch(r"Cannot overwrite a value \(at (?:line (\d+), .*|end of document)\)", str(error))
    if twice is None:
        return str(error)
    lines = text.split("\n")
    number = int(twice[1] or len(lines))
    return f"{lines[number - 1].partition('=')[0].strip()[:40]} stands twice (again in line {number})"


def _check_numbers(value: Any) -> None:
    """TOML's own bound for whole numbers: larger ones cannot even be shown."""
    if isinstance(value, int) and value.bit_length() > 64:
        raise ValueError
    for inner in value.values() if isinstance(value, dict) else value if isinstance(value, list) else ():
        _check_numbers(inner)


def checked(kind: type[_Kind], table: Mapping[str, Any]) -> _Kind:
    """A table as a data class whose fields say what they take: Annotated[type, Meta(...)], in words by its
    description, else by its range. Fields that do not are none of a table's business.

    Raises ValueError in words: for a key that is none of them, for one that is missing, and for a value
    that cannot be meant ("baud is 12, but must be a whole number from 50 to 4000000").
    """
    hints = _hints(kind)
    if unknown := sorted(set(table) - set(hints)):
        raise ValueError(f"unknown key {unknown[0]!r}; use {', '.join(sorted(hints))}")
    for field in dataclasses.fields(kind):  # type: ignore[arg-type]
        if field.default is dataclasses.MISSING and field.name not in table:
            raise ValueError(f"{field.name} is missing: it must be {_wanted(hints[field.name])}")
    return kind(**{key: _converted(key, value, hints[key]) for key, value in table.items()})


def amiss(key: str, value: object, wanted: str) -> ValueError:
    """The one sentence about a value that cannot be meant."""
    shown = repr(value)
    return ValueError(f"{key} is {shown if len(shown) <= 40 else shown[:37] + '...'}, but must be {wanted}")


def in_words(error: Exception) -> str:
    """What msgspec says of a value, as people would: "version must be a whole number, not text"."""
    found = _EXPECTED.fullmatch(str(error))
    if found is None:
        return str(error)
    wanted, got, place = (part or "" for part in found.groups())
    said = f"{place or 'it'} must be {_kinds(wanted)}"
    return f"{said}, not {_kinds(got)}" if got else said


_EXPECTED: Final = re.compile(r"Expected `([^`]+)`(?:, got `([^`]+)`)?(?: - at `\$\.?([^`]*)`)?")
_KIND_WORDS: Final = {
    "str": "text (in quotes)",
    "int": "a whole number",
    "float": "a number",
    "bool": "true or false",
    "object": "a table",
    "array": "a list",
    "null": "nothing",
}


def _kinds(names: str) -> str:
    return " or ".join(_KIND_WORDS.get(name, name) for name in names.split(" | "))


def _converted(key: str, value: object, hint: Any) -> Any:
    try:
        converted = msgspec.convert(value, hint)
    except msgspec.ValidationError:
        raise amiss(key, value, _wanted(hint)) from None
    # A whole number stays one where a fraction may stand: headers are written from it.
    return value if isinstance(value, int) else converted


def _hints(kind: type) -> dict[str, Any]:
    hints = get_type_hints(kind, include_extras=True)
    return {key: hint for key, hint in hints.items() if get_origin(hint) is Annotated}


def _wanted(hint: Any) -> str:
    kind, meta = get_args(hint)
    if meta.description is not None:
        return str(meta.description)
    if kind is str:
        return f"text of at most {meta.max_length} characters"
    return f"{_KIND_WORDS[kind.__name__]} from {meta.ge:.17g} to {meta.le:.17g}"
