"""Where output goes: one JSON object or plain text on standard output, messages on standard error.

Nothing else writes to the terminal but the screen, which cleans what it shows by the same rule: text of a
file, a line or an instrument may hold characters that would steer the terminal or turn the order of what
is read.
"""

import re
import sys
from collections.abc import Iterable, Iterator
from typing import Any, Final, TextIO, TypeVar

from . import SCHEMA

Item = TypeVar("Item")

UNSAFE: Final = re.compile(
    "["
    "\x00-\x1f\x7f-\x9f"  # controls, escape among them
    "\u061c\u200b-\u200f\u202a-\u202e\u2060-\u206f\ufeff\ufff9-\ufffb"  # direction, unseen characters
    "\u2028\u2029"  # line and paragraph ends
    "\U000e0000-\U000e007f"  # tags
    "\ud800-\udfff"  # bytes of a command line that are no text
    "]"
)


def clean(line: str) -> str:
    """One line with everything that steers a terminal spelt out."""
    return UNSAFE.sub(lambda found: found[0].encode("unicode_escape").decode("ascii"), line)


def json_object(content: dict[str, Any]) -> None:
    """The command's one object, marked with its schema."""
    import json

    # JSON escapes everything beyond ASCII, and all controls but this one.
    shown = json.dumps({"schema": SCHEMA, **content}, allow_nan=False).replace("\x7f", "\\u007f")
    _put(sys.stdout, shown)


def text(lines: list[str]) -> None:
    """The command's finding in plain text."""
    _put(sys.stdout, "\n".join(map(clean, lines)))


def message(line: str) -> None:
    """A word in passing."""
    _put(sys.stderr, clean(line))
    sys.stderr.flush()


def error(what: object) -> None:
    """Why nothing came of what was asked for."""
    message(f"coaxly: {what}")


def progress(items: Iterable[Item], total: int, label: str) -> Iterator[Item]:
    """The items, with a bar on standard error if a person is there to see it."""
    if total <= 1 or not sys.stderr.isatty():
        yield from items
        return
    from rich.console import Console
    from rich.progress import track

    yield from track(items, label, total, console=Console(stderr=True), transient=True)


def _put(stream: TextIO, shown: str) -> None:
    try:
        stream.write(shown + "\n")
    except UnicodeEncodeError:
        # A terminal of few letters must not end a sweep.
        few = stream.encoding or "ascii"
        stream.write(shown.encode(few, "backslashreplace").decode(few) + "\n")
