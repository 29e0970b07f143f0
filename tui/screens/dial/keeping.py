"""What is known of a dial or an encoder, kept in the shop."""

from pathlib import Path
from typing import Final

from coaxly.logger.durable import make_folder, write_new
from coaxly.logger.line.listen import as_toml
from coaxly.logger.profile import Profile

from ...errors import Failure
from ...job.folder.shop import plain

FOLDER: Final = "dials"


def keep_profile(shop: Path, name: str, profile: Profile) -> Path:
    """Write a dial's profile into the shop under a name that no other has. Raises Failure."""
    folder, stem = shop / FOLDER, plain(name) or "dial"
    text = as_toml(profile)
    try:
        make_folder(folder)
        for number in range(1, 10_000):
            path = folder / f"{stem}{f'-{number}' if number > 1 else ''}.toml"
            try:
                write_new(path, text.encode("utf-8"))
            except FileExistsError:
                if path.read_text(encoding="utf-8", errors="replace") != text:
                    continue
            return path
    except OSError as error:
        raise Failure(f"cannot keep the dial in {folder}: {error.strerror or error}") from error
    raise Failure(f"ten thousand dials are called {stem}: give another name")
