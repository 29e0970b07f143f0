"""A small raster for pictures in a terminal: shapes in layers, dots merged within a cell.

Coordinates are in columns to the right and half rows down, so that a unit is about as long both
ways on the usual font. Each layer has a style name; where layers meet in a cell their dots merge
and the highest layer gives the style.
"""

import math
from collections.abc import Sequence
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

Glyphs = Literal["blocks", "braille", "ascii"]
Point = tuple[float, float]

# Dots a cell (columns, rows) and the character of each dot pattern; bit k is dot k, row by row.
_QUADRANTS: Final = " ▘▝▀▖▌▞▛▗▚▐▜▄▙▟█"
_BRAILLE_BIT: Final = (0, 3, 1, 4, 2, 5, 6, 7)
_DOTS: Final[dict[Glyphs, tuple[int, int]]] = {"blocks": (2, 2), "braille": (2, 4), "ascii": (1, 1)}


class Raster:
    """A picture of `width` columns and `height` rows."""

    def __init__(self, width: int, height: int, glyphs: Glyphs = "blocks") -> None:
        """Empty, with no layer."""
        self.width, self.height, self.glyphs = width, height, glyphs
        self._across, self._down = _DOTS[glyphs]
        self._masks: list[tuple[str, NDArray[np.bool_]]] = []
        columns, rows = width * self._across, height * self._down
        self._x = ((np.arange(columns) + 0.5) / self._across)[None, :]
        self._y = ((np.arange(rows) + 0.5) / self._down * 2.0)[:, None]
        self._texts: list[tuple[int, int, str, str]] = []

    def layer(self, style: str) -> NDArray[np.bool_]:
        """A new layer on top, as a mask of dots (rows, columns) to be or-ed into."""
        mask = np.zeros((self.height * self._down, self.width * self._across), dtype=bool)
        self._masks.append((style, mask))
        return mask

    def ring(self, style: str, centre: Point, radius: float, thickness: float) -> None:
        """A circle's line."""
        distance = np.hypot(self._x - centre[0], self._y - centre[1])
        self._add(style, np.abs(distance - radius) <= self._at_least(thickness) / 2.0)

    def disc(self, style: str, centre: Point, radius: float) -> None:
        """A filled circle."""
        self._add(style, np.hypot(self._x - centre[0], self._y - centre[1]) <= self._at_least(radius))

    def clear(self, centre: Point, radius: float) -> None:
        """Rub out a disc of everything drawn so far, so that what follows stands apart."""
        keep = np.hypot(self._x - centre[0], self._y - centre[1]) > radius
        for _, mask in self._masks:
            mask &= keep

    def curve(self, style: str, centre: Point, radii: Sequence[float], thickness: float) -> None:
        """A closed line around a centre: radii at equal angles, clockwise from the top."""
        dx, dy = self._x - centre[0], centre[1] - self._y
        angle = np.mod(np.arctan2(dx, dy), 2.0 * math.pi)
        turn = np.append(np.asarray(radii), radii[0])
        at = np.interp(angle, np.linspace(0.0, 2.0 * math.pi, len(turn)), turn)
        self._add(style, np.abs(np.hypot(dx, dy) - at) <= self._at_least(thickness) / 2.0)

    def polygon(self, style: str, points: Sequence[Point]) -> None:
        """A filled polygon (even-odd rule)."""
        inside = np.zeros((self._y.shape[0], self._x.shape[1]), dtype=bool)
        for (x1, y1), (x2, y2) in zip(points, [*points[1:], points[0]], strict=True):
            if y1 == y2:
                continue
            crosses = (self._y < y1) != (self._y < y2)
            inside ^= crosses & (self._x < (x2 - x1) * (self._y - y1) / (y2 - y1) + x1)
        self._add(style, inside)

    def text(self, style: str, column: int, row: int, text: str) -> None:
        """Characters on top of everything, cut at the edges."""
        self._texts.append((column, row, text, style))

    def rows(self) -> list[list[tuple[str, str]]]:
        """The picture: for each row, runs of (text, style); style "" where nothing is drawn."""
        chars, styles = self._compose()
        for column, row, text, style in self._texts:
            for k, char in enumerate(text):
                if 0 <= row < self.height and 0 <= column + k < self.width:
                    chars[row][column + k], styles[row][column + k] = char, style
        return [_runs(line, style) for line, style in zip(chars, styles, strict=True)]

    def _add(self, style: str, mask: NDArray[np.bool_]) -> None:
        self._masks.append((style, mask))

    def _at_least(self, thickness: float) -> float:
        """A line thinner than a dot would have holes."""
        return max(thickness, 2.0 / self._down)

    def _compose(self) -> tuple[list[list[str]], list[list[str]]]:
        total = np.zeros((self.height, self.width), dtype=np.int64)
        top = np.full((self.height, self.width), -1, dtype=np.int64)
        bits = 1 << np.arange(self._across * self._down)
        for level, (_, mask) in enumerate(self._masks):
            cells = mask.reshape(self.height, self._down, self.width, self._across)
            pattern = (cells.transpose(0, 2, 1, 3).reshape(self.height, self.width, -1) * bits).sum(-1)
            total |= pattern
            top[pattern > 0] = level
        names = [style for style, _ in self._masks]
        chars = [[self._char(code, names[at] if at >= 0 else "") for code, at in zip(*pair, strict=True)]
                 for pair in zip(total.tolist(), top.tolist(), strict=True)]  # fmt: skip
        styles = [[names[at] if at >= 0 else "" for at in line] for line in top.tolist()]
        return chars, styles

    def _char(self, code: int, style: str) -> str:
        if self.glyphs == "blocks":
            return _QUADRANTS[code]
        if self.glyphs == "braille":
            return chr(0x2800 + sum(1 << _BRAILLE_BIT[k] for k in range(8) if code >> k & 1)) if code else " "
        return {"arrow": "#", "fit": ".", "circle": ":", "station": "o"}.get(style, "*") if code else " "


def _runs(chars: list[str], styles: list[str]) -> list[tuple[str, str]]:
    runs: list[tuple[str, str]] = []
    for char, style in zip(chars, styles, strict=True):
        if runs and runs[-1][1] == style:
            runs[-1] = (runs[-1][0] + char, style)
        else:
            runs.append((char, style))
    return runs


def arrow(centre: Point, length: float, deg: float, width: float) -> list[Point]:
    """Outline of an arrow through `centre`, pointing to `deg` clockwise from the top, wide-headed."""
    sin, cos = math.sin(math.radians(deg)), math.cos(math.radians(deg))
    shape = [
        (-0.5, -0.16), (0.05, -0.16), (0.05, -0.5), (0.5, 0.0), (0.05, 0.5), (0.05, 0.16), (-0.5, 0.16),
    ]  # fmt: skip
    return [
        (
            centre[0] + along * length * sin + across * width * cos,
            centre[1] - along * length * cos + across * width * sin,
        )
        for along, across in shape
    ]
