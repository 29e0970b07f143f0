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
from typing import Any, Final

from .errors import ProfileError
from .files import read_toml

DEFAULT: Final = "stream-decimal"
BUILT_IN: Final = (
    "stream-decimal",
    "polled-decimal",
    "angle-and-value",
    "typed",
    "encoder-degrees",
    "encoder-counts",
)

DECIMAL: Final = r"\s*(?P<value>[+-]?\s*(?:\d+\.?\d*|\.\d+))\s*"
PAIR: Final = r"\s*(?P<angle>[+-]?\s*(?:\d+\.?\d*|\.\d+))\s*,\s*(?P<value>[+-]?\s*(?:\d+\.?\d*|\.\d+))\s*"

_GROUPS: Final = {"value", "angle", "unit", "flag", "index", "opposite"}
_UNITS: Final = ("mm", "in", "")
_FORMAT_UNIT: Final = "mm"
"""What the recording format means by a header that names no unit at all."""
LONGEST_PATTERN: Final = 400


@dataclass(frozen=True)
class Profile:
    """Line settings and grammar of one instrument.

    terminator: every one of its characters ends a line.
    request: text sent to ask for a reading, empty for an instrument that streams.
    period_s: how often.
    pattern: a regular expression that a whole line must match, with groups `value` and perhaps `angle`,
        `unit`, `flag` (not empty: the instrument reports a fault), `index` (not empty: an encoder's index
        pulse), `opposite` (a second indicator's value on the same line).
    unit: of the value where the line does not say; "" where nobody has said yet, and each line must.
    scale: factor on the value.
    signs: the characters for plus and minus.
    dtr, rts: state to give these lines; None leaves them as the system has them, since a change resets some
        microcontrollers.
    on_demand: it sends a reading when its own button is pressed, and each is a station.
    """

    name: str = DEFAULT
    baud: int = 9600
    bytesize: int = 8
    parity: str = "N"
    stopbits: float = 1
    terminator: str = "\r\n"
    request: str = ""
    period_s: float = 0.1
    pattern: str = DECIMAL
    unit: str = "mm"
    scale: float = 1.0
    signs: str = "+-"
    dtr: bool | None = None
    rts: bool | None = None
    on_demand: bool = False

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
        """The profile as the `instrument` object of a header."""
        return asdict(self)

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
    unknown = sorted(set(table) - _KEYS)
    if unknown:
        raise ProfileError(name_or_path, f"unknown key {unknown[0]!r}; use {', '.join(sorted(_KEYS))}")
    return _checked({"name": path.stem, "unit": "", **table})


def _checked(table: Mapping[str, Any]) -> Profile:
    name = str(table.get("name", "?"))

    def wrong(key: str, wanted: str) -> ProfileError:
        return ProfileError(name, f"{key} is {str(table.get(key))[:40]!r}, but must be {wanted}")

    def number(key: str, least: float, greatest: float) -> None:
        value = table.get(key, least)
        if isinstance(value, bool) or not isinstance(value, int | float) or not least <= value <= greatest:
            raise wrong(key, f"a number from {least:g} to {greatest:g}")

    def text(key: str, longest: int) -> None:
        if not isinstance(table.get(key, ""), str) or len(table.get(key, "")) > longest:
            raise wrong(key, f"text of at most {longest} characters")

    for key, longest in (("name", 80), ("terminator", 4), ("request", 64), ("pattern", LONGEST_PATTERN)):
        text(key, longest)
    number("baud", 50, 4_000_000)
    number("period_s", 0.001, 3600.0)
    if not isinstance(table.get("baud", 9600), int):
        raise wrong("baud", "a whole number")
    if table.get("bytesize", 8) not in (5, 6, 7, 8):
        raise wrong("bytesize", "5, 6, 7 or 8")
    if table.get("stopbits", 1) not in (1, 1.5, 2):
        raise wrong("stopbits", "1, 1.5 or 2")
    if table.get("parity", "N") not in ("N", "E", "O", "M", "S"):
        raise wrong("parity", "N, E, O, M or S")
    if table.get("unit", "mm") not in _UNITS:
        raise wrong("unit", "mm or in")
    scale = table.get("scale", 1.0)
    if isinstance(scale, bool) or not isinstance(scale, int | float) or not 1e-9 <= abs(scale) <= 1e9:
        raise wrong("scale", "a number that is not zero")
    for key in ("dtr", "rts", "on_demand"):
        if table.get(key) is not None and not isinstance(table[key], bool):
            raise wrong(key, "true or false")
    signs = table.get("signs", "+-")
    if not isinstance(signs, str) or len(signs) != 2 or signs[0] == signs[1]:
        raise wrong("signs", "two characters, plus and minus")
    if not table.get("terminator", "\r\n").isascii() or table.get("terminator", "\r\n") == "":
        raise wrong("terminator", "one or more ASCII characters")
    profile = Profile(**{key: value for key, value in table.items() if key in _KEYS})
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
