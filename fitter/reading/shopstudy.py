"""What a shop's own study knows better than what is usual, as the header of a sweep has it."""

from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any

from ..keys import Calibration, is_number

Shares = tuple[tuple[float, float], ...]
"""Sizes, mm, rising, and the share of each."""

_MOST = 40


@dataclass(frozen=True, slots=True)
class ShopStudy:
    """Standard deviations that something may have, with the share of each, mm; () for as is usual.

    sweeps: how many were studied. noise: of a reading at a station. oval, lobes: of each coefficient of the
    oval and of three lobes, of housings of this family (`fitter.mixture.priors`).
    """

    sweeps: int
    noise: Shares = ()
    oval: Shares = ()
    lobes: Shares = ()

    def to_header(self) -> dict[str, Any]:
        """As an object of a header."""
        sizes = {"noise": self.noise, "oval": self.oval, "lobes": self.lobes}
        return {"sweeps": self.sweeps, **{name: [list(one) for one in each] for name, each in sizes.items()}}


@dataclass(frozen=True, slots=True)
class OfShop:
    """What `ShopStudy.to_header` wrote."""

    wanted: str = (
        f"an object with sweeps and noise, oval, lobes: up to {_MOST} [size_mm, share] pairs each, all above "
        "0"
    )

    def taken(self, value: object) -> Any:
        """As a `ShopStudy`; None, where nobody has one."""
        if value is None or isinstance(value, ShopStudy):
            return value
        names = {one.name for one in fields(ShopStudy)}
        if not isinstance(value, Mapping) or not value.keys() <= names or not is_number(value.get("sweeps")):
            raise ValueError
        sizes = {name: Calibration().taken(each) for name, each in value.items() if name != "sweeps"}
        for pairs in sizes.values():
            if len(pairs) > _MOST or not all(size > 0.0 and share > 0.0 for size, share in pairs):
                raise ValueError
        return ShopStudy(int(value["sweeps"]), **sizes)
