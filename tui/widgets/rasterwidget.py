"""The base of every drawn widget: its picture is drawn whole, once for each change and each size.

Textual asks a widget for one row at a time. A picture that were drawn for each row would cost its
height squared, so the rows are kept until something says that they are stale.
"""

from typing import ClassVar, Final

from rich.segment import Segment
from rich.style import Style
from textual.geometry import Region, Size
from textual.strip import Strip
from textual.widget import Widget

from ..draw.raster import Rows
from ..terminal import Glyphs

COLOURS: Final = {
    "faint": "foreground 75%", "fit": "secondary", "station": "foreground", "arrow": "primary",
    "due": "warning", "hour": "foreground", "word": "foreground", "good": "success", "bad": "error",
    "unsure": "warning",
}  # fmt: skip
"""Colours of the theme by names of styles that a drawing may use; each means the same in every picture."""

_WEIGHT: Final = dict.fromkeys(("faint", "fit", "hour"), "none")


class RasterWidget(Widget):
    """Base of the drawn widgets: says in `drawing` what is to be seen, and calls `stale` on news."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {f"drawn--{name}" for name in COLOURS}
    DEFAULT_CSS = "\n".join(
        f"RasterWidget > .drawn--{name} {{ color: ${colour}; text-style: {_WEIGHT.get(name, 'bold')}; }}"
        for name, colour in COLOURS.items()
    )

    def __init__(self, glyphs: Glyphs = "blocks", *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._glyphs: Glyphs = glyphs
        self._strips: list[Strip] = []
        self._drawn_for = Size(-1, -1)
        self._looks: dict[str, Style] = {}

    def drawing(self, width: int, height: int) -> Rows:
        """The whole picture: for each row, runs of (text, name of a style or "")."""
        raise NotImplementedError

    def stale(self) -> None:
        """What was drawn is out of date. Only what comes out otherwise is sent to the terminal: it may be at
        the other end of a slow line."""
        if self._drawn_for != self.size or not self.size:
            self._drawn_for = Size(-1, -1)
            self.refresh()
            return
        before, self._strips = self._strips, self._draw()
        if len(before) != len(self._strips):
            self.refresh()
        elif other := [
            y for y, pair in enumerate(zip(before, self._strips, strict=True)) if pair[0] != pair[1]
        ]:
            self.refresh(*(_changed(before[y], self._strips[y], y) for y in other))

    def notify_style_update(self) -> None:
        """Another theme: the same picture in other colours."""
        super().notify_style_update()
        self._looks = {}
        self._drawn_for = Size(-1, -1)

    def render_line(self, y: int) -> Strip:
        """One row of what was drawn last; drawn now if there is news or the size is another."""
        if self._drawn_for != self.size:
            self._strips, self._drawn_for = self._draw(), self.size
        return self._strips[y] if y < len(self._strips) else Strip.blank(self.size.width, self.rich_style)

    def _draw(self) -> list[Strip]:
        width, height = self.size
        return [self._strip(row, width) for row in self.drawing(width, height)]

    def _strip(self, row: list[tuple[str, str]], width: int) -> Strip:
        """Cut or filled up to the width; every character of a drawing is one cell wide. What is empty goes
        with what stands before it: no style shows in it, and each change of style is sent to the terminal."""
        parts, room = [("", "")], width
        for text, name in [*row, (" " * width, "")]:
            so_far, style = parts[-1]
            if not text.isspace() and so_far and not so_far.isspace() and name != style:
                parts.append((text[:room], name))
            else:
                parts[-1] = (so_far + text[:room], style if text.isspace() else name)
            room -= min(len(text), room)
        return Strip([Segment(text, self._look(name)) for text, name in parts], width)

    def _look(self, name: str) -> Style:
        """A style worked out once: the search through the style sheet costs more than a drawing."""
        if name not in self._looks:
            self._looks[name] = self.get_component_rich_style(f"drawn--{name}") if name else self.rich_style
        return self._looks[name]


def _changed(before: Strip, after: Strip, y: int) -> Region:
    """The part of row y between the first and the last cell that differ."""
    was, now = ([(char, part.style) for part in strip for char in part.text] for strip in (before, after))
    other = [x for x, (one, another) in enumerate(zip(was, now, strict=False)) if one != another]
    if len(was) != len(now) or not other:
        return Region(0, y, after.cell_length, 1)
    return Region(other[0], y, other[-1] + 1 - other[0], 1)
