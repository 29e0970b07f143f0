"""Many lines of plain numbers at once: the bits of `float` on each line, or None where one is anything else.

Whatever is decoded here must come out as if it had gone line by line; the callers fall back to that
when they are told None.
"""

import re
from typing import Final

import msgspec
import numpy as np
from numpy.typing import NDArray

from ..readings import Floats

DEGREES: Final = r"\s*(?:[A-Za-z]{1,8}\s*[:=]?)?\s*(?P<value>[+-]?\s*(?:\d+\.?\d*|\.\d+))\s*"
COUNTS: Final = r"\s*(?:[A-Za-z]{1,8}\s*[:=])?\s*(?P<value>[+-]?\d+)\s*(?P<index>[Zz]?)\s*"
"""The patterns of the built-in encoders."""

_FEWEST: Final = 8
_EXACT_DIGITS: Final = 15  # so many digits are a whole number that a float holds exactly
_NUMBER: Final = re.compile(rb"([+-]?)(\d*)(\.?)(\d*)([\r\n]+)")
_WORD: Final = re.compile(rb"[ \t]*[A-Za-z]{1,8}[ \t]*[:=]?[ \t]*(?=[0-9+.-])")
_LABEL: Final = re.compile(rb"[ \t]*[A-Za-z]{1,8}[ \t]*[:=][ \t]*(?=[0-9+-])")
_TO_COMMAS: Final = bytes.maketrans(b"\r\n", b",,")
_json: Final = msgspec.json.Decoder(list[float])


def numbers(text: bytes, count: int) -> Floats | None:
    """The `count` numbers of lines that hold nothing but digits, signs, points, commas and CR or LF.

    A comma parts two numbers of a line. Shape (count,); None where one of them is none.
    """
    plain = _by_shape(text, count)
    if plain is None:
        plain = _by_json(text)
    if plain is None:
        try:
            words = text.replace(b",", b"\n").decode("ascii").split()
            plain = np.array(list(map(float, words)), dtype=np.float64)
        except ValueError:
            return None
    return plain if len(plain) == count else None


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


def _by_shape(text: bytes, count: int) -> Floats | None:
    """Lines that all have the shape of the first, such as `+00.1234`, as a table of digits.

    Digits make a whole number, which is exact, and one division by a power of ten, which is rounded
    once: just what `float` promises (W. D. Clinger, "How to read floating point numbers accurately",
    PLDI 1990).
    """
    width, odd = divmod(len(text), max(count, 1))
    match = None if odd or count < _FEWEST else _NUMBER.fullmatch(text[:width])
    if match is None:
        return None
    sign, whole, point, part, _ = match.groups()
    if not 1 <= len(whole) + len(part) <= _EXACT_DIGITS:
        return None
    table = np.frombuffer(text, dtype=np.uint8).reshape(count, width)
    fixed = [*range(match.start(5), width), *([match.start(3)] if point else [])]
    if any((table[:, k] != text[k]).any() for k in fixed):
        return None
    value = np.zeros(count)
    for begin, end in (match.span(2), match.span(4)):
        if end > begin:
            digits = table[:, begin:end] - np.uint8(ord("0"))
            if digits.max() > 9:
                return None
            powers = 10.0 ** np.arange(end - begin - 1, -1, -1)
            value = value * 10.0 ** (end - begin) + digits.astype(np.float64) @ powers
    value /= 10.0 ** len(part)
    return _signed(value, table[:, 0]) if sign else value


def _signed(value: Floats, signs: NDArray[np.uint8]) -> Floats | None:
    minus = signs == ord("-")
    if not (minus | (signs == ord("+"))).all():
        return None
    return np.where(minus, -value, value)


def _by_json(text: bytes) -> Floats | None:
    """Numbers written as JSON has them; a plus sign is taken off first."""
    body = text.strip(b"\r\n")
    drop = b""
    if b"\r" in body and (feeds := body.count(b"\n")):
        if not feeds == body.count(b"\r") == body.count(b"\r\n"):
            return None
        drop = b"\r"
    if pluses := body.count(b"+"):
        leading = body.startswith(b"+") + sum(body.count(before + b"+") for before in (b"\r", b"\n", b","))
        if leading != pluses or b"+-" in body:
            return None
        drop += b"+"
    try:
        return np.array(_json.decode(b"[%b]" % body.translate(_TO_COMMAS, drop)), dtype=np.float64)
    except msgspec.MsgspecError:
        return None
