"""What the terminal can show, as far as the environment tells."""

import os
import sys
from typing import Literal

from .errors import Failure

Glyphs = Literal["blocks", "braille", "ascii"]
"""What pictures are made of; braille is the finest, and missing in some terminals."""

Dots = Literal["blocks", "braille", "ascii", "pixels"]
"""The same, or the fine dots of an image."""


def has_screen() -> bool:
    """Whether input and output are a terminal that understands more than plain lines."""
    if os.environ.get("TERM", "") in ("", "dumb"):
        return False
    return all(stream is not None and stream.isatty() for stream in (sys.stdin, sys.stdout, sys.stderr))


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
