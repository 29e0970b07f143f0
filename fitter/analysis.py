"""From stations to the result: corrections, model, uncertainty, decision. Pure and repeatable."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import zip_longest

import numpy as np

from .certainty import amount
from .certainty.budget import Budget
from .certainty.decision import judge
from .certainty.further import Further, Sure, after_one_more, best_place, ways_on
from .certainty.modelled import answered, modelled
from .certainty.unseen import unseen
from .clues.before import Before
from .clues.looking import clues
from .clues.sweeping import Weighed
from .fitting.believed import believed, of_sweep
from .fitting.model import Fit, carried_harmonics, fit
from .fitting.prepare import Levelled, level, prepare
from .fitting.together import Behaviour, Together, behaviour, common_setup, together
from .geometry import Vector, clock, direction, matrix_of, vector_of
from .meaning import Meaning
from .mixture.answer import Mixture
from .mixture.bounds import Bound
from .numeric.basis import Floats
from .numeric.circle import fit_circle
from .reading import checks, corrections
from .reading.setup import Setup
from .reading.stations import Stations
from .remarks import GAP_DEG, further, numbered, remarked, told_first
from .result import Checks, Decision, Eccentricity, Exact, Form, Model, Outlier, Remark, Result, Tir
from .stopped import Stopped
from .withheld import made_sure, withhold


def analyse(setup: Setup, raw: Stations, samples: int, earlier: Before | None = None) -> Result:
    """The result of one sweep. `samples`: how many readings went into the stations. earlier: another sweep of
    the same surface, by which it is known again.

    Raises TooFewStations where the stations cannot separate an offset from a constant.
    """
    return analyse_together([(setup, raw)], samples, [earlier])


def analyse_together(
    sweeps: Sequence[tuple[Setup, Stations]], samples: int, earlier: Sequence[Before | None] = ()
) -> Result:
    """One result from several sweeps of one housing: (setup, stations) each.

    Every sweep keeps its own mean, drift, sense of turning and closing reading; each one's rig counts
    by its weight, and the strictest limit is the limit (`fitter.fitting.together`). Raises TooFewStations,
    also where a single sweep of several could not stand alone.
    """
    ordered = sorted(sweeps, key=_order)
    judged = _judged(ordered)
    whole, seen, eccentricity, sure = judged.whole, judged.seen, judged.eccentricity, judged.sure
    setup, stations, fitted = sure.setup, whole.stations, sure.fitted
    plain = _plain(stations, fitted)
    result = Result(
        feature=setup.feature,
        samples=samples,
        stations=len(stations),
        turns=stations.turns(),
        coverage_deg=stations.largest_gap(),
        condition=fitted.condition,
        model=Model(fitted.harmonics, seen.drift is not None),
        tir=_tir(plain, fitted, fitted.residual_sd() or sure.model.noise, eccentricity.amount),
        eccentricity=eccentricity,
        form=_form(plain, fitted),
        checks=_checks(plain, fitted, seen, sure.model),
        budget=judged.known.lines,
        decision=_decision(setup, eccentricity, judged.known),
        corrections=corrections.applied(setup, seen.drift, whole.late_s()),
        exact=_exact(setup, stations, fitted) if len(sweeps) == 1 else None,
    )
    next_deg = best_place(sure) if result.coverage_deg > GAP_DEG else None
    result = remarked(result, setup, next_deg, sure.hidden)
    found = _clues(sweeps, earlier, judged)
    result = withhold(told_first(_not_excluded(result, found), found))
    if result.decision.state != "unsure" or result.decision.withheld or result.feature == "sag":
        return result
    return replace(result, remarks=(*result.remarks, further(ways_on(sure))))


@dataclass(frozen=True, slots=True)
class Outlook:
    """How sure a sweep in progress is.

    eccentricity: as it would be reported were the sweep finished now.
    after: half-width of the amount, mm, with one more station at each of the places that were asked about.
    further: ways of reading on, where none were.
    """

    eccentricity: Eccentricity
    after: tuple[float, ...]
    further: tuple[Further, ...]


def outlook(setup: Setup, raw: Stations, due: Floats) -> Outlook:
    """How sure a sweep of stations is by now, and what those that are due would make of that. due: internal
    angles, (any,). Raises TooFewStations."""
    judged = _judged([(setup, raw)])
    after = after_one_more(judged.sure, due) if len(due) else []
    return Outlook(judged.eccentricity, tuple(after), () if len(due) else ways_on(judged.sure))


@dataclass(frozen=True, slots=True)
class _Judged:
    """Sweeps as they were fitted together, and how sure that is. stops: what may be readings of a stop in
    each."""

    whole: Together
    seen: Behaviour
    known: Budget
    eccentricity: Eccentricity
    sure: Sure
    stops: list[list[Weighed]]


def _judged(sweeps: Sequence[tuple[Setup, Stations]]) -> _Judged:
    """Fit sweeps together. Raises TooFewStations."""
    levelled = [(setup, level(setup, raw)) for setup, raw in sweeps]
    stopped = [
        Stopped.of(setup, raw, ready) for (setup, raw), (_, ready) in zip(sweeps, levelled, strict=True)
    ]
    whole, model = _read(levelled, stopped[0].bounds if len(sweeps) == 1 else ())
    fitted = _fit(whole)
    setup = common_setup([setup for setup, _ in sweeps], whole, fitted)
    hidden = unseen(setup, whole.stations, fitted, whole.sweeps, model.effects)
    first = answered(model, whole.stations, fitted)
    known = modelled(setup, model, first, whole.stations, hidden)
    eccentricity = _eccentricity(setup, first, known)
    return _Judged(
        whole=whole,
        seen=behaviour(whole, fitted),
        known=known,
        eccentricity=eccentricity,
        sure=Sure(
            model=model,
            fitted=fitted,
            first=first,
            setup=setup,
            sweeps=[sweep.stations for _, sweep in levelled],
            hidden=hidden,
            variance=float(np.trace(known.length)),
            u95=eccentricity.u95_amount,
        ),
        stops=[one.weighed(model if len(sweeps) == 1 else None) for one in stopped],
    )


def _order(sweep: tuple[Setup, Stations]) -> tuple[list[float], list[float]]:
    """What sweeps that are put together are ordered by, whoever gives them: their readings."""
    _, raw = sweep
    return raw.value.tolist(), raw.deg.tolist()


def _as_meant(raw: Stations, bad: Sequence[Outlier]) -> Stations:
    """The stations without those where the decimal point slipped to the right: beside a number ten times too
    large the others seem to stand still, or to be in another unit."""
    tenfold = np.zeros(len(raw), dtype=bool)
    for each in bad:
        if each.like == "point":
            tenfold |= np.isclose(raw.deg, each.deg) & (np.abs(raw.value) > abs(each.residual))
    return raw.take(np.flatnonzero(~tenfold)) if tenfold.any() else raw


def _clues(
    sweeps: Sequence[tuple[Setup, Stations]], earlier: Sequence[Before | None], judged: _Judged
) -> list[Remark]:
    """What speaks against the stations of each sweep, of several with its number, from 1, as `recording`.
    judged: what was fitted to them, in `_order`."""
    order = sorted(range(len(sweeps)), key=lambda k: _order(sweeps[k]))
    bad = {k: part.outliers for k, part in zip(order, judged.whole.parts, strict=True)}
    stops = dict(zip(order, judged.stops, strict=True))
    looked = [(setup, _as_meant(raw, bad[k])) for k, (setup, raw) in enumerate(sweeps)]
    found = [
        made_sure(clues(setup, raw, before, stops[k]), setup)
        for k, ((setup, raw), before) in enumerate(zip_longest(looked, earlier))
    ]
    if len(sweeps) == 1:
        return list(found[0])
    return [numbered(each, k, len(sweeps)) for k, remarks in enumerate(found, 1) for each in remarks]


def _not_excluded(result: Result, found: Sequence[Remark]) -> Result:
    """The result with less chance of being inside, and of being outside, by that of having read something
    else than the bore: neither side gains by it."""
    inside = result.decision.probability
    for each in found:
        if not each.facts.get("sure"):
            chance = each.facts.get("chance", 0.0) - each.facts.get("chance_in_bar", 0.0)
            less = inside * (1.0 - chance)
            more = 1.0 - (1.0 - inside) * (1.0 - each.facts.get("chance_both", 0.0))
            inside = sorted((less, 0.5, more))[1]
    return replace(result, decision=replace(result.decision, probability=inside))


def _read(
    levelled: Sequence[tuple[Setup, Levelled]], bounds: Sequence[Bound] = ()
) -> tuple[Together, Mixture]:
    """Sweeps ready to be fitted, and what the one model says of them. bounds: what may be, of a single
    one."""
    model = believed(levelled, bounds)
    faults = [of_sweep(model, k, sweep.stations) for k, (_, sweep) in enumerate(levelled)]
    parts = [prepare(setup, sweep, found) for (setup, sweep), found in zip(levelled, faults, strict=True)]
    return together(parts), model


def corrected(setup: Setup, raw: Stations) -> Stations:
    """The stations as they would read without sag, drift, knocks and lag: for drawing, and for what
    the next sweep will show. Raises TooFewStations."""
    whole, _ = _read([(setup, level(setup, raw))])
    return _plain(whole.stations, _fit(whole))


@dataclass(frozen=True, slots=True)
class Explained:
    """What the fit makes of each station of one sweep as it was read, shape (n,) each, mm.

    corrected: without sag, drift, knocks and lag; of several sweeps about the zero of the first.
    residual: what is left of that beside the fitted surface, out-of-round and all.
    Both are nan where the station does not count: it does not belong, is a sector that was hardly touched,
    or is the closing reading that the drift was taken from.
    """

    corrected: Floats
    residual: Floats


def explained(sweeps: Sequence[tuple[Setup, Stations]]) -> list[Explained]:
    """The same fit as `analyse_together` makes of (setup, stations) of each sweep, station by station.

    Raises TooFewStations.
    """
    whole, _ = _read([(setup, level(setup, raw)) for setup, raw in sweeps])
    fitted = _fit(whole)
    values = _plain(whole.stations, fitted).value
    found = []
    for (_, raw), part, sweep in zip(sweeps, whole.parts, whole.sweeps, strict=True):
        corrected, residual = np.full(len(raw), math.nan), np.full(len(raw), math.nan)
        corrected[part.rows], residual[part.rows] = values[sweep.rows], fitted.residuals[sweep.rows]
        found.append(Explained(corrected, residual))
    return found


def circle(setup: Setup, vector: Vector, deg: Floats) -> Floats:
    """What a surface off the axis by `vector` = E, mm, alone reads at internal angles, about its mean, mm,
    shape (n,): the way back from `centre`."""
    seen = np.array(vector) - np.array(corrections.resting(setup))
    angle = np.deg2rad(deg)
    return Meaning.of(setup).slope(seen, np.cos(angle), np.sin(angle))


def _fit(whole: Together) -> Fit:
    extras = list(whole.extras.values())
    return fit(whole.stations, carried_harmonics(whole.stations, extras), extras)


def _plain(stations: Stations, fitted: Fit) -> Stations:
    """The stations less everything that is not the surface."""
    others = fitted.design[:, 1 + 2 * fitted.harmonics :] @ fitted.extras()
    return stations.with_values(stations.value - others)


def centre(setup: Setup, a1: float, b1: float) -> Floats:
    """E = (x, y), mm, from the first harmonic a1 cos + b1 sin, referred to the centre of the main
    bearings; of a face the tilt times the radius swept (`fitter.meaning`)."""
    x, y = Meaning.of(setup).vector(a1, b1)
    rests_x, rests_y = corrections.resting(setup)
    return np.array([x + rests_x, y + rests_y])


def _eccentricity(setup: Setup, first: Floats, known: Budget) -> Eccentricity:
    vector = centre(setup, float(first[0]), float(first[1]))
    meaning = Meaning.of(setup)
    high, move = meaning.high_deg(vector), meaning.move_deg(vector)
    return Eccentricity(
        amount=math.hypot(*vector_of(vector)),
        unbiased=amount.unbiased_amount(vector, known.length),
        high_deg=high,
        high_clock=clock(high),
        move_deg=move,
        move_clock=clock(move),
        vector=vector_of(vector),
        covariance=matrix_of(known.covariance),
        freedom=known.freedom if math.isfinite(known.freedom) else None,
        u95_amount=known.amount_bar(vector),
        u95_deg=known.direction_bar(vector),
        detected=amount.is_detected(vector, known.length, known.length_freedom),
        detectable=amount.detectable(known.length, known.length_freedom),
    )


def _decision(setup: Setup, eccentricity: Eccentricity, known: Budget) -> Decision:
    vector = np.array(eccentricity.vector)
    probability = known.within(setup.limit_mm / 2.0, vector, eccentricity.u95_amount)
    return Decision(setup.limit_mm, judge(probability), probability, setup.limit_source)


def _checks(surface: Stations, fitted: Fit, seen: Behaviour, model: Mixture) -> Checks:
    return Checks(
        closure=seen.closure,
        cross=checks.cross(surface),
        residual_sd=fitted.residual_sd(),
        outliers=seen.outliers,
        step=seen.step,
        hysteresis=seen.hysteresis,
        neighbours=model.neighbours,
    )


def _tir(stations: Stations, fitted: Fit, station_sd: float, eccentricity: float) -> Tir:
    coefficients = fitted.coefficients[: 1 + 2 * fitted.harmonics].copy()
    # Fitted form holds noise too and leaves less of it to see: only what well exceeds noise is form.
    for k in range(2, fitted.harmonics + 1):
        pair = slice(2 * k - 1, 2 * k + 1)
        noise = 2.0 * station_sd**2 * float(np.trace(fitted.unscaled[pair, pair]))
        squared = float(coefficients[pair] @ coefficients[pair])
        coefficients[pair] *= max(0.0, 1.0 - noise / squared) if squared > 0.0 else 0.0
    surface = stations.basis[:, : 1 + 2 * fitted.harmonics] @ coefficients
    excess, sd = amount.expected_swing(surface, station_sd)
    return Tir(
        swept=checks.swept(stations),
        fitted=2.0 * eccentricity,
        opposed=checks.opposed(stations),
        swept_excess=excess,
        swept_sd=sd,
    )


def _form(stations: Stations, fitted: Fit) -> Form:
    about_circle = stations.value - stations.basis[:, :3] @ fitted.coefficients[:3]
    ovality = ovality_deg = None
    if fitted.harmonics >= 2:
        a2, b2 = fitted.harmonic(2)
        ovality, ovality_deg = math.hypot(a2, b2), direction(b2, a2) / 2.0
    return Form(float(about_circle.max() - about_circle.min()), ovality, ovality_deg)


def _exact(setup: Setup, stations: Stations, fitted: Fit) -> Exact | None:
    """The centre by a true circle through the points of contact, where the radius is known.

    A circle seen from an axis off its centre is a cosine only to first order; the next term,
    e^2 / (4 R) at twice the angle, passes for ovality and leaves the centre alone.
    """
    radius = setup.radius_mm if setup.feature == "bore" else None
    if radius is None:
        return None
    inside = setup.surface == "inside"
    # The centre of a ball tip runs on a circle smaller by its radius inside, larger outside.
    track = radius - setup.tip_radius_mm if inside else radius + setup.tip_radius_mm
    if track <= 0.0:
        return None
    deviation = _plain(stations, fitted).value - fitted.coefficients[0]
    distance = track - deviation if inside else track + deviation
    deg = np.deg2rad(stations.deg)
    seen_x, seen_y, _ = fit_circle(np.column_stack([distance * np.sin(deg), distance * np.cos(deg)]))
    rests_x, rests_y = corrections.resting(setup)
    x, y = seen_x + rests_x, seen_y + rests_y
    vector = centre(setup, *fitted.harmonic(1))
    return Exact(
        vector=(x, y),
        difference=math.hypot(x - float(vector[0]), y - float(vector[1])),
        second_order=math.hypot(*fitted.harmonic(1)) ** 2 / (4.0 * track),
    )
