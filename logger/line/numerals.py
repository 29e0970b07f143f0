"""Many lines of plain numbers at once: the bits of `float` on each line, or None where one is anything else.

Whatever is decoded here must come out as if it had gone line by line; the callers fall back to that
when they are told None.
"""

import re
from typing import Final

import numpy as np
from numpy.typing import NDArray

from ..readings import Floats

DEGREES: Final = r"\s*(?:[A-Za-z]{1,8}\s*[:=]?)?\s*(?P<value>[+-]?\s*(?:\d+\.?\d*|\.\d+))\s*"
COUNTS: Final = r"\s*(?:[A-Za-z]{1,8}\s*[:=])?\s*(?P<value>[+-]?\d+)\s*(?P<index>[Zz]?)\s*"
"""The patterns of the built-in encoders."""

_WORD: Final = re.compile(rb"[ \t]*[A-Za-z]{1,8}[ \t]*[:=]?[ \t]*(?=[0-9+.-])")
_LABEL: Final = re.compile(rb"[ \t]*[A-Za-z]{1,8}[ \t]*[:=][ \t]*(?=[0-9+-])")


def numbers(text: bytes, count: int) -> Floats | None:
    """The `count` numbers of lines that hold nothing but digits, signs, points, commas and CR or LF.

    A comma parts two numbers of a line. Shape (count,); None where one of them is none.
    """
    try:
        found = np.array(list(map(float, text.replace(b",", b"\n").split())), dtype=np.float64)
    except ValueError:
        return None
    return found if len(found) == count else None


def without_word(line: bytes, pattern: str) -> bytes:
    """What stands before the number of an encoder's line: b"A " of b"A 045.2"."""
    match = (_LABEL if pattern == COUNTS else _WORD).match(line)
    return match[0] if match else b""


def stripped(text: bytes, word: bytes, lines: int) -> bytes | None:
    """The lines without the `word` that each of them begins with; None where one does not."""
    if not word:
        return text
    starts = text.startswith(word) + sum(text.count(end + word) for end in (b"\r", b"\n"))
    return text.replace(word, b"") if starts == lines == text.count(word) else None


def one_comma_each(text: bytes, ends: NDArray[np.int64]) -> bool:
    """Whether there is one comma before each end and after the one before it."""
    commas = np.flatnonzero(np.frombuffer(text, dtype=np.uint8) == ord(","))
    return len(commas) == len(ends) and bool((commas < ends).all() and (ends[:-1] < commas[1:]).all())


def pulses(text: bytes, ends: NDArray[np.int64]) -> tuple[NDArray[np.bool_], bytes]:
    """Which lines end in the Z of an index pulse, and the text without those."""
    marks = np.zeros(len(ends), dtype=bool)
    if b"Z" in text:
        marks = np.frombuffer(text, dtype=np.uint8)[ends - 1] == ord("Z")
        if int(marks.sum()) != text.count(b"Z"):
            return marks, b"?"
        text = text.replace(b" Z", b"").replace(b"Z", b"")
    return marks, text
