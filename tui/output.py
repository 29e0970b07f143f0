"""Where output goes: one JSON object or plain text on standard output, messages on standard error.

Nothing else writes to the terminal but the screen, which cleans what it shows by the same rule: text of a
file, a line or an instrument may hold characters that would steer the terminal or turn the order of what
is read.
"""

import contextlib
import os
import re
import sys
import threading
import time
from collections.abc import Iterable, Iterator
from typing import Any, Final, TextIO, TypeVar

from .errors import Failure
from .version import SCHEMA

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

_WIDEST_PAGE: Final = 100
"""Columns beyond which lines of text are hard to follow."""

_LONG_S: Final = 2.0
"""After which a person wonders whether anything happens (common practice, no source)."""

_LAST_PLACE: Final = 2
"""Of standard input, output and error among the files of a program."""


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


def answer(content: dict[str, Any], lines: list[str], *, as_json: bool) -> None:
    """The finding as it was asked for: one object, or plain text."""
    json_object(content) if as_json else text(lines)


def prepared(shown: str) -> None:
    """Text of our own that has its line ends already: help."""
    _put(sys.stdout, shown, end="")


def page(markdown: str) -> None:
    """A page of the manual: set for a person's terminal, else as it is written."""
    if sys.stdout is None or not sys.stdout.isatty():
        return _put(sys.stdout, markdown, end="")
    from rich.console import Console
    from rich.markdown import Markdown

    console = Console()
    console.width = min(console.width, _WIDEST_PAGE)
    with console.capture() as shown:
        console.print(Markdown(markdown, hyperlinks=False))
    return _put(sys.stdout, shown.get(), end="")


def message(line: str) -> None:
    """A word in passing. Nothing is lost by one that cannot be said: a sweep goes on without."""
    with contextlib.suppress(OSError, Failure):
        _put(sys.stderr, clean(line))


def error(what: object) -> None:
    """Why nothing came of what was asked for."""
    message(f"coaxly: {what}")


def progress(items: Iterable[Item], total: int, label: str, after_s: float = _LONG_S) -> Iterator[Item]:
    """The items; from so many seconds on with a bar on standard error, if a person is there to see it."""
    if total <= 1 or not _is_watched():
        yield from items
        return
    began, bar = time.monotonic(), None
    try:
        for done, item in enumerate(items, 1):
            yield item
            if bar is None and time.monotonic() - began >= after_s:
                bar = _bar(label, total)
                bar.start()
            if bar is not None:
                bar.update(bar.task_ids[0], completed=done)
    finally:
        if bar is not None:
            bar.stop()


@contextlib.contextmanager
def busy(label: str, after_s: float = _LONG_S) -> Iterator[None]:
    """While something is computed of which nobody knows how far it is: a bar that moves and the time that it
    took, on standard error if a person is there to see it, from so many seconds on."""
    if not _is_watched():
        yield
        return
    bar = _bar(label, None)
    waiting = threading.Timer(after_s, bar.start)
    waiting.daemon = True
    waiting.start()
    try:
        yield
    finally:
        waiting.cancel()
        waiting.join()  # one that is being shown this moment is taken away again
        bar.stop()


def _is_watched() -> bool:
    """Whether a person sees what is written on standard error."""
    return sys.stderr is not None and sys.stderr.isatty()


def _bar(label: str, total: int | None) -> Any:
    """A bar, not shown yet; its library is loaded only where one is. total: None where nobody knows."""
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn
    from rich.progress import TimeRemainingColumn as Left

    times = (TimeElapsedColumn(),) if total is None else (MofNCompleteColumn(), Left())
    columns = (TextColumn(label), BarColumn(), *times)
    bar = Progress(*columns, console=Console(stderr=True), transient=True)
    bar.add_task(label, total=total)
    return bar


def hold_closed_places() -> None:
    """Where standard input, output or error is closed, the next file that is opened would take its place,
    and be written to by whoever means the stream."""
    if None in (sys.stdin, sys.stdout, sys.stderr):
        while (place := os.open(os.devnull, os.O_RDWR)) <= _LAST_PLACE:
            pass
        os.close(place)


def forget(stream: TextIO) -> None:
    """What could not be written is not tried again at the end of the program."""
    with contextlib.suppress(OSError, ValueError):  # a stream that is no file has nothing to forget
        os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


def _put(stream: TextIO | None, shown: str, end: str = "\n") -> None:
    """Write at once: what waited for the end of the program would be lost without a word. Raises Failure, and
    BrokenPipeError where the reader has gone."""
    if stream is None:
        raise Failure("standard output is closed: the answer cannot be written")
    try:
        _write(stream, shown + end)
        stream.flush()
    except BrokenPipeError:
        raise
    except OSError as error:
        forget(stream)
        why = error.strerror or error
        raise Failure(f"standard output: {why}: the answer could not be written") from error


def _write(stream: TextIO, shown: str) -> None:
    try:
        stream.write(shown)
    except UnicodeEncodeError:
        # A terminal of few letters must not end a sweep.
        few = stream.encoding or "ascii"
        stream.write(shown.encode(few, "backslashreplace").decode(few))
