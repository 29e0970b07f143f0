"""Finding out how an instrument talks: which line settings make sense of its bytes, and what its lines
hold. Recognition is sans-IO; `settings_to_try` says what to open.
"""

import json
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from .decoder import Decoder
from .profile import DECIMAL, PAIR, Profile
from .readings import Fault, Readings

BAUDS: Final = (9600, 115200, 4800, 19200, 38400, 57600, 2400, 1200)
FRAMES: Final = ((8, "N", 1), (7, "E", 1))
REQUESTS: Final = ("", "\r", "?\r")
ENOUGH: Final = 0.8
"""Share of lines that must make sense for a setting to be believed."""

_VALUE: Final = r"(?P<value>[+-]?\s*(?:\d+\.?\d*|\.\d+))"
_COMMA: Final = r"(?P<value>[+-]?\s*\d+,\d+)"
_UNIT: Final = r"\s*(?P<unit>mm|MM|in|IN|inch|\")"
_FLAG: Final = r"\s*(?P<flag>(?:[Ee][Rr]{1,2}[A-Za-z]*|[Ll][Oo]\s?[Bb][Aa][Tt]+|[Bb][Aa][Tt]|[Oo][Ff]{1,2})?)"

# The plainest first: the first that makes sense of enough lines is taken.
SHAPES: Final = (
    ("one decimal a line", DECIMAL),
    ("one decimal with a comma", rf"\s*{_COMMA}\s*"),
    ("angle and value, with a comma", PAIR),
    ("a decimal with its unit", rf"\s*{_VALUE}{_UNIT}{_FLAG}\s*"),
    ("a decimal with a comma and its unit", rf"\s*{_COMMA}{_UNIT}{_FLAG}\s*"),
    ("angle and value, with a blank or semicolon",
     r"\s*(?P<angle>[+-]?(?:\d+\.?\d*|\.\d+))\s*[;\t ]\s*(?P<value>[+-]?(?:\d+\.?\d*|\.\d+))\s*"),
    ("a decimal after letters", rf"\s*(?:[A-Za-z][A-Za-z0-9]{{0,7}}\s*[:=,]?)\s*{_VALUE}\s*"),
    ("a decimal with its unit after letters",
     rf"\s*(?:[A-Za-z][A-Za-z0-9]{{0,7}}\s*[:=,]?)\s*{_VALUE}{_UNIT}{_FLAG}\s*"),
    ("a decimal and words", rf"\s*{_VALUE}\s*{_FLAG}\s*"),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Understood:
    """What a capture holds. share: of lines that make sense; examples: the first few, as numbers."""

    profile: Profile
    shape: str
    share: float
    lines: int
    examples: tuple[str, ...]


def settings_to_try(baud: int | None = None) -> Iterator[Profile]:
    """Line settings, the usual ones first; those that ask come after those that only listen."""
    for request in REQUESTS:
        for bytesize, parity, stopbits in FRAMES:
            for speed in (baud,) if baud else BAUDS:
                yield Profile(
                    name="heard", baud=speed, bytesize=bytesize, parity=parity, stopbits=stopbits,
                    request=request,
                )  # fmt: skip


def recognise(data: bytes, line: Profile, unit: str = "mm") -> Understood | None:
    """What the bytes of one capture say, taken with the settings of `line`; None if too little does."""
    lines = [part for part in data.replace(b"\r", b"\n").split(b"\n") if part.strip()]
    # The first line may have lost its head, the last its tail.
    whole = b"\n".join(lines[1:-1] if len(lines) > 3 else lines) + b"\n"
    best: Understood | None = None
    for shape, pattern in SHAPES:
        profile = Profile(**{**line.to_header(), "pattern": pattern, "unit": unit})
        understood = _understand(whole, profile, shape)
        if understood is not None and (best is None or understood.share > best.share + 0.05):
            best = understood
    return best if best is not None and best.share >= ENOUGH and best.lines >= 2 else None


def _understand(data: bytes, profile: Profile, shape: str) -> Understood | None:
    decoder = Decoder(profile)
    decoder.feed(data, 0.0)
    good = bad = 0
    examples: list[str] = []
    for event in decoder.events():
        if isinstance(event, Readings):
            good += len(event)
            for k in range(min(len(event), 3 - len(examples))):
                angle = "" if event.angle is None else f" at {event.angle[k]:g} deg"
                examples.append(f"{event.value[k]:g} {event.unit}{angle}")
        elif isinstance(event, Fault) and "reports a fault" not in event.what:
            bad += 1
    if good == 0:
        return None
    return Understood(profile, shape, good / (good + bad), good + bad, tuple(examples))


def as_toml(profile: Profile) -> str:
    """The profile as a file that `load` reads back."""
    text = [
        "# Written by 'coaxly listen'.",
        f"baud = {profile.baud}",
        f"bytesize = {profile.bytesize}",
        f'parity = "{profile.parity}"',
        f"stopbits = {profile.stopbits:g}",
        f"request = {json.dumps(profile.request)}",
        f"pattern = '''{profile.pattern}'''",
        f'unit = "{profile.unit}"',
    ]
    return "\n".join(text) + "\n"
