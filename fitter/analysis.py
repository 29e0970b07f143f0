"""From stations to the result: corrections, model, uncertainty, decision. Pure and repeatable."""

import math

import numpy as np

from . import amount, checks, corrections
from .basis import Floats
from .budget import Budget, budget
from .decision import judge, probability_within
from .geometry import clock, direction
from .model import Fit, fit, supported_harmonics
from .result import Checks, Decision, Eccentricity, Form, Model, Result, Tir
from .setup import Setup
from .stations import Stations
from .words import warnings_for


def analyse(setup: Setup, raw: Stations, samples: int) -> Result:
    """The result of one sweep. `samples`: how many readings went into the stations.

    Raises TooFewStations where the stations cannot separate an offset from a constant.
    """
    levelled = without_sag(setup, raw)
    closure = checks.closure(levelled)
    stations, drift = without_drift(setup, levelled, closure)
    fitted = fit(stations, supported_harmonics(stations))
    known = budget(setup, fitted, None if drift is not None else closure)
    eccentricity = _eccentricity(setup, fitted, known)
    probability = probability_within(
        setup.limit_mm / 2.0, eccentricity.vector, known.covariance, known.freedom
    )
    result = Result(
        feature=setup.feature,
        samples=samples,
        stations=len(stations),
        turns=stations.turns(),
        coverage_deg=stations.largest_gap(),
        condition=fitted.condition,
        model=Model(fitted.harmonics, drift is not None),
        tir=Tir(
            swept=checks.swept(stations),
            fitted=2.0 * eccentricity.amount,
            opposed=checks.opposed(stations),
        ),
        eccentricity=eccentricity,
        form=_form(stations, fitted),
        checks=Checks(
            closure=closure,
            cross=checks.cross(stations),
            residual_sd=math.sqrt(fitted.residual_sum / fitted.freedom) if fitted.freedom else None,
            outliers=(),
            step=None,
            hysteresis=checks.hysteresis(stations),
        ),
        budget=known.lines,
        decision=Decision(setup.limit_mm, judge(probability), probability),
        corrections=corrections.applied(setup, drift),
    )
    return warnings_for(result, setup)


def corrected(setup: Setup, raw: Stations) -> Stations:
    """The stations as they were fitted: sag and drift taken out, the closing reading left off."""
    levelled = without_sag(setup, raw)
    return without_drift(setup, levelled, checks.closure(levelled))[0]


def without_sag(setup: Setup, stations: Stations) -> Stations:
    """The stations with the droop of the arm taken out: it is a pure cosine, so exactly known."""
    sag = corrections.sag_cosine(setup)
    return stations.with_values(stations.value - sag * stations.basis[:, 1]) if sag else stations


def without_drift(setup: Setup, stations: Stations, closure: float | None) -> tuple[Stations, float | None]:
    """With a closing reading: the others less their share of the drift, and the drift, mm."""
    if not setup.closing or closure is None or stations.t[-1] <= stations.t[0]:
        return stations, None
    share = (stations.t - stations.t[0]) / (stations.t[-1] - stations.t[0])
    corrected = stations.with_values(stations.value - closure * share)
    # The closing reading now equals the first by construction: it has no news of its own.
    return corrected.take(slice(0, -1)), closure


def centre(setup: Setup, fitted: Fit) -> Floats:
    """E = (x, y), mm, from the first harmonic, referred to the centre of the main bearings.

    Inside surfaces read high where the wall is close, so E points away from the high point.
    """
    a1, b1 = fitted.harmonic(1)
    sign = -1.0 if setup.surface == "inside" else 1.0
    return np.array([sign * b1, sign * a1 - corrections.bearing_shift(setup)])


def _eccentricity(setup: Setup, fitted: Fit, known: Budget) -> Eccentricity:
    vector = centre(setup, fitted)
    x, y = float(vector[0]), float(vector[1])
    move = direction(-x, -y)
    high = move if setup.surface == "inside" else direction(x, y)
    (xx, xy), (yx, yy) = known.covariance.tolist()
    return Eccentricity(
        amount=math.hypot(x, y),
        high_deg=high,
        high_clock=clock(high),
        move_deg=move,
        move_clock=clock(move),
        vector=(x, y),
        covariance=((xx, xy), (yx, yy)),
        freedom=known.freedom if math.isfinite(known.freedom) else None,
        u95_amount=amount.expanded_amount(vector, known.covariance, known.freedom),
        u95_deg=amount.expanded_direction(vector, known.covariance, known.freedom),
        detected=amount.is_detected(vector, known.covariance, known.freedom),
        detectable=amount.detectable(known.covariance, known.freedom),
    )


def _form(stations: Stations, fitted: Fit) -> Form:
    about_circle = stations.value - stations.basis[:, :3] @ fitted.coefficients[:3]
    ovality = ovality_deg = None
    if fitted.harmonics >= 2:
        a2, b2 = fitted.harmonic(2)
        ovality, ovality_deg = math.hypot(a2, b2), direction(b2, a2) / 2.0
    return Form(float(about_circle.max() - about_circle.min()), ovality, ovality_deg)
