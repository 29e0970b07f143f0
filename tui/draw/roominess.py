"""How much room a terminal has: too small, plain, wide, tall or huge. Every layout goes by that."""

from dataclasses import dataclass
from typing import Final

LEAST: Final = (60, 20)
"""Columns and rows below which a page says so instead of showing half of everything."""


@dataclass(frozen=True, slots=True)
class Room:
    """small: why nothing can be shown, "" where there is room. wide, tall: whether there is plenty; huge: a
    whole wall of it."""

    small: str = ""
    wide: bool = False
    tall: bool = False
    huge: bool = False


def room_for(width: int, height: int) -> Room:
    """Of a terminal of so many columns and rows."""
    if width < LEAST[0] or height < LEAST[1]:
        return Room(f"This terminal is {width} x {height}: at least {LEAST[0]} x {LEAST[1]} is needed.")
    return Room(wide=width >= 110, tall=height >= 34, huge=width >= 150 and height >= 48)
