"""Are the bytes of a recording those that were written? Every seal is computed anew."""

import hashlib
import json
from dataclasses import dataclass
from pathlib import Path
from typing import Final, Literal

import msgspec

from .errors import RecordingError
from .reader import LONGEST_LINE
from .records import Seal

State = Literal["ok", "unsealed", "changed"]

_seal: Final = msgspec.json.Decoder(Seal)


@dataclass(frozen=True, slots=True)
class SealReport:
    """state: "ok" (sealed to the end), "unsealed" (no seal, or whole records after the last), "changed".
    what: where, in words. seals: how many hold."""

    state: State
    what: str
    seals: int


def check_seals(path: Path) -> SealReport:
    """Walk through the file once. Raises RecordingError if it cannot be read."""
    digest = hashlib.sha256()
    lines = good = sealed_at = 0
    finished = ours = False
    last_t: float | None = None
    tail = b""
    try:
        with path.open("rb") as file:
            while line := file.readline(LONGEST_LINE + 1):
                if len(line) > LONGEST_LINE:
                    raise RecordingError(path, lines + 1, "the line is too long to be a record")
                seal = _seal_of(line)
                if lines == 0:
                    ours = b'"software"' in line
                if seal is not None:
                    if seal.sha256 != digest.hexdigest() or seal.lines != lines:
                        return _changed(sealed_at, lines + 1, good)
                    if not _as_written(line) or (ours and last_t is not None and seal.t != last_t):
                        return _changed(lines, lines + 1, good)
                    good, sealed_at, tail = good + 1, lines + 1, b""
                else:
                    tail = line
                    finished = finished or b'"kind":"result"' in line
                    last_t = _time_of(line, last_t)
                digest.update(line)
                lines += 1
    except OSError as error:
        raise RecordingError(path, 0, error.strerror or str(error)) from error
    if good == 0:
        return SealReport("unsealed", "it was never sealed", 0)
    if not tail:
        return SealReport("ok", f"{good} seals hold", good)
    if finished or not tail.endswith(b"\n") or not _is_record(tail):
        return _changed(sealed_at, lines, good)
    return SealReport("unsealed", f"lines {sealed_at + 1} to {lines} have no seal", good)


def _changed(after: int, upto: int, good: int) -> SealReport:
    span = f"between line {after + 1} and line {upto}" if upto > after + 1 else f"in line {upto}"
    return SealReport("changed", f"bytes were changed, added or removed {span}", good)


def _seal_of(line: bytes) -> Seal | None:
    try:
        return _seal.decode(line)
    except (msgspec.MsgspecError, RecursionError, UnicodeDecodeError):
        return None


def _as_written(line: bytes) -> bool:
    """Whether a seal's line is what a writer of JSON would put: nothing else protects the last one."""
    if not line.endswith(b"\n"):
        return False
    try:
        pairs = json.loads(line, object_pairs_hook=list)
        keys = [key for key, _ in pairs]
        again = [json.dumps(dict(pairs), separators=form).encode() for form in ((",", ":"), (", ", ": "))]
    except (ValueError, TypeError, RecursionError):
        return False
    return line[:-1] in again and sorted(keys) == ["kind", "lines", "sha256", "t"]


def _is_record(line: bytes) -> bool:
    try:
        return isinstance(msgspec.json.decode(line), dict)
    except (msgspec.MsgspecError, RecursionError, UnicodeDecodeError):
        return False


class _Timed(msgspec.Struct):
    t: float | None = None


def _time_of(line: bytes, before: float | None) -> float | None:
    try:
        t = msgspec.json.decode(line, type=_Timed).t
    except (msgspec.MsgspecError, RecursionError, UnicodeDecodeError):
        return before
    return before if t is None else t
