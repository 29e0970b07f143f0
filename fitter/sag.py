"""The droop of a dial's arm, from a sweep on a stiff bar.

Arm and dial are clamped to the bar, the tip rests on the bar itself, and the bar lies level and is turned
with all of it, as on the engine. The tip never leaves its spot, so that nothing but weight changes the
reading: at the top the dial hangs into the bar and reads s high, at the bottom it hangs away and reads s low,

    m(th) = c + s cos th

which is an outside surface that stands off by s upwards. Bottom less top is -2 s: half of it is the sag, and
on an engine it comes back as `Setup.sag_mm` (worked example in tests/tui/test_published.py). What weight does
has no part to the side: what is found there is a loose arm, a bar out of level, or a 12 o'clock out of place.
"""

import math
from dataclasses import dataclass

from .numeric.quantiles import t_quantile
from .result import Result


@dataclass(frozen=True, slots=True)
class Sag:
    """What was found, mm.

    amount: the sag, as an amplitude; negative where the dial read high at the bottom.
    u95: half-width of its 95 % interval.
    sideways: what pulls to 3 o'clock as weight pulls down, with its half-width.
    """

    amount: float
    u95: float
    sideways: float
    sideways_u95: float

    @property
    def bottom(self) -> float:
        """What the dial reads at the bottom, having been set to zero at the top."""
        return -2.0 * self.amount

    @property
    def odd(self) -> bool:
        """Whether something beside weight moves the dial: more to the side than its scatter and than a tenth
        of the sag, or a dial that reads high at the bottom."""
        beside = abs(self.sideways) > max(self.sideways_u95, 0.1 * abs(self.amount))
        return beside or self.amount < -self.u95


def sag_of(result: Result) -> Sag:
    """The sag that a sweep of feature "sag" found."""
    found = result.eccentricity
    factor = t_quantile(0.975, found.freedom or math.inf)
    (xx, _), (_, yy) = found.covariance
    return Sag(found.vector[1], factor * math.sqrt(yy), found.vector[0], factor * math.sqrt(xx))
