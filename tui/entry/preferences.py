"""What the user has set, and what was chosen last time. The settings file is the user's own: it is written
only where somebody asks for it (`job.folder.ownsettings`); choices live in a state file of their own.
"""

import json
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final, Literal, get_args

from platformdirs import user_config_path, user_state_path

from coaxly.fitter.errors import FitterError
from coaxly.fitter.keys import Choice, Group, YesNo, apart, key, keys_of
from coaxly.logger.durable import make_folder, write_over
from coaxly.logger.files import amiss, read_small

from ..errors import UsageError
from ..terminal import Glyphs
from .keys import Written, nearest, read_text, table_in
from .lengths import UNITS, DecimalMark

_APP: Final = "coaxly"
TAKE_KEYS: Final = ("space", "enter", "pagedown")

_NAMES: Final = {
    *("space", "enter", "tab", "escape", "backspace", "insert", "delete", "home", "end"),
    *("pageup", "pagedown", "up", "down", "left", "right"),
    *(f"f{k}" for k in range(1, 25)),
}
_OTHER_KEYS: Final = frozenset(("up", "down", "escape", "question_mark", "?", "f1", *"urfmdhqnptoc"))
"""Keys that the measuring screen knows already."""


@dataclass(frozen=True, slots=True)
class Pedals:
    """Keys of the keyboard, or pedals that press them."""

    wanted: str = 'a list of keys, such as ["space", "pagedown"]'

    def taken(self, value: object) -> Any:
        """As a tuple. Raises ValueError, in words where it is one key that cannot be taken."""
        if not isinstance(value, list | tuple) or not value or not all(isinstance(one, str) for one in value):
            raise ValueError
        for one in value:
            if len(one) != 1 and one not in _NAMES:
                raise UsageError(f"take_keys: no key is called {one[:40]!r}; such as space, pagedown, f7")
            if one in _OTHER_KEYS:
                raise UsageError(f"take_keys: {one!r} does something else on the measuring screen")
        return tuple(value)


_ALL: Final = Group("settings")


@dataclass(frozen=True)
class Preferences:
    """What the user has set, once and for all. source: the file that was read, "" for none; said: the keys
    that stand in it."""

    unit: Literal["thou", "in", "mm", "um"] = key(
        "thou", Choice(UNITS), None, "unit", "of lengths shown: thou, in, mm, um", _ALL
    )
    theme: Literal["dark", "light"] = key(
        "dark", Choice(("dark", "light")), None, "theme", "dark or light (COAXLY_THEME)", _ALL
    )
    glyphs: Glyphs | None = key(
        None, Choice(get_args(Glyphs)), None, "glyphs",
        "what pictures are made of: blocks, braille, ascii (COAXLY_GLYPHS)", _ALL,
    )  # fmt: skip
    take_keys: tuple[str, ...] = key(
        TAKE_KEYS, Pedals(), None, "take-keys", "keys, or a pedal's, that take a station", _ALL
    )
    kit: str = key(
        "5thou,10thou,15thou", Written("kit"), None, "kit", "dowels at hand where nobody names others", _ALL
    )
    shop: str = key("", Written("text"), None, "shop", "the folder of all jobs (COAXLY_SHOP)", _ALL)
    paper: Literal["a4", "letter"] = key(
        "a4", Choice(("a4", "letter")), None, "paper", "of reports and drawings: a4 or letter", _ALL
    )
    decimal: DecimalMark = key(
        "point",
        Choice(("point", "comma")),
        None,
        "decimal",
        "the decimal mark of reports: point or comma",
        _ALL,
    )
    voice: bool = key(False, YesNo(), None, "voice", "instructions and verdicts are spoken", _ALL)
    source: str = apart("")
    said: frozenset[str] = apart(frozenset())


def preferences_path() -> Path:
    """Where the settings file is looked for."""
    return user_config_path(_APP, appauthor=False) / "settings.toml"


def load_preferences(path: Path | None = None) -> Preferences:
    """The user's settings, or the defaults where there is no file. Raises UsageError, naming the key."""
    path = path or preferences_path()
    if (table := table_in(path)) is None:
        return Preferences()
    try:
        found = {name: checked(name, value) for name, value in table.items()}
    except (UsageError, FitterError, ValueError) as error:
        raise UsageError(f"{path}: {error}") from error
    return Preferences(**found, source=str(path), said=frozenset(found))


def checked(name: str, value: object) -> Any:
    """A value of a setting as it is kept. Raises ValueError, FitterError or UsageError, in words."""
    known = keys_of(Preferences)
    if name not in known:
        near = nearest(name, known)
        raise UsageError(
            f"no setting is called {name!r}: {f'is {near} meant?' if near else 'use ' + ', '.join(known)}"
        )
    kind = known[name].kind
    try:
        taken = kind.taken(value)
    except UsageError:
        raise
    except ValueError:
        raise amiss(name, value, kind.wanted) from None
    if isinstance(kind, Written) and ".toml" not in taken:
        try:
            read_text(kind, taken)  # a kit in a file is read where it is wanted
        except ValueError as error:
            raise UsageError(f"{name}: {error}") from error
    return taken


class Memory:
    """Choices of last time; lost without harm."""

    def __init__(self, path: Path | None = None) -> None:
        """Read them, if they are there and make sense."""
        self.path = path or user_state_path(_APP, appauthor=False) / "last.json"
        self._choices: dict[str, Any] = {}
        with suppress(OSError, ValueError, RecursionError):
            read = json.loads(read_small(self.path))
            self._choices = read if isinstance(read, dict) else {}

    def get(self, name: str, default: str = "") -> str:
        """A choice, as text."""
        value = self._choices.get(name, default)
        return value if isinstance(value, str) else default

    def keep(self, **choices: str) -> None:
        """Remember; a state folder that cannot be written is no reason to stop."""
        self._choices.update(choices)
        with suppress(OSError):
            make_folder(self.path.parent)
            write_over(self.path, json.dumps(self._choices, indent=1).encode("utf-8"))
