"""A small raster for pictures in a terminal: shapes in layers, dots merged within a cell.

Coordinates are in columns to the right and half rows down, so that a unit is about as long both
ways on the usual font. Each layer has a style name; where layers meet in a cell their dots merge
and the highest layer gives the style. Any number of small discs is one layer and touches only the
dots near them, so that a picture costs what its size costs, whatever it shows.
"""

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from ..terminal import Dots

Point = tuple[float, float]
Ints = NDArray[np.int64]
Rows = list[list[tuple[str, str]]]

# Dots a cell (columns, rows) and the character of each dot pattern; bit k is dot k, row by row.
_QUADRANTS: Final = " ▘▝▀▖▌▞▛▗▚▐▜▄▙▟█"
_BRAILLE_BIT: Final = (0, 3, 1, 4, 2, 5, 6, 7)
_BLOCK_CHARS: Final = np.array(list(_QUADRANTS))
_BRAILLE_CHARS: Final = np.array(
    [
        " ",
        *(chr(0x2800 + sum((code >> k & 1) << _BRAILLE_BIT[k] for k in range(8))) for code in range(1, 256)),
    ]
)
_DOTS: Final[dict[Dots, tuple[int, int]]] = {
    "blocks": (2, 2), "braille": (2, 4), "ascii": (1, 1), "pixels": (16, 32),
}  # fmt: skip
_ASCII: Final = {"arrow": "#", "fit": ".", "faint": ":", "station": "o", "due": "*"}

_DART: Final = 14.0
"""Columns: a shorter arrow is a smudge in dots half a column wide."""


