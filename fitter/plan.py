"""Which dowels to fit, and which way to turn them.

A dowel of offset d carries the housing d towards its high side. A parallel pair (both high sides
the same way, common practice) set towards the high point of a bore leaves |e - d| of the
eccentricity e. Options are ranked by the probability of ending within the limit once the
measurement's and the fitter's own errors are counted, then by what they leave, then by
plainness.
"""

import math
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any, Literal

import numpy as np

from . import checks
from .basis import Floats
from .decision import SURE, probability_within
from .geometry import clock, polar, wrap
from .result import Result
from .setup import Setup
from .stations import Stations
from .words import thou

OFFSET_SD_MM = 0.3 * 0.0254
"""Spread of a dowel's true offset about its marking, a third of a thou (common practice, no source)."""

SETTING_SD_DEG = 5.0
"""Spread of the angle to which a dowel is turned by eye and mark (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Measured:
    """What the planner needs to know of a sweep: E and its covariance (mm, mm^2), degrees of
    freedom, the corrected stations (for the swept TIR to come), permitted TIR (mm), whether the
    eccentricity was told from noise, and the form's peak to valley (mm)."""

    setup: Setup
    vector: tuple[float, float]
    covariance: Floats
    freedom: float
    stations: Stations
    limit: float
    detected: bool = True
    form: float = 0.0

    @classmethod
    def of(cls, setup: Setup, result: Result, stations: Stations, limit: float) -> "Measured":
        """From a result and its corrected stations."""
        ecc = result.eccentricity
        return cls(
            setup=setup,
            vector=ecc.vector,
            covariance=np.array(ecc.covariance),
            freedom=ecc.freedom if ecc.freedom is not None else math.inf,
            stations=stations,
            limit=limit,
            detected=ecc.detected,
            form=result.form.peak_to_valley,
        )


@dataclass(frozen=True, slots=True)
class Dowel:
    """One dowel: offset in mm, direction of its high side in degrees and as clock text."""

    offset: float
    deg: float
    clock: str

    @classmethod
    def at(cls, offset: float, deg: float) -> "Dowel":
        """A dowel of `offset` mm with its high side towards `deg`."""
        return cls(offset, wrap(deg), clock(deg))


@dataclass(frozen=True, slots=True)
class Predicted:
    """TIR to expect afterwards, mm: of the eccentricity, and of the whole dial swing, form included."""

    tir_fitted: float
    tir_swept: float


@dataclass(frozen=True, slots=True)
class Option:
    """One way to go on. window_deg: how far off the mark both dowels may be turned and still end
    within the limit (None: no angle does, or there is nothing to turn)."""

    pair: Literal["none", "parallel", "split"]
    dowels: tuple[Dowel, ...]
    predicted: Predicted
    probability: float
    window_deg: float | None
    note: str

    def to_dict(self) -> dict[str, Any]:
        """The option as JSON-ready dictionaries and lists."""
        return asdict(self)


def plan(measured: Measured, kit: Sequence[float]) -> list[Option]:
    """Every option of a kit of offsets (mm), best first; "none" is always among them.

    Raises ValueError for an offset that is not positive.
    """
    options = [_none(measured)]
    options += [_parallel(measured, offset) for offset in sorted(set(kit))]
    # Where the housing is good as it stands, or nothing was found to correct, leave it alone.
    leave = options[0].probability >= SURE or not measured.detected
    return sorted(options, key=lambda option: _rank(option, leave))


def _rank(option: Option, leave: bool) -> tuple[object, ...]:
    offset = option.dowels[0].offset if option.dowels else 0.0
    return (
        not (leave and option.pair == "none"),
        # Differences in the third decimal are no reason to prefer one size to another.
        -round(option.probability, 3),
        round(option.predicted.tir_fitted, 6),
        offset,
    )


def _none(measured: Measured) -> Option:
    probability = probability_within(
        measured.limit / 2.0, measured.vector, measured.covariance, measured.freedom
    )
    if not measured.detected:
        note = "nothing found that dowels could correct"
    elif probability >= SURE:
        note = "within the limit as it stands: leave it"
    else:
        note = "leave it as it stands"
    if measured.form > measured.limit:
        note += f"; form of {thou(measured.form)} alone exceeds the limit and dowels cannot cure it"
    predicted = _predict(measured, (0.0, 0.0))
    return Option("none", (), predicted, probability, None, note)


def _parallel(measured: Measured, offset: float) -> Option:
    if not offset > 0.0:
        raise ValueError(f"a dowel's offset must be positive, not {offset:g} mm")
    ex, ey = measured.vector
    eccentricity = math.hypot(ex, ey)
    towards = wrap(math.degrees(math.atan2(-ex, -ey)))
    shift = polar(offset, towards)
    probability = probability_within(
        measured.limit / 2.0,
        (ex + shift[0], ey + shift[1]),
        measured.covariance + setting_covariance(offset, towards),
        measured.freedom,
    )
    window = angle_window(eccentricity, offset, measured.limit)
    dowel = Dowel.at(offset, towards)
    return Option(
        pair="parallel",
        dowels=(dowel, dowel),
        predicted=_predict(measured, shift),
        probability=probability,
        window_deg=window,
        note=_parallel_note(measured, dowel, window, probability),
    )


def _parallel_note(measured: Measured, dowel: Dowel, window: float | None, probability: float) -> str:
    if not measured.detected:
        return "no direction was found to turn it to: do not fit"
    if window is None:
        return "wrong size: no angle brings it within the limit"
    if probability < 0.5:
        return "unlikely to end within the limit"
    turn = "at any angle" if window >= 180.0 else f"within {window:.0f} degrees either way"
    return f"both high sides to {dowel.clock} from behind, {turn}"


def setting_covariance(offset: float, deg: float) -> Floats:
    """Covariance of the shift of a parallel pair: each dowel's own offset and angle vary.

    The housing goes by the mean of the two, so each variance counts half.
    """
    along = np.array(polar(1.0, deg))
    across = np.array([along[1], -along[0]])
    swing = offset * math.radians(SETTING_SD_DEG)
    spread: Floats = (OFFSET_SD_MM**2 * np.outer(along, along) + swing**2 * np.outer(across, across)) / 2.0
    return spread


def angle_window(eccentricity: float, offset: float, limit: float) -> float | None:
    """Half-width in degrees of the angles at which a parallel pair ends within the TIR limit.

    From the cosine rule: cos delta >= (e^2 + d^2 - (L/2)^2) / (2 e d). None where even the best
    angle is not enough, 180 where every angle is.
    """
    if eccentricity == 0.0:
        return 180.0 if 2.0 * offset <= limit else None
    bound = (eccentricity**2 + offset**2 - (limit / 2.0) ** 2) / (2.0 * eccentricity * offset)
    # A pair that just meets the limit at its mark must not fall out by rounding.
    if bound > 1.0 + 1e-12:
        return None
    return math.degrees(math.acos(min(max(bound, -1.0), 1.0)))


def _predict(measured: Measured, shift: tuple[float, float]) -> Predicted:
    ex, ey = measured.vector
    sign = -1.0 if measured.setup.surface == "inside" else 1.0
    stations = measured.stations
    moved = stations.value + sign * (shift[0] * stations.basis[:, 2] + shift[1] * stations.basis[:, 1])
    return Predicted(
        tir_fitted=2.0 * math.hypot(ex + shift[0], ey + shift[1]),
        tir_swept=checks.swept(stations.with_values(moved)),
    )
