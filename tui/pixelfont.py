"""Digits to be read from two metres: five dots by seven, scaled to the room there is."""

from typing import Final

_FONT: Final = {
    "0": ("01110", "10001", "10001", "10001", "10001", "10001", "01110"),
    "1": ("00100", "01100", "00100", "00100", "00100", "00100", "01110"),
    "2": ("01110", "10001", "00001", "00110", "01000", "10000", "11111"),
    "3": ("01110", "10001", "00001", "00110", "00001", "10001", "01110"),
    "4": ("00010", "00110", "01010", "10010", "11111", "00010", "00010"),
    "5": ("11111", "10000", "11110", "00001", "00001", "10001", "01110"),
    "6": ("01110", "10000", "11110", "10001", "10001", "10001", "01110"),
    "7": ("11111", "00001", "00010", "00100", "00100", "01000", "01000"),
    "8": ("01110", "10001", "10001", "01110", "10001", "10001", "01110"),
    "9": ("01110", "10001", "10001", "01111", "00001", "00001", "01110"),
    "+": ("000", "000", "010", "111", "010", "000", "000"),
    "-": ("000", "000", "000", "111", "000", "000", "000"),
    ".": ("0", "0", "0", "0", "0", "0", "1"),
    " ": ("000", "000", "000", "000", "000", "000", "000"),
}
ROWS: Final = 7


def columns(text: str) -> int:
    """Width of a text in dots, a dot between characters."""
    return sum(len(_FONT[char][0]) for char in text) + len(text) - 1


def draw(text: str, width: int, height: int, *, plain: bool = False) -> list[str]:
    """The text as lines of `width` columns, at most `height`, as large as fits.

    Dots are two columns wide and a row high, or one and a half times that, and so on in halves,
    with half blocks between; `plain` uses # and whole rows. Too little room gives plain text.
    """
    dots = ["0".join(_FONT[char][row] for char in text) for row in range(ROWS)]
    step = 2 if plain else 1
    halves = min(width // columns(text), 2 * height // ROWS) // step * step
    if halves < (2 if plain else 1):
        return [text.center(width)[:width]]
    tall = [row for row in dots for _ in range(halves)]
    lines = ["".join(dot * halves for dot in row) for row in tall]
    if len(lines) % 2:
        lines.append("0" * len(lines[0]))
    upper_half, lower_half, whole = ("#", "#", "#") if plain else ("▀", "▄", "█")
    shapes = {"00": " ", "10": upper_half, "01": lower_half, "11": whole}
    drawn = [
        "".join(shapes[a + b] for a, b in zip(upper, lower, strict=True))
        for upper, lower in zip(lines[::2], lines[1::2], strict=True)
    ]
    return [line.center(width) for line in drawn]
