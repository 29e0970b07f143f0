"""Which number of an instrument's lines is the reading? What follows the plunger is; what never moved is
never taken, and what remains open is asked about, one question at a time. Sans-IO."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from ..readings import MM
from .coded import coded, unsigned
from .lines import UNIT, Field, LineKind, Phase, kinds_of
from .questions import Question, Role, Told
from .unitwords import OTHER_LENGTHS, meant

_FEWEST: Final = 2
TIMES: Final = 5.0
"""Times its range at rest by which a number must move to follow the plunger ..."""
STEPS: Final = 10.0
"""... and so many of its steps: at rest a display flickers by one or two."""
_PUSHED: Final = 25
"""Lines by which somebody who was asked to push the plunger has done so."""
_SHARE: Final = 0.15
"""Share of the lines that a kind must have to be looked at."""
_ANGLES: Final = ("ang", "deg", "crank", "theta", "enc", "rot", "turn", "pos")
"""Beginnings of names of what may be an angle (common practice, no source)."""
_FIRST_KIND: Final = 0


@dataclass(frozen=True, slots=True)
class Found:
    """What lines hold. kind: those with the reading; roles: of its numbers; value: which of them is the
    reading; unit: which part of the skeleton says its unit, None where none does; others: further kinds, of
    other channels; question: what remains open, None if nothing."""

    kind: LineKind
    roles: tuple[Role, ...]
    value: int
    unit: int | None
    others: tuple[LineKind, ...]
    question: Question | None
    moved: bool = False

    def describe(self) -> list[tuple[tuple[str, ...], str, Role]]:
        """Of each number: a few texts as they came, how it behaves, and what it is."""
        return [
            (_some(field), field.behaviour, role)
            for field, role in zip(self.kind.fields(), self.roles, strict=True)
        ]


def find(heard: Mapping[Phase, Sequence[str]], told: Told | None = None) -> Found | None:
    """From the lines of each phase (at least "heard"), and what somebody said.

    None where the lines hold no number, or too few came. Raises ValueError, in words, for roles that cannot
    be those of these lines."""
    told = told or Told()
    kinds = kinds_of(heard)
    count = sum(len(kind.lines) for kind in kinds)
    kinds = [kind for kind in kinds if len(kind.lines) >= max(_FEWEST, _SHARE * count)]
    if not kinds:
        return None
    if told.roles is not None:
        return _as_told(kinds, told.roles, told)
    moving = [(n, k) for n, kind in enumerate(kinds) for k in _followers(kind)]
    if told.which is not None and told.which[0] < len(kinds):
        moving = [told.which]
    which, question = _reading(kinds, moving)
    kind = kinds[which[0]]
    roles = _roles(kind, which[1], moved=bool(moving))
    still = [each for n, each in enumerate(kinds) if n != which[0] and _may_be_passed_over(each, kind, told)]
    found = Found(kind, roles, which[1], _unit_of(kind, which[1]), tuple(still), question, bool(moving))
    if question is None and not told.still and "crank" not in heard and _may_turn(found):
        found = replace(found, question=Question("crank"))
    return found if found.question is not None else replace(found, question=_left(found, told))


def _may_be_passed_over(other: LineKind, kind: LineKind, told: Told) -> bool:
    """Whether it is another channel; one that moves as well only where somebody said which one it is, and
    only its name or unit is another."""
    return not _followers(other) or (told.which is not None and other.skeleton == kind.skeleton)


def _as_told(kinds: Sequence[LineKind], roles: tuple[Role, ...], told: Told) -> Found:
    kind = kinds[_FIRST_KIND]
    count = len(kind.fields())
    if len(roles) != count:
        raise ValueError(f"{len(roles)} fields were named, but its lines hold {count} numbers")
    if roles.count("value") != 1 or roles.count("angle") > 1:
        raise ValueError("one field must be value, and at most one angle")
    at = roles.index("value")
    found = Found(kind, roles, at, _unit_of(kind, at), tuple(kinds[1:]), None, moved=True)
    return replace(found, question=_left(found, told))


def _followers(kind: LineKind) -> list[int]:
    """The numbers that follow the plunger; where nobody pushed it yet, those that move by much, up and
    down."""
    heard, pushed = kind.fields("heard"), kind.fields("plunger")
    count = len(kind.fields())
    rest = [field.swing for field in heard] if heard else [0.0] * count
    if not pushed:
        # Nobody knows yet what follows, unless there is nothing else or all do.
        wide = [k for k, field in enumerate(heard) if _wide(field)]
        return wide if (len(wide) > 1 and len(wide) == count) or wide == [_only(heard)] else []
    strong = [
        k
        for k, field in enumerate(pushed)
        if _wide(field) and field.swing >= TIMES * max(rest[k], field.step)
    ]
    if len(kind.fields("plunger")[0].values) < _PUSHED:
        return strong
    # A dial that was moved before anybody asked for it still moves, as long as nothing else may be the dial.
    weak = [k for k, field in enumerate(pushed) if _wide(field) and heard and _wide(heard[k])]
    far = [
        k
        for k, field in enumerate(pushed)
        if max(field.swing, rest[k]) >= STEPS * field.step and field.behaviour != "counts up"
    ]
    return strong or (weak if weak == far else [])


def _wide(field: Field) -> bool:
    clock = field.behaviour == "counts up"
    return field.both_ways and field.swing >= STEPS * field.step and not clock and not field.turns


def _reading(
    kinds: Sequence[LineKind], moving: Sequence[tuple[int, int]]
) -> tuple[tuple[int, int], Question | None]:
    """The number that is the reading, as far as is known, and what to ask."""
    if len(moving) == 1:
        return moving[0], None
    if moving:
        if (pair := _both_units(kinds, moving)) is not None:
            return pair, None
        choices = tuple((at, kinds[at[0]].fields()[at[1]].texts[-1].strip()) for at in moving)
        return moving[0], Question("which", choices)
    kind = kinds[_FIRST_KIND]
    fields = kind.fields()
    if len(kinds) == 1 and (only := _only(fields)) is not None:
        return (_FIRST_KIND, only), None if fields[only].swing > 0.0 else Question("plunger")
    return (_FIRST_KIND, _likeliest(fields)), Question("plunger")


def _only(fields: Sequence[Field]) -> int | None:
    """The one number that a reading may be while nothing was pushed: what trembles or stays, among clocks and
    whole numbers that stay."""
    open_ = [
        k
        for k, field in enumerate(fields)
        if not (field.behaviour == "counts up" and max(field.values) > 360.0)
        and not (field.plain and field.behaviour == "stays" and len(fields) > 1)
        and not (field.turns and len(fields) > 1)
    ]
    return open_[0] if len(open_) == 1 else None


def _likeliest(fields: Sequence[Field]) -> int:
    """What is shown for the reading until it moves: the last that has decimals, else the last."""
    decimals = [k for k, field in enumerate(fields) if not field.plain and field.behaviour != "counts up"]
    return decimals[-1] if decimals else len(fields) - 1


def _both_units(kinds: Sequence[LineKind], moving: Sequence[tuple[int, int]]) -> tuple[int, int] | None:
    """Of one reading in two units, which are checked against each other, the finer one; None where it is
    not."""
    if len(moving) != 2 or moving[0][0] != moving[1][0]:
        return None
    kind = kinds[moving[0][0]]
    fields = kind.fields()
    sizes = []
    for at in moving:
        unit = _unit_of(kind, at[1])
        known = meant(kind.lines[0].parts[unit]) if unit is not None else None
        if known is None:
            return None
        mm, field = known[1] * MM[known[0]], fields[at[1]]
        sizes.append((field.step * mm, at, [value * mm for value in field.values]))
    (fine, at, a), (coarse, _, b) = sorted(sizes, key=lambda size: size[0])
    room = fine + coarse
    return at if all(abs(x - y) <= room for x, y in zip(a, b, strict=True)) else None


def _roles(kind: LineKind, value: int, *, moved: bool) -> tuple[Role, ...]:
    """Roles of all numbers once the reading is known."""
    phases = {phase: kind.fields(phase) for phase in kind.phases}
    fields = kind.fields()
    roles: list[Role] = []
    for k, field in enumerate(fields):
        before = [part[k] for phase, part in phases.items() if phase != "crank"]
        restless = any(part.behaviour != "stays" and part.swing > 2.0 * part.step for part in before)
        crank = phases["crank"][k] if "crank" in phases else None
        if k == value:
            roles.append("value")
        elif (crank is not None and crank.swing > 2.0 * crank.step and not restless) or (
            "crank" not in phases and "plunger" not in phases and field.turns
        ):
            roles.append("angle")
        else:
            roles.append("clock" if field.behaviour != "stays" else "label")
    if roles.count("angle") > 1:
        first = roles.index("angle")
        roles = [role if role != "angle" or k == first else "clock" for k, role in enumerate(roles)]
    return tuple(roles)


def _may_turn(found: Found) -> bool:
    """Whether a number that stayed, or runs within a turn, may be the crank's angle."""
    if "angle" in found.roles:
        return False
    within = [
        (k, field)
        for k, field in enumerate(found.kind.fields())
        if k != found.value and max(map(abs, field.values)) <= 360.0
    ]
    return any(
        (not field.plain and field.swing <= 2.0 * field.step and _named_angle(found.kind, k))
        or (not found.moved and field.behaviour == "counts up")
        for k, field in within
    )


