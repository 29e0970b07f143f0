"""Options of the command line from the table of keys: their help, what they take, and what was given."""

import argparse
from dataclasses import replace
from typing import Any, Final

from coaxly.fitter.keys import Choice, Key, Kind, Lengths, Number, Several, Whole, YesNo, keys_of

from ..entry.keys import Written, named, read_text, usual_words

_UNITS: Final = {"mm": "LENGTH", "deg": "DEG", "s": "S", "": "N"}
_WRITTEN: Final = {"pins": "PLACES", "bolts": "PLACES", "shims": "LENGTHS", "kit": "OFFSETS", "text": "TEXT"}


def add_keys(command: Any, kind: type, *names: str, as_written: bool = False) -> None:
    """Options for the keys of a data class, in their groups; names: for these only, and in none. as_written:
    their values are kept as people write them, once they can be meant."""
    groups: dict[str, Any] = {}
    for _, one in named(kind):
        if not names and one.group is not None:
            title = one.group.title
            place = groups[title] = groups.get(title) or command.add_argument_group(title)
            add_key(place, one, as_written=as_written)
        elif one.name in names:
            # What is usual there is said by the recording or the job.
            add_key(command, replace(one, usual=None), as_written=as_written)


def add_key(place: Any, one: Key, *, as_written: bool = False) -> None:
    """One option; None where it is not given."""
    option = f"--{one.name}"
    if isinstance(one.kind, YesNo):
        place.add_argument(option, action="store_true", default=None, help=help_of(one))
    else:
        place.add_argument(
            option,
            type=reader(one.kind, as_written=as_written),
            metavar=_metavar(one.kind),
            help=help_of(one),
        )


def reader(kind: Kind, *, as_written: bool = False) -> Any:
    """What reads the value of an option, for argparse."""

    def read(text: str) -> Any:
        try:
            value = read_text(kind, text) if text or not as_written else ""
            return text if as_written else value
        except ValueError as error:
            raise argparse.ArgumentTypeError(str(error)) from error

    return read


length: Final = reader(Written("length"))
lengths: Final = reader(Lengths(100))
tolerance: Final = reader(Number(0.0, 5.0, "mm"))
direction: Final = reader(Written("direction"))
kits: Final = reader(Written("kit"))
kit: Final = reader(Written("one kit"))
setting: Final = reader(Written("setting"))


def help_of(one: Key) -> str:
    """What a key says of itself, with its usual value."""
    usual = usual_words(one)
    if isinstance(one.kind, Several):
        return f"{one.says} ({one.kind.wanted})".replace("%", "%%")
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


def _metavar(kind: Kind) -> str:
    if isinstance(kind, Choice):
        return "{" + ",".join(str(option) for option in kind.options) + "}"
    if isinstance(kind, Number):
        return _UNITS[kind.unit]
    if isinstance(kind, Written):
        return _WRITTEN.get(kind.what, "LENGTH")
    if isinstance(kind, Several):
        return "KIND[,KIND]"
    return "LENGTHS" if isinstance(kind, Lengths) else "N" if isinstance(kind, Whole) else "TEXT"
