"""A shop of its own for what the built-in engine does: no invented job stands among those of people."""

import contextlib
import shutil
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from coaxly.logger.errors import LoggerError
from coaxly.logger.recording.reader import RecordingReader
from coaxly.logger.recording.records import Station

from ..folder.journal import NAME


@dataclass
class OwnShop:
    """folder: of the shop. told: whether it was said where that is."""

    folder: Path
    told: bool = False


@contextlib.contextmanager
def own_shop(prefix: str, tell: Callable[[Path], None], keep: Path | None = None) -> Iterator[OwnShop]:
    """A shop among the machine's temporary folders, or the one to keep. However it is left (early, by Ctrl+C,
    by an error): `tell` says where it is if nobody has, and one in which nothing was read is cleared away."""
    shop = OwnShop(keep or Path(tempfile.mkdtemp(prefix=prefix)))
    try:
        yield shop
    finally:
        if keep is None and not any(map(_begun, shop.folder.rglob("*.jsonl"))):
            shutil.rmtree(shop.folder, ignore_errors=True)
        elif not shop.told:
            tell(shop.folder)


def _begun(path: Path) -> bool:
    """Whether a recording holds a station; one that cannot be read may."""
    if path.name == NAME:
        return False
    try:
        with RecordingReader(path) as reader:
            return any(isinstance(record, Station) for block in reader.blocks() for record in block)
    except LoggerError:
        return True
