"""What dowels there are to choose from."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from ..errors import FitterError
from ..units import MM_PER_THOU

OFFSET_SD_MM = 0.3 * MM_PER_THOU
"""Spread of a dowel's true offset about its marking, a third of a thou (common practice, no source)."""


Way = Literal["tight", "free"]
"""How dowels are set: each stays where its mark was put, or is turned until the housing slides home."""


class KitError(FitterError):
    """A kit that cannot be used; says what is wrong."""


@dataclass(frozen=True, slots=True)
class Size:
    """One size: offset of the nose's axis from the body's, mm; how many remain (None: enough)."""

    offset: float
    count: int | None = None


@dataclass(frozen=True, slots=True)
class Kit:
    """Sizes to choose from.

    offset_sd: spread of true offsets, mm.
    mark_deg: from the mark or slot that one sees to the high side, degrees clockwise from behind.
    body: diameter, mm, None if not known.
    way: of setting that it is made for, None if it does not say.
    """

    name: str
    sizes: tuple[Size, ...]
    offset_sd: float = OFFSET_SD_MM
    mark_deg: float = 0.0
    body: float | None = None
    way: Way | None = None

    @classmethod
    def of(cls, offsets: Sequence[float], name: str = "kit") -> "Kit":
        """A kit of plain offsets in mm, as many of each as one likes. Raises KitError."""
        return cls(name, tuple(Size(offset) for offset in sorted(set(offsets)))).checked()

    def checked(self) -> "Kit":
        """The kit itself. Raises KitError for an empty one, or one with an offset that is none."""
        if not self.sizes:
            raise KitError(f"kit {self.name}: no sizes")
        for size in self.sizes:
            if not 0.0 < size.offset < 25.0:
                raise KitError(f"kit {self.name}: an offset must be positive, not {size.offset:g} mm")
            if size.count is not None and size.count < 0:
                raise KitError(f"kit {self.name}: a count cannot be {size.count}")
        return self

    def singles(self) -> list[float]:
        """Offsets of which there is one at least, rising."""
        return sorted({size.offset for size in self.sizes if size.count is None or size.count >= 1})

    def pairs(self) -> list[float]:
        """Offsets of which there are two at least, rising."""
        stock: dict[float, float] = {}
        for size in self.sizes:
            stock[size.offset] = stock.get(size.offset, 0.0) + (2 if size.count is None else size.count)
        return sorted(offset for offset, count in stock.items() if count >= 2)
