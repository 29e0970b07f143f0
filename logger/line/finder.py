"""Which field of an instrument's lines is the reading? What stays, what counts up, what moves when the
plunger is moved and what moves with the crank decide; what remains open is asked about. Sans-IO.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from .lines import UNIT, Field, Shape, shape_of

Role = Literal["value", "angle", "clock", "label"]
Phase = Literal["heard", "plunger", "crank"]
"""What was done while lines were heard: nothing in particular, the plunger pushed, the crank turned."""

_FEWEST: Final = 2
_UNIT_PATTERN: Final = r"(?P<unit>(?i:mm|inch|in|thou|mils|mil|um|\xb5m)|\")"
FLAG: Final = r"\s*(?P<flag>(?:[Ee][Rr]{1,2}[A-Za-z]*|[Ll][Oo]\s?[Bb][Aa][Tt]+|[Bb][Aa][Tt]|[Oo][Ff]{1,2})?)"


@dataclass(frozen=True, slots=True)
class Found:
    """What lines were found to hold: the roles of their fields, the pattern for them, and questions that
    remain ("" none), each with what would answer it."""

    shape: Shape
    roles: tuple[Role, ...]
    pattern: str
    question: str

    @property
    def says_unit(self) -> bool:
        """Whether a unit's word stands on every line."""
        return any(UNIT in text for text in self.shape.texts)

    def describe(self) -> list[str]:
        """Each field in words: "1: 2300, 2310, 2320 counts up: a clock"."""
        return [
            f"{k}: {', '.join(_some(field))} {field.behaviour}: {_ROLE_WORDS[role]}"
            for k, (field, role) in enumerate(zip(self.shape.fields, self.roles, strict=True), 1)
        ]


_ROLE_WORDS: Final = {
    "value": "the reading",
    "angle": "the angle",
    "clock": "a clock or counter, not used",
    "label": "a name, not used",
}


def find(heard: Mapping[Phase, Sequence[str]], told: Sequence[Role] | None = None) -> Found | None:
    """From the lines of each phase (at least "heard"). told: the roles, if somebody knows them.

    None where the lines hold no number, or too few lines came. Raises ValueError, in words, for roles that
    cannot be those of these lines.
    """
    everything = [line for lines in heard.values() for line in lines if line.strip()]
    shape = shape_of(everything)
    if shape is None or shape.lines < _FEWEST:
        return None
    if told is not None:
        roles, question = _checked(told, shape), ""
    else:
        # Each phase by itself: what the plunger moves stays while only the crank is turned.
        phases = {phase: shape_of(lines) for phase, lines in heard.items() if lines}
        fields = {
            phase: part.fields
            for phase, part in phases.items()
            if part is not None and part.texts == shape.texts
        }
        roles, question = _roles(shape, fields)
    return Found(shape, roles, pattern_of(shape, roles), question)


def _checked(told: Sequence[Role], shape: Shape) -> tuple[Role, ...]:
    if len(told) != len(shape.fields):
        raise ValueError(f"{len(told)} fields were named, but its lines hold {len(shape.fields)} numbers")
    if told.count("value") != 1 or told.count("angle") > 1:
        raise ValueError("one field must be value, and at most one angle")
    return tuple(told)


def _roles(shape: Shape, phases: Mapping[Phase, Sequence[Field]]) -> tuple[tuple[Role, ...], str]:
    """Roles as far as behaviour shows them, and what is to be asked about the rest."""
    count = len(shape.fields)
    roles: dict[int, Role] = {}
    moved = {phase: [field.behaviour != "stays" for field in part] for phase, part in phases.items()}
    runs = [any(part[k].behaviour == "counts up" for part in phases.values()) for k in range(count)]
    by_plunger = [k for k in range(count) if moved.get("plunger", [False] * count)[k] and not runs[k]]
    if len(by_plunger) == 1:
        roles[by_plunger[0]] = "value"
    for k, field in enumerate(shape.fields):
        still = not any(part[k] for part in moved.values())
        if k in roles:
            continue
        if "crank" in moved and moved["crank"][k] and not _moved_before(moved, k):
            roles[k] = "angle"
        elif "plunger" in moved and _moved_before(moved, k):
            roles[k] = "clock"
        elif still and (field.plain or "plunger" in moved) and count > 1:
            roles[k] = "label"
        elif runs[k] and max(map(abs, field.values)) > 360.0:
            roles[k] = "clock"
    return _rest(shape, roles, runs)


def _moved_before(moved: Mapping[Phase, Sequence[bool]], k: int) -> bool:
    return any(moved[phase][k] for phase in ("heard", "plunger") if phase in moved)


def _rest(shape: Shape, roles: dict[int, Role], runs: Sequence[bool]) -> tuple[tuple[Role, ...], str]:
    """The fields that behaviour has not settled: one is the reading, two may be angle and reading."""
    count = len(shape.fields)
    open_ = [k for k in range(count) if k not in roles]
    question = ""
    if "value" not in roles.values():
        if not open_:
            # Nothing looks like a reading: whole numbers that stay. The last is the likeliest.
            last = max((k for k in roles if roles[k] == "label"), default=count - 1)
            roles[last] = "value"
            question = _which(shape, list(roles)) if count > 1 else ""
        elif len(open_) == 1:
            roles[open_[0]] = "value"
        elif (
            len(dithering := [k for k in open_ if not runs[k] and shape.fields[k].behaviour == "moves"]) == 1
        ):
            # A reading trembles; what only counts up does not.
            roles[dithering[0]] = "value"
        else:
            guess = open_[-1]
            roles[guess] = "value"
            others = open_[:-1]
            settled = len(others) == 1 and shape.fields[others[0]].turns
            question = "" if settled else _which(shape, open_)
    for k in range(count):
        if k not in roles:
            only = "angle" not in roles.values()
            roles[k] = "angle" if only else "clock"
            if not question and not shape.fields[k].turns:
                question = _which(shape, [k])
    return tuple(roles[k] for k in range(count)), question


def _which(shape: Shape, which: Sequence[int]) -> str:
    shown = "; ".join(f"field {k + 1} ({', '.join(_some(shape.fields[k]))})" for k in which)
    if len(which) == 1:
        return f"{shown}: an angle, or a clock?"
    return f"{shown}: which of them is the reading, and is another one the angle?"


def _some(field: Field) -> list[str]:
    different = list(dict.fromkeys(text.strip() for text in field.texts))
    return different[:3]


def pattern_of(shape: Shape, roles: Sequence[Role]) -> str:
    """The pattern for lines of a shape: texts as they stand with blanks let loose, a group for each role."""
    parts, unit = [], False
    for k, text in enumerate(shape.texts):
        if k > 0:
            role, field = roles[k - 1], shape.fields[k - 1]
            if role in ("value", "angle"):
                parts.append(f"(?P<{role}>{shape.number})")
            elif role == "label" and field.behaviour == "stays":
                parts.append(re.escape(field.texts[0]))
            else:
                parts.append(f"(?:{shape.number})")
        for piece in re.split(rf"(\s+|{UNIT})", text):
            parts.append(r"\s*")
            if piece == UNIT:
                parts.append(_UNIT_PATTERN if not unit else r"\S+")
                unit = True
            elif piece.strip():
                parts.append(re.escape(piece))
        # Blanks come and go with the width of a number, and a sign may stand in their place.
        parts.append(r"\s*")
    last = shape.texts[-1].replace(UNIT, "").strip()
    parts.append(FLAG + r"\s*" if not last else r"\s*")
    return re.sub(r"(?:\\s\*)+", lambda _: r"\s*", "".join(parts))
