"""What dowels there are to choose from."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from ..errors import FitterError
from ..units import MM_PER_THOU

OFFSET_SD_MM = 0.3 * MM_PER_THOU
"""Spread of a dowel's true offset about its marking, a third of a thou (common practice, no source)."""


Way = Literal["tight", "free"]
"""How dowels are set: each stays where its mark was put, or is turned until the housing slides home."""


class KitError(FitterError):
    """A kit that cannot be used; says what is wrong."""


SAME_PIN_MM = 0.1
"""Pins nearer than this are one nominal size, written in one unit and the other."""


@dataclass(frozen=True, slots=True)
class Size:
    """One size.

    offset: of the nose's axis from the body's, mm.
    count: how many remain (None: enough).
    kit, mark_deg, body: of the kit that it is of, where several are at hand; None: as the kit they are in.
    """

    offset: float
    count: int | None = None
    kit: str = ""
    mark_deg: float | None = None
    body: float | None = None


@dataclass(frozen=True, slots=True)
class Kit:
    """Sizes to choose from.

    offset_sd: spread of true offsets, mm.
    mark_deg: from the mark or slot that one sees to the high side, degrees clockwise from behind.
    body: diameter of the pin, mm, None if not known.
    way: of setting that it is made for, None if it does not say.
    aside: kits whose pins do not fit the hole: name and diameter, mm.
    """

    name: str
    sizes: tuple[Size, ...]
    offset_sd: float = OFFSET_SD_MM
    mark_deg: float = 0.0
    body: float | None = None
    way: Way | None = None
    aside: tuple[tuple[str, float], ...] = ()

    @classmethod
    def of(cls, offsets: Sequence[float], name: str = "kit") -> "Kit":
        """A kit of plain offsets in mm, as many of each as one likes. Raises KitError."""
        return cls(name, tuple(Size(offset) for offset in sorted(set(offsets)))).checked()

    @classmethod
    def together(cls, kits: Sequence["Kit"]) -> "Kit":
        """Several kits at hand. Spreads are as wide as the widest; they are set free if all are made for
        that, and tight as soon as one is, or does not say."""
        if len(kits) == 1:
            return kits[0]
        ways = {kit.way for kit in kits}
        return cls(
            name=" + ".join(kit.name for kit in kits),
            sizes=tuple(kit._own(size) for kit in kits for size in kit.sizes),
            offset_sd=max(kit.offset_sd for kit in kits),
            way=ways.pop() if len(ways) == 1 else "tight",
            aside=tuple(each for kit in kits for each in kit.aside),
        ).checked()

    def _own(self, size: Size) -> Size:
        """A size that knows what its kit says of all."""
        body = self.body if size.body is None else size.body
        return Size(size.offset, size.count, size.kit or self.name, self._mark(size), body)

    def _mark(self, size: Size) -> float:
        return self.mark_deg if size.mark_deg is None else size.mark_deg

    def for_hole(self, hole: float | None = None) -> "Kit":
        """The kit with the sizes that a dowel hole of this diameter, mm, takes; those that do not say theirs
        stay. hole: None if not known, and then all must be of one diameter. Raises KitError, in words."""
        bodies = sorted({body for size in self.sizes if (body := self._own(size).body) is not None})
        if hole is None and bodies and bodies[-1] - bodies[0] > SAME_PIN_MM:
            raise KitError(
                "these kits have pins of different diameters, and a hole takes only one of them: "
                "--hole says which, such as --hole 12.7mm"
            )
        fit, aside = [], {}
        for size in self.sizes:
            body = self._own(size).body
            if hole is None or body is None or abs(body - hole) <= SAME_PIN_MM:
                fit.append(size)
            else:
                aside[size.kit or self.name] = body
        if not fit:
            pins = ", ".join(f"{name}: {body:.4g} mm" for name, body in aside.items())
            raise KitError(f"no kit fits a dowel hole of {hole:.4g} mm (pins of {pins})")
        self._one_mark_a_size(fit)
        own = next((body for size in fit if (body := self._own(size).body) is not None), self.body)
        return replace(self, sizes=tuple(fit), body=own, aside=(*self.aside, *aside.items()))

    def _one_mark_a_size(self, sizes: Sequence[Size]) -> None:
        marks: dict[float, float] = {}
        for size in sizes:
            mark = self._mark(size)
            if abs(marks.setdefault(size.offset, mark) - mark) > 1e-9:
                raise KitError(
                    f"two kits hold {size.offset:.4g} mm, and carry their marks differently: "
                    "plan with one at a time"
                )

    def mark_of(self, offset: float) -> float:
        """From the mark of a dowel of this offset to its high side, degrees."""
        near = min(self.sizes, key=lambda size: abs(size.offset - offset), default=None)
        return self.mark_deg if near is None else self._mark(near)

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
