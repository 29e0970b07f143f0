"""A dial held against gauge steps: what it reads wrong, in and out, and how well it repeats.

The steps lie under the tip one after the other, up and down again, once or several times. With v the
plunger's travel as the dial shows it (positive going in), at the step of nominal length N_j,

    v = c + N_j + e_j + s h / 2 + noise

c: of each round, since the dial may be set anew between rounds; e_j: error of reading at the step, that of
the first being zero, for only differences count in a sweep; s: +1 with the plunger going in, -1 going out, so
that h is how much more the dial shows going in (hysteresis). Least squares; the uncertainty of an error also
holds that of the two steps (JCGM 100:2008, 4.3.7 and G.4.1).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from .errors import FitterError
from .numeric.basis import Floats
from .numeric.quantiles import t_quantile
from .reading.setup import Setup
from .reading.stations import Ints, Stations
from .result import Facts
from .units import MM_PER_INCH, MM_PER_THOU

STEPS_MPE_MM: Final = 0.05 * MM_PER_THOU
"""Permissible error of a gauge step where nobody says: that of workshop gauge blocks, with the film between
two of them (common practice, no source). Feelers are far worse."""

_FEWEST_TO_SPARE: Final = 2
_GRIDS_MM: Final = (
    0.01, 5e-4 * MM_PER_INCH, 0.005, 1e-4 * MM_PER_INCH, 0.002, 5e-5 * MM_PER_INCH, 0.001, 2e-5 * MM_PER_INCH,
    0.0005, 0.0002, 1e-5 * MM_PER_INCH, 0.0001,
)  # fmt: skip
"""Smallest steps that displays have, the coarsest first."""


class TooFewSteps(FitterError):
    """The readings are too few to tell the dial's errors from their scatter."""

    exit_code = 1

    def __init__(self, readings: int) -> None:
        """So many `readings` were taken."""
        super().__init__(
            f"no result yet: {readings} readings of the steps are too few: take all of them, up and down"
        )
        self.readings = readings


@dataclass(frozen=True, slots=True)
class StepError:
    """What the dial reads wrong at one step, less what it does at the first, mm.

    nominal: length of the step.
    shown: what the dial showed there in the first round, midway between both ways, before any correction.
    error: positive where the dial shows too much travel.
    u95: half-width of its 95 % interval (0 at the first).
    """

    nominal: float
    shown: float
    error: float
    u95: float


@dataclass(frozen=True, slots=True)
class DialCheck(Facts):
    """A finding about a dial; lengths in mm.

    readings: that were taken.
    steps: errors, by rising length.
    hysteresis: how much more it shows going in than out, with its 95 % half-width (None: not read both ways).
    repeatability: standard deviation of one reading, from `freedom` degrees.
    resolution: smallest step of its display, as far as the readings show it.
    table: (shown, correction) pairs, rising, for `Setup.calibration`.
    calibration_sd: standard uncertainty of half the difference of two corrected readings (of an amplitude),
        its few degrees of freedom allowed for.
    """

    readings: int
    steps: tuple[StepError, ...]
    hysteresis: float | None
    hysteresis_u95: float | None
    repeatability: float
    freedom: int
    resolution: float | None
    table: tuple[tuple[float, float], ...]
    calibration_sd: float
    feature: str = "steps"
    unit: str = "mm"

    @property
    def worst(self) -> StepError:
        """Where the error is largest."""
        return max(self.steps, key=lambda step: abs(step.error))


def ways(steps_mm: Sequence[float]) -> list[int]:
    """Which way the plunger goes onto each step: +1 in, -1 out. A step that is read twice running is met from
    the other side."""
    found = [1] if steps_mm else []
    for before, now in pairwise(steps_mm):
        found.append(1 if now > before else -1 if now < before else -found[-1])
    return found


def rounds(steps_mm: Sequence[float]) -> list[int]:
    """The round, from 0, of each reading: one begins where the plunger turns inwards again."""
    way, count, found = ways(steps_mm), 0, []
    for k, now in enumerate(way):
        count += k > 0 and now > way[k - 1]
        found.append(count)
    return found


