"""Larger letters where there is room, on pages that have one large line above a list or a field."""

from typing import Any

from textual.screen import Screen


def grow(screen: Screen[Any]) -> None:
    """Set the classes "tall" and "huge" of a page by its size, for its style sheet."""
    width, height = screen.size
    screen.set_class(width >= 112 and height >= 32, "tall")
    screen.set_class(width >= 150 and height >= 46, "huge")
