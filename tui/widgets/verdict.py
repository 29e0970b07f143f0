"""The answer of a sweep, as large as the room allows: inside, outside or too close, and by how much."""

from dataclasses import dataclass
from textwrap import wrap
from typing import Final

from ..draw.pixelfont import ROWS, columns, dots
from ..draw.raster import Raster, Rows
from ..say.sweep.finished import Answer
from ..say.sweep.noverdict import short_state
from ..terminal import Glyphs
from .rasterwidget import RasterWidget


@dataclass(frozen=True, slots=True)
class ErrorBar:
    """Lengths of TIR, mm. spread: of 95 %. reach: where the line ends. then: what the spread will be, a
    thicker piece within the other; None where nothing is to come."""

    runout: float
    spread: float
    limit: float
    reach: float
    then: float | None = None

    def drawn(self, width: int, *, plain: bool) -> str:
        """From nothing to the reach, in so many cells. plain: in ASCII."""
        base, piece, post, middle, thick = "-=|O#" if plain else "─━┃●█"
        scale = (width - 1) / self.reach
        cells = [base] * width

        def lay(half: float, char: str) -> None:
            ends = (self.runout - half, self.runout + half)
            first, last = (min(max(round(at * scale), 0), width - 1) for at in ends)
            cells[first : last + 1] = [char] * (last + 1 - first)

        lay(self.spread, piece)
        lay(self.then or 0.0, middle if self.then is None else thick)
        cells[min(round(self.limit * scale), width - 1)] = post
        return "".join(cells)


_STYLES: Final = {"inside": "good", "outside": "bad", "unsure": "unsure", "withheld": "unsure"}
_ASIDE: Final = (27, 22)
"""Columns for the number beside the word, at least, where there is room and where there is little."""

_SHARE: Final = 0.27
"""Of a wide screen, for the same."""


class Verdict(RasterWidget):
    """A word in large letters, the run-out beside it, and beneath it a bar: run-out against limit."""

    DEFAULT_CSS = "Verdict { height: 8; }"

    def __init__(self, glyphs: Glyphs, answer: Answer | None = None, id: str | None = None) -> None:
        """None: nothing to show yet."""
        super().__init__(glyphs, id=id)
        self._answer = answer

    def show(self, answer: Answer | None) -> None:
        """Another answer."""
        if answer != self._answer:
            self._answer = answer
            self.stale()

    def drawing(self, width: int, height: int) -> Rows:
        """Word, bar, number and lines."""
        raster = Raster(width, height, self._glyphs)
        answer = self._answer
        if answer is None:
            return raster.rows()
        word, style = answer.word or short_state(answer.state), _STYLES[answer.state]
        aside = max(_ASIDE[0], int(_SHARE * width)) if width >= 76 else _ASIDE[1]
        # A longer number gets what the word leaves: in dots of a column, else of half a column.
        wanted = (columns(answer.number) + 2, columns(answer.number) // 2 + 3)
        fits = [each for each in wanted if aside < each <= width - columns(word) - 1]
        aside = fits[0] if fits else aside
        room = width - aside - 1
        large(raster, style, word, (1.0, 0.0, room, 2.0 * (height - 1)))
        for column, char in enumerate(self._bar(answer, room), start=1):
            raster.text(style if char not in "─-" else "faint", column, height - 1, char)
        left, row = width - aside + 1, 0
        lines = [part for line in answer.lines for part in wrap(line, aside - 1)]
        tall = min(7.0 if height < 11 else max(14.0, 1.3 * height), 2.0 * (height - len(lines)))
        if large(raster, "word", answer.number, (left, 0.0, aside - 2.0, tall)):
            row = int((tall + 1.0) // 2.0)
        else:
            raster.text("word", left, 0, answer.number)
            row = 1
        for line in lines:
            raster.text("word", left, row, line)
            row += 1
        return raster.rows()

    def _bar(self, answer: Answer, width: int) -> str:
        """From nothing to beyond the limit."""
        reach = max(1.6 * answer.limit, 1.05 * (answer.runout + answer.spread))
        bar = ErrorBar(answer.runout, answer.spread, answer.limit, reach)
        return bar.drawn(width, plain=self._glyphs == "ascii")


def large(raster: Raster, style: str, text: str, box: tuple[float, float, float, float]) -> bool:
    """Large letters in a box (left, top, columns, half rows); False, and no number, where it is too small."""
    pattern = dots(text)
    size = raster.largest(len(pattern[0]), ROWS, (box[2], box[3]))
    if size[0] <= 0.0:
        if style != "word":
            raster.text(style, int(box[0]), 0, text)
        return False
    raster.bitmap(style, (box[0], box[1]), pattern, size)
    return True
