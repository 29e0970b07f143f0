"""A profile against lines as they come: what it makes of each kind of them, and why not."""

from collections import Counter
from collections.abc import Iterator
from functools import lru_cache
from typing import Any, Final

from coaxly.logger.line.framing import Framing, split
from coaxly.logger.line.grammar import Said, said
from coaxly.logger.profile import Profile

from ..job.many.openline import OpenLine
from ..say.sweep.markwords import says

_END: Final = b"\n"
_SHOWN: Final = 3
"""Lines of each kind that are shown."""


async def heard_for(port: str, profile: Profile, seconds: float) -> bytes:
    """What comes within the time, asked for where the profile asks; pauses that end lines are written as
    ends. Raises PortError."""
    data = bytearray()
    pause = _END if profile.pause_s else b""
    async with OpenLine(port, profile, lambda came: data.extend(came or pause)) as line:
        await line.listen(seconds)
    return bytes(data)


def explained(profile: Profile, data: bytes) -> tuple[list[str], bool]:
    """Sentences about its lines, and whether all of them are understood. The first may have lost its head."""
    ends = _END.decode() if profile.pause_s else profile.terminator
    lines = split(data, Framing(ends, profile.length))[0][1:]
    told: dict[str, list[str]] = {}
    counts: Counter[str] = Counter()
    for line in lines:
        kind, words = _about(profile, line)
        counts[kind] += 1
        told.setdefault(kind, []).append(f"  {line.decode('latin-1')!r}: {words}")
    kinds = [f"{counts[kind]} of {len(lines)} lines: {kind}" for kind in told]
    shown = [[kind, *dict.fromkeys(told[name])][: _SHOWN + 1] for kind, name in zip(kinds, told, strict=True)]
    fine = bool(lines) and set(told) <= {_READ, _SAYS, _PASSED} and _READ in told
    return [words for group in shown for words in group] or ["no whole line came"], fine


_READ, _SAYS, _PASSED, _NOT = "read", "the instrument speaks of itself", "passed over", "not read"


def _about(profile: Profile, line: bytes) -> tuple[str, str]:
    found = said(profile, line)
    if isinstance(found, Said):
        angle = "" if found.angle is None else f" at {found.angle:g} deg"
        return _READ, f"{found.value:g} {found.unit}{angle}"
    if found.mark:
        return _SAYS, says(found.mark)
    if not found.what:
        return _PASSED, "blank, or another channel's"
    text = line.decode("latin-1")
    if profile.regex.fullmatch(text) is not None:
        return _NOT, found.what
    far = fits_as_far_as(profile.pattern, text)
    if far == len(text):
        return _NOT, "it ends where the pattern wants more"
    fine = f"fits the pattern as far as {text[:far]!r}: " if far else ""
    return _NOT, f"{fine}character {far + 1}, {text[far]!r}, is not what the pattern wants there"


def fits_as_far_as(pattern: str, text: str) -> int:
    """How many characters of a line are as some beginning of the pattern wants them."""
    ends = (match.end() for begin in _beginnings(pattern) if (match := begin.match(text)) is not None)
    return max(ends, default=0)


@lru_cache(8)
def _beginnings(pattern: str) -> tuple[Any, ...]:
    """The pattern cut at each place where what is left is one, too."""
    import re2

    options = re2.Options()
    options.log_errors = False
    options.longest_match = True
    found = []
    for cut, still_open in _places(pattern):
        try:
            found.append(re2.compile(pattern[:cut] + ")" * still_open, options))
        except re2.error:
            continue
    return tuple(found)


def _places(pattern: str) -> Iterator[tuple[int, int]]:
    """Where it may be cut, not within a class or an escape, and how many groups are open there."""
    depth, in_class, escaped = 0, False, False
    for at, c in enumerate(pattern, 1):
        if escaped:
            escaped = False
        elif c == "\\":
            escaped = True
        elif in_class:
            in_class = c != "]"
        elif c == "[":
            in_class = True
        elif c in "()":
            depth += 1 if c == "(" else -1
        if not escaped and not in_class:
            yield at, max(depth, 0)
