"""Lines of an instrument: numbers, what stands between them, and how each number behaves from one line to the
next. Lines that are made alike are one kind; what comes and goes within a kind (a mark, a status letter) is
no difference, and another channel is. Sans-IO, and no knowledge of any instrument."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import pairwise
from statistics import median
from typing import Final, Literal

from ..marks import mark_of
from .grammar import number
from .questions import step_of
from .tokens import Token, decimal_marks, tokens

Behaviour = Literal["stays", "counts up", "moves"]
Phase = Literal["heard", "plunger", "crank"]
"""What was done while lines were heard: nothing in particular, the plunger pushed, the crank turned."""

NUMBER, STAMP, UNIT = "N", "T", "U"
"""What stands for a number, a date or time and a unit's word in the skeleton of a line."""

_REMEMBERED: Final = 2048
"""Lines are looked at again and again while more of them come."""
_mark_of: Final = lru_cache(_REMEMBERED)(mark_of)
_MOST_CHANNELS: Final = 8
_ALTERNATES: Final = 0.6
"""Share of lines that are of another kind than the one before, where channels take turns."""
_FOLLOWS: Final = 0.3
"""Share of the largest range that each of several kinds must have to be the same reading."""


@dataclass(frozen=True)
class Line:
    """One line taken apart: its skeleton, the text of each part of it, and what stands before each part and
    behind the last."""

    phase: Phase
    skeleton: tuple[str, ...]
    parts: tuple[str, ...]
    gaps: tuple[tuple[Token, ...], ...]

    @cached_property
    def places(self) -> tuple[int, ...]:
        """Where in the skeleton its numbers stand."""
        return tuple(at for at, kind in enumerate(self.skeleton) if kind == NUMBER)

    def is_name(self, k: int) -> bool:
        """Whether its number k is part of a name: glued to letters, or the first of several."""
        at = self.places[k]
        before, behind = self.gaps[at][-1:], self.gaps[at + 1][:1]
        return any(each.kind == "word" for each in before + behind) or (at == 0 and len(self.places) > 1)

    @cached_property
    def words(self) -> tuple[tuple[str, ...], ...]:
        """The words of each gap."""
        return tuple(tuple(token.text for token in gap if token.kind == "word") for gap in self.gaps)

    @cached_property
    def units(self) -> tuple[str, ...]:
        """The words for units."""
        return tuple(text for kind, text in zip(self.skeleton, self.parts, strict=True) if kind == UNIT)

    @cached_property
    def numbers(self) -> tuple[str, ...]:
        """The numbers as they were sent."""
        return tuple(self.parts[at] for at in self.places)


