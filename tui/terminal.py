"""What the terminal can show, as far as the environment tells."""

import contextlib
import os
import sys
from collections.abc import Iterator
from typing import Any, Literal

from .errors import Failure

Glyphs = Literal["blocks", "braille", "ascii"]
"""What pictures are made of; braille is the finest, and missing in some terminals."""

Dots = Literal["blocks", "braille", "ascii", "pixels"]
"""The same, or the fine dots of an image."""


def has_screen() -> bool:
    """Whether input and output are a terminal that understands more than plain lines."""
    # A console of Windows sets no TERM, and understands as much as any.
    if os.environ.get("TERM", "" if sys.platform != "win32" else "console") in ("", "dumb"):
        return False
    return all(stream is not None and stream.isatty() for stream in (sys.stdin, sys.stdout, sys.stderr))


@contextlib.contextmanager
def hushed() -> Iterator[None]:
    """While a screen is being loaded: what is typed is not shown, and forgotten."""
    before = _quiet()
    try:
        yield
    finally:
        if before is not None:
            import termios

            # Drops what came meanwhile.
            with contextlib.suppress(termios.error, OSError):
                termios.tcsetattr(sys.stdin.fileno(), termios.TCSAFLUSH, before)


def _quiet() -> list[Any] | None:
    """Take the echo from the terminal. Returns how it was; None where there is none, or none of that kind."""
    try:
        import termios
    except ImportError:
        return None
    try:
        place = sys.stdin.fileno()
        before = termios.tcgetattr(place)
        termios.tcsetattr(place, termios.TCSANOW, [*before[:3], before[3] & ~termios.ECHO, *before[4:]])
    except (termios.error, OSError, ValueError, AttributeError):
        return None
    return before


def need_input() -> None:
    """Somebody is going to be asked, or to type. Raises Failure where standard input is closed."""
    if sys.stdin is None:
        raise Failure("standard input is closed: nothing can be typed or said there")


def no_color() -> bool:
    """Whether the environment asks for no colour (no-color.org: set and not empty)."""
    return bool(os.environ.get("NO_COLOR"))


def default_glyphs() -> Glyphs:
    """Blocks read best from afar; the Linux console and odd encodings get plain characters."""
    wanted = os.environ.get("COAXLY_GLYPHS", "")
    if wanted in ("blocks", "braille", "ascii"):
        return wanted  # type: ignore[return-value]
    locale = os.environ.get("LC_ALL") or os.environ.get("LC_CTYPE") or os.environ.get("LANG") or "UTF-8"
    utf8 = "UTF" in locale.upper() or locale in ("C", "POSIX")
    return "blocks" if utf8 and os.environ.get("TERM") != "linux" else "ascii"
