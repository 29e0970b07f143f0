"""What people type or write in a table, as values of keys (`coaxly.fitter.keys`): the same at every door."""

from collections.abc import Callable, Collection, Mapping
from contextlib import suppress
from dataclasses import dataclass
from difflib import get_close_matches
from functools import partial
from pathlib import Path
from typing import Any, Final, Literal

from coaxly.fitter.keys import TIR, Choice, Key, Kind, Lengths, Number, Several, Tir, Whole, YesNo, keys_of
from coaxly.logger.files import read_toml

from ..errors import UsageError, reading
from .lengths import LengthError, parse_length, written_length

What = Literal["text", "length", "limit", "direction", "pins", "bolts", "shims", "kit", "one kit", "setting"]

_ALIKE: Final = 0.7
"""How like two words are where one is a slip for the other (`difflib`): limti, limit; not paint, pilot."""


@dataclass(frozen=True, slots=True)
class Written:
    """What is kept as people write it. what: what it has to mean."""

    what: What
    wanted: str = "text in quotes"

    def taken(self, value: object) -> Any:
        """As it is."""
        if not isinstance(value, str):
            raise ValueError
        return value


def table_in(path: Path) -> dict[str, Any] | None:
    """What a TOML file holds; None where there is no file. Raises UsageError, naming it."""
    with reading(path), suppress(FileNotFoundError):
        try:
            return read_toml(path)
        except ValueError as error:
            raise UsageError(f"{path}: {error}") from error
    return None


def read_text(kind: Kind, text: str) -> Any:
    """The value that somebody means. Raises LengthError or FitterError, in words."""
    if isinstance(kind, Written):
        return _meant(kind.what, text)
    if isinstance(kind, Tir):
        from .places import parse_limit

        limit = parse_limit(text)
        _in_range(kind, limit.tir, text)
        return limit
    if isinstance(kind, Lengths):
        return _in_range(kind, [parse_length(part) for part in text.split(",") if part.strip()], text)
    if isinstance(kind, Several):
        words = [word.strip().replace("-", "_") for word in text.split(",") if word.strip()]
        return _in_range(kind, words if set(words) <= set(kind.options) else None, text)
    if isinstance(kind, Choice):
        value: object = next((option for option in kind.options if str(option) == text.strip()), None)
    elif isinstance(kind, Number):
        value = {"mm": parse_length, "deg": _angle}.get(kind.unit, _number)(text)
    elif isinstance(kind, Whole):
        number = _number(text)
        value = int(number) if number.is_integer() else None
    else:
        value = text
    return _in_range(kind, value, text)


def read_value(kind: Kind, value: object) -> Any:
    """The same of a value of a table. Raises LengthError or FitterError, in words."""
    if isinstance(kind, YesNo) or isinstance(value, bool | list | dict):
        return _in_range(kind, value, str(value) if isinstance(value, bool) else repr(value))
    return read_text(kind, str(value))


def read_table(table: Mapping[str, Any], *kinds: type) -> list[dict[str, Any]]:
    """The fields of each data class that a table names by their keys. Raises UsageError, naming the key."""
    homes = {one.name: (k, name, one) for k, each in enumerate(kinds) for name, one in named(each)}
    found: list[dict[str, Any]] = [{} for _ in kinds]
    for said, value in table.items():
        word = str(said).replace("_", "-")
        if word not in homes:
            raise UsageError(unknown(str(said), homes))
        k, name, one = homes[word]
        if one.group is not None and not one.group.lasting:
            raise UsageError(f"{said} is of one sweep or of the job, and no part of a rig: leave it out")
        try:
            found[k][name] = read_value(one.kind, value)
        except ValueError as error:
            raise UsageError(f"{said}: {error}") from error
    return found


def named(kind: type) -> list[tuple[str, Key]]:
    """The fields of a data class that people can say, with their keys."""
    return [(name, one) for name, one in keys_of(kind).items() if one.name]


def nearest(word: str, known: Collection[str]) -> str:
    """The one that may have been meant, or ""."""
    return next(iter(get_close_matches(word, known, 1, _ALIKE)), "")


def unknown(word: str, known: Collection[str]) -> str:
    """What is said of a word that nobody knows."""
    near = nearest(word.replace("_", "-"), known)
    return f"{word[:40]!r} is not known: {f'is {near} meant?' if near else 'one of ' + ', '.join(known)}"


def wanted(kind: Kind) -> str:
    """What a kind takes, as people would write it."""
    if not isinstance(kind, Number):
        return kind.wanted
    unit = {"mm": "mm", "deg": " degrees", "s": " s", "": ""}[kind.unit]
    return f"{'more than' if kind.above else 'from'} {kind.least:g}{unit}, up to {kind.greatest:g}{unit}"


def yes_or_no(text: str) -> bool | None:
    """What somebody answers; None for neither."""
    word = text.strip().lower()
    return (
        True if word in ("yes", "y", "true", "on") else False if word in ("no", "n", "false", "off") else None
    )


def usual_words(one: Key) -> str:
    """What holds where nobody says a key, as people would write it; "" where that says nothing."""
    if isinstance(one.kind, Written | YesNo) or one.usual in (None, "", ()):
        return ""
    if isinstance(one.kind, Number) and one.kind.unit == "mm":
        if not one.usual:
            return ""
        return written_length(one.usual)
    if isinstance(one.usual, tuple):
        return ", ".join(map(str, one.usual))
    return f"{one.usual:g}" if isinstance(one.usual, float) else str(one.usual)


def _in_range(kind: Kind, value: object, text: str) -> Any:
    try:
        return kind.taken(value)
    except ValueError:
        raise LengthError(f"{text.strip()[:40]!r} must be {wanted(kind)}") from None


def _meant(what: What, text: str) -> Any:
    from . import kits, places
    from .lengths import parse_kit

    readers: dict[What, Callable[[str], Any]] = {
        "text": str, "length": parse_length, "limit": partial(read_text, TIR), "pins": places.parse_pins,
        "bolts": places.parse_bolts, "shims": parse_kit, "kit": kits.kits_at_hand,
        "one kit": kits.load_kits, "direction": places.parse_direction, "setting": places.parse_setting,
    }  # fmt: skip
    return readers[what](text)


def _angle(text: str) -> float:
    from .places import parse_angle

    return parse_angle(text)


def _number(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        raise LengthError(f"{text.strip()[:40]!r} is no number") from None
