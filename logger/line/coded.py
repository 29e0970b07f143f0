"""Numbers that are not what they seem: a sign that stands apart as a letter or a figure, a counter that
starts anew below nought. Sans-IO."""

from collections.abc import Sequence
from itertools import pairwise
from statistics import median
from typing import Final, Literal

from .lines import Field, LineKind, Phase

Coded = Literal["sign", "wraps"]

SIGN_WORDS: Final = frozenset(["N", "P", "M", "L", "R", "CW", "CCW", "NEG", "POS", "UP", "DN", "IN", "OUT"])
"""Short words behind or before a number that may be its sign (common practice, no source)."""

_LEAST_COUNTS: Final = 200.0
_NEAR: Final = 0.1
_AS_FAR: Final = 1.6
_FEWEST: Final = 2
_SHARE: Final = 0.6
"""Of its changes that must be such."""
_FAR: Final = 1.5
"""Times the room about nought that a number must go up to on either side of it."""


def coded(kind: LineKind, k: int) -> Coded | None:
    """How the number k of these lines hides what it says; None where it does not, as far as was seen."""
    field = kind.fields()[k]
    if starts_anew(field):
        return "wraps"
    beside = [each.texts for n, each in enumerate(kind.fields()) if n != k]
    may_be = [tuple(line.words for line in kind.lines), *beside] if unsigned(field) else []
    phases = [line.phase for line in kind.lines]
    return "sign" if any(_is_sign(states, field.values, phases) for states in may_be) else None


def unsigned(field: Field) -> bool:
    """Whether no sign came with it, before or behind."""
    return all(text.strip("0123456789.,eE \t") == "" for text in field.texts)


def starts_anew(field: Field) -> bool:
    """Whether it jumps between nought and nearly a power of two or ten, and hardly moves else."""
    if not field.plain or field.swing < _LEAST_COUNTS:
        return False
    steps = [abs(b - a) for a, b in pairwise(field.values)]
    jumps = [step for step in steps if step > 0.5 * field.swing]
    powers = [2.0**n for n in range(8, 21)] + [10.0**n for n in range(3, 7)]
    ends = any(0.0 < power - max(field.values) <= _NEAR * power for power in powers)
    return bool(jumps) and ends and min(field.values) < _NEAR * field.swing


def _is_sign(states: Sequence[object], values: Sequence[float], phases: Sequence[Phase]) -> bool:
    """Whether what stands beside a number has two states, and changes where that touches nought and nowhere
    else."""
    if len(set(states)) != 2:
        return False
    rows = list(zip(phases, states, strict=True))
    steps = [abs(b - a) for a, b in pairwise(values)]
    changes = [i for i, (a, b) in enumerate(pairwise(rows)) if a[1] != b[1] and a[0] == b[0]]
    # What passes through nought moves as far as it did just before and just after.
    rooms = {i: _AS_FAR * max(steps[max(i - 1, 0)], steps[min(i + 1, len(steps) - 1)]) for i in changes}
    near = [i for i in changes if 0.0 < values[i] + values[i + 1] <= rooms[i]]
    # Where it came from elsewhere, lines were lost: that says nothing.
    far = [i for i in changes if i not in near and steps[i] <= rooms[i]]
    tops = [max(v for s, v in zip(states, values, strict=True) if s == state) for state in set(states)]
    often = len(near) >= max(_FEWEST, _SHARE * len(near + far))
    return often and min(tops) > _FAR * median(rooms[i] for i in near)
