"""The uncertainty budget of the measured vector (JCGM 100:2008).

Scatter about the model is type A with the degrees of freedom of the fit; what is known of the
instrument and the rig beforehand is type B. Known random effects (resolution, angle entry) are
already inside the scatter, so they only set a floor under it; what scatter cannot show (the
instrument's permissible error, the rig's sag, form that these stations cannot resolve) is added in
quadrature.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from ..fitting.model import Fit
from ..fitting.scatter import Scatter
from ..geometry import upwards
from ..numeric.basis import Floats
from ..reading import corrections
from ..reading.setup import RIG_SHARE, Setup
from ..reading.sources import Source
from ..reading.stations import MOST_HARMONICS, Stations
from ..result import BudgetLine
from ..units import MM_PER_THOU
from .freedom import effective_freedom
from .unseen import ARC_GAP_DEG, FORM_SD_MM, Unseen

ASSUMED_SCATTER_MM = MM_PER_THOU
"""Scatter of a station beforehand: 1 thou ("a thou or two" between sweeps is usual; common practice, no
source)."""

USUAL_FREEDOM = 4.0
"""How much the usual scatter weighs beside a larger one that was seen: as much as four stations to spare,
so that a true scatter of half to three times the usual is nothing odd (a judgement, no source)."""

FEW_TO_SPARE = 2.0
"""Up to so many stations to spare what is usual has a say. Three and more speak for themselves: there a dial
that scatters by twice the usual would be promised too much (86 % held the truth where 95 were claimed)."""

_TELLING = 3.0
"""A closing reading tells of drift from this many standard deviations of its difference."""

TIP_SD_DEG = 2.0
"""Standard uncertainty of a tip angle judged by eye (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Budget:
    """How sure the vector is, and why.

    covariance: of the vector (x, y), mm^2, shape (2, 2).
    freedom: effective degrees of the 95 % region (`fitter.certainty.freedom`), inf where all is type B.
    length, length_freedom: the same for what is asked of its length, which turning alone does not change.
    lines: the sources.
    station_sd: standard deviation of one station's reading, mm.
    """

    covariance: Floats
    freedom: float
    length: Floats
    length_freedom: float
    lines: tuple[BudgetLine, ...]
    station_sd: float


Part = tuple[str, Literal["A", "B"], Floats]


@dataclass(frozen=True, slots=True)
class _Random:
    """What differs from sweep to sweep: lines, and the variance (mm^2) judged from `freedom` degrees
    (inf: known beforehand) with the shape that it gives the covariance of (x, y)."""

    parts: tuple[Part, ...]
    variance: float
    freedom: float
    shape: Floats


def budget(
    setup: Setup,
    stations: Stations,
    fit: Fit,
    scatter: Scatter,
    unseen: Unseen,
    uncorrected_drift_mm: float | None,
) -> Budget:
    """Assemble the budget of one fit. `uncorrected_drift_mm`: closure that was not spread out."""
    # Coefficients (a1, b1) are cos and sin; the vector is (x, y) = (sin, cos).
    unscaled = scatter.unscaled[np.ix_([2, 1], [2, 1])]
    by_angle, angle_variance = _angle_entry(setup, stations, fit)
    floor = setup.resolution_mm**2 / 12.0 + angle_variance
    form, form_in_scatter = _unresolved_form(stations, fit)
    # What unresolved form adds to the scatter is counted once, as form; at most half of it can be.
    variance = max(scatter.variance - form_in_scatter, scatter.variance / 2.0)
    judged = scatter.freedom > 0.0
    variance, freedom = _tempered(variance, scatter.freedom) if judged else (math.nan, 0.0)
    seen = max(variance if judged else ASSUMED_SCATTER_MM**2, floor)
    random = _random(setup, unscaled, variance, freedom, seen - floor)
    parts: list[Part] = [
        *random.parts,
        (Source.RESOLUTION, "B", setup.resolution_mm**2 / 12.0 * unscaled),
        (Source.ANGLE, "B", by_angle),
    ]
    parts += beyond_scatter(setup, math.hypot(*fit.harmonic(1)))
    # A ramp of height d over the turn has a fundamental of d / pi.
    left = _told(uncorrected_drift_mm, seen) / (3.0 * math.pi**2)
    parts.append((Source.DRIFT_LEFT, "B", left * np.eye(2)))
    parts.append((Source.FORM_OF_ARC, "B", form))
    parts += [(source, "B", part) for source, part in unseen.parts]
    covariance = np.sum([part for _, _, part in parts], axis=0)
    changing = np.sum([part for _, _, part in random.parts], axis=0)
    # Of what is judged, the floor is known: the region allows for both.
    judged_too = changing + (0.0 if setup.repeatability_mm else floor) * unscaled
    freedom = _freedom(random, covariance, judged_too)
    length = covariance - unseen.turning
    length_freedom = _freedom(random, length, judged_too) if unseen.turning.any() else freedom
    return Budget(covariance, freedom, length, length_freedom, lines(parts), math.sqrt(seen))


def _freedom(random: _Random, covariance: Floats, judged: Floats) -> float:
    """Effective degrees of a covariance, of which `judged` is not known beforehand."""
    if not math.isfinite(random.freedom):
        return math.inf
    return effective_freedom(random.variance, random.freedom, random.shape, covariance - judged, covariance)


def lines(parts: Sequence[Part]) -> tuple[BudgetLine, ...]:
    """The size of each source: standard uncertainty of a component of the vector, mm."""
    return tuple(
        BudgetLine(str(name), kind, value)
        for name, kind, part in parts
        if (value := math.sqrt(max(float(np.trace(part)) / 2.0, 0.0))) > 1e-9 or kind == "A"
    )


def _tempered(variance: float, freedom: float) -> tuple[float, float]:
    """A station's variance, mm^2, and its degrees of freedom, where few stations show more than usual.

    One station to spare that is off by its out of round would else claim that nothing is known at all
    (20 standard deviations). What is usual is taken in as a scaled inverse chi-square distribution
    beforehand (A. Gelman et al., Bayesian Data Analysis, 2.6; from memory). A scatter below the usual
    stands as it was seen: a good dial is not made worse than it is.
    """
    usual = ASSUMED_SCATTER_MM**2
    if freedom > FEW_TO_SPARE or variance <= usual:
        return variance, freedom
    together = USUAL_FREEDOM + freedom
    return (USUAL_FREEDOM * usual + freedom * variance) / together, together


def _told(closure: float | None, seen: float) -> float:
    """The square of a closing reading, mm^2; 0 as far as two readings scatter anyway."""
    squared = (closure or 0.0) ** 2
    return squared if squared > (_TELLING**2) * 2.0 * seen else 0.0


def _random(setup: Setup, unscaled: Floats, variance: float, freedom: float, excess: float) -> _Random:
    """Scatter about the model, or the shop's own repeatability between sweeps where that is known.

    What a shop finds by repeating whole sweeps holds their scatter and all that a single one does not
    show; so the larger of the two counts, never both. variance: of a station (nan: not judged), from
    `freedom` degrees; excess: what counts of it beyond its floor.
    """
    scattered = excess * unscaled
    judged = not math.isnan(variance)
    shop = setup.repeatability_mm**2 * np.eye(2)
    if not setup.repeatability_mm:
        source = Source.SCATTER if judged else Source.ASSUMED
        part: Part = (source, "A" if judged else "B", scattered)
        return _Random((part,), variance, freedom if judged else math.inf, unscaled)
    own, usual = float(np.trace(scattered)), float(np.trace(shop))
    lines: list[Part] = [(Source.REPEATABILITY, "A", shop)]
    if not judged or own <= usual:
        known = setup.repeatability_freedom or math.inf
        return _Random(tuple(lines), setup.repeatability_mm**2, known, np.eye(2))
    beyond = scattered * (1.0 - usual / own)
    lines.append((Source.BEYOND, "A", beyond))
    return _Random(tuple(lines), excess, freedom, (shop + beyond) / excess)


def _angle_entry(setup: Setup, stations: Stations, fit: Fit) -> tuple[Floats, float]:
    """What wrong angles do: covariance of (x, y), and mean variance of a reading, mm^2.

    A wrong angle shows where the reading changes fastest, a quarter turn from the high point, and so
    turns the vector more than it lengthens it.
    """
    if setup.angle_sd_deg == 0.0:
        return np.zeros((2, 2)), 0.0
    a1, b1 = fit.harmonic(1)
    slope = b1 * stations.basis[:, 1] - a1 * stations.basis[:, 2]
    variance = (slope * math.radians(setup.angle_sd_deg)) ** 2
    towards = (fit.unscaled @ fit.design.T)[[2, 1]]
    return (towards * variance) @ towards.T, float(variance.mean())


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


def _unresolved_form(stations: Stations, fit: Fit) -> tuple[Floats, float]:
    """What harmonics beyond the fitted ones, of the usual size, do: covariance of (x, y), and the
    variance that they are expected to add to the scatter, mm^2.

    All round, form shows in the scatter; on an arc it can hide in the offset.
    """
    total = np.zeros((2, 2))
    if stations.largest_gap() <= ARC_GAP_DEG:
        return total, 0.0
    left = 0.0
    towards = (fit.unscaled @ fit.design.T)[[2, 1]]
    for k in range(fit.harmonics + 1, MOST_HARMONICS + 1):
        sd = FORM_SD_MM.get(k, 0.0)
        leak = towards @ stations.basis[:, 2 * k - 1 : 2 * k + 1]
        total += sd**2 * leak @ leak.T
        rest = stations.basis[:, 2 * k - 1 : 2 * k + 1]
        rest = rest - fit.design @ (fit.unscaled @ (fit.design.T @ rest))
        left += sd**2 * float((rest * rest).sum())
    return total, left / max(fit.freedom, 1)
