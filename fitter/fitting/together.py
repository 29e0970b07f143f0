"""Sweeps of one housing as one set of stations to fit: what each keeps, and what they share.

Each sweep has its own mounting of the indicator, so its own mean, drift, lag and closing reading.
Stations err each for itself and average down; the permissible error of the dial, the droop of the
arm and a tip at an angle are those of the shop's one rig, in every sweep alike, and do not.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..keys import Share, keys_of
from ..numeric.basis import Floats, in_blocks
from ..reading import checks
from ..reading.setup import Setup
from ..reading.stations import Stations, one_table
from ..result import Outlier, Step
from .model import Fit
from .prepare import Prepared


@dataclass(frozen=True, slots=True)
class Sweep:
    """The rows of a fit that one sweep gave.

    share: of the closing reading's excess taken from each station, shape (rows,), where it was.
    """

    rows: slice
    share: Floats | None = None


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

    def late_s(self) -> float:
        """How late the dial was in the sweep where it was most so, s."""
        return max((part.late_s for part in self.parts), key=abs)


def together(parts: Sequence[Prepared]) -> Together:
    """The stations of several sweeps in one table, with a column for each thing of each sweep's own."""
    lengths = [len(part.stations) for part in parts]
    ends = np.cumsum([0, *lengths]).tolist()
    sweeps = tuple(Sweep(slice(ends[k], ends[k + 1]), part.share) for k, part in enumerate(parts))
    own = in_blocks(lengths, (part.extras.values() for part in parts))
    mountings = in_blocks(lengths, ([1.0] if k else [] for k in range(len(parts))))
    names = [(name, k) for k, part in enumerate(parts) for name in part.extras]
    names += [("mounting", k) for k in range(1, len(parts))]
    extras = dict(zip(names, np.column_stack([own, mountings]).T, strict=True))
    return Together(tuple(parts), one_table([part.stations for part in parts]), extras, sweeps)


@dataclass(frozen=True, slots=True)
class Behaviour:
    """What the sweeps showed of themselves, of several the worst.

    closure: last less first reading, less the lag between the two senses, mm.
    drift: what was taken out.
    hysteresis: clockwise less anticlockwise.
    outliers: of all.
    step: the largest knock.
    """

    closure: float | None
    drift: float | None
    hysteresis: float | None
    outliers: tuple[Outlier, ...]
    step: Step | None


def behaviour(whole: Together, fitted: Fit) -> Behaviour:
    """What each sweep's own columns came to in the fit of all."""
    sizes = dict(zip(whole.extras, fitted.extras().tolist(), strict=True))
    drifts, lags, steps, closures = [], [], [], []
    for k, part in enumerate(whole.parts):
        fitted_drift = sizes.get(("drift", k))
        drifts.append(part.drift_mm if part.drift_mm is not None else fitted_drift)
        # Back in the other sense, the first place reads differently by the lag, and nothing moved.
        closure = part.closure
        if closure is not None:
            closure -= sizes.get(("sense", k), 0.0) * part.turned
        closures.append(closure)
        lags.append(sizes.get(("sense", k), checks.hysteresis(part.stations)))
        if (at := part.step_at) is not None:
            (after, before), t = part.stations.deg[at - 1 : at + 1].tolist(), part.stations.t[at - 1 : at + 1]
            steps.append(Step(sizes["step", k], after, before, float(t.sum() / 2.0), part.step_likely))
    return Behaviour(
        closure=_worst(closures),
        drift=_worst(drifts),
        hysteresis=_worst(lags),
        outliers=tuple(outlier for part in whole.parts for outlier in part.outliers),
        step=max(steps, key=lambda step: abs(step.size), default=None),
    )


def _worst(sizes: Sequence[float | None]) -> float | None:
    return max((size for size in sizes if size is not None), key=abs, default=None)


def common_setup(setups: Sequence[Setup], whole: Together, fitted: Fit) -> Setup:
    """One setup that stands for all in the budget and the verdict: each key by its own rule. Raises
    SetupError where sweeps differ in what makes them sweeps of one surface."""
    if len(setups) == 1:
        return setups[0]
    counts = (len(part.stations) / len(whole.stations) for part in whole.parts)
    shares = [Share(*each) for each in zip(setups, _weights(whole, fitted), counts, strict=True)]
    return joined(shares)


def joined(shares: Sequence[Share]) -> Setup:
    """The setups of several sweeps as one, whatever their order."""
    setups: list[Setup] = [share.setup for share in shares]
    alike = all(setup == setups[0] for setup in setups)
    # What differs from sweep to sweep averages down over sweeps that are alike in all they say, too.
    values = {
        name: one.joins(name, shares)
        for name, one in keys_of(type(setups[0])).items()
        if one.joins is not None and (not alike or name == "repeatability_mm")
    }
    unknown = {name for setup in setups for name in setup.unknown}
    return replace(setups[0], unknown=tuple(sorted(unknown)), **values)


def _weights(whole: Together, fitted: Fit) -> list[float]:
    """How much each sweep counts in the vector of all: they add up to one."""
    towards = (fitted.unscaled @ fitted.design.T)[[1, 2]]
    weights = [
        max(0.0, float(np.trace(towards[:, sweep.rows] @ whole.stations.basis[sweep.rows, 1:3])) / 2.0)
        for sweep in whole.sweeps
    ]
    return [weight / sum(weights) for weight in weights]
