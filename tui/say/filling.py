"""Sentences with places for facts: a table of them is read as people will read it.

A place is the name of a fact, which says how it is shown: what ends in `mm` as a length in the unit shown,
what ends in `deg` as a place on the clock. Several of those are joined by "and", several names by commas. A
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


def fill(sentence: Sentence, facts: Facts, unit: str = "mm", **words: Any) -> str:
    """The sentence of these facts, lengths in `unit`. words: for places of which there is no fact."""
    told = {**facts, **words}
    return _Filling(unit).vformat(sentence, (), told) if isinstance(sentence, str) else sentence(told, unit)


class _Filling(Formatter):
    def __init__(self, unit: str) -> None:
        self._unit = unit

    def get_value(self, key: int | str, args: Any, kwargs: Facts) -> tuple[str, Any]:
        return str(key), kwargs[str(key)]

    def convert_field(self, value: tuple[str, Any], conversion: Any) -> tuple[str, Any]:
        name, fact = value
        return name, super().convert_field(fact, conversion)

    def format_field(self, value: tuple[str, Any], format_spec: str) -> str:
        (name, fact), of = value, f"_{value[0]}".rpartition("_")[2]
        if "|" in format_spec:
            one, many = format_spec.split("|")
            return f"{fact} {one if fact == 1 else many}"
        if isinstance(fact, list | tuple):
            return (" and " if of in ("mm", "deg") else ", ").join(
                self.format_field((name, each), format_spec) for each in fact
            )
        if of == "mm":
            return show_length(
                abs(fact) if format_spec == "abs" else fact, self._unit, signed=format_spec == "+"
            )
        if format_spec:
            return written(fact, format_spec)
        return clock(fact) if of == "deg" else str(fact)
