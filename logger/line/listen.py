"""Finding out how an instrument talks: which line settings make sense of its bytes, and what its lines hold.
Recognition is sans-IO; `settings_to_try` says what to open.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from ..marks import MARKS, FaultKind, mark_of
from ..profile import LONGEST_PATTERN, Profile
from ..readings import Fault, Readings
from .checksums import recognised, split
from .decoder import Decoder
from .finder import Found, find
from .framing import USUAL, Framing
from .grammar import number
from .lines import Phase
from .pattern import CHECKSUM, pattern_of
from .questions import Question, Role, Told

BAUDS: Final = (9600, 115200, 4800, 19200, 38400, 57600, 2400, 1200, 230400, 14400, 600, 300)
FRAMES: Final = ((8, "N", 1), (7, "E", 1), (7, "O", 1), (7, "N", 2), (8, "E", 1), (8, "O", 1))
_RARE: Final = {230400, 14400, 600, 300}
ENOUGH: Final = 0.8
"""Share of lines that must make sense for a setting to be believed."""

_DIGIT: Final = re.compile(r"\d")
_UNKNOWN_CHECK: Final = re.compile(rf".*\*{CHECKSUM}\s*", re.DOTALL)


@dataclass(frozen=True, slots=True)
class Understood:
    """What a capture holds.

    share: of lines that make sense; those by which the instrument says something of itself are left out.
    examples: the first few, as numbers (with their unit, if it is known).
    fields: of each number of a line a few texts, how it behaves, and what it is taken for.
    question: what remains open about them, None if nothing.
    check: "ignored" for a checksum that is none of the usual, else that of the profile.
    moved: whether the reading was seen to follow the plunger.
    says: what the instrument says of itself on every line, "" as a rule.
    """

    profile: Profile
    shape: str
    share: float
    lines: int
    examples: tuple[str, ...]
    fields: tuple[tuple[tuple[str, ...], str, Role], ...] = ()
    question: Question | None = None
    check: str = ""
    moved: bool = False
    says: FaultKind = ""

    @property
    def unit_known(self) -> bool:
        """Whether the lines, or somebody, said the unit."""
        return bool(self.profile.unit) or self.profile.says_unit

    @property
    def has_angle(self) -> bool:
        """Whether each line holds the crank's angle as well."""
        return "angle" in self.profile.regex.groupindex


def settings_to_try(baud: int | None = None) -> Iterator[Profile]:
    """Line settings that only listen, the usual ones first."""
    for rare in (False, True):
        for k, (bytesize, parity, stopbits) in enumerate(FRAMES):
            for speed in (baud,) if baud else BAUDS:
                if ((k > 1) or (speed in _RARE and not baud)) is rare:
                    yield Profile(
                        name="heard", baud=speed, bytesize=bytesize, parity=parity, stopbits=stopbits
                    )


def recognise_lines(
    heard: Mapping[Phase, Sequence[str]], line: Profile, framing: Framing = USUAL, told: Told | None = None
) -> Understood | None:
    """What the whole lines of captures say, taken with the settings of `line`; None if too little does.

    heard: what came in each phase, at least in "heard". Raises ValueError, in words, for roles in `told` that
    cannot be.
    """
    told = told or Told()
    echo = line.request.strip()
    heard = {
        phase: [text for text in lines if not echo or text.strip() != echo] for phase, lines in heard.items()
    }
    everything = [text for lines in heard.values() for text in lines]
    if not any(map(readable, everything)):
        return None
    numbers = [text for text in everything if _DIGIT.search(text) and mark_of(text) is None]
    check = recognised(numbers)
    ignored = not check and len(numbers) > 1 and all(map(_UNKNOWN_CHECK.fullmatch, numbers))
    if check or ignored:
        heard = {phase: [split(text)[0] for text in lines] for phase, lines in heard.items()}
    found = find(heard, told)
    if found is None:
        return _only_says(everything, line)
    ends_in = "checked" if check else "ignored" if ignored else ""
    pattern = pattern_of(found, ends_in, echo, exact=framing.pause_s > 0.0)
    if not pattern or len(pattern) > LONGEST_PATTERN:
        return None
    profile = replace(
        line, pattern=pattern, unit=told.unit, check=check, terminator=framing.terminator,
        length=framing.length, pause_s=framing.pause_s, scale=told.factor or 1.0,
    )  # fmt: skip
    best = _understand(everything, profile, found)
    if best is None or best.share < ENOUGH or best.lines < 2:
        return None
    return replace(best, check=check or ends_in)


