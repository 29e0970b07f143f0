"""Options of the command line from the table of keys: their help, what they take, and what was given."""

import argparse
from typing import Any, Final

from coaxly.fitter.keys import Choice, Key, Kind, Lengths, Number, Whole, YesNo, keys_of
from coaxly.fitter.units import MM_PER_THOU

from ..entry.keys import Written, named, read_text

_UNITS: Final = {"mm": "LENGTH", "deg": "DEG", "s": "S", "": "N"}
_WRITTEN: Final = {"pins": "PLACES", "bolts": "PLACES", "shims": "LENGTHS", "kit": "OFFSETS", "text": "TEXT"}


def add_keys(command: argparse.ArgumentParser, kind: type, *names: str) -> None:
    """Options for the keys of a data class, in their groups; names: for these only, and in none."""
    groups: dict[str, Any] = {}
    for _, one in named(kind):
        if not names and one.group is not None:
            title = one.group.title
            place = groups[title] = groups.get(title) or command.add_argument_group(title)
            add_key(place, one)
        elif one.name in names:
            add_key(command, one)


def add_key(place: Any, one: Key, name: str = "") -> None:
    """One option; None where it is not given. name: if not that of the key."""
    option = f"--{name or one.name}"
    if isinstance(one.kind, YesNo):
        place.add_argument(option, action="store_true", default=None, help=help_of(one))
    else:
        place.add_argument(option, type=reader(one.kind), metavar=_metavar(one.kind), help=help_of(one))


def reader(kind: Kind) -> Any:
    """What reads the value of an option, for argparse."""

    def read(text: str) -> Any:
        try:
            return read_text(kind, text)
        except ValueError as error:
            raise argparse.ArgumentTypeError(str(error)) from error

    return read


def help_of(one: Key) -> str:
    """What a key says of itself, with its usual value."""
    usual = _usual(one)
    return f"{one.says} (default: {usual})".replace("%", "%%") if usual else one.says.replace("%", "%%")


def given(arguments: argparse.Namespace, kind: type) -> dict[str, Any]:
    """The fields of a data class that options gave."""
    found: dict[str, Any] = {}
    for name, one in keys_of(kind).items():
        value = getattr(arguments, one.name.replace("-", "_"), None) if one.name else None
        if value is not None and name == "limit_mm":
            found |= {"limit_mm": value.tir, "limit_source": value.source}
        elif value is not None:
            found[name] = value
    return found


def _usual(one: Key) -> str:
    if one.usual in (None, "", False, ()):
        return "" if one.usual != 0 or isinstance(one.usual, bool) else "0"
    if isinstance(one.kind, Number) and one.kind.unit == "mm":
        thou = one.usual / MM_PER_THOU
        return f"{thou:g}thou" if abs(thou - round(thou, 2)) < 1e-9 else f"{one.usual:g}mm"
    return f"{one.usual:g}" if isinstance(one.usual, float) else str(one.usual)


def _metavar(kind: Kind) -> str:
    if isinstance(kind, Choice):
        return "{" + ",".join(str(option) for option in kind.options) + "}"
    if isinstance(kind, Number):
        return _UNITS[kind.unit]
    if isinstance(kind, Written):
        return _WRITTEN.get(kind.what, "LENGTH")
    return "LENGTHS" if isinstance(kind, Lengths) else "N" if isinstance(kind, Whole) else "TEXT"
