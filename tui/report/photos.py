"""Photos of a job made small for paper, and rid of what a camera writes into them (places, numbers)."""

import base64
import io
import warnings
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from ..draw.svg import Sheet
from ..job.folder.journal import Photo
from .facts import Facts
from .front import short

MOST: Final = 12
_SIDE: Final = 1100
_LARGEST_BYTES: Final = 60_000_000


@dataclass(frozen=True, slots=True)
class Picture:
    """A photo: its file, a JPEG in base64 ("" where it cannot be shown) of a size in pixels, and what stands
    beneath it."""

    name: str
    data: str
    size: tuple[int, int]
    words: str

    def framed(self) -> str:
        """The JPEG in an SVG element, "" where there is none."""
        if not self.data:
            return ""
        sheet = Sheet(*self.size, self.name)
        sheet.add(
            "image", href=f"data:image/jpeg;base64,{self.data}", width=self.size[0], height=self.size[1]
        )
        return sheet.markup()


def photos(facts: Facts) -> list[Picture]:
    """The newest photos of a job, in order, and a word about those that do not fit."""
    taken = [record for record in facts.job.records if isinstance(record, Photo)]
    shown = [_picture(facts, record) for record in taken[-MOST:]]
    if left_out := len(taken) - len(shown):
        shown.append(Picture("", "", (0, 0), f"{left_out} older photos are in the job's folder."))
    return shown


def _picture(facts: Facts, record: Photo) -> Picture:
    name = short(record.file, 60)
    words = ", ".join(filter(None, (name, record.time[:10])))
    try:
        data, size = _small(facts.job.file(record.file))
    except Exception as error:
        # Whatever a file that calls itself a picture holds, and whatever a decoder raises over it (errors of
        # its own kinds, of struct, of zlib ...), the report is made.
        why = str(error).replace(
            f"{facts.job.path}/", ""
        )  # where a shop keeps its jobs is no customer's business
        return Picture(name, "", (0, 0), f"{words}: cannot be shown ({short(why, 80)})")
    return Picture(name, base64.b64encode(data).decode("ascii"), size, words)


def _small(path: Path) -> tuple[bytes, tuple[int, int]]:
    """As a JPEG of moderate size, the right way up, and that size. Raises whatever a decoder may."""
    from PIL import Image, ImageOps

    if not path.is_file():
        raise ValueError("there is no such file")
    if path.stat().st_size > _LARGEST_BYTES:
        raise ValueError("the file is too large")
    with warnings.catch_warnings():
        warnings.simplefilter("error", Image.DecompressionBombWarning)
        with Image.open(path, formats=("JPEG", "PNG", "WEBP", "GIF", "TIFF", "BMP")) as image:
            image.draft("RGB", (_SIDE, _SIDE))
            upright = ImageOps.exif_transpose(image).convert("RGB")
    upright.thumbnail((_SIDE, _SIDE))
    out = io.BytesIO()
    upright.save(out, "JPEG", quality=80)
    return out.getvalue(), upright.size
