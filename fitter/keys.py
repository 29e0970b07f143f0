"""What a person may say, declared once: as metadata of the data-class field that holds its value.

    sag_mm: float = key(0.0, length(-5.0, 5.0), weighted, "sag", "droop of the arm", CORRECTED)

From it come the options of the command line, the readers of headers and of tables that people write, how
sweeps are put together, and the help. What is pure of that lives here; what people type is read by
`coaxly.entry.keys`.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, fields
from functools import cache
from itertools import pairwise
from typing import Any, Final, Literal, Protocol


class Kind(Protocol):
    """What values a key takes."""

    @property
    def wanted(self) -> str:
        """In words, for who gave another."""

    def taken(self, value: object) -> Any:
        """The value as it is kept, from one of a header. Raises ValueError, without words, for any other."""


@dataclass(frozen=True, slots=True)
class Number:
    """A number of some quantity. The ranges are generous: they catch a wrong unit or a slipped decimal point,
    not an unusual engine. above: the least itself is none of them."""

    least: float
    greatest: float
    unit: Literal["mm", "deg", "s", ""] = ""
    above: bool = False

    @property
    def wanted(self) -> str:
        """The range."""
        return f"a number from {self.least:g} to {self.greatest:g}"

    def taken(self, value: object) -> Any:
        """As a float; None stays what it is, for nobody said."""
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise ValueError
        try:
            number = float(value)
        except OverflowError:
            raise ValueError from None
        if not self.least <= number <= self.greatest or (self.above and number == self.least):
            raise ValueError
        return number


def length(least: float, greatest: float, *, above: bool = False) -> Number:
    """A length in mm; people write it with its unit."""
    return Number(least, greatest, "mm", above)


def degrees(least: float, greatest: float) -> Number:
    """An angle."""
    return Number(least, greatest, "deg")


@dataclass(frozen=True, slots=True)
class Tir(Number):
    """A permitted run-out, mm; people may name a published one, whose source is a field of its own."""


TIR: Final = Tir(0.0, 25.0, "mm", above=True)
"""The same of a sweep, of a job and of what turns with the crank."""


@dataclass(frozen=True, slots=True)
class Whole:
    """A count."""

    least: int
    greatest: int

    @property
    def wanted(self) -> str:
        """The range."""
        return f"a whole number from {self.least} to {self.greatest}"

    def taken(self, value: object) -> Any:
        """As it is."""
        if type(value) is not int or not self.least <= value <= self.greatest:
            raise ValueError
        return value


@dataclass(frozen=True, slots=True)
class Choice:
    """One of a few words or numbers."""

    options: tuple[Any, ...]

    @property
    def wanted(self) -> str:
        """All of them."""
        return " or ".join(str(option) for option in self.options)

    def taken(self, value: object) -> Any:
        """The one that it is."""
        for option in self.options:
            if value == option and not isinstance(value, bool):
                return option
        raise ValueError


@dataclass(frozen=True, slots=True)
class Several:
    """Any of a few words. A header may hold words of a later version: they are kept."""

    options: tuple[str, ...]

    @property
    def wanted(self) -> str:
        """All of them, as people write them."""
        return f"some of {', '.join(option.replace('_', '-') for option in self.options)}"

    def taken(self, value: object) -> Any:
        """As a tuple."""
        if not isinstance(value, list | tuple) or not all(isinstance(each, str) for each in value):
            raise ValueError
        return tuple(value)


@dataclass(frozen=True, slots=True)
class YesNo:
    """Said or not."""

    wanted: str = "true or false"

    def taken(self, value: object) -> Any:
        """As it is."""
        if not isinstance(value, bool):
            raise ValueError
        return value


@dataclass(frozen=True, slots=True)
class Words:
    """Anything that is text, cut at its longest."""

    longest: int = 200
    wanted: str = "text"

    def taken(self, value: object) -> Any:
        """Headers may hold a number where a name is meant."""
        return str(value)[: self.longest]


@dataclass(frozen=True, slots=True)
class Lengths:
    """A list of lengths."""

    most: int

    @property
    def wanted(self) -> str:
        """How many."""
        return f"a list of up to {self.most} lengths in mm"

    def taken(self, value: object) -> Any:
        """As a tuple, mm."""
        if not isinstance(value, list | tuple) or len(value) > self.most:
            raise ValueError
        if not all(is_number(each) and abs(each) <= 1e3 for each in value):
            raise ValueError
        return tuple(float(each) for each in value)


@dataclass(frozen=True, slots=True)
class Calibration:
    """What is to be added to a reading, by what is shown."""

    wanted: str = "a list of [reading_mm, correction_mm] pairs with rising readings"

    def taken(self, value: object) -> Any:
        """As a tuple of pairs, mm."""
        if not isinstance(value, list | tuple):
            raise ValueError
        if not all(isinstance(pair, list | tuple) and len(pair) == 2 for pair in value):
            raise ValueError
        if not all(is_number(each) and math.isfinite(each) for pair in value for each in pair):
            raise ValueError
        pairs = tuple((float(shown), float(added)) for shown, added in value)
        if any(after[0] <= before[0] for before, after in pairwise(pairs)):
            raise ValueError
        return pairs


def is_number(value: object) -> bool:
    """Whether it is a number; yes and no are none."""
    return isinstance(value, int | float) and not isinstance(value, bool)


@dataclass(frozen=True, slots=True)
class Group:
    """Keys that stand together in the help.

    lasting: they hold for more than one sweep, so that a rig and a job may say them.
    page: of a report, where a job's keys stand.
    """

    title: str
    lasting: bool = True
    page: Literal["", "front", "back"] = ""


@dataclass(frozen=True, slots=True)
class Share:
    """One sweep of several: its setup, its weight in the vector of all, and its share of their stations."""

    setup: Any
    weight: float
    stations: float


Join = Callable[[str, Sequence[Share]], Any]
"""How the values of a field become one where sweeps are put together, in whatever order they come."""


@dataclass(frozen=True, slots=True)
class Key:
    """What may be said of one field.

    usual: its value where nobody says it. joins: None for what is no setup of a sweep.
    name: as people write it; "" for what only the program writes. says: the help.
    """

    usual: Any
    kind: Kind
    joins: Join | None = None
    name: str = ""
    says: str = ""
    group: Group | None = None


def key(
    usual: Any, kind: Kind, joins: Join | None = None, name: str = "", says: str = "",
    group: Group | None = None,
) -> Any:  # fmt: skip
    """A field with its key, as in `Key`."""
    return field(default=usual, metadata={"key": Key(usual, kind, joins, name, says, group)})


def apart(usual: Any, *, compare: bool = True) -> Any:
    """A field that nobody says."""
    return field(default=usual, compare=compare, metadata={"key": None})


def keys_of(kind: type) -> dict[str, Key]:
    """The keys of a data class by field. Raises TypeError for a field that has none and is not `apart`."""
    return _keys_of(kind)


@cache
def _keys_of(kind: Any) -> dict[str, Key]:
    found = {}
    for one in fields(kind):
        if "key" not in one.metadata:
            raise TypeError(f"{kind.__name__}.{one.name} has no key: declare it with key() or apart()")
        if one.metadata["key"] is not None:
            found[one.name] = one.metadata["key"]
    return found
