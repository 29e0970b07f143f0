"""Places and settings on the command line: dowel holes, bolts, and dowels as they are set."""

import math
import re
from typing import Final

from coaxly.fitter.dowels.limits import BY_SAE_SIZE, Limit
from coaxly.fitter.dowels.pins import Pins
from coaxly.fitter.dowels.setting import DowelSetting
from coaxly.fitter.geometry import Vector, polar

from .lengths import LengthError, is_length, parse_length

_RING: Final = re.compile(r"\s*(\d{1,3})\s*@([^@]+)(?:@([^@]+))?", re.ASCII)

_CLOCK: Final = re.compile(r"\s*(\d{1,2}):(\d\d)\s*", re.ASCII)
"""A place on the clock, as it is shown everywhere: an hour is 30 degrees."""

_DEGREES: Final = re.compile(r"\s*(.*?)\s*(?:deg(?:rees?)?|\N{DEGREE SIGN})\s*", re.I | re.S)
"""An angle with its unit."""

_EITHER: Final = re.compile(r"\s*([1-9]|1[0-2])(?:\.(\d*))?\s*", re.ASCII)
"""A number that may be an hour: 3, or 3.40, which many write for 3:40."""


def parse_points(text: str) -> list[Vector]:
    """Positions "x,y x,y ..." seen from behind, x right, y up, lengths with units. In mm."""
    points = []
    for word in text.split():
        parts = word.split(",")
        if len(parts) != 2:
            raise LengthError(f"{word[:40]!r} is no position: write x,y such as -5.5in,-1in")
        points.append((parse_length(parts[0]), parse_length(parts[1])))
    return points


def parse_pins(text: str) -> Pins:
    """The two dowel holes. Raises LengthError."""
    points = parse_points(text)
    if len(points) != 2 or math.dist(*points) < 1.0:
        raise LengthError('two dowel holes are needed, apart: write "-5.5in,-1in 5.5in,-1in"')
    return Pins(points[0], points[1])


def pins_perhaps(text: str) -> Pins | None:
    """The same where nothing hangs on it: None where there is no text, or none that can be understood."""
    try:
        return parse_pins(text) if text else None
    except ValueError:
        return None


def parse_bolts(text: str) -> list[Vector]:
    """Bolts as positions, or evenly on a circle, which the trade gives by its diameter: "6@420mm" or
    "6@420mm@30" (first at 30 degrees)."""
    ring = _RING.fullmatch(text)
    if ring is None:
        bolts = parse_points(text)
    else:
        # A job's file keeps this text, and what it meant it goes on meaning: a bare number is degrees.
        count, diameter, first = int(ring[1]), parse_length(ring[2]), _clock_or_degrees(ring[3] or "0")
        if not diameter > 0.0:
            raise LengthError("the diameter of a bolt circle must be more than nothing")
        bolts = [polar(diameter / 2.0, first + 360.0 / count * k) for k in range(count)] if count else []
    if len(bolts) < 3:
        raise LengthError("three bolts at least are needed: write 6@420mm, the diameter, or x,y for each")
    return bolts


def parse_angle(text: str) -> float:
    """Degrees, within a turn either way: 165, -70, 110deg. Raises LengthError."""
    named = _DEGREES.fullmatch(text)
    try:
        deg = float(named[1] if named else text)
    except ValueError:
        deg = math.nan
    if not math.isfinite(deg):
        raise LengthError(f"{text.strip()[:40]!r} is no angle: write degrees, such as 165")
    if abs(deg) > 360.0:
        shown = text.strip()[:40]
        raise LengthError(f"{shown!r} is more than a turn: write 0 to 360 degrees, from 12 o'clock")
    return deg


def parse_direction(text: str) -> float:
    """A direction seen from behind, in degrees or as a place on the clock: 165, 7deg, -70, 5:30.

    Raises LengthError; also where a number may as well be an hour, for a guess would point the wrong way.
    """
    if either := _EITHER.fullmatch(text):
        hour, rest, shown = either[1], either[2] or "", text.strip()[:40]
        minutes = rest if re.fullmatch(r"[0-5]\d", rest) else "00"
        raise LengthError(
            f"{shown!r} may be a clock or degrees: write it like {hour}:{minutes} for a clock, "
            f"{shown}deg for degrees"
        )
    return _clock_or_degrees(text)


def _clock_or_degrees(text: str) -> float:
    if (clock := _CLOCK.fullmatch(text)) is None:
        return parse_angle(text)
    if not 1 <= int(clock[1]) <= 12 or int(clock[2]) > 59:
        raise LengthError(f"{text.strip()!r} is no place on the clock: write 12:00 to 11:59, or degrees")
    return (30.0 * int(clock[1]) + int(clock[2]) / 2.0) % 360.0