@dataclass(frozen=True, slots=True)
class Trial:
    """A profile on fresh lines: share that it reads, how far the number went (as sent), how many lines."""

    share: float
    swing: float
    lines: int


def tried(profile: Profile, lines: Sequence[str]) -> Trial:
    """A profile on fresh lines."""
    blocks, bad = _decoded(profile, lines)
    good = sum(map(len, blocks))
    numbers = [found for line in lines if (found := raw_of(profile, line.strip())) is not None]
    swing = max(numbers, default=0.0) - min(numbers, default=0.0)
    return Trial(good / max(good + bad, 1), swing, good + bad)


def reading_of(profile: Profile, line: str) -> str:
    """The number of a line that is its reading, as it was sent; "" where the line holds none."""
    match = profile.regex.fullmatch(line)
    return str(match["value"] or "").strip() if match is not None else ""


def unit_of(profile: Profile, line: str) -> str:
    """The word of a line that says its unit; "" where none does."""
    match = profile.regex.fullmatch(line)
    word = match.groupdict().get("unit") if match is not None else None
    return (word or "").replace("\xc2\xb5", "\xb5").replace("\xce\xbc", "\xb5").strip()


def raw_of(profile: Profile, line: str) -> float | None:
    """The same as a number, without any factor."""
    return number(reading_of(profile, line) or None, profile.signs)


def readable(text: str) -> bool:
    """Whether a line is text; at a wrong speed lines come as bytes that are none."""
    return all(" " <= c <= "~" or c in "\t\x1b\x02\x03\x00\xb5\xb0\xc2\xce\xbc\xe2\x88\x92" for c in text)


def _only_says(lines: Sequence[str], line: Profile) -> Understood | None:
    """Lines that hold no reading since their instrument says something of itself on every one."""
    said = [mark_of(text) for text in lines]
    if len(said) < 2 or None in said:
        return None
    most = max(MARKS, key=said.count)
    return Understood(line, "", 1.0, len(lines), tuple(dict.fromkeys(lines))[:3], says=most)


def _decoded(profile: Profile, lines: Sequence[str]) -> tuple[list[Readings], int]:
    """The readings of lines, and how many are none; those by which the instrument says something of itself
    are left out."""
    end = "" if profile.length else profile.terminator[0]
    decoder = Decoder(profile)
    if profile.pause_s:
        raw = [text.encode("latin-1") for text in lines]
        lengths = [length for line in raw for length in (len(line), 0)]
        decoder.feed_many(b"".join(raw), lengths, [0.0] * len(lengths))
    else:
        decoder.feed("".join(text + end for text in lines).encode("latin-1"), 0.0)
    events = list(decoder.events())
    bad = sum(isinstance(event, Fault) and not event.kind for event in events)
    return [event for event in events if isinstance(event, Readings)], bad


def _understand(lines: Sequence[str], profile: Profile, found: Found) -> Understood | None:
    blocks, bad = _decoded(profile, lines)
    good = sum(map(len, blocks))
    if good == 0:
        return None
    examples: list[str] = []
    for block in blocks:
        said = f" {block.unit}" if profile.unit or profile.says_unit else ""
        for k in range(min(len(block), 3 - len(examples))):
            angle = "" if block.angle is None else f" at {block.angle[k]:g} deg"
            examples.append(f"{block.value[k]:g}{said}{angle}")
    shape = " and ".join(role for role in found.roles if role in ("value", "angle"))
    return Understood(
        profile, shape, good / (good + bad), good + bad, tuple(examples), tuple(found.describe()),
        found.question, moved=found.moved,
    )  # fmt: skip


def as_toml(profile: Profile) -> str:
    """The profile as a file that `load` reads back: what every dial has, and what differs from the usual."""
    import tomli_w

    always = ("baud", "bytesize", "parity", "stopbits", "request", "pattern")
    usual = Profile(unit="").to_header()
    table = {
        key: value
        for key, value in profile.to_header().items()
        if key != "name" and (key in always or (value is not None and value != usual.get(key)))
    }
    return "# Written by 'coaxly listen'.\n" + tomli_w.dumps(table)
