"""Instrument profiles: how an indicator or encoder talks.

Written in TOML; a few generic ones, named by the shape of their lines, come with the package. The
header of a recording holds the profile in use, so that it replays without any file beside it.
"""

import tomllib
from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields
from functools import cached_property
from importlib import resources
from pathlib import Path
from typing import Annotated, Any, Final, Literal

from msgspec import Meta

from .errors import ProfileError
from .files import amiss, checked, read_toml

DEFAULT: Final = "stream-decimal"
BUILT_IN: Final = (
    "stream-decimal",
    "polled-decimal",
    "angle-and-value",
    "typed",
    "encoder-degrees",
    "encoder-counts",
)

_NUMBER: Final = r"[+-]?\s*(?:\d+\.?\d*|\.\d+)"
DECIMAL: Final = rf"\s*(?P<value>{_NUMBER})\s*"
PAIR: Final = rf"\s*(?P<angle>{_NUMBER})\s*,\s*(?P<value>{_NUMBER})\s*"

_GROUPS: Final = {"value", "angle", "unit", "flag", "index", "opposite", "check", "unused", "sign"}
_FORMAT_UNIT: Final = "mm"
"""What the recording format means by a header that names no unit at all."""
LONGEST_PATTERN: Final = 1200

_SELDOM: Final = ("length", "pause_s", "check", "base", "counts_per_turn", "wrap", "direction")
"""Keys that a header leaves out where they are as usual."""

TYPED: Final = "typed"
"""The profile of readings that a person types."""


@dataclass(frozen=True)
class Profile:
    """Line settings and grammar of one instrument.

    terminator: every one of its characters ends a line.
    request: text sent to ask for a reading, empty for an instrument that streams.
    period_s: how often.
    pattern: a regular expression that a whole line must match, with groups `value` and perhaps `angle`,
        `unit`, `flag` (not empty: the instrument reports a fault), `index` (not empty: an encoder's index
        pulse), `opposite` (a second indicator's value on the same line), `sign` (apart from the number:
        it is minus where it is the second of `signs`), `check` (two hexadecimal digits, a
        checksum), `unused` (the whole line is another channel's: known, and not used).
    unit: of the value where the line does not say; "" where nobody has said yet, and each line must.
    scale: factor on the value.
    signs: the characters for plus and minus.
    dtr, rts: state to give these lines; None leaves them as the system has them, since a change resets some
        microcontrollers.
    length: of every line, bytes, where nothing ends it; 0 where something does.
    pause_s: that ends every line where neither does, s; 0 where something does.
    check: how its checksum is made ("" where it has none, or nobody looks at it): see `line.checksums`.
    base: of an encoder's counts, 10 or 16.
    counts_per_turn, wrap, direction: of an encoder, as `angle.encoder.EncoderScale` has them; 0 counts:
        nobody has said any of them.
    on_demand: it sends a reading when its own button is pressed, and each is a station.
    """

    name: Annotated[str, Meta(max_length=80)] = DEFAULT
    baud: Annotated[int, Meta(ge=50, le=4_000_000)] = 9600
    bytesize: Annotated[int, Meta(ge=5, le=8)] = 8
    parity: Annotated[str, Meta(pattern=r"^[NEOMS]\Z", description="N, E, O, M or S")] = "N"
    stopbits: Annotated[float, Meta(ge=1, le=2, multiple_of=0.5, description="1, 1.5 or 2")] = 1
    terminator: Annotated[
        str, Meta(max_length=4, pattern=r"^[\x00-\x7f]+\Z", description="one to four ASCII characters")
    ] = "\r\n"
    request: Annotated[str, Meta(max_length=64)] = ""
    period_s: Annotated[float, Meta(ge=0.001, le=3600)] = 0.1
    pattern: Annotated[str, Meta(max_length=LONGEST_PATTERN)] = DECIMAL
    unit: Annotated[str, Meta(pattern=r"^(mm|in|)\Z", description="mm or in")] = "mm"
    scale: Annotated[float, Meta(ge=-1e9, le=1e9, description="a number that is not zero")] = 1.0
    signs: Annotated[
        str, Meta(min_length=2, max_length=2, description="two characters, plus and minus, that differ")
    ] = "+-"
    dtr: Annotated[bool | None, Meta(description="true or false")] = None
    rts: Annotated[bool | None, Meta(description="true or false")] = None
    length: Annotated[int, Meta(ge=0, le=256, description="a whole number of bytes from 0 to 256")] = 0
    pause_s: Annotated[float, Meta(ge=0, le=10, description="a number of seconds from 0 to 10")] = 0.0
    check: Annotated[
        str, Meta(pattern=r"^(xor|sum|negative sum|)\Z", description="xor, sum or negative sum")
    ] = ""
    base: Annotated[Literal[10, 16], Meta(description="10 or 16")] = 10
    counts_per_turn: Annotated[float, Meta(ge=0, le=1e12)] = 0.0
    wrap: Annotated[float, Meta(ge=0, le=2**64)] = 0.0
    direction: Annotated[Literal[1, -1], Meta(description="1 or -1")] = 1
    on_demand: Annotated[bool, Meta(description="true or false")] = False

    @property
    def typed(self) -> bool:
        """Whether its readings are typed by a person."""
        return self.name == TYPED

    @cached_property
    def regex(self) -> Any:
        """The compiled pattern. Raises ProfileError for one that cannot be used."""
        return _compile(self.name, self.pattern)

    @property
    def polled(self) -> bool:
        """Whether the instrument speaks only when asked."""
        return bool(self.request)

    @property
    def says_unit(self) -> bool:
        """Whether its lines may say their unit."""
        return "unit" in self.regex.groupindex

    @property
    def has_opposite(self) -> bool:
        """Whether a line holds the readings of two indicators."""
        return "opposite" in self.regex.groupindex

    def to_header(self) -> dict[str, Any]:
        """The profile as the `instrument` object of a header, without what hardly any dial has."""
        usual = Profile()
        return {
            key: value
            for key, value in asdict(self).items()
            if key not in _SELDOM or value != getattr(usual, key)
        }

    @classmethod
    def from_header(cls, instrument: Mapping[str, Any]) -> "Profile":
        """From the `instrument` object of a header: missing keys are those of the profile it names.

        Raises ProfileError. An instrument without a known name starts from the default profile.
        """
        name = instrument.get("profile", instrument.get("name", DEFAULT))
        base = asdict(built_in(name)) if name in BUILT_IN else {}
        values = {key: value for key, value in instrument.items() if key in _KEYS}
        values.setdefault("unit", _FORMAT_UNIT)
        return _checked({**base, **values, "name": str(name)[:80]})


