"""Which dowels to fit, and which way to turn them.

A dowel of offset d carries the housing d towards its high side. A parallel pair (both high sides
the same way, common practice) set towards the high point of a bore leaves |e - d| of the
eccentricity e; a split pair can leave less, at the price of bind and of a slight turn of the housing.
Options are ranked by the probability that the housing goes on and ends within the limit once the
measurement's and the fitter's own errors are counted (`fitter.dowels.seating`), then by what they leave,
then by plainness.
"""

import math
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from ..certainty.amount import is_detected
from ..certainty.decision import SURE, conformity, probability_within
from ..geometry import Vector, clock, direction, polar, vector_of, wrap
from ..meaning import Meaning
from ..numeric.basis import Floats
from ..reading import checks
from ..reading.setup import Setup
from ..reading.stations import Stations
from ..result import Facts, Remark, Result
from ..units import MM_PER_THOU
from .kit import Kit, Way
from .measurement import Measurement
from .pins import Pins, influence
from .seating import Seating, Slips, seating
from .setting import SETTING_SD_DEG, DowelSetting, angle_window, carried
from .split import best_of_kit
from .turnwindow import pair_window, surely_inside
from .upperbounds import upper_bounds

TURN_LIMIT_RAD = 0.002
"""Turn of the housing that its bolt holes usually allow, a tenth of a degree (common practice, no
source)."""

WORTH_SPLITTING = 0.005
"""Gain in probability below which the plain parallel pair is preferred to a split one."""

SPLITS_SHOWN = 3

Pair = Literal["none", "parallel", "split"]
Judged = Literal[
    "nothing_found", "inside", "as_it_stands", "no_direction", "wrong_size", "unlikely", "fits", "split"
]
"""What there is to say of an option, in one word."""

PairChoice = Literal["parallel", "split", "any"]


@dataclass(frozen=True, slots=True)
class Measured:
    """What the planner needs to know of a sweep: E and its covariance (mm, mm^2), degrees of
    freedom, the corrected stations (for the swing to come), permitted TIR (mm), whether the
    eccentricity was told from noise, and the form's peak to valley (mm)."""

    setup: Setup
    vector: Vector
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

    @property
    def known(self) -> Measurement:
        """E, and how sure it is."""
        return Measurement(np.array(self.vector), self.covariance, self.freedom)


@dataclass(frozen=True, slots=True)
class Workshop:
    """What there is to work with.

    pins: where the dowels stand, needed for split pairs and to tell whether a pair goes on.
    clearance: bind that the holes allow, mm.
    pair: which pairs to look at.
    setting_sd: of an angle, degrees.
    way: of setting, "tight" or "free" (`fitter.dowels.seating`).
    """

    kit: Kit
    pins: Pins | None = None
    clearance: float = MM_PER_THOU
    turn_limit: float = TURN_LIMIT_RAD
    pair: PairChoice = "parallel"
    setting_sd: float = SETTING_SD_DEG
    way: Way = "tight"

    @property
    def slips(self) -> Slips:
        """How well dowels are made and set here."""
        return Slips(self.kit.offset_sd, self.setting_sd, self.clearance, self.way)

    @property
    def influence(self) -> tuple[Floats, Floats]:
        """What each dowel carries of the bore, (2, 2) each; half where nobody said where they stand."""
        return influence(self.pins)

    def carried(self, *settings: DowelSetting) -> tuple[Floats, Floats]:
        """What dowels set so carry the bore by, mm, (n, 2), and its covariance, mm^2, (n, 2, 2)."""
        return carried(settings, self.influence, self.kit.offset_sd, self.setting_sd)


@dataclass(frozen=True, slots=True)
class Dowel:
    """One dowel: offset in mm, direction of its high side in degrees and as clock text, and where its
    mark or slot must point (the same, unless the kit says otherwise)."""

    offset: float
    deg: float
    clock: str
    mark_deg: float
    mark_clock: str

    @classmethod
    def at(cls, offset: float, deg: float, mark_deg: float = 0.0) -> "Dowel":
        """A dowel of `offset` mm with its high side towards `deg`, `mark_deg` on from its mark."""
        mark = wrap(deg - mark_deg)
        return cls(offset, wrap(deg), clock(deg), mark, clock(mark))


@dataclass(frozen=True, slots=True)
class Predicted:
    """TIR to expect afterwards, mm: of the eccentricity, and of the whole dial swing, form included."""

    tir_fitted: float
    tir_swept: float