class Raster:
    """A picture of `width` columns and `height` rows."""

    def __init__(self, width: int, height: int, glyphs: Dots = "blocks") -> None:
        """Empty, with no layer."""
        self.width, self.height, self.glyphs = width, height, glyphs
        self._across, self._down = _DOTS[glyphs]
        self.layers: list[tuple[str, NDArray[np.bool_]]] = []
        """Styles with their masks of dots (rows, columns), the lowest first."""
        columns, rows = width * self._across, height * self._down
        self._x = ((np.arange(columns) + 0.5) / self._across)[None, :]
        self._y = ((np.arange(rows) + 0.5) / self._down * 2.0)[:, None]
        self.texts: list[tuple[int, int, str, str]] = []
        """Column, row, text and style of what is written on top of everything."""

    @property
    def dots(self) -> tuple[int, int]:
        """How many there are: rows, columns."""
        return self.height * self._down, self.width * self._across

    def _layer(self, style: str) -> NDArray[np.bool_]:
        """A new layer on top, as a mask of dots (rows, columns) to be or-ed into."""
        mask = np.zeros(self.dots, dtype=bool)
        self.layers.append((style, mask))
        return mask

    def ring(self, style: str, centre: Point, radius: float, thickness: float) -> None:
        """A circle's line."""
        distance = np.hypot(self._x - centre[0], self._y - centre[1])
        self.layers.append((style, np.abs(distance - radius) <= self._at_least(thickness) / 2.0))

    def disc(self, style: str, centre: Point, radius: float) -> None:
        """A filled circle."""
        self.discs(style, [centre], radius)

    def discs(self, style: str, centres: Sequence[Point], radius: float) -> None:
        """Filled circles, all in one layer."""
        mask = self._layer(style)
        mask[self._near(centres, self._at_least(radius))] = True

    def clear(self, centres: Sequence[Point], radius: float) -> None:
        """Rub out discs of everything drawn so far, so that what follows stands apart."""
        near = self._near(centres, radius)
        for _, mask in self.layers:
            mask[near] = False

    def line(self, style: str, start: Point, end: Point, thickness: float) -> None:
        """A straight line with round ends."""
        steps = max(int(2.0 * self._across * math.dist(start, end)), 1)
        along = np.linspace(0.0, 1.0, steps + 1)
        xs, ys = (start[k] + along * (end[k] - start[k]) for k in (0, 1))
        self.discs(style, list(zip(xs.tolist(), ys.tolist(), strict=True)), thickness / 2.0)

    def cross(self, style: str, centre: Point, arm: float, thickness: float) -> None:
        """A lying and a standing line through a place."""
        x, y = centre
        self.line(style, (x - arm, y), (x + arm, y), thickness)
        self.line(style, (x, y - arm), (x, y + arm), thickness)

    def curve(self, style: str, centre: Point, radii: Sequence[float], thickness: float) -> None:
        """A closed line around a centre: radii at equal angles, clockwise from the top."""
        dx, dy = self._x - centre[0], centre[1] - self._y
        angle = np.mod(np.arctan2(dx, dy), 2.0 * math.pi)
        turn = np.append(np.asarray(radii), radii[0])
        at = np.interp(angle, np.linspace(0.0, 2.0 * math.pi, len(turn)), turn)
        self.layers.append((style, np.abs(np.hypot(dx, dy) - at) <= self._at_least(thickness) / 2.0))

    def polygon(self, style: str, points: Sequence[Point]) -> None:
        """A filled polygon (even-odd rule)."""
        self.layers.append((style, self._within(points)))

    def wipe(self, points: Sequence[Point]) -> None:
        """Rub out a polygon of everything drawn so far."""
        keep = ~self._within(points)
        for _, mask in self.layers:
            mask &= keep

    def _within(self, points: Sequence[Point]) -> NDArray[np.bool_]:
        inside = np.zeros(self.dots, dtype=bool)
        for (x1, y1), (x2, y2) in zip(points, [*points[1:], points[0]], strict=True):
            if y1 == y2:
                continue
            crosses = (self._y < y1) != (self._y < y2)
            inside ^= crosses & (self._x < (x2 - x1) * (self._y - y1) / (y2 - y1) + x1)
        return inside

    def text(self, style: str, column: int, row: int, text: str) -> None:
        """Characters on top of everything, cut at the edges."""
        self.texts.append((column, row, text, style))

    def largest(self, columns: int, rows: int, room: Point) -> Point:
        """The size of the dots of a bitmap of so many columns and rows that fills `room` (columns,
        half rows), no dot more than twice as long one way; (0, 0) if even the smallest is too large."""
        fine = (1.0 / self._across, 2.0 / self._down)
        wide, tall = (
            math.floor(room[k] / count / fine[k]) * fine[k] for k, count in ((0, columns), (1, rows))
        )
        if wide <= 0.0 or tall <= 0.0:
            return 0.0, 0.0
        return min(wide, 2.0 * tall), min(tall, 2.0 * wide)

    def bitmap(self, style: str, corner: Point, dots: Sequence[str], size: Point) -> None:
        """Rows of "0" and "1" as boxes of `size` (columns, half rows) from an upper left corner."""
        mask = self._layer(style)
        pattern = np.array([[dot == "1" for dot in row] for row in dots], dtype=bool)
        y = np.floor((self._y[:, 0] - corner[1]) / size[1]).astype(np.int64)
        x = np.floor((self._x[0] - corner[0]) / size[0]).astype(np.int64)
        down = np.flatnonzero((y >= 0) & (y < pattern.shape[0]))
        across = np.flatnonzero((x >= 0) & (x < pattern.shape[1]))
        mask[np.ix_(down, across)] = pattern[np.ix_(y[down], x[across])]

    def rows(self) -> Rows:
        """The picture: for each row, runs of (text, style); style "" where nothing is drawn."""
        names = ["", *(style for style, _ in self.layers), *(style for *_, style in self.texts)]
        chars, top = self._compose()
        for k, (column, row, text, _) in enumerate(self.texts, start=len(self.layers) + 1):
            first, last = max(column, 0), min(column + len(text), self.width)
            if 0 <= row < self.height and first < last:
                chars[row, first:last] = list(text[first - column : last - column])
                top[row, first:last] = k
        return [_runs(line, level, names) for line, level in zip(chars, top, strict=True)]

    def _near(self, centres: Sequence[Point], radius: float) -> tuple[Ints, Ints]:
        """Rows and columns of the dots within `radius` of any of the centres."""
        places = np.array(centres, dtype=np.float64).reshape(-1, 2)
        reach = [math.ceil(radius * scale) + 1 for scale in (self._across, self._down / 2.0)]
        column, row = (
            np.floor(places[:, k] * scale).astype(np.int64)[:, None] + np.arange(-reach[k], reach[k] + 1)
            for k, scale in ((0, self._across), (1, self._down / 2.0))
        )
        dx = (column + 0.5) / self._across - places[:, :1]
        dy = (row + 0.5) / self._down * 2.0 - places[:, 1:]
        near = np.hypot(dx[:, None, :], dy[:, :, None]) <= radius
        near &= ((row >= 0) & (row < self._y.shape[0]))[:, :, None]
        near &= ((column >= 0) & (column < self._x.shape[1]))[:, None, :]
        which, down, across = np.nonzero(near)
        return row[which, down], column[which, across]

    def _at_least(self, thickness: float) -> float:
        """A line thinner than a dot would have holes."""
        return max(thickness, 2.0 / self._down)

    def _compose(self) -> tuple[NDArray[np.str_], Ints]:
        """Character and highest layer (0: none, 1: the lowest) of each cell, shape (height, width)."""
        code = np.zeros((self.height, self.width), dtype=np.int64)
        top = np.zeros((self.height, self.width), dtype=np.int64)
        for level, (_, mask) in enumerate(self.layers, start=1):
            pattern = np.zeros_like(code)
            for k in range(self._across * self._down):
                down, across = divmod(k, self._across)
                pattern |= mask[down :: self._down, across :: self._across].astype(np.int64) << k
            code |= pattern
            top[pattern > 0] = level
        if self.glyphs == "ascii":
            return np.array([" ", *(_ASCII.get(style, "#") for style, _ in self.layers)])[top], top
        return (_BLOCK_CHARS if self.glyphs == "blocks" else _BRAILLE_CHARS)[code], top


def _runs(chars: NDArray[np.str_], top: Ints, names: list[str]) -> list[tuple[str, str]]:
    """Neighbouring cells of one style put together."""
    cuts = [0, *(np.flatnonzero(np.diff(top)) + 1).tolist(), len(top)]
    text, styles = "".join(chars.tolist()), top.tolist()
    runs: list[tuple[str, str]] = []
    for first, last in pairwise(cuts):
        style = names[styles[first]]
        if runs and runs[-1][1] == style:
            runs[-1] = (runs[-1][0] + text[first:last], style)
        else:
            runs.append((text[first:last], style))
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


def pointer(tail: Point, length: float, deg: float, width: float) -> list[Point]:
    """Outline of an arrow from `tail` to `length` away; the head is `width` wide, less on a short one.

    One that is too small for shaft and head to be told apart is a dart: broad at its tail, a tip.
    """
    rad = math.radians(deg)
    sin, cos = math.sin(rad), math.cos(rad)
    if length < _DART:
        half = min(0.35 * width, 0.4 * length)
        return [
            (tail[0] + half * cos, tail[1] + half * sin),
            (tail[0] + length * sin, tail[1] - length * cos),
            (tail[0] - half * cos, tail[1] - half * sin),
        ]
    middle = (tail[0] + 0.5 * length * sin, tail[1] - 0.5 * length * cos)
    return arrow(middle, length, deg, min(width, 0.9 * length))
