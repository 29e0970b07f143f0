"""The uncertainty budget of the measured vector (JCGM 100:2008): its lines, and those that no sweep shows.

What the readings tell is the model's (`fitter.certainty.modelled`); what is known of the instrument and the
rig beforehand is type B, and is added in quadrature.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from ..geometry import upwards
from ..numeric.basis import Floats
from ..reading import corrections
from ..reading.setup import RIG_SHARE, Setup
from ..reading.sources import Source
from ..result import BudgetLine
from .amount import axes_of, chance_of_none, expanded_amount, expanded_direction
from .decision import claimed, probability_within
from .normals import Normals

TIP_SD_DEG = 2.0
"""Standard uncertainty of a tip angle judged by eye (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Budget:
    """How sure the vector is, and why.

    covariance: of the vector (x, y), mm^2, shape (2, 2).
    freedom: effective degrees of the 95 % region (`fitter.certainty.freedom`), inf where all is type B.
    length, length_freedom: the same for what is asked of its length, which turning alone does not change.
    lines: the sources.
    error, length_error: the parts that have these regions; None where a shop's repeatability stands for them.
    """

    covariance: Floats
    freedom: float
    length: Floats
    length_freedom: float
    lines: tuple[BudgetLine, ...]
    error: Normals | None = None
    length_error: Normals | None = None

    def amount_bar(self, vector: Floats) -> float:
        """Half-width of the 95 % interval of the amount, mm, where the vector (2,) is reported."""
        error = self.length_error
        far = error.half_width(axes_of(vector)[0]) if error is not None and vector.any() else None
        return expanded_amount(vector, self.length, self.length_freedom, far)

    def direction_bar(self, vector: Floats) -> float:
        """Half-width of the 95 % interval of the direction, degrees; 180: it is anybody's guess."""
        reach = self.error.reach(axes_of(vector)) if self.error is not None and vector.any() else None
        return expanded_direction(vector, self.covariance, self.freedom, reach)

    def within(self, radius: float, vector: Floats, bar: float) -> float:
        """Probability that the true vector lies within a radius, mm, as a verdict may use it. bar: of the
        amount, mm."""
        own = self.length, self.length_freedom
        error = self.length_error
        within = error.within(radius, vector) if error else probability_within(radius, vector, *own)
        return claimed(within, radius - math.hypot(*vector), bar, chance_of_none(vector, *own))


Part = tuple[str, Literal["A", "B"], Floats]


def lines(parts: Sequence[Part]) -> tuple[BudgetLine, ...]:
    """The size of each source: standard uncertainty of a component of the vector, mm."""
    return tuple(
        BudgetLine(str(name), kind, value)
        for name, kind, part in parts
        if (value := math.sqrt(max(float(np.trace(part)) / 2.0, 0.0))) > 1e-9 or kind == "A"
    )


def beyond_scatter(setup: Setup, amplitude: float) -> list[Part]:
    """What repeating the stations would not show: name, kind B and covariance of (x, y).

    amplitude: of the first harmonic, mm."""
    plane, plumb = np.eye(2), np.outer(up := np.array(upwards(setup.engine_tilt_deg)), up)
    tip = math.tan(math.radians(abs(setup.tip_angle_deg))) * math.radians(TIP_SD_DEG) * amplitude
    droops = any(corrections.droop(setup))
    return [
        # Independent errors, even within +-MPE, at the two ends of the swing: MPE / sqrt 6.
        (Source.MPE, "B", setup.mpe_mm**2 / 6.0 * plane),
        (Source.TIP, "B", tip**2 * plane),
        (Source.SAG.of(setup.rig), "B", (setup.sag_uncertainty_mm * droops) ** 2 * plumb),
        (Source.CALIBRATION.of(setup.rig), "B", setup.calibration_sd_mm**2 * plane),
        (Source.BEARINGS, "B", (RIG_SHARE * math.hypot(*corrections.resting(setup))) ** 2 * plumb),
    ]
