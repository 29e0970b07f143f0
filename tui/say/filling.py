"""Sentences with places for facts: a table of them is read as people will read it.

A place is the name of a fact, which says how it is shown: what ends in `_mm` as a length in the unit shown,
what ends in `_deg` as a place on the clock. Several of those are joined by "and", several names by commas. A
form behind the name says otherwise: `{size_mm:abs}` or `{size_mm:+}` without or with its sign, `{at_s:.1f}`
as a number, `{count:line was|lines were}` as a count with its words.
"""

from collections.abc import Callable, Mapping
from string import Formatter
from typing import Any

from coaxly.fitter.geometry import clock

from ..entry.lengths import show_length, written

Facts = Mapping[str, Any]
Sentence = str | Callable[[Facts, str], str]
"""With places for facts; or made of facts and a unit, where the words depend on them."""


def fill(sentence: Sentence, facts: Facts, unit: str = "mm") -> str:
    """The sentence of these facts, lengths in `unit`."""
    return _Filling(unit).vformat(sentence, (), facts) if isinstance(sentence, str) else sentence(facts, unit)


class _Filling(Formatter):
    def __init__(self, unit: str) -> None:
        self._unit = unit

    def get_value(self, key: int | str, args: Any, kwargs: Facts) -> tuple[str, Any]:
        return str(key), kwargs[str(key)]

    def convert_field(self, value: tuple[str, Any], conversion: Any) -> tuple[str, Any]:
        name, fact = value
        return name, super().convert_field(fact, conversion)

    def format_field(self, value: tuple[str, Any], format_spec: str) -> str:
        name, fact = value
        if "|" in format_spec:
            one, many = format_spec.split("|")
            return f"{fact} {one if fact == 1 else many}"
        if isinstance(fact, list | tuple):
            return (" and " if name.endswith(("_mm", "_deg")) else ", ").join(
                self.format_field((name, each), format_spec) for each in fact
            )
        if name.endswith("_mm"):
            return show_length(
                abs(fact) if format_spec == "abs" else fact, self._unit, signed=format_spec == "+"
            )
        if format_spec:
            return written(fact, format_spec)
        return clock(fact) if name.endswith("_deg") else str(fact)