def _named_angle(kind: LineKind, k: int) -> bool:
    """Whether the name before a number, if it has one, may be that of an angle."""
    line = kind.lines[0]
    at = line.places[k]
    words = line.words[at]
    if not words and at > 0 and line.skeleton[at - 1] in ":=":
        words = line.words[at - 1]
    name = words[-1].lower() if words else ""
    return len(name) < 2 or name.startswith(_ANGLES)


def _unit_of(kind: LineKind, k: int) -> int | None:
    """The part of the skeleton that says the unit of number k: behind it and before the next number, else
    before it; where units stand in front of all numbers, that in front."""
    skeleton = kind.skeleton
    places = kind.lines[0].places
    units = [i for i, part in enumerate(skeleton) if part == UNIT]
    at = places[k]
    before = [i for i in units if (places[k - 1] if k else -1) < i < at]
    behind = [i for i in units if at < i < (places[k + 1] if k + 1 < len(places) else len(skeleton))]
    in_front = bool(units) and units[0] < places[0] and units[-1] < places[-1] and len(units) == len(places)
    if before and (in_front or not behind):
        return before[-1]
    return behind[0] if behind else None


def _left(found: Found, told: Told) -> Question | None:
    """What is to be asked once it is known which number it is: its unit, and what the display shows."""
    word = found.kind.lines[0].parts[found.unit] if found.unit is not None else ""
    field = found.kind.fields()[found.value]
    if (hidden := coded(found.kind, found.value)) is not None:
        return Question(hidden)
    if told.minus and unsigned(field):
        return Question("sign")
    whole = all("." not in text and "," not in text for text in field.texts)
    strange = _strange(found.kind, found.value)
    size = meant(word) if word else None
    fine = size is not None and size[1] < 1.0
    if not word and not told.unit:
        return Question("unit")
    if told.factor == 0.0 and ((whole and not fine) or strange):
        return Question("shows")
    return None


def _strange(kind: LineKind, k: int) -> bool:
    """Whether something beside the number may change what it means: a unit that is not one of length or that
    nobody can be sure of, brackets for minus, a factor between it and its unit."""
    skeleton, at = kind.skeleton, kind.lines[0].places[k]
    behind = kind.lines[0].words[at + 1]
    bracketed = skeleton[at - 1 : at] == ("(",) and skeleton[at + 1 : at + 2] == (")",)
    far = UNIT in skeleton and _unit_of(kind, k) is None
    return (bool(behind) and behind[0].lower() in OTHER_LENGTHS) or bracketed or far


def _some(field: Field) -> tuple[str, ...]:
    return tuple(dict.fromkeys(text.strip() for text in field.texts))[:3]
