"""Checksums at the end of a line, in two hexadecimal digits: recognised where they are one of the usual, and
checked from then on. XOR as NMEA 0183 has it (over what stands between $ and *), or the sum modulo 256.
"""

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import reduce
from operator import xor
from typing import Final

_HEX: Final = re.compile(r"(?P<body>.*[^0-9A-Fa-f].*?)(?P<check>[0-9A-Fa-f]{2})\s*", re.DOTALL)
_KINDS: Final[Mapping[str, Callable[[bytes], int]]] = {
    "xor": lambda body: reduce(xor, body, 0),
    "sum": lambda body: sum(body) & 0xFF,
    "negative sum": lambda body: -sum(body) & 0xFF,
}
CHECKS: Final = tuple(_KINDS)
_BEFORE: Final = "$!:\x02"
_FEWEST: Final = 2
"""Lines that differ which must fit: a single one does so by chance once in some sixty times."""


def split(line: str) -> tuple[str, str]:
    """A line without its last two hexadecimal digits, and those; "" where it has none."""
    match = _HEX.fullmatch(line)
    return (match["body"], match["check"]) if match is not None else (line, "")


def fits(kind: str, body: str, check: str) -> bool:
    """Whether a checksum of this kind is that of what stands before it, the mark that begins a line or parts
    the checksum counted or not."""
    return any(_KINDS[kind](part) == int(check, 16) for part in _parts(body))


def recognised(lines: Sequence[str]) -> str:
    """The kind of checksum that ends all lines, "" if they end in none that is known."""
    if not all(_HEX.fullmatch(line) for line in lines[:_FEWEST]):
        return ""
    apart = {split(line) for line in lines}
    if len(apart) < _FEWEST or not all(check for _, check in apart):
        return ""
    return next((kind for kind in CHECKS if all(fits(kind, *each) for each in apart)), "")


def _parts(body: str) -> Iterator[bytes]:
    raw = body.encode("latin-1", "replace")
    begins = (0, 1) if body[:1] and body[0] in _BEFORE else (0,)
    ends = (len(raw), len(raw) - 1) if body.endswith("*") else (len(raw),)
    return (raw[begin:end] for begin in begins for end in ends)