_KEYS: Final = {field.name for field in fields(Profile)}


def built_in(name: str) -> Profile:
    """A profile that comes with the package. Raises ProfileError, naming those there are."""
    if name not in BUILT_IN:
        raise ProfileError(name[:80], f"not known: give a TOML file, or one of {', '.join(BUILT_IN)}")
    text = resources.files(__package__).joinpath("profiles", f"{name}.toml").read_text("utf-8")
    return _checked({"name": name, "unit": "", **tomllib.loads(text)})


def load(name_or_path: str) -> Profile:
    """A built-in profile by name, or one from a TOML file. Raises ProfileError."""
    if name_or_path in BUILT_IN or not name_or_path.endswith(".toml"):
        return built_in(name_or_path)
    path = Path(name_or_path)
    try:
        table = read_toml(path)
    except OSError as error:
        raise ProfileError(name_or_path, error.strerror or str(error)) from error
    except ValueError as error:
        raise ProfileError(name_or_path, str(error)) from error
    return _checked({"name": path.stem, "unit": "", **table})


def _checked(table: Mapping[str, Any]) -> Profile:
    name = str(table.get("name", "?"))
    try:
        profile = checked(Profile, table)
        if abs(profile.scale) < 1e-9:
            raise amiss("scale", profile.scale, "a number that is not zero")
        if profile.signs[0] == profile.signs[1]:
            raise amiss("signs", profile.signs, "two characters, plus and minus, that differ")
        if profile.check and "check" not in profile.regex.groupindex:
            raise amiss("check", profile.check, "left out where the pattern has no group (?P<check>...)")
    except ValueError as error:
        raise ProfileError(name, str(error)) from None
    _ = profile.regex
    return profile


def _compile(name: str, pattern: str) -> Any:
    """RE2 matches in linear time whatever the pattern, so no profile can make the line hang."""
    import re2

    options = re2.Options()
    options.log_errors = False
    options.max_mem = 1 << 20
    try:
        compiled = re2.compile(pattern, options)
    except re2.error as error:
        said = error.args[0] if error.args else "too large"
        text = said.decode("utf-8", "replace") if isinstance(said, bytes) else str(said)
        raise ProfileError(name, f"pattern is no usable regular expression: {text}") from None
    groups = set(compiled.groupindex)
    if "value" not in groups:
        raise ProfileError(name, "pattern needs a group (?P<value>...)")
    if groups - _GROUPS:
        raise ProfileError(name, f"pattern has an unknown group {sorted(groups - _GROUPS)[0]!r}")
    return compiled
