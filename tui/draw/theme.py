"""Two themes, a dark and a light one, in which every text has a contrast of at least 8:1 with its ground.

State is always a word (and a shape), never a colour alone.
"""

from typing import Final

from textual.theme import Theme

DARK: Final = Theme(
    name="bench-dark",
    primary="#62e0c8",
    secondary="#b9c4ff",
    foreground="#f2f4ef",
    background="#0e1317",
    surface="#0e1317",
    panel="#1b232a",
    success="#a5e887",
    warning="#ffbd85",
    error="#ffa3ad",
    accent="#62e0c8",
    dark=True,
)
LIGHT: Final = Theme(
    name="bench-light",
    primary="#003f3c",
    secondary="#2a2a78",
    foreground="#14171a",
    background="#fafaf5",
    surface="#fafaf5",
    panel="#e6e8e2",
    success="#0c4417",
    warning="#542c00",
    error="#74001e",
    accent="#003f3c",
    dark=False,
)
