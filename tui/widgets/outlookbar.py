"""How sure a sweep is while it is made: the bar of its run-out, and within it what the next station leaves of
it."""

from typing import Final

from ..draw.raster import Raster, Rows
from ..say.sweep.live import Bar
from ..terminal import Glyphs
from .rasterwidget import RasterWidget
from .verdict import ErrorBar, large

_ASIDE, _ASIDE_WIDE, _WIDE, _LEAST = 40, 52, 76, 20
"""Columns for the words beside the bar, and for those where there are so many, and for a bar that is worth
drawing."""

_BETWEEN: Final = ", "

_LARGE, _LARGE_ASIDE = 5, 38
"""Rows from which the half-width is written in large letters, and the columns for them."""


class OutlookBar(RasterWidget):
    """A bar that shrinks station by station, against a post at the limit."""

    DEFAULT_CSS = "OutlookBar { height: 1; }"

    def __init__(self, glyphs: Glyphs, id: str | None = None) -> None:
        super().__init__(id=id)
        self._glyphs = glyphs
        self._shown: Bar | None = None

    @property
    def shown(self) -> Bar | None:
        """What is shown."""
        return self._shown

    def show(self, bar: Bar | None) -> None:
        """Another bar; None: nothing can be said yet."""
        if bar != self._shown:
            self._shown = bar
            self.stale()

    def drawing(self, width: int, height: int) -> Rows:
        """The bar; beside it how wide it is, and what the next station makes of that."""
        raster = Raster(width, height, self._glyphs)
        is_large = height >= _LARGE
        aside = _LARGE_ASIDE if is_large else _ASIDE_WIDE if width >= _WIDE else _ASIDE
        shown, room = self._shown, width - aside
        if shown is None or room < _LEAST:
            return raster.rows()
        reach = max(1.6 * shown.limit, 1.3 * shown.runout)
        line = ErrorBar(shown.runout, shown.spread, shown.limit, reach, shown.then)
        drawn = line.drawn(room - 1, plain=self._glyphs == "ascii")
        for row in (1, 2) if is_large else (0,):
            for column, char in enumerate(drawn, start=1):
                raster.text(_STYLE.get(char, "fit"), column, row, char)
        box = (room + 1.0, 0.0, width - room - 1.0, 2.0 * (height - 1))
        row, said = 0, shown.beside
        if is_large and large(raster, "word", shown.now, box):
            row, said = height - 1, shown.beneath
        for words in said:
            if len(words) + len(_BETWEEN) + len(shown.next) < aside or words == said[-1]:
                raster.text("word", room + 1, row, words)
                raster.text("due", room + 1 + len(words), row, shown.next and _BETWEEN + shown.next)
                break
        return raster.rows()


_STYLE: Final = {"─": "faint", "-": "faint", "█": "due", "#": "due", "┃": "word", "|": "word"}
