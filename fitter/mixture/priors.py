"""What may disturb a sweep of stations, and how large each of it may be before anything was read.

Sizes that nobody knows are a few nodes with weights, summed over; what has no source is common practice.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from ..numeric.basis import Floats
from ..units import MM_PER_THOU

Sizes = tuple[tuple[float, float], ...]
"""Sizes, thou, and the share of each."""

ORDERS: Final = range(2, 11)
"""Lobes of form. More of them are finish: less than a hundredth of a thou in a bore."""

USUAL_NOISE: Final = 0.14 * MM_PER_THOU
"""A dial in order, read at rest, repeats to a twentieth of a thou to half a thou (common practice, no
source)."""

_FACTOR: Final = 0.74
"""How far it usually is from that, as one standard deviation of its logarithm."""

NOISE: Final[Floats] = np.geomspace(0.04, 40.0, 13) * MM_PER_THOU
"""From what no dial shows to what none may. Finer steps tell nothing: ten stations know their scatter to a
quarter at best."""

USUAL_SECTOR_NOISE: Final = 0.15 * MM_PER_THOU
"""Of a sector of five degrees that was passed over, the mean of some twenty readings (a judgement, no
source)."""

SECTOR_NOISE: Final[Floats] = np.geomspace(0.004, 40.0, 36) * MM_PER_THOU
"""The same of sectors that were passed over: hundreds of them know their scatter well."""

TIES: Final[Sizes] = (
    (0.0, 0.08),
    (0.5, 0.12),
    (0.8, 0.15),
    (0.89, 0.2),
    (0.94, 0.2),
    (0.97, 0.15),
    (0.99, 0.1),
)
"""Correlation of neighbouring sectors: nought, or errors that last for seven degrees to five hundred (a
judgement, no source)."""

SECTOR_BESIDE: Final[Sizes] = ((1.0, 0.35), (0.35, 0.4), (0.12, 0.25))
"""Standard deviation of a sector beside that of a station that was stopped at, in a sweep of the same
housing: of some twenty readings the mean scatters less, as far as they err each for itself."""

OVAL: Final[Sizes] = ((0.1, 0.1), (0.4, 0.55), (1.2, 0.28), (3.5, 0.07))
"""Standard deviation of each coefficient of the oval, thou, and its share: most bores are oval by less than a
thou, some by three (common practice, no source)."""

REST: Final[Sizes] = ((0.05, 0.15), (0.16, 0.4), (0.35, 0.38), (1.2, 0.07))
"""The same for three lobes; more are in proportion (`shape`). Without the smallest a dial that scatters on a
good bore would pass for a quiet one on a lobed bore."""

DRIFT: Final[Sizes] = ((0.1, 0.4), (0.6, 0.54), (2.5, 0.06))
"""Standard deviation of the drift over a sweep, thou: two rigs of five stand still, one in sixteen gives
way (a judgement, no source). Were more of them still, a closing reading that is off would speak for a dial
that scatters; did more of them give way, it would hardly speak for a knock."""


@dataclass(frozen=True, slots=True)
class Fault:
    """A kind of fault: its chance in a sweep, and how large it is, thou, with the share of each size."""

    chance: float
    sizes: Sizes


KNOCK: Final = Fault(0.14, ((2.0, 0.8), (8.0, 0.2)))
"""The zero moved between two stations: a touch of the lead, or a fall of the magnet's foot."""

KNOCK_UNCHECKED: Final = 0.15
"""Share of that chance where no place is read twice: any oval would do for a knock there, and a bar that
allowed for one each time would tell nothing of a bore that is oval (a judgement, no source; the result says
that such a sweep does not show it)."""

BAD: Final = Fault(0.05, ((2.0, 0.45), (10.0, 0.35), (200.0, 0.2)))
"""One reading is not of the surface: grit, a burr, a hole. Or it was taken down wrongly, and is anything."""


BESIDE: Final = 8.0
"""How much likelier one more fault is beside another: the rig is knocked about, the bore is full of burrs."""

OFFSET: Final[Sizes] = ((0.6, 0.3), (2.0, 0.35), (6.0, 0.35))
"""Standard deviation of each coordinate of the offset, thou, where the readings leave it open (common
practice, no source)."""

ZERO_MM: Final = 20.0 * MM_PER_THOU
"""The same of the dial's zero about the middle of its readings, mm: anywhere."""

STOP_PER_MM: Final = 0.05 / (9.0 * MM_PER_THOU)
"""Density of a stop at either end of the travel: a plunger that hardly reaches meets it anywhere on its way,
in one sweep of ten of a bore that runs out by nine thou (common practice, no source)."""


def shape(order: int) -> float:
    """Size of three and more lobes, as a share of that of three: it falls with the square of their number
    from four on (common practice, no source)."""
    return {3: 1.0, 4: 0.6}.get(order, 2.0 * (2.0 / order) ** 2)


def log_sector_noise(sd: Floats) -> Floats:
    """How usual each scatter of a sector is, as a logarithm."""
    return np.asarray(-0.5 * (np.log(sd / USUAL_SECTOR_NOISE) / 1.2) ** 2)


def log_noise(sd: Floats) -> Floats:
    """How usual each scatter is, as a logarithm: log-normal, but for one sweep in some hundred that is out
    of order, by anything."""
    off = np.log(sd / USUAL_NOISE) / _FACTOR
    return np.asarray(np.log(np.exp(-0.5 * off**2) + 0.004 * (off > 0.0)))


@dataclass(frozen=True, slots=True)
class Priors:
    """What a shop's own study may know better, thou, with the share of each size.

    noise: standard deviation of a reading at a station. oval, rest: as OVAL and REST.
    """

    noise: Sizes
    oval: Sizes
    rest: Sizes


USUAL: Final = Priors(
    noise=tuple(zip((NOISE / MM_PER_THOU).tolist(), np.exp(log_noise(NOISE)).tolist(), strict=True)),
    oval=OVAL,
    rest=REST,
)
