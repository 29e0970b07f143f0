"""Values of the command line, for argparse, that are of no kind that a key has."""

import argparse
import re


def named(text: str) -> str:
    """The name of a file or a job, for argparse: an empty one would be the folder somebody stands in."""
    if not text.strip():
        raise argparse.ArgumentTypeError("the name is empty: give that of a recording")
    return text


def escaped(text: str) -> str:
    """Text of at most 64 characters with \\r, \\n, \\t and \\xHH for what no key types, for argparse."""
    try:
        plain = text.encode("latin-1", "backslashreplace").decode("unicode_escape")
        plain.encode("latin-1")
    except ValueError as error:
        raise argparse.ArgumentTypeError(f"{text[:40]!r}: write it like 'R\\r' or '\\x05'") from error
    if not 0 < len(plain) <= 64:
        raise argparse.ArgumentTypeError(f"{text[:40]!r} must be 1 to 64 characters")
    return plain


def typed(text: str) -> str:
    """The same as it is typed."""
    return text.encode("unicode_escape").decode("ascii")


def factor(text: str) -> float:
    """A number that is not nothing, for argparse."""
    if not 1e-9 <= abs(value := _number(text)) <= 1e9:
        raise argparse.ArgumentTypeError(f"{text[:40]!r} must be a number that is not zero, such as 0.001")
    return value


def roles(text: str) -> tuple[str, ...]:
    """What each number of a line is, for argparse."""
    known = ("value", "angle", "clock", "label")
    words = [word.strip() for word in text.split(",")]
    if any(word not in known for word in words):
        raise argparse.ArgumentTypeError(f"{text[:40]!r}: each is one of {', '.join(known)}")
    return tuple(words)


def share(text: str) -> float:
    """A risk, for argparse: "5 %", "5%" and 5 are five of a hundred, and so is 0.05."""
    from ..entry.lengths import UNSIGNED

    found = re.fullmatch(rf"\s*({UNSIGNED})\s*(%|percent)?\s*", text, re.ASCII)
    value = float(found[1]) if found else 0.0
    part = value / 100.0 if found and (found[2] or value >= 1.0) else value
    if not 0.0 < part < 1.0:
        raise argparse.ArgumentTypeError(
            f"{text[:40]!r} must be more than 0 and less than 100 %: write it like 5%"
        )
    return part


def positive(text: str) -> float:
    """A number above nothing, for argparse."""
    if not 0.0 < (value := _number(text)) < 1e6:
        raise argparse.ArgumentTypeError(f"{text!r} must be a number above 0")
    return value


def _number(text: str) -> float:
    """Nought for what is no number."""
    try:
        return float(text)
    except ValueError:
        return 0.0


_PER_MONTH = {"day": 365.25 / 12.0, "week": 365.25 / 84.0, "month": 1.0, "year": 1.0 / 12.0}


def rate(text: str) -> float:
    """So many a month, for argparse: 20, 20/month, 5/week, "240 a year"."""
    from ..entry.lengths import UNSIGNED

    found = re.fullmatch(
        rf"\s*({UNSIGNED})\s*(?:(?:/|a|per)\s*(day|week|month|year))?\s*", text, re.ASCII | re.I
    )
    value = float(found[1]) * _PER_MONTH[(found[2] or "month").lower()] if found else 0.0
    if not 0.0 < value < 1e5:
        raise argparse.ArgumentTypeError(f"{text[:40]!r}: write how many like 20/month or 5/week")
    return value
