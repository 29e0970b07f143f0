"""Sweeps of one housing as one set of stations to fit: what each keeps, and what they share.

Each sweep has its own mounting of the indicator, so its own mean, drift, lag and closing reading.
Stations err each for itself and average down; the permissible error of the dial, the droop of the
arm and a tip at an angle are those of the shop's one rig, in every sweep alike, and do not.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from ..numeric.basis import Floats
from ..reading import checks
from ..reading.setup import Setup
from ..reading.stations import COLUMNS, Stations
from ..result import Outlier, Step
from . import faults
from .model import Fit
from .prepare import Prepared
from .scatter import Sweep

_OF_THE_RIG = (
    "mpe_mm", "sag_mm", "calibration_sd_mm", "zero_sd_deg", "delay_sd_s", "lost_motion_deg", "hysteresis_mm",
)  # fmt: skip
"""What errs in the same way in every sweep: sizes add up as they are."""

_OF_THE_STATION = ("resolution_mm", "angle_sd_deg", "drift_mm")
"""What errs anew at every station: variances add up."""


@dataclass(frozen=True, slots=True)
class Together:
    """Several sweeps in one table.

    parts: the sweeps.
    stations: of all of them, one after another.
    extras: more columns of the model, by name and sweep.
    sweeps: the rows of each.
    """

    parts: tuple[Prepared, ...]
    stations: Stations
    extras: dict[tuple[str, int], Floats]
    sweeps: tuple[Sweep, ...]


def together(parts: Sequence[Prepared]) -> Together:
    """The stations of several sweeps in one table, with a column for each thing of each sweep's own."""
    ends = np.cumsum([0, *(len(part.stations) for part in parts)]).tolist()
    sweeps = tuple(
        Sweep(slice(ends[k], ends[k + 1]), part.share, part.continuous) for k, part in enumerate(parts)
    )

    def padded(column: Floats, k: int) -> Floats:
        whole = np.zeros(ends[-1])
        whole[sweeps[k].rows] = column
        return whole

    extras = {(name, k): padded(v, k) for k, part in enumerate(parts) for name, v in part.extras.items()}
    for k in range(1, len(parts)):
        extras["mounting", k] = padded(np.ones(len(parts[k].stations)), k)
    tables = [part.stations for part in parts]
    stations = tables[0]
    if len(tables) > 1:
        columns = {name: np.concatenate([getattr(table, name) for table in tables]) for name in COLUMNS}
        stations = Stations(**columns, continuous=all(table.continuous for table in tables))
    return Together(tuple(parts), stations, extras, sweeps)


@dataclass(frozen=True, slots=True)
class Behaviour:
    """What the sweeps showed of themselves, of several the worst.

    closure: last less first reading, less the lag between the two senses, mm.
    left_in: closure that was not taken out.
    drift: what was taken out.
    hysteresis: clockwise less anticlockwise.
    outliers: of all.
    step: the largest knock.
    """

    closure: float | None
    left_in: float | None
    drift: float | None
    hysteresis: float | None
    outliers: tuple[Outlier, ...]
    step: Step | None


def behaviour(whole: Together, fitted: Fit) -> Behaviour:
    """What each sweep's own columns came to in the fit of all."""
    sizes = dict(zip(whole.extras, fitted.extras().tolist(), strict=True))
    drifts, lags, left, steps, closures = [], [], [], [], []
    for k, part in enumerate(whole.parts):
        fitted_drift = sizes.get(("drift", k))
        drifts.append(part.drift_mm if part.drift_mm is not None else fitted_drift)
        # Back in the other sense, the first place reads differently by the lag, and nothing moved.
        closure = part.closure
        if closure is not None:
            closure -= sizes.get(("sense", k), 0.0) * part.turned
        closures.append(closure)
        left.append(closure if drifts[-1] is None else None)
        lags.append(sizes.get(("sense", k), checks.hysteresis(part.stations)))
        if part.step_at is not None:
            steps.append(faults.step_finding(part.stations, part.step_at, sizes["step", k]))
    return Behaviour(
        closure=_worst(closures),
        # A rig that gives way does so again: what it gave way by is not averaged down.
        left_in=left[0] if len(left) == 1 else _usual(left),
        drift=_worst(drifts),
        hysteresis=_worst(lags),
        outliers=tuple(outlier for part in whole.parts for outlier in part.outliers),
        step=max(steps, key=lambda step: abs(step.size), default=None),
    )


def doubt(whole: Together, fitted: Fit) -> Floats:
    """Covariance of the vector for not knowing when each sweep's zero moved, mm^2, shape (2, 2)."""
    weights = _weights(whole, fitted)
    # When a knock came is chance in each sweep anew.
    parts = [weight**2 * part.doubt for weight, part in zip(weights, whole.parts, strict=True)]
    return np.asarray(sum(parts, np.zeros((2, 2))))


def _worst(sizes: Sequence[float | None]) -> float | None:
    return max((size for size in sizes if size is not None), key=abs, default=None)


def _usual(sizes: Sequence[float | None]) -> float | None:
    """Root mean square over all sweeps; None where none has a size."""
    known = [size for size in sizes if size is not None]
    return math.sqrt(sum(size * size for size in known) / len(sizes)) if known else None


def common_setup(setups: Sequence[Setup], whole: Together, fitted: Fit) -> Setup:
    """One setup that stands for all in the budget and the verdict: the strictest limit, and of every
    error what it does to the vector of all, each sweep by its weight in it. The order of the sweeps
    does not matter."""
    weights = _weights(whole, fitted)
    # What differs from sweep to sweep averages down over sweeps.
    repeats = math.sqrt(sum((w * s.repeatability_mm) ** 2 for w, s in zip(weights, setups, strict=True)))
    if all(setup == setups[0] for setup in setups):
        return replace(setups[0], repeatability_mm=repeats) if len(setups) > 1 else setups[0]
    shares = [len(part.stations) / len(whole.stations) for part in whole.parts]
    values: dict[str, Any] = {
        name: sum(w * abs(getattr(setup, name)) for w, setup in zip(weights, setups, strict=True))
        for name in _OF_THE_RIG
    }
    values["sag_sd_mm"] = sum(w * s.sag_uncertainty_mm for w, s in zip(weights, setups, strict=True))
    for name in _OF_THE_STATION:
        squares = (share * getattr(setup, name) ** 2 for share, setup in zip(shares, setups, strict=True))
        values[name] = math.sqrt(sum(squares))
    tip = sum(
        w * math.tan(math.radians(abs(setup.tip_angle_deg))) for w, setup in zip(weights, setups, strict=True)
    )
    return replace(
        setups[0],
        limit_mm=min(setup.limit_mm for setup in setups),
        tip_angle_deg=math.degrees(math.atan(tip)),
        calibration=max(
            (setup.calibration for setup in setups),
            key=lambda c: (max((abs(v) for _, v in c), default=0.0), c),
        ),
        repeatability_mm=repeats,
        unknown=tuple(sorted({name for setup in setups for name in setup.unknown})),
        **values,
    )


def _weights(whole: Together, fitted: Fit) -> list[float]:
    """How much each sweep counts in the vector of all: they add up to one."""
    towards = (fitted.unscaled @ fitted.design.T)[[1, 2]]
    weights = [
        max(0.0, float(np.trace(towards[:, sweep.rows] @ whole.stations.basis[sweep.rows, 1:3])) / 2.0)
        for sweep in whole.sweeps
    ]
    return [weight / sum(weights) for weight in weights]
