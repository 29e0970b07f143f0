"""A picture as an image, for terminals that can show one: the raster in fine dots and in colours."""

from collections.abc import Mapping
from typing import Final

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from .raster import Raster

Colour = tuple[int, int, int]
_LETTER: Final = 0.72
"""Of a cell's height, a letter."""


def to_image(
    raster: Raster, colours: Mapping[str, Colour], ground: Colour, cell: tuple[int, int]
) -> Image.Image:
    """colours: of the styles by name; ground: where nothing is drawn; cell: pixels of a character."""
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
