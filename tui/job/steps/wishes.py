"""What is asked for in a step (limit, kit, holes ...), as one value: what options or a screen say, else what
the job says, else what is usual.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from coaxly.fitter.dowels.kit import Kit, Way
from coaxly.fitter.dowels.limits import Limit
from coaxly.fitter.dowels.pins import Pins
from coaxly.fitter.dowels.plan import PairChoice, Workshop
from coaxly.fitter.dowels.setting import DowelSetting
from coaxly.fitter.geometry import Vector

from ...entry.kits import kits_at_hand
from ...errors import UsageError
from ..folder.details import NAME
from ..folder.material import kit_of, value_of
from ..folder.snapshot import Snapshot


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """What is said of dowels that are planned or proved; None where nobody said. Lengths in mm.

    limit: by which sweeps are judged. given: keys of a setup that count before a recording's (of a rig).
    hole: diameter of the dowel holes. pins: where they are. fitted: what was in when it was swept.
    clearance: bind that the holes allow. turn_limit: how far the housing may turn, radians.
    usual_kit: what is at hand where nobody names others, "" for nothing.
    taking: whether one of the options is going to be taken, for which a look is not enough.
    """

    limit: Limit | None = None
    given: Mapping[str, Any] = field(default_factory=dict)
    kit: Kit | None = None
    hole: float | None = None
    pins: Pins | None = None
    fitted: DowelSetting | None = None
    pair: PairChoice | None = None
    clearance: float | None = None
    way: Way | None = None
    turn_limit: float | None = None
    usual_kit: str = ""
    taking: bool = False

    def within(self, known: Snapshot | None) -> "Wish":
        """With what the job says of the rest, and only the kits that the holes take. Raises UsageError or
        FitterError."""
        hole, pins, kit = self.hole, self.pins, self.kit
        if known is not None:
            kit = kit or kit_of(known, self.usual_kit, hole)
            hole = value_of(known, "hole") if hole is None else hole
            pins = pins or value_of(known, "dowels")
        elif kit is None and self.usual_kit:
            kit = kits_at_hand(self.usual_kit)
        return replace(self, kit=kit and kit.for_hole(hole), hole=hole, pins=pins)

    @property
    def workshop(self) -> Workshop:
        """What there is to work with; without a kit, of no size. Raises UsageError."""
        if self.pair == "split" and self.pins is None:
            raise UsageError(
                '--pair split needs to know where the dowels are: --dowels "-5.5in,-1in 5.5in,-1in"'
            )
        kit = self.kit or Kit("unknown", ())
        usual = Workshop(kit)
        return replace(
            usual,
            pins=self.pins,
            clearance=usual.clearance if self.clearance is None else self.clearance,
            turn_limit=self.turn_limit or usual.turn_limit,
            pair=self.pair or ("parallel" if self.pins is None else "any"),
            # As was asked for, else as their kit says, else the careful way.
            way=self.way or kit.way or usual.way,
        )

    def need_kit(self, known: Snapshot | None) -> None:
        """Raises UsageError where no dowels are at hand."""
        if self.kit is None and known is None:
            raise UsageError("--kit is missing: give the offsets you have, such as --kit 5thou,10thou,15thou")
        if self.kit is None and known is not None:
            where = known.path / NAME
            raise UsageError(f"{where}: kit: say which dowels are at hand, such as 5thou,10thou")


@dataclass(frozen=True, slots=True, kw_only=True)
class FaceWish:
    """What is said of shims under a face; None where nobody said. Lengths in mm.

    bolts: where they are, (x, y) each. stock: thicknesses at hand. radius: at which the dial ran.
    depth, pilot: as in `fitter.face.Mounting`. clearance: of the gearbox's register in the bore, in diameter.
    bore: recording of the bore, for what the two do together.
    """

    limit: Limit | None = None
    given: Mapping[str, Any] = field(default_factory=dict)
    bolts: Sequence[Vector] | None = None
    stock: Sequence[float] | None = None
    radius: float | None = None
    depth: float | None = None
    pilot: float | None = None
    clearance: float | None = None
    bore: Path | None = None