@dataclass(frozen=True, slots=True)
class Option(Facts):
    """One way to go on.

    probability: of going on and ending within the limit.
    goes_on: of going on (None where it is not known where the dowels stand, and then going on is taken for
        granted).
    way: of setting that this holds for.
    shift: of the bore, (x, y), mm.
    window_deg: how far off their marks the dowels may be turned, each either way, and still do so, were
        the measured vector the true one (None: no angle does, or there is nothing to turn).
    sure_window_deg: how far, and still end inside with 95 % whatever the measurement leaves open (None: not
        even on their marks).
    bind, turn_deg: of a split pair, mm and degrees anticlockwise.
    """

    pair: Pair
    dowels: tuple[Dowel, ...]
    predicted: Predicted
    probability: float
    window_deg: float | None
    judged: Judged = "fits"
    shift: Vector = (0.0, 0.0)
    bind: float | None = None
    turn_deg: float | None = None
    goes_on: float | None = None
    way: Way | None = None
    sure_window_deg: float | None = None


def undressed(measured: Measured, setting: DowelSetting, workshop: Workshop) -> Measured:
    """The housing as it would be measured with the dowels in place taken out: what they were set to give
    comes off, and that they gave it no better than dowels are made and set comes into the covariance."""
    if not any(setting.offsets):
        return measured
    (shift,), (spread,) = workshop.carried(setting)
    bare, (x, y) = measured.known.spread(spread), shift.tolist()
    vector = measured.vector[0] - x, measured.vector[1] - y
    return replace(
        measured,
        vector=vector,
        covariance=bare.covariance,
        freedom=bare.freedom,
        stations=_shifted(measured.setup, measured.stations, (-x, -y)),
        detected=is_detected(np.array(vector), bare.covariance, bare.freedom),
    )


def plan(measured: Measured, workshop: Workshop) -> list[Option]:
    """Every parallel pair, the best split pairs and "none", best first."""
    options = [_none(measured)]
    if workshop.pair != "split":
        options += [_parallel(measured, workshop, offset) for offset in workshop.kit.pairs()]
    if workshop.pair != "parallel" and workshop.pins is not None:
        options += _splits(measured, workshop, workshop.pins)
    # Where the housing is good as it stands, or nothing was found to correct, leave it alone.
    leave = options[0].probability >= SURE or not measured.detected
    return sorted(options, key=lambda option: _rank(option, leave))


def _rank(option: Option, leave: bool) -> tuple[object, ...]:
    offset = max((dowel.offset for dowel in option.dowels), default=0.0)
    alone = leave and option.pair == "none"
    return (not alone, *_worth(option.pair, option.probability, option.predicted.tir_fitted, offset))


def _worth(pair: Pair, probability: float, tir: float, offset: float) -> tuple[float, float, float]:
    # Differences in the third decimal are no reason to prefer one size to another, nor a little more
    # to give up the plain pair.
    handicap = WORTH_SPLITTING if pair == "split" else 0.0
    return -round(probability - handicap, 3), round(tir, 6), offset


def _none(measured: Measured) -> Option:
    vector = np.array(measured.vector)
    probability = conformity(measured.limit / 2.0, vector, measured.covariance, measured.freedom)
    judged: Judged = "inside" if probability >= SURE else "as_it_stands"
    if not measured.detected:
        judged = "nothing_found"
    return Option("none", (), _predict(measured, (0.0, 0.0)), probability, None, judged)


def _parallel(measured: Measured, workshop: Workshop, offset: float) -> Option:
    ex, ey = measured.vector
    towards = direction(-ex, -ey)
    setting = DowelSetting((offset, offset), (towards, towards))
    seating = _seated(measured, workshop, setting)
    window = angle_window(math.hypot(ex, ey), offset, measured.limit)
    if window is not None and workshop.pins is not None and workshop.way == "tight":
        window = _pair_window(measured, workshop, workshop.pins, setting)
    return _set(measured, workshop, setting, seating, window)


def _set(
    measured: Measured,
    workshop: Workshop,
    setting: DowelSetting,
    seating: Seating,
    window: float | None,
) -> Option:
    """The option to set two dowels so."""
    shift = vector_of(workshop.carried(setting)[0][0])
    first, second = (Dowel.at(d, deg, workshop.kit.mark_of(d)) for d, deg in setting.dowels)
    return Option(
        pair="parallel",
        dowels=(first, second),
        predicted=_predict(measured, shift),
        probability=seating.inside,
        window_deg=window,
        judged=_judged(measured, window, seating.inside),
        shift=shift,
        goes_on=seating.goes_on if workshop.pins is not None else None,
        way=workshop.way,
        sure_window_deg=surely_inside(
            measured.known, setting, workshop.influence, measured.limit, window, workshop.kit.offset_sd
        ),
    )


