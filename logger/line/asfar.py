"""How far a line fits a pattern that it does not match, as a profile by hand may have it. Sans-IO."""

from collections.abc import Iterator
from functools import lru_cache
from typing import Any


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