def parse_swing(text: str) -> tuple[float, float]:
    """What a plain dial read, "9thou 3:40": largest less smallest, mm, and where it read highest, degrees
    seen from behind. Raises LengthError; where one of them is missing it asks for that."""
    words = text.split()
    for k in range(1, len(words) + 1):
        if not is_length(length := " ".join(words[:k])):
            continue
        if k == len(words):
            raise LengthError(f"{length}: where did it read highest? Write both, such as 9thou 3:40")
        return parse_length(length), parse_direction(" ".join(words[k:]))
    if _CLOCK.fullmatch(text) or _DEGREES.fullmatch(text):
        raise LengthError(
            f"{text.strip()[:40]}: how much did it read, largest less smallest? "
            "Write both, such as 9thou 3:40"
        )
    parse_length(" ".join(words[:-1]) or text)  # says what is amiss with it
    raise LengthError(f"{text.strip()[:40]!r}: write both numbers, such as 9thou 3:40")


def parse_setting(text: str) -> DowelSetting:
    """Dowels as set: "5thou@165" for a parallel pair, "10thou@28,5thou@70" for two unlike ones, "none"
    for straight ones (offset nothing)."""
    dowels = _each_way(text, "is no dowel: write offset@direction, such as 5thou@165 or 5thou@5:30")
    if any(not offset > 0.0 for offset, _ in dowels):
        raise LengthError("a dowel's offset must be more than nothing")
    if len(dowels) > 2:
        raise LengthError("one dowel setting for a parallel pair, or two")
    return DowelSetting.of(dowels)


def parse_shims(text: str) -> tuple[tuple[float, float], ...]:
    """Shims as they went in, "2thou@60,5thou@120": direction (degrees from behind) and thickness (mm) of
    each; "none" for none. Raises LengthError."""
    shims = _each_way(text, "is no shim: write thickness@degrees, such as 2thou@60")
    return tuple((deg % 360.0, thickness) for thickness, deg in shims)


_WHOLE: Final = re.compile(r"\s*\d+", re.ASCII)
_ENDS_OPEN: Final = re.compile(r".*@\s*[+-]?\d+", re.ASCII | re.S)
"""Degrees that digits after a comma may belong to."""


def _apart(text: str) -> list[str]:
    """Parts between commas. One after a whole number that stands alone is its decimal comma, unless that
    number may be decimals itself: 5,5thou@12:00 is one part, and 7thou@165,5,5thou@9:00 leaves a 5 alone."""
    parts: list[str] = []
    for part in text.split(","):
        alone = bool(parts) and _WHOLE.fullmatch(parts[-1]) and part[:1].isdecimal()
        if alone and not (len(parts) > 1 and _ENDS_OPEN.fullmatch(parts[-2])):
            parts[-1] += f",{part}"
        else:
            parts.append(part)
    return parts


def _each_way(text: str, otherwise: str) -> list[tuple[float, float]]:
    """Lengths with their directions, mm and degrees; "none" is none. otherwise: what is said of a part that
    has no direction. Raises LengthError."""
    found = []
    for part in _apart(text) if text.strip().lower() != "none" else ():
        size, at, direction = part.partition("@")
        if not at:
            point = (
                "; a decimal comma is better a point here" if "," in text and _WHOLE.fullmatch(part) else ""
            )
            raise LengthError(f"{part.strip()[:40]!r} {otherwise}{point}")
        found.append((parse_length(size), parse_direction(direction)))
    return found


_LEAST_LIMIT_MM: Final = 0.001
"""The step of the finest dials that are read at an engine (common practice, no source)."""


def parse_limit(text: str) -> Limit:
    """A permitted TIR: a length, or "sae1" for the published one of that housing size."""
    name = text.strip().lower()
    if name.startswith("sae"):
        size = name.removeprefix("sae").strip(" -#")
        if size not in BY_SAE_SIZE:
            known = ", ".join(f"sae{known}" for known in BY_SAE_SIZE)
            raise LengthError(f"no published limit for {text.strip()[:20]!r}: there are {known}")
        return BY_SAE_SIZE[size]
    tir = parse_length(text)
    if not tir >= _LEAST_LIMIT_MM:
        raise LengthError(
            f"{text.strip()[:40]} is no limit: it must be {_LEAST_LIMIT_MM:g}mm or more, as dials show"
        )
    return Limit(tir, "")
