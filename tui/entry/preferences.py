"""What the user has set, and what was chosen last time. The settings file is read and never written; the
choices live in a state file of their own.
"""

import json
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Annotated, Any, Final, Literal

from msgspec import Meta
from platformdirs import user_config_path, user_state_path

from coaxly.logger.files import checked, read_small, read_toml

from ..errors import UsageError
from ..terminal import Glyphs

_APP: Final = "coaxly"
TAKE_KEYS: Final = ("space", "enter", "pagedown")

_NAMES: Final = {
    *("space", "enter", "tab", "escape", "backspace", "insert", "delete", "home", "end"),
    *("pageup", "pagedown", "up", "down", "left", "right"),
    *(f"f{k}" for k in range(1, 25)),
}
_OTHER_KEYS: Final = frozenset("urfmdhqnpto")
"""Letters that the measuring screen knows already."""

_Unit = Annotated[Literal["thou", "in", "mm", "um"], Meta(description="one of thou, in, mm, um")]
_Theme = Annotated[Literal["dark", "light"], Meta(description="one of dark, light")]
_Glyphs = Annotated[Glyphs | None, Meta(description="one of blocks, braille, ascii")]
_TakeKeys = Annotated[
    tuple[str, ...], Meta(min_length=1, description='a list of keys, such as ["space", "pagedown"]')
]
_Kit = Annotated[str, Meta(description='offsets in quotes, such as "5thou,10thou"')]

_Paper = Annotated[Literal["a4", "letter"], Meta(description="one of a4, letter")]
_Decimal = Annotated[Literal["point", "comma"], Meta(description="one of point, comma")]
_Voice = Annotated[bool, Meta(description="true or false")]
_Shop = Annotated[str, Meta(description='a folder in quotes, such as "~/jobs"')]


@dataclass(frozen=True)
class Preferences:
    """What the user has set, once and for all.

    unit: of lengths shown.
    theme: of the screen.
    glyphs: what pictures are made of, None for what the terminal seems to want.
    take_keys: keys (or pedals that press them) that take a station.
    kit: offsets or a file.
    shop: folder of the shop's jobs, "" for the usual one.
    paper: of reports.
    decimal: the decimal mark in reports.
    voice: whether instructions and verdicts are spoken.
    source: where it was read from, "" for none.
    """

    unit: _Unit = "thou"
    theme: _Theme = "dark"
    glyphs: _Glyphs = None
    take_keys: _TakeKeys = TAKE_KEYS
    kit: _Kit = "5thou,10thou,15thou"
    shop: _Shop = ""
    paper: _Paper = "a4"
    decimal: _Decimal = "point"
    voice: _Voice = False
    source: str = ""


def preferences_path() -> Path:
    """Where the settings file is looked for."""
    return user_config_path(_APP, appauthor=False) / "settings.toml"


def load_preferences(path: Path | None = None) -> Preferences:
    """The user's settings, or the defaults where there is no file. Raises UsageError, naming the key."""
    path = path or preferences_path()
    try:
        preferences = replace(checked(Preferences, read_toml(path)), source=str(path))
    except FileNotFoundError:
        return Preferences()
    except OSError as error:
        raise UsageError(f"{path}: {error.strerror or error}") from error
    except ValueError as error:
        raise UsageError(f"{path}: {error}") from error
    keys = preferences.take_keys
    if strange := [key for key in keys if len(key) != 1 and key not in _NAMES]:
        raise UsageError(
            f"{path}: take_keys: no key is called {strange[0][:40]!r}; such as space, pagedown, f7"
        )
    if taken := [key for key in keys if key in _OTHER_KEYS]:
        raise UsageError(f"{path}: take_keys: {taken[0]!r} does something else on the measuring screen")
    return preferences


class Memory:
    """Choices of last time; lost without harm."""

    def __init__(self, path: Path | None = None) -> None:
        """Read them, if they are there and make sense."""
        self.path = path or user_state_path(_APP, appauthor=False) / "last.json"
        self._choices: dict[str, Any] = {}
        try:
            read = json.loads(read_small(self.path))
        except (OSError, ValueError, RecursionError):
            return
        if isinstance(read, dict):
            self._choices = read

    def get(self, key: str, default: str = "") -> str:
        """A choice, as text."""
        value = self._choices.get(key, default)
        return value if isinstance(value, str) else default

    @property
    def first_time(self) -> bool:
        """Whether nothing was ever chosen here."""
        return not self._choices

    def keep(self, **choices: str) -> None:
        """Remember; a state folder that cannot be written is no reason to stop."""
        self._choices.update(choices)
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True)
            self.path.write_text(json.dumps(self._choices, indent=1), encoding="utf-8")
        except OSError:
            return
