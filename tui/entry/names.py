"""Names as people write them, and as new files get them."""

from collections.abc import Iterator
from pathlib import Path

from coaxly.logger.durable import write_new

from ..errors import UsageError, doing


def plainly(text: str) -> str:
    """A name as it is compared: capitals and spaces make no other."""
    return " ".join(text.casefold().split())


def is_text(words: str) -> bool:
    """Whether what somebody typed is text: bytes of a command line that are none come as half letters."""
    return not any("\ud800" <= letter <= "\udfff" for letter in words)


def numbered(path: Path, first: int = 2) -> Iterator[Path]:
    """A name, and the same with -2, -3 ... behind it, one of which is free; first: 1 where each has a number.
    Raises UsageError behind the last."""
    if first > 1:
        yield path
    for number in range(first, 10_000):
        yield path.with_stem(f"{path.stem}-{number}")
    raise UsageError(f"ten thousand names like {path} are taken: move some away, or give another")


def free(path: Path) -> None:
    """Raises UsageError where something of that name is there already."""
    if path.exists():
        raise UsageError(f"{path} is there already: give another name, nothing was changed")


def put_new(path: Path, data: bytes) -> None:
    """Write a file that was not there. Nothing stays of one that could not be written whole. Raises
    UsageError or Failure."""
    if not was_put(path, data):
        free(path)


def was_put(path: Path, data: bytes) -> bool:
    """The same; False where something of that name is there."""
    with doing(f"write {path}"):
        try:
            write_new(path, data)
        except FileExistsError:
            return False
        except (FileNotFoundError, NotADirectoryError) as error:
            raise UsageError(f"cannot write {path}: {error.strerror}: make its folder first") from error
    return True
