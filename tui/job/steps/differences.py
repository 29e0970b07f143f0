"""Two results compared: as a recording stored it, and as it is computed now."""

from dataclasses import dataclass
from typing import Any, Final

from coaxly.fitter.keys import is_number

ROUNDING: Final = 1e-9
"""Relative difference that two machines may show by rounding alone."""

_NOTHING: Final = 1e-12
WORDS: Final = frozenset({"warnings", "looks", "source", "high_clock", "move_clock", "clock", "what"})
"""Keys of a result that hold words: names, what is wrong with a line, clock positions, which the degrees
beside them say as well, and the sentences that older versions stored."""


@dataclass(frozen=True, slots=True)
class Difference:
    """A number or word of the result that is not the same: where, as stored, as computed now."""

    key: str
    stored: Any
    now: Any


def compare(stored: Any, now: Any) -> tuple[list[Difference], float]:
    """Differences between two JSON values beyond rounding, and the largest relative one of numbers.

    Facts are compared. Words that a person reads may be put better later, and a later version may have
    more to say: keys of WORDS, and those that were not stored, are no difference.
    """
    found: list[Difference] = []
    return found, _compare(stored, now, "", found)


def _compare(stored: Any, now: Any, key: str, found: list[Difference]) -> float:
    largest = 0.0
    if isinstance(stored, dict) and isinstance(now, dict):
        for name in stored:
            if name in WORDS:
                continue
            inner = f"{key}.{name}" if key else name
            if name == "remarks" and name in now:
                largest = max(largest, _compare_remarks(stored[name], now[name], inner, found))
            elif name not in now:
                found.append(Difference(inner, stored[name], None))
            else:
                largest = max(largest, _compare(stored[name], now[name], inner, found))
        return largest
    if isinstance(stored, list) and isinstance(now, list) and len(stored) == len(now):
        for k, (a, b) in enumerate(zip(stored, now, strict=True)):
            largest = max(largest, _compare(a, b, f"{key}[{k}]", found))
        return largest
    if is_number(stored) and is_number(now):
        apart = abs(stored - now)
        largest = apart / max(abs(stored), abs(now)) if apart > _NOTHING else 0.0
        same = largest <= ROUNDING
    else:
        same = type(stored) is type(now) and stored == now
    if not same:
        found.append(Difference(key, stored, now))
    return largest


def _compare_remarks(stored: Any, now: Any, key: str, found: list[Difference]) -> float:
    """Each remark that was stored against the next one of its kind now; more to remark is no difference."""
    if not (_are_remarks(stored) and _are_remarks(now)):
        return _compare(stored, now, key, found)
    largest, rest = 0.0, list(now)
    for remark in stored:
        same = next((each for each in rest if each["kind"] == remark["kind"]), None)
        inner = f"{key}.{remark['kind']}"
        if same is None:
            found.append(Difference(inner, remark, None))
            continue
        rest.remove(same)
        largest = max(largest, _compare(remark, same, inner, found))
    return largest


def _are_remarks(value: Any) -> bool:
    return isinstance(value, list) and all(isinstance(each, dict) and "kind" in each for each in value)