def check_dial(setup: Setup, stations: Stations) -> DialCheck:
    """What readings of gauge steps say of a dial. stations: `deg` is the place of each reading in
    `setup.steps_mm`; values are the plunger's travel (polarity taken in).

    Raises TooFewSteps.
    """
    at = np.rint(stations.deg).astype(np.int64)
    kept = at < len(setup.steps_mm)
    at, value = at[kept], stations.value[kept]
    nominal = np.array(setup.steps_mm)[at]
    sizes = np.unique(nominal)
    design, first, both = _design(setup, at, nominal, sizes)
    freedom = len(value) - design.shape[1]
    if len(sizes) < 2 or freedom < _FEWEST_TO_SPARE or np.linalg.matrix_rank(design) < design.shape[1]:
        raise TooFewSteps(len(value))
    q, r = np.linalg.qr(design)
    found = np.linalg.solve(r, q.T @ (value - nominal))
    rest = value - nominal - design @ found
    grid = setup.resolution_mm or _grid(value)
    seen = float(rest @ rest) / freedom
    variance = max(seen, (grid or 0.0) ** 2 / 12.0)
    # Of the difference of in and out, and of that of two steps read both ways, averaged over rounds.
    common = 2.0 * _rounded_alike(seen, grid) / first if both else 0.0
    back = np.linalg.inv(r)
    unscaled = (back * back).sum(axis=1)  # the diagonal of (X'X)^-1
    two_steps = 2 * (setup.steps_mpe_mm**2 / 3.0)
    of_steps = slice(first, first + len(sizes) - 1)
    errors = [0.0, *found[of_steps].tolist()]
    shown = [setup.polarity * float(found[0] + size + e) for size, e in zip(sizes, errors, strict=True)]
    u95 = [0.0, *(_u95(variance * share, freedom, two_steps, common) for share in unscaled[of_steps])]
    return DialCheck(
        readings=len(value),
        steps=tuple(map(StepError, sizes.tolist(), shown, errors, u95)),
        hysteresis=float(found[-1]) if both else None,
        hysteresis_u95=_u95(variance * unscaled[-1], freedom, common) if both else None,
        repeatability=math.sqrt(variance),
        freedom=freedom,
        resolution=grid,
        table=_table(setup, shown, errors),
        # The half-widths are of differences of two corrected readings; an amplitude is half of one.
        calibration_sd=float(np.sqrt(np.mean(np.square(u95[1:])))) / 1.96 / 2.0,
    )


def _design(setup: Setup, at: Ints, nominal: Floats, sizes: Floats) -> tuple[Floats, int, bool]:
    """Columns of the constants of the rounds, of the steps but the first, and of hysteresis where both ways
    were read: (design, how many constants, whether both ways)."""
    way, turn = np.array(ways(setup.steps_mm))[at], np.array(rounds(setup.steps_mm))[at]
    constants = [(turn == k).astype(np.float64) for k in np.unique(turn)]
    both = len(np.unique(way)) > 1
    columns = constants + [(nominal == size).astype(np.float64) for size in sizes[1:]]
    columns += [way / 2.0] if both else []
    return np.column_stack(columns) if columns else np.zeros((0, 0)), len(constants), both


def _u95(read: float, freedom: int, *known: float) -> float:
    """Half-width of the 95 % interval of what has the variance `read` from so many degrees, and others that
    are known beside it, by the effective degrees of freedom of Welch and Satterthwaite."""
    whole = sum(known, read)
    effective = freedom * (whole / read) ** 2 if read > 0.0 else math.inf
    return math.sqrt(whole) * t_quantile(0.975, effective)


def _table(setup: Setup, shown: Sequence[float], errors: Sequence[float]) -> tuple[tuple[float, float], ...]:
    """What to add to what is shown; one pair for each, rising."""
    pairs = sorted((at, -setup.polarity * e + 0.0) for at, e in zip(shown, errors, strict=True))
    return tuple(pair for k, pair in enumerate(pairs) if k == 0 or pair[0] > pairs[k - 1][0])


def _rounded_alike(seen: float, grid: float | None) -> float:
    """Variance of what a coarse display does to all readings of a round alike, mm^2, where the steps are
    whole ones of the display: with normal noise of variance s^2 a rounded mean is off by up to (g / pi)
    exp(-2 pi^2 s^2 / g^2) of a sine of where it falls (first term of the series of a sawtooth)."""
    if not grid:
        return 0.0
    noise = max(seen - grid**2 / 12.0, 0.0)
    return (grid / math.pi) ** 2 / 2.0 * math.exp(-4.0 * math.pi**2 * noise / grid**2)


def _grid(value: Floats) -> float | None:
    """The coarsest step of a display on which every reading lies; None where none is."""
    for grid in _GRIDS_MM:
        if np.all(np.abs(value / grid - np.rint(value / grid)) < 1e-3):
            return grid
    return None
