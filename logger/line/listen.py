"""Finding out how an instrument talks: which line settings make sense of its bytes, and what its lines
hold. Recognition is sans-IO; `settings_to_try` says what to open.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from ..profile import DECIMAL, LONGEST_PATTERN, PAIR, Profile
from ..readings import Fault, Readings
from .decoder import Decoder
from .finder import FLAG, Found, Phase, Role, find

BAUDS: Final = (9600, 115200, 4800, 19200, 38400, 57600, 2400, 1200)
FRAMES: Final = ((8, "N", 1), (7, "E", 1))
REQUESTS: Final = ("", "\r", "?\r")
ENOUGH: Final = 0.8
"""Share of lines that must make sense for a setting to be believed."""

_VALUE: Final = r"(?P<value>[+-]?\s*(?:\d+\.?\d*|\.\d+))"
_COMMA: Final = r"(?P<value>[+-]?\s*\d+,\d+)"
_UNIT: Final = r"\s*(?P<unit>mm|MM|in|IN|inch|\")"

# The plainest first: the first that makes sense of enough lines is taken.
SHAPES: Final = (
    ("one decimal a line", DECIMAL),
    ("one decimal with a comma", rf"\s*{_COMMA}\s*"),
    ("angle and value, with a comma", PAIR),
    ("a decimal with its unit", rf"\s*{_VALUE}{_UNIT}{FLAG}\s*"),
    ("a decimal with a comma and its unit", rf"\s*{_COMMA}{_UNIT}{FLAG}\s*"),
    ("angle and value, with a blank or semicolon",
     r"\s*(?P<angle>[+-]?(?:\d+\.?\d*|\.\d+))\s*[;\t ]\s*(?P<value>[+-]?(?:\d+\.?\d*|\.\d+))\s*"),
    ("a decimal after letters", rf"\s*(?:[A-Za-z][A-Za-z0-9]{{0,7}}\s*[:=,]?)\s*{_VALUE}\s*"),
    ("a decimal with its unit after letters",
     rf"\s*(?:[A-Za-z][A-Za-z0-9]{{0,7}}\s*[:=,]?)\s*{_VALUE}{_UNIT}{FLAG}\s*"),
    ("a decimal and words", rf"\s*{_VALUE}\s*{FLAG}\s*"),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Understood:
    """What a capture holds.

    share: of lines that make sense.
    examples: the first few, as numbers (with their unit, if it is known).
    fields: what each number of a line is taken for, in words.
    question: what remains open about them, "" if nothing.
    unmoved: how many that might be an angle at rest were taken for names, since they stayed.
    """

    profile: Profile
    shape: str
    share: float
    lines: int
    examples: tuple[str, ...]
    fields: tuple[str, ...] = ()
    question: str = ""
    unmoved: int = 0

    @property
    def unit_known(self) -> bool:
        """Whether the lines, or somebody, said the unit."""
        return bool(self.profile.unit) or self.profile.says_unit

    @property
    def has_angle(self) -> bool:
        """Whether each line holds the crank's angle as well."""
        return "angle" in self.profile.regex.groupindex


def settings_to_try(baud: int | None = None) -> Iterator[Profile]:
    """Line settings, the usual ones first; those that ask come after those that only listen."""
    for request in REQUESTS:
        for bytesize, parity, stopbits in FRAMES:
            for speed in (baud,) if baud else BAUDS:
                yield Profile(
                    name="heard", baud=speed, bytesize=bytesize, parity=parity, stopbits=stopbits,
                    request=request,
                )  # fmt: skip


def recognise(
    data: bytes,
    line: Profile,
    unit: str = "",
    told: Sequence[Role] | None = None,
    more: Mapping[Phase, bytes] | None = None,
) -> Understood | None:
    """What the bytes of one capture say, taken with the settings of `line`; None if too little does.

    unit: of the dial, if somebody said it. told: what each number of a line is, if somebody knows. more:
    what was heard while the plunger or the crank was moved. Raises ValueError, in words, for roles in
    `told` that cannot be.
    """
    heard: dict[Phase, list[str]] = {"heard": _whole_lines(data)}
    heard.update({phase: _whole_lines(bytes_) for phase, bytes_ in (more or {}).items()})
    whole = "\n".join(text for lines in heard.values() for text in lines).encode("latin-1") + b"\n"
    best: Understood | None = None
    for shape, pattern in SHAPES:
        profile = Profile(**{**line.to_header(), "pattern": pattern, "unit": unit})
        understood = _understand(whole, profile, shape)
        if understood is not None and (best is None or understood.share > best.share + 0.05):
            best = understood
    if best is not None and (best.share < ENOUGH or best.lines < 2):
        best = None
    found = find(heard, told) if all(map(_readable, heard["heard"])) else None
    if found is None:
        return best
    if best is None or _taken_otherwise(best, found):
        if len(found.pattern) > LONGEST_PATTERN:
            return best
        profile = Profile(**{**line.to_header(), "pattern": found.pattern, "unit": unit})
        best = _understand(whole, profile, " and ".join(found.roles))
    if best is None or best.share < ENOUGH or best.lines < 2:
        return None
    roles = zip(found.shape.fields, found.roles, strict=True)
    unmoved = sum(role == "label" and not field.plain for field, role in roles)
    return replace(best, fields=tuple(found.describe()), question=found.question, unmoved=unmoved)


def reading_of(profile: Profile, line: str) -> str:
    """The number of a line that is its reading, as it was sent; "" where the line holds none."""
    match = profile.regex.fullmatch(line)
    return str(match["value"]).strip() if match is not None else ""


def _whole_lines(data: bytes) -> list[str]:
    lines = [part for part in data.replace(b"\r", b"\n").split(b"\n") if part.strip()]
    # The first line may have lost its head, the last its tail.
    return [part.decode("latin-1") for part in (lines[1:-1] if len(lines) > 3 else lines)]


def _readable(text: str) -> bool:
    """Whether a line is text; at a wrong speed lines come as bytes that are none."""
    return all(" " <= c <= "~" or c in "\t\xb5" for c in text)


def _taken_otherwise(best: Understood, found: Found) -> bool:
    """Whether the fields behave otherwise than the plain shape would have them."""
    roles = [role for role in found.roles if role != "label"]
    return roles != (["angle", "value"] if best.has_angle else ["value"])


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
                said = f" {event.unit}" if profile.unit or profile.says_unit else ""
                examples.append(f"{event.value[k]:g}{said}{angle}")
        elif isinstance(event, Fault) and not event.kind:
            bad += 1
    if good == 0:
        return None
    return Understood(profile, shape, good / (good + bad), good + bad, tuple(examples))


def as_toml(profile: Profile) -> str:
    """The profile as a file that `load` reads back."""
    import tomli_w

    keys = ("baud", "bytesize", "parity", "stopbits", "request", "pattern", "unit")
    table = {key: value for key, value in profile.to_header().items() if key in keys}
    if not profile.unit:
        del table["unit"]
    return "# Written by 'coaxly listen'.\n" + tomli_w.dumps(table)
