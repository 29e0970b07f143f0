"""What is known of a dial or an encoder, kept in the shop."""

from pathlib import Path
from typing import Final

from coaxly.logger.durable import make_folder
from coaxly.logger.line.listen import as_toml
from coaxly.logger.profile import Profile

from ...entry.names import numbered, was_put
from ...errors import doing
from ...job.folder.shop import plain

FOLDER: Final = "dials"


def keep_profile(shop: Path, name: str, profile: Profile) -> Path:
    """Write a dial's profile into the shop under a name that no other has. Raises UsageError or
    Failure."""
    folder, stem = shop / FOLDER, plain(name) or "dial"
    data = as_toml(profile).encode()
    with doing(f"keep the dial in {folder}"):
        make_folder(folder)
        names = numbered(folder / f"{stem}.toml")
        return next(path for path in names if was_put(path, data) or path.read_bytes() == data)
