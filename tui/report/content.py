"""The whole report in words and pictures, before it becomes HTML or PDF."""

from dataclasses import dataclass

from ..draw.page import PaperName
from ..entry.lengths import DecimalMark, decimals
from .back import Back, back
from .facts import Facts
from .front import Front, front
from .photos import Picture, photos


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