@dataclass(frozen=True)
class Field:
    """One number of every line of a kind, as it was sent: its texts and values, in order of time."""

    texts: tuple[str, ...]
    values: tuple[float, ...]

    @cached_property
    def behaviour(self) -> Behaviour:
        """Whether it stays, counts up by steps of much one size, or moves in some other way."""
        steps = [b - a for a, b in pairwise(self.values)]
        if not any(steps):
            return "stays"
        # A clock runs on by steps of much one size, and begins anew at most once.
        forward = sorted(step for step in steps if step >= 0.0)
        middle = forward[len(forward) // 2] if forward else 0.0
        steady = sum(0.3 * middle <= step <= 3.0 * middle for step in steps)
        runs_on = middle > 0.0 and len(steps) - len(forward) <= len(steps) // 20
        return "counts up" if len(steps) >= 3 and runs_on and steady >= 0.9 * len(steps) else "moves"

    @property
    def turns(self) -> bool:
        """Whether its values are those of degrees that come round: within a turn, and back to nothing."""
        drops = [b - a for a, b in pairwise(self.values) if b < a]
        return all(abs(v) <= 360.0 for v in self.values) and any(drop < -180.0 for drop in drops)

    @property
    def plain(self) -> bool:
        """Whether it is digits and nothing else: no sign, no decimals."""
        return all(text.isdigit() for text in self.texts)

    @property
    def swing(self) -> float:
        """From the least to the largest."""
        return max(self.values) - min(self.values)

    @cached_property
    def step(self) -> float:
        """The smallest step that it can show, by its decimals."""
        return min(map(step_of, self.texts))

    @property
    def both_ways(self) -> bool:
        """Whether it goes up as well as down: a largest or least value so far, or a clock, does not."""
        steps = [b - a for a, b in pairwise(self.values)]
        ups, downs = sum(s for s in steps if s > 0.0), -sum(s for s in steps if s < 0.0)
        return min(ups, downs) >= 0.2 * self.swing > 0.0


@dataclass(frozen=True)
class LineKind:
    """Lines that are made alike, in order of time; decimal: how their numbers are written."""

    lines: tuple[Line, ...]
    decimal: str

    @property
    def skeleton(self) -> tuple[str, ...]:
        """That of each of them."""
        return self.lines[0].skeleton

    def fields(self, phase: Phase | None = None) -> tuple[Field, ...]:
        """Their numbers; those of one phase, empty without a line of it."""
        if phase not in self._fields:
            rows = [line.numbers for line in self.lines if phase in (None, line.phase)]
            columns = [tuple(column) for column in zip(*rows, strict=True)]
            self._fields[phase] = tuple(Field(texts, tuple(map(value_of, texts))) for texts in columns)
        return self._fields[phase]

    @cached_property
    def _fields(self) -> dict[Phase | None, tuple[Field, ...]]:
        return {}

    @property
    def phases(self) -> tuple[Phase, ...]:
        """Those of which there are at least two lines."""
        counts = Counter(line.phase for line in self.lines)
        return tuple(phase for phase, count in counts.items() if count > 1)


def kinds_of(heard: Mapping[Phase, Sequence[str]]) -> list[LineKind]:
    """The kinds of lines with a number, most lines first. Lines by which the instrument says something of
    itself are of no kind."""
    everything = [(phase, line) for phase, lines in heard.items() for line in lines if _mark_of(line) is None]
    best: list[LineKind] = []
    for decimal in decimal_marks([line for _, line in everything]):
        apart = [apart for phase, line in everything if (apart := _apart(phase, line, decimal)) is not None]
        kinds = _sorted(apart, decimal)
        if kinds and (not best or len(kinds[0].lines) >= len(best[0].lines)):
            best = kinds
    return best


@lru_cache(_REMEMBERED)
def value_of(text: str) -> float:
    """A number as it was sent; one too large to be meant is as good as none."""
    return found if (found := number(text, "+-")) is not None else 0.0


@lru_cache(_REMEMBERED)
def _apart(phase: Phase, text: str, decimal: str) -> Line | None:
    """A line, None where it holds no number."""
    skeleton, parts, gaps = [], [], [list[Token]()]
    for token in tokens(text.strip(" \t"), decimal):
        if token.kind in ("word", "mark", "control", "escape"):
            gaps[-1].append(token)
            continue
        skeleton.append({"number": NUMBER, "stamp": STAMP, "unit": UNIT}.get(token.kind, token.text))
        parts.append(token.text)
        gaps.append([])
    if NUMBER not in skeleton:
        return None
    return Line(phase, tuple(skeleton), tuple(parts), tuple(map(tuple, gaps)))


def _sorted(lines: Sequence[Line], decimal: str) -> list[LineKind]:
    """Lines into kinds, most lines first."""
    by_skeleton: dict[tuple[str, ...], list[Line]] = {}
    for line in lines:
        by_skeleton.setdefault(line.skeleton, []).append(line)
    kinds = [LineKind(tuple(kind), decimal) for same in by_skeleton.values() for kind in _channels(same)]
    return sorted(kinds, key=lambda kind: -len(kind.lines))


def _channels(lines: Sequence[Line]) -> list[list[Line]]:
    """Lines of one skeleton apart by their words and channel numbers, where those take turns and are not
    one reading with a status; a word that is seen with numbers of another make is another kind, too."""
    names = _names(lines)
    order = list(dict.fromkeys(names))
    groups = {name: [line for line, each in zip(lines, names, strict=True) if each == name] for name in order}
    usual = max(groups.values(), key=len)
    alike = [name for name in order if _make(groups[name]) & _make(usual)]
    apart = [groups[name] for name in order if name not in alike]
    together = [line for line, name in zip(lines, names, strict=True) if name in alike]
    if 1 < len(alike) <= _MOST_CHANNELS and _take_turns(names) and not _one_reading(groups, alike, names):
        return [*(groups[name] for name in alike), *apart]
    return [together, *apart]


def _names(lines: Sequence[Line]) -> list[tuple[object, ...]]:
    """What may tell channels apart: the words and units of each line, and small numbers that are glued to a
    letter or begin it."""
    numbers = [line.numbers for line in lines]
    few = [
        k
        for k, column in enumerate(zip(*numbers, strict=True))
        if all(text.isdigit() for text in column)
        and 1 < len(set(column)) <= _MOST_CHANNELS
        and len(column) >= 3 * len(set(column))
        and lines[0].is_name(k)
    ]
    return [
        (line.words, line.units, *(row[k] for k in few)) for line, row in zip(lines, numbers, strict=True)
    ]


def _make(lines: Sequence[Line]) -> set[tuple[bool, ...]]:
    """Which numbers of these lines have decimals."""
    return {tuple("." in text or "," in text for text in line.numbers) for line in lines}


def _take_turns(names: Sequence[object]) -> bool:
    changes = sum(a != b for a, b in pairwise(names))
    return changes >= _ALTERNATES * (len(names) - 1) > 1


def _one_reading(
    groups: Mapping[tuple[object, ...], Sequence[Line]],
    alike: Sequence[tuple[object, ...]],
    names: Sequence[tuple[object, ...]],
) -> bool:
    """Whether lines of several names hold one reading: each follows the largest range, and none of them is
    far from the one before."""
    columns = {name: list(zip(*(line.numbers for line in groups[name]), strict=True)) for name in alike}
    for k in range(len(columns[alike[0]])):
        values = {name: [value_of(text) for text in columns[name][k]] for name in alike}
        ranges = [max(each) - min(each) for each in values.values()]
        everything = [v for each in values.values() for v in each]
        largest = max(ranges)
        if largest == 0.0 and len(set(everything)) > 1 and set(map(len, map(set, values.values()))) == {1}:
            return False  # each stays where it is, and not at the same place
        several = all(len(each) > 2 for each in values.values())
        if largest > 0.0 and min(ranges) < _FOLLOWS * largest and several:
            return False
        if largest > 0.0 and _jumps(values, names) > 0.5 * largest:
            return False
    return True


def _jumps(
    values: Mapping[tuple[object, ...], Sequence[float]], names: Sequence[tuple[object, ...]]
) -> float:
    """The usual step from a line to the next, which has another name."""
    waiting = {name: iter(each) for name, each in values.items()}
    series = [(name, next(waiting[name])) for name in names if name in waiting]
    steps = [abs(b - a) for (one, a), (other, b) in pairwise(series) if one != other]
    return median(steps) if steps else 0.0
