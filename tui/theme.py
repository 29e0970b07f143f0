"""Two themes of our own, every text at least 8:1 against its ground.

State is always a word (and a shape), never a colour alone.
"""

from typing import Final

from textual.theme import Theme

DARK: Final = Theme(
    name="bench-dark",
    primary="#ffd866",
    secondary="#9fd8ff",
    foreground="#f4f4f0",
    background="#0c0d10",
    surface="#0c0d10",
    panel="#1b1d23",
    success="#8dffa0",
    warning="#ffc15e",
    error="#ffa8a0",
    accent="#ffd866",
    dark=True,
)
LIGHT: Final = Theme(
    name="bench-light",
    primary="#4a2f00",
    secondary="#00324f",
    foreground="#101010",
    background="#fdfdf8",
    surface="#fdfdf8",
    panel="#e9e9e2",
    success="#00401a",
    warning="#4f3000",
    error="#6b0010",
    accent="#4a2f00",
    dark=False,
)
