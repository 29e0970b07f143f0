"""Pictures as real images, where the terminal can show them and the library for it is installed (extra
`images`); asked for once, before the screen starts, for then nobody else reads what the terminal answers.
"""

import os
from collections.abc import Mapping
from typing import Any, Final

import numpy as np
from rich.segment import ControlType, Segment
from textual.app import ComposeResult
from textual.color import Color
from textual.widget import Widget

from ..draw.raster import Raster
from ..terminal import no_color
from .picture import Drawn
from .rasterwidget import COLOURS

Colour = tuple[int, int, int]
_LETTER: Final = 0.72
"""Of a cell's height, a letter."""


def to_image(raster: Raster, colours: Mapping[str, Colour], ground: Colour, cell: tuple[int, int]) -> Any:
    """colours: of the styles by name; ground: where nothing is drawn; cell: pixels of a character."""
    from PIL import Image, ImageDraw, ImageFont

    rows, columns = raster.dots
    pixels = np.full((rows, columns, 3), ground, dtype=np.uint8)
    for style, mask in raster.layers:
        pixels[mask] = colours[style]
    size = (raster.width * cell[0], raster.height * cell[1])
    image = Image.fromarray(pixels).resize(size, Image.Resampling.LANCZOS)
    pen, font = ImageDraw.Draw(image), ImageFont.load_default(_LETTER * cell[1])
    for column, row, text, style in raster.texts:
        for k, char in enumerate(text):
            at = ((column + k + 0.5) * cell[0], (row + 0.5) * cell[1])
            pen.text(at, char, fill=colours[style], font=font, anchor="mm")
    return image


_FAINT = 0.75


def image_widget() -> Any:
    """The class of widget that shows an image in this terminal; None where none does, where NO_COLOR or
    COAXLY_IMAGES=off is set, or where the library is missing."""
    if no_color() or os.environ.get("COAXLY_IMAGES", "auto") == "off":
        return None
    try:
        from textual_image import renderable, widget
    except Exception:  # whatever it makes of the terminal's answers, characters are always there
        return None
    if renderable.Image is renderable.TGPImage:
        return widget.TGPImage
    return _sixel_widget() if renderable.Image is renderable.SixelImage else None


def _sixel_widget() -> Any:
    """The library's widget, its moves of the cursor marked as what they are."""
    from textual_image.widget import SixelImage
    from textual_image.widget import sixel as library

    class Drawn(library._ImageSixelImpl):
        def _get_sixel_segments(self, sixel_data: str) -> list[Segment]:
            steer = ((ControlType.CURSOR_FORWARD, 0),)
            return [
                Segment(segment.text, segment.style, segment.control or steer)
                for segment in super()._get_sixel_segments(sixel_data)
            ]

    class Sixels(SixelImage, Renderable=library._NoopRenderable):
        def compose(self) -> ComposeResult:
            yield Drawn(self.image, self._sixel_options)

    return Sixels


class ImagePicture(Widget):
    """A picture that is drawn once a size, in pixels."""

    DEFAULT_CSS = """
    ImagePicture { min-width: 12; min-height: 5; }
    ImagePicture > * { width: 100%; height: 100%; }
    """

    def __init__(self, make: Any, drawn: Drawn, id: str | None = None) -> None:
        """make: see `image_widget`; drawn: see `picture.Drawn`."""
        super().__init__(id=id)
        self._shown, self._drawn = make(), drawn

    def compose(self) -> ComposeResult:
        """The image."""
        yield self._shown

    def on_resize(self) -> None:
        """Drawn anew, in this size."""
        from textual_image._terminal import get_cell_size

        width, height = self.size
        if not width or not height:
            return
        raster = self._drawn(width, height, "pixels")
        colours, ground = self._colours()
        cell = get_cell_size()
        self._shown.image = to_image(raster, colours, ground, (cell.width, cell.height))

    def _colours(self) -> tuple[dict[str, tuple[int, int, int]], tuple[int, int, int]]:
        values = self.app.theme_variables
        ground = Color.parse(values["background"])
        ink = Color.parse(values["foreground"])
        colours = {style: Color.parse(values[name.split()[0]]).rgb for style, name in COLOURS.items()}
        return {**colours, "faint": ground.blend(ink, _FAINT).rgb}, ground.rgb
