"""The uncertainty budget of the measured vector (JCGM 100:2008).

Scatter about the model is type A with the degrees of freedom of the fit; what is known of the
instrument and the rig beforehand is type B. Known random effects (resolution, angle entry) are
already inside the scatter, so they only set a floor under it; what scatter cannot show (the
instrument's permissible error, the rig's sag) is added in quadrature.
"""

import math
from dataclasses import dataclass

import numpy as np

from .basis import Floats
from .model import Fit
from .result import BudgetLine
from .setup import Setup

ASSUMED_SCATTER_MM = 0.0254
"""Scatter of a station where no station is left over to judge it: 1 thou ("a thou or two" between
sweeps is usual; common practice, no source)."""

RIG_SHARE = 0.1
"""Standard uncertainty of a sag or clearance, as a share of its size (common practice, no source)."""

TIP_SD_DEG = 2.0
"""Standard uncertainty of a tip angle judged by eye (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Budget:
    """covariance: of the vector (x, y), mm^2, shape (2, 2). freedom: effective degrees of freedom by
    Welch and Satterthwaite (JCGM 100:2008, G.4.1), inf where all is type B. lines: the sources."""

    covariance: Floats
    freedom: float
    lines: tuple[BudgetLine, ...]


def budget(setup: Setup, fit: Fit, uncorrected_drift_mm: float | None) -> Budget:
    """Assemble the budget of one fit. `uncorrected_drift_mm`: closure that was not spread out."""
    # Coefficients (a1, b1) are cos and sin; the vector is (x, y) = (sin, cos).
    unscaled = fit.unscaled[np.ix_([2, 1], [2, 1])]
    amplitude = math.hypot(*fit.harmonic(1))
    known = {
        "resolution": setup.resolution_mm**2 / 12.0,
        # Mean square slope of the first harmonic is half its amplitude squared, per radian.
        "angle entry": (amplitude * math.radians(setup.angle_sd_deg)) ** 2 / 2.0,
    }
    floor = sum(known.values())
    if fit.freedom > 0:
        seen = fit.residual_sum / fit.freedom
        source, kind = "scatter about the model", "A"
    else:
        seen, source, kind = ASSUMED_SCATTER_MM**2, "scatter, assumed: no station to spare", "B"
    beyond = max(seen - floor, 0.0)
    per_station = math.sqrt(np.trace(unscaled) / 2.0)
    lines = [BudgetLine(source, "A" if kind == "A" else "B", math.sqrt(beyond) * per_station)]
    lines += [BudgetLine(name, "B", math.sqrt(v) * per_station) for name, v in known.items() if v]
    covariance = (beyond + floor) * unscaled
    scatter_trace = beyond * float(np.trace(unscaled)) if kind == "A" else 0.0

    tip = math.tan(math.radians(abs(setup.tip_angle_deg))) * math.radians(TIP_SD_DEG)
    sources = {
        # Independent errors, even within +-MPE, at the two ends of the swing: MPE / sqrt 6.
        "indicator's permissible error": (setup.mpe_mm / math.sqrt(6.0), np.eye(2)),
        "tip angle": (tip * amplitude, np.eye(2)),
        "rig sag": (RIG_SHARE * abs(setup.sag_mm), np.diag([0.0, 1.0])),
        "bearing clearance": (RIG_SHARE * setup.bearing_clearance_mm / 2.0, np.diag([0.0, 1.0])),
        # A ramp of height d over the turn has a fundamental of d / pi, on the sine.
        "drift, not corrected": (abs(uncorrected_drift_mm or 0.0) / math.pi / math.sqrt(3.0), np.eye(2)),
    }
    for name, (value, shape) in sources.items():
        if value > 0.0:
            covariance = covariance + value**2 * shape
            lines.append(BudgetLine(name, "B", value))
    if scatter_trace > 0.0:
        freedom = fit.freedom * (float(np.trace(covariance)) / scatter_trace) ** 2
    else:
        freedom = math.inf
    return Budget(covariance, freedom, tuple(lines))
