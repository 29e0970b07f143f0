"""Before and after, drawn: where the bore was, where it was to go, where it is, and the limit."""

from dataclasses import dataclass
from typing import Final

from ..terminal import Dots
from .raster import Point, Raster

_SIZE: Final = 1.5
_KEY: Final = {"before": ("○", "o", "o"), "planned": ("+", "*", "+"), "after": ("●", "#", "*")}
"""What stands for each in the key, in plain characters, and in the letters of an image."""

_WHICH: Final[dict[Dots, int]] = {"blocks": 0, "braille": 0, "ascii": 1, "pixels": 2}

_KEY_ROOM: Final = 10
"""Columns for the names, where there is room beside them."""

_LEGENDS: Final = (
    "ring: limit   seen from behind, 12 is up", "ring: limit  seen from behind", "seen from behind",
)  # fmt: skip

_STYLES: Final = {"before": "station", "planned": "due", "after": "arrow"}


@dataclass(frozen=True, slots=True)
class Places:
    """The bore's centre from the crank's axis, mm (x right, y up, seen from behind). limit: permitted offset,
    half of the permitted run-out; planned: None where no plan was given."""

    limit: float
    before: Point
    planned: Point | None
    after: Point

    def named(self) -> dict[str, Point]:
        """Those that there are, in the order in which they came."""
        all_ = {"before": self.before, "planned": self.planned, "after": self.after}
        return {name: place for name, place in all_.items() if place is not None}


def draw_proof(places: Places, width: int, height: int, glyphs: Dots) -> Raster:
    """The crank's axis as a cross, the limit as a ring about it, the bore before, planned and after; as
    large as fits beside the key."""
    raster = Raster(width, height, glyphs)
    named, limit = places.named(), places.limit
    xs, ys = ([-limit, limit, *(place[k] for place in named.values())] for k in (0, 1))
    left, room = (_KEY_ROOM if width >= 2 * _KEY_ROOM else 0), _SIZE + 1.2
    box = (width - left - 2.0 * room, 2.0 * (height - 1.0) - 2.0 * room)
    scale = min(box[0] / (max(xs) - min(xs)), box[1] / (max(ys) - min(ys)))
    middle = (left + (width - left) / 2.0, height - 1.0)
    shift = ((max(xs) + min(xs)) / 2.0, (max(ys) + min(ys)) / 2.0)

    def at(place: Point) -> Point:
        return middle[0] + (place[0] - shift[0]) * scale, middle[1] - (place[1] - shift[1]) * scale

    axis = at((0.0, 0.0))
    raster.ring("good", axis, limit * scale, 0.4)
    raster.line("fit", at(places.before), at(places.after), 0.5)
    raster.cross("faint", axis, 1.5, 0.3)
    _marks(raster, {name: at(place) for name, place in named.items()})
    for row, name in enumerate(named):
        raster.text(_STYLES[name], 0, row, f"{_KEY[name][_WHICH[glyphs]]} {name}")
    words = next((words for words in _LEGENDS if len(words) <= width), _LEGENDS[-1])
    raster.text("hour", 0, height - 1, words)
    return raster


def _marks(raster: Raster, at: dict[str, Point]) -> None:
    """A ring, a plus and a disc: told apart by shape alone."""
    raster.clear([at["before"]], _SIZE + 0.7)
    raster.ring("station", at["before"], _SIZE, 0.7)
    if (planned := at.get("planned")) is not None:
        raster.cross("due", planned, 1.5 * _SIZE, 0.5)
    raster.disc("arrow", at["after"], _SIZE)
