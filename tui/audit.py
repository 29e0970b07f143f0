"""One recording audited: its seals and its result, both computed anew."""

from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, Final, Literal

from fitter import FitterError
from logger.errors import LoggerError
from logger.seals import check_seals

from . import __version__
from .pipeline import replay

State = Literal["ok", "unsealed", "changed", "different", "unreadable"]
ROUNDING: Final = 1e-9
"""Relative difference that two machines may show by rounding alone."""

_NOTHING: Final = 1e-12
WORDS: Final = frozenset({"warnings", "looks", "source", "high_clock", "move_clock", "clock"})
"""Keys of a result that hold words: explanations, names, and clock positions, which the degrees beside
them say as well."""

BAD: Final = ("changed", "different", "unreadable")


@dataclass(frozen=True, slots=True)
class Difference:
    """A number or word of the result that is not the same: where, as stored, as computed now."""

    key: str
    stored: Any
    now: Any


@dataclass(frozen=True, slots=True)
class Audit:
    """What became of one file. differences: of the result; largest: relative, of any number."""

    path: str
    state: State
    what: str
    seals: int
    software: str
    differences: tuple[Difference, ...] = ()
    largest: float = 0.0

    def to_dict(self) -> dict[str, Any]:
        """As JSON-ready dictionaries and lists."""
        return asdict(self)


def audit(path: Path) -> Audit:
    """Check one file. Never raises: what is wrong is the finding."""
    try:
        seals = check_seals(path)
        if seals.state == "changed":
            return Audit(str(path), "changed", seals.what, seals.seals, "")
        pipeline = replay(path)
        software = pipeline.header.software
        stored = pipeline.stored_result
        now = None if stored is None else pipeline.result().to_dict()
    except (LoggerError, FitterError) as error:
        return Audit(str(path), "unreadable", str(error), 0, "")
    if stored is None or now is None:
        return Audit(
            str(path), seals.state, f"{seals.what}; no result is stored in it", seals.seals, software
        )
    differences, largest = compare(stored, _plain(now))
    if differences:
        first = differences[0]
        what = (
            f"the result differs: {first.key} was {first.stored}, is now {first.now} "
            f"(made by {software or 'unknown'}, this is {__version__})"
        )
        return Audit(str(path), "different", what, seals.seals, software, tuple(differences), largest)
    rounding = f", the same result to {largest:.0e} (rounding)" if largest > 0.0 else ", the same result"
    return Audit(str(path), seals.state, seals.what + rounding, seals.seals, software, (), largest)


def compare(stored: Any, now: Any, key: str = "") -> tuple[list[Difference], float]:
    """Differences between two JSON values beyond rounding, and the largest relative one of numbers.

    Facts are compared. Words that a person reads may be put better later, and a later version may have
    more to say: keys of WORDS, and those that were not stored, are no difference.
    """
    if isinstance(stored, dict) and isinstance(now, dict):
        found, largest = [], 0.0
        for name in stored:
            if name in WORDS:
                continue
            inner = f"{key}.{name}" if key else name
            if name not in now:
                found.append(Difference(inner, stored[name], None))
                continue
            more, size = compare(stored[name], now[name], inner)
            found, largest = found + more, max(largest, size)
        return found, largest
    if isinstance(stored, list) and isinstance(now, list) and len(stored) == len(now):
        found, largest = [], 0.0
        for k, (a, b) in enumerate(zip(stored, now, strict=True)):
            more, size = compare(a, b, f"{key}[{k}]")
            found, largest = found + more, max(largest, size)
        return found, largest
    if _is_number(stored) and _is_number(now):
        apart = abs(stored - now)
        relative = apart / max(abs(stored), abs(now)) if apart > _NOTHING else 0.0
        return ([Difference(key, stored, now)] if relative > ROUNDING else []), relative
    return ([] if stored == now else [Difference(key, stored, now)]), 0.0


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _plain(value: Any) -> Any:
    """Tuples as lists, as JSON gives them back."""
    if isinstance(value, dict):
        return {key: _plain(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(inner) for inner in value]
    return value


def recordings_in(paths: list[Path]) -> list[Path]:
    """The recordings named, and those in the folders named, recursively, each once."""
    found: list[Path] = []
    for path in paths:
        found += sorted(path.rglob("*.jsonl")) if path.is_dir() else [path]
    return list(dict.fromkeys(found))
