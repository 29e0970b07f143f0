"""Sources of the uncertainty budget: their names, as results and reports hold them, and the keys of `Setup`
that state how large they are.

A name is a contract: results that are stored hold it. A new one is declared here, beside the key that states
its size, and gets its covariance where the budget is made.
"""

from collections.abc import Mapping
from enum import StrEnum
from typing import Final


class Source(StrEnum):
    """What makes a vector unsure."""

    SCATTER = "scatter about the model"
    REPEATABILITY = "repeatability of this shop"
    BEYOND = "scatter about the model, beyond that"
    RESOLUTION = "resolution"
    ANGLE = "angle entry"
    MPE = "indicator's permissible error"
    TIP = "tip angle"
    SAG = "rig sag"
    CALIBRATION = "calibration of the dial"
    BEARINGS = "bearing clearance"
    FORM_OF_ARC = "form that these stations cannot resolve"
    FORM_HIDDEN = "form that hides between these stations"
    DRIFT_HIDDEN = "drift that does not show"
    HYSTERESIS = "hysteresis of the dial"
    SHORT = "plunger that stops short of the crests"
    LOST_MOTION = "lost motion of the angle"
    DELAY = "delay of the dial"
    ZERO = "12 o'clock of the angle scale"
    KNOCK = "when the zero moved"
    STOP = "tip off, or plunger at its stop"

    def of(self, whose: str) -> str:
        """Its name where a rig that was measured states it, or a shop's own study."""
        return f"{self.value} ({whose})" if whose else self.value


STATED: Final[Mapping[Source, tuple[str, ...]]] = {
    Source.REPEATABILITY: ("repeatability_mm",),
    Source.RESOLUTION: ("resolution_mm",),
    Source.ANGLE: ("angle_sd_deg",),
    Source.MPE: ("mpe_mm",),
    Source.TIP: ("tip_angle_deg",),
    Source.SAG: ("sag_mm", "sag_sd_mm"),
    Source.CALIBRATION: ("calibration_sd_mm",),
    Source.BEARINGS: ("bearing_clearance_mm",),
    Source.FORM_HIDDEN: ("hidden_form_mm",),
    Source.DRIFT_HIDDEN: ("drift_mm",),
    Source.HYSTERESIS: ("hysteresis_mm",),
    Source.LOST_MOTION: ("lost_motion_deg",),
    Source.DELAY: ("delay_sd_s",),
    Source.ZERO: ("zero_sd_deg",),
}
"""By which keys each is stated; the others follow from the readings."""