def _judged(measured: Measured, window: float | None, probability: float) -> Judged:
    if not measured.detected:
        return "no_direction"
    if window is None:
        return "wrong_size"
    return "unlikely" if probability < 0.5 else "fits"


def _splits(measured: Measured, workshop: Workshop, pins: Pins) -> list[Option]:
    """The best few split pairs, each pair of sizes once, best first.

    Hundreds can be set: the chance is worked out where it may be one of the best, and the rest of what there
    is to say for those.
    """
    known, allowed = measured.known, (workshop.clearance, workshop.turn_limit)
    found = best_of_kit(known.vector, workshop.kit, pins, allowed, math.radians(workshop.setting_sd))
    if not found:
        return []
    most = upper_bounds(known, measured.limit, found, pins, workshop.slips)
    shifts = [vector_of(shift) for shift in workshop.carried(*found)[0]]

    def worth(k: int, probability: float) -> tuple[float, float, float]:
        return _worth("split", probability, _left(measured, shifts[k]), max(found[k].offsets))

    same: dict[tuple[float, float], list[int]] = {}
    for k, setting in enumerate(found):
        same.setdefault(setting.offsets, []).append(k)
    bounds = [min(worth(k, float(most[k])) for k in of_size) for of_size in same.values()]
    best: list[tuple[tuple[float, float, float], int, int, Seating]] = []
    for bound, turn, of_size in sorted(zip(bounds, range(len(same)), same.values(), strict=True)):
        if len(best) == SPLITS_SHOWN and best[-1][0] < bound:
            break
        seated = [(_seated(measured, workshop, found[k]), k) for k in of_size]
        seating, k = max(seated, key=lambda each: each[0].inside)
        best = sorted([*best, (worth(k, seating.inside), turn, k, seating)], key=lambda each: each[:2])
        del best[SPLITS_SHOWN:]
    return [_split(measured, workshop, pins, found[k], seating) for _, _, k, seating in best]


def _split(
    measured: Measured, workshop: Workshop, pins: Pins, setting: DowelSetting, seating: Seating
) -> Option:
    s1, s2 = (np.array(polar(*dowel)) for dowel in setting.dowels)
    window = _pair_window(measured, workshop, pins, setting)
    option = _set(measured, workshop, setting, seating, window)
    turn = math.degrees(float(pins.turn(s1, s2)))
    return replace(option, pair="split", judged="split", bind=float(pins.bind(s1, s2)), turn_deg=turn)


def _seated(measured: Measured, workshop: Workshop, setting: DowelSetting) -> Seating:
    """Chances of going on and of ending within the limit, with the errors of measuring and of setting."""
    if workshop.pins is not None:
        return seating(measured.known, measured.limit, setting, workshop.pins, workshop.slips)
    (shift,), (spread,) = workshop.carried(setting)
    ends = measured.known.spread(spread)
    inside = probability_within(measured.limit / 2.0, ends.vector + shift, ends.covariance, ends.freedom)
    return Seating(1.0, inside)


def _pair_window(measured: Measured, workshop: Workshop, pins: Pins, setting: DowelSetting) -> float | None:
    bind = workshop.clearance if workshop.way == "tight" else math.inf
    return pair_window(np.array(measured.vector), setting, pins, measured.limit, bind)


def _shifted(setup: Setup, stations: Stations, shift: Vector) -> Stations:
    """The stations as they would read with the housing carried by `shift`."""
    moved = Meaning.of(setup).slope(shift, stations.basis[:, 1], stations.basis[:, 2])
    return stations.with_values(stations.value + moved)


def _predict(measured: Measured, shift: Vector) -> Predicted:
    return Predicted(
        tir_fitted=_left(measured, shift),
        tir_swept=checks.swept(_shifted(measured.setup, measured.stations, shift)),
    )


def _left(measured: Measured, shift: Vector) -> float:
    ex, ey = measured.vector
    return 2.0 * math.hypot(ex + shift[0], ey + shift[1])


def advice(measured: Measured, workshop: Workshop, options: list[Option]) -> list[Remark]:
    """What dowels cannot do: form, and offsets beyond the kit."""
    found = []
    if measured.form > measured.limit:
        found.append(Remark.warning("form_beyond_dowels", form_mm=measured.form, limit_mm=measured.limit))
    if measured.detected and options[0].probability < 0.5:
        largest = max(workshop.kit.singles(), default=0.0)
        beyond = math.hypot(*measured.vector) > largest + measured.limit / 2.0
        found.append(Remark.warning("beyond_kit" if beyond else "no_size_in_kit", largest_mm=largest))
    return found
