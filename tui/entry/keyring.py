"""The keys of this workshop and of those it knows, in the user's configuration folder."""

import re
from pathlib import Path
from typing import TYPE_CHECKING, Final

from coaxly.logger.durable import make_folder, write_over
from coaxly.logger.files import read_small

from ..errors import UsageError, doing
from .keys import table_in

if TYPE_CHECKING:
    from coaxly.logger.recording.signing import WorkshopKey

OWN: Final = "this workshop"
_NAME: Final = re.compile(r"[\w][\w .-]{0,39}")
_KEY: Final = re.compile(r"[0-9a-f]{64}")


def own_path() -> Path:
    """Where this workshop's key is kept."""
    return _folder() / "workshop.key"


def known_path() -> Path:
    """Where the public keys of others are kept: name = "key", a line each."""
    return _folder() / "known-keys.toml"


def own_key() -> "WorkshopKey | None":
    """This workshop's key; None where none was made. Raises KeyFileError."""
    path = own_path()
    if not path.exists():
        return None
    from coaxly.logger.recording.signing import WorkshopKey

    return WorkshopKey.load(path)


def known_keys() -> dict[str, str]:
    """Names by public key, this workshop's own among them. Raises KeyFileError or UsageError."""
    path = known_path()
    names = {}
    for name, key in (table_in(path) or {}).items():
        if not isinstance(key, str) or not _KEY.fullmatch(key):
            raise UsageError(f"{path}: the key of {name!r} must be 64 hexadecimal digits in quotes")
        names[key] = name
    own = own_key()
    if own is not None:
        names[own.key] = OWN
    return names


def know(name: str, key: str) -> None:
    """Remember somebody's public key. Raises UsageError, also for a name or key that is known, or Failure."""
    if not _NAME.fullmatch(name) or name == OWN:
        raise UsageError(f"{name[:40]!r} is no name for a key: up to 40 letters, digits, spaces, . - _")
    if not _KEY.fullmatch(key):
        raise UsageError("a public key is 64 hexadecimal digits, as 'coaxly key' shows it")
    known = known_keys()
    if key in known or name in known.values():
        raise UsageError(f"that key or name is known: it is of {known.get(key, name)!r}")
    path = known_path()
    with doing(f"write {path}"):
        make_folder(path.parent)
        before = read_small(path) if path.exists() else b""
        write_over(path, before + f'"{name}" = "{key}"\n'.encode())


def _folder() -> Path:
    from platformdirs import user_config_path

    return user_config_path("coaxly", appauthor=False)
