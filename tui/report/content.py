"""The whole report in words and pictures; and as one HTML file, with no script and nothing fetched."""

import base64
from dataclasses import dataclass
from typing import Any, Final

from coaxly.logger.files import read_small

from ..draw.page import PaperName
from ..draw.svg import Sheet
from ..entry.lengths import DecimalMark, decimals
from ..job.folder.journal import Photo
from ..job.folder.pictures import LARGEST_BYTES, bare, why_not
from .back import Back, back
from .facts import Facts
from .front import Front, front, short

MOST: Final = 12
_SIDE: Final = 1100
_SIZES: Final = {"a4": ("A4", "56mm"), "letter": ("letter", "40mm")}
"""Of paper, and how high the clocks may be so that the customer's page is one."""


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
    if record.file in facts.replaced:
        return Picture(name, "", (0, 0), f"{words}: not shown, it is not the picture that was taken in")
    try:
        data, size = bare(read_small(facts.job.file(record.file), LARGEST_BYTES), _SIDE)
    except Exception as error:
        # Whatever a file that calls itself a picture holds, and whatever a decoder raises over it (errors of
        # its own kinds, of struct, of zlib ...), the report is made.
        why = why_not(error).replace(
            f"{facts.job.path}/", ""
        )  # where a shop keeps its jobs is no customer's business
        return Picture(name, "", (0, 0), f"{words}: cannot be shown ({short(why, 80)})")
    return Picture(name, base64.b64encode(data).decode("ascii"), size, words)


@dataclass(frozen=True, slots=True)
class Style:
    """How numbers are written, and on what: unit of lengths, decimal mark, paper."""

    unit: str = "thou"
    decimal: DecimalMark = "point"
    paper: PaperName = "a4"


@dataclass(frozen=True, slots=True)
class Content:
    """The pages. front: for the customer; back: for the shop."""

    front: Front
    back: Back
    photos: tuple[Picture, ...]
    paper: PaperName


def content(facts: Facts, style: Style) -> Content:
    """Put the facts of a job into words and pictures."""
    with decimals(style.decimal):
        return Content(front(facts, style.unit), back(facts, style.unit), tuple(photos(facts)), style.paper)


def html(content: Content) -> bytes:
    """The page. Whatever stands in the content is text; only pictures of our own are markup."""
    size, clock_height = _SIZES[content.paper]
    pages = {"front": content.front, "back": content.back, "photos": content.photos}
    return filled("report.html.j2", trim=True, **pages, page_size=size, clock_height=clock_height)


def filled(template: str, *, trim: bool = False, **values: Any) -> bytes:
    """One of our templates with its values, which are escaped. trim: no empty lines of its own."""
    from jinja2 import Environment, PackageLoader, StrictUndefined

    environment = Environment(
        loader=PackageLoader("coaxly.report"), autoescape=True, undefined=StrictUndefined, trim_blocks=trim
    )
    return environment.get_template(template).render(**values).encode("utf-8")
