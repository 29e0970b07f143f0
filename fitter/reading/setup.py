"""How the indicator was set up: everything that turns what it showed into what it means.

A `Setup` is built from the `setup` object of a recording's header. Unknown keys are kept out of
it (the caller decides whether to mention them); wrong values raise `SetupError` in words.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final, Literal, get_args

from ..errors import SetupError
from ..geometry import EnteredDeg, InternalDeg, wrap
from ..keys import (
    TIR,
    Calibration,
    Choice,
    Group,
    Lengths,
    Number,
    Several,
    Words,
    YesNo,
    apart,
    degrees,
    key,
    keys_of,
    length,
)
from ..result import FORBIDS
from ..units import MM_PER_THOU
from .joining import (
    agreed,
    all_of,
    anew,
    any_of,
    by_tangent,
    in_each,
    largest_table,
    least,
    level_if_any,
    mean_direction,
    most_unless_unsaid,
    of_the_strictest,
    oldest,
    repeats,
    sag_doubt,
    same,
    together,
    weighted,
    weighted_where_level,
)
from .shopstudy import OfShop, ShopStudy

Feature = Literal["bore", "face", "pilot", "flywheel", "sag", "steps"]
"""What is swept: the housing's bore and face; the crank's pilot bore and the flywheel's face, which turn
under a dial that stands still; the droop of the dial's own arm; gauge steps under its tip."""

RIG_SHARE = 0.1
"""Standard uncertainty of a sag or clearance, as a share of it (common practice, no source)."""

COMMON_LIMIT_MM = 0.127
"""5 thou TIR, the usual performance limit (common practice, no source)."""

USUAL_DELAY_SD_S = 0.2
"""How late a dial may be that nobody timed, display, line and adapter together: anything up to .35 s (common
practice, no source), hence over the square root of 3 (JCGM 100:2008, 4.3.7)."""

COMMON_SOURCE = "common practice, no source"
"""Where COMMON_LIMIT_MM comes from."""


SITS: Final = Group("how the indicator sits")
CORRECTED: Final = Group("what is taken out of the readings: nothing unless given")
READ: Final = Group("how it is read")
UNSEEN: Final = Group("what no sweep can see by itself: usual values serve unless you know better")
ONCE: Final = Group("of this sweep", lasting=False)
_SHORT: Final = length(0.0, 5.0)
_FEATURES: Final = Choice(get_args(Feature))
_BAND: Final = length(0.0, 5.0, above=True)
_TILT: Final = degrees(-180.0, 180.0)
_NAME: Final = Words(120)
_TURNED: Final = degrees(0.0, 90.0)


@dataclass(frozen=True, slots=True)
class Setup:
    """Geometry, corrections and limits of one sweep. Lengths in mm, angles in degrees. What a key says of
    itself stands with it; besides:

    polarity: 1 if the reading rises when the plunger is pushed in.
    view, sense, zero_deg: how entered angles were counted (`angle_sign`).
    radius_mm, tip_radius_mm: for the exact geometry.
    limit_source: whose the limit is.
    angle_sd_deg: standard uncertainty of each angle that is entered.
    delay_s, delay_sd_s: how late the dial is, and its standard uncertainty, in a sweep that does not stop
        (not stated: USUAL_DELAY_SD_S; stated: RIG_SHARE of it, a hundredth of a second at least).
    hidden_form_mm: standard deviation of each coefficient of a form that hides (None: the usual one of that
        order).
    rig, rig_date: name of the rig that sag and calibration were taken from, and when the older was found.
    sag_sd_mm: standard uncertainty of the sag (None: RIG_SHARE of it).
    calibration_sd_mm: what the calibration leaves in doubt of an amplitude.
    steps_mm: in the order in which they are read; a station's angle is its place there.
    repeatability_freedom: degrees of freedom of the repeatability (None: known for good).
    two_numbers: the readings are those of the circle that two numbers describe (`twonumbers`).
    closing: the last station repeats the first and its difference is spread over the sweep as drift.

    The usual values of what a sweep may be blind to are common practice without a source.
    """

    feature: Feature = key(
        "bore",
        _FEATURES,
        same,
        "feature",
        "bore or face of the housing; pilot bore or flywheel face; sag of the arm on a bar; gauge steps",
        ONCE,
    )
    surface: Literal["inside", "outside"] = key(
        "inside", Choice(("inside", "outside")), same, "surface", "of a bore, or of a spigot or boss", SITS
    )
    polarity: Literal[1, -1] = key(
        1, Choice((1, -1)), agreed, "polarity", "-1: the reading falls when the tip is pushed in", SITS
    )
    view: Literal["rear", "front"] = key(
        "rear", Choice(("rear", "front")), agreed, "view", "end of the engine where angles are read", SITS
    )
    sense: Literal["cw", "ccw"] = key(
        "cw", Choice(("cw", "ccw")), agreed, "sense", "which way they count, seen from that end", SITS
    )
    crank: Literal["level", "upright"] = key(
        "level", Choice(("level", "upright")), level_if_any, "crank", "upright: the engine is on end", SITS
    )
    zero_deg: float = key(
        0.0, degrees(-3600.0, 3600.0), agreed, "zero", "where the scale's 0 is, clockwise from behind", SITS
    )
    tip_angle_deg: float = key(
        0.0, degrees(-80.0, 80.0), by_tangent, "tip-angle", "of a lever indicator's tip to the surface", SITS
    )
    sag_mm: float = key(
        0.0, length(-5.0, 5.0), weighted, "sag", "droop of the arm, from a sag sweep", CORRECTED
    )
    bearing_clearance_mm: float = key(
        0.0, _SHORT, weighted_where_level, "bearing-clearance", "of the main bearings, by lifting", CORRECTED
    )
    engine_tilt_deg: float = key(
        0.0,
        _TILT,
        mean_direction,
        "engine-tilt",
        "the engine's own 12 o'clock from plumb, clockwise from behind",
        CORRECTED,
    )
    radius_mm: float | None = key(
        None, length(0.0, 5000.0, above=True), agreed, "radius", "of the bore", SITS
    )
    tip_radius_mm: float = key(
        0.0, length(0.0, 100.0), agreed, "tip-radius", "of the indicator's ball tip", SITS
    )
    face_radius_mm: float | None = key(
        None, length(0.0, 5000.0, above=True), agreed, "face-radius", "at which the dial runs on a face", SITS
    )
    calibration: tuple[tuple[float, float], ...] = key((), Calibration(), largest_table)
    limit_mm: float = key(
        COMMON_LIMIT_MM, TIR, least, "limit", "permitted run-out (TIR), or sae00 ... sae3", ONCE
    )
    limit_source: str = key(COMMON_SOURCE, _NAME, of_the_strictest)
    dwell_s: float = key(
        0.5, Number(0.0, 60.0, "s", above=True), agreed, "dwell", "how long a station is read", READ
    )
    steady_mm: float = key(0.01, _BAND, agreed, "steady", "band in which the dial counts as steady", READ)
    resolution_mm: float = key(0.0, _SHORT, anew, "resolution", "smallest step of the indicator", READ)
    mpe_mm: float = key(0.0, _SHORT, weighted, "mpe", "maximum permissible error of the indicator", READ)
    angle_sd_deg: float = key(0.0, _TURNED, anew)
    zero_sd_deg: float = key(
        1.0, _TURNED, weighted, "zero-sd", "standard deviation of 12 o'clock; 0: it was measured", UNSEEN
    )
    delay_s: float = key(
        0.0, Number(-5.0, 5.0, "s"), agreed, "delay", "how late the dial is, where the crank turns on", UNSEEN
    )
    delay_sd_s: float = key(
        USUAL_DELAY_SD_S, Number(0.0, 5.0, "s"), weighted, "delay-sd", "how well that is known", UNSEEN
    )
    lost_motion_deg: float = key(
        0.0, _TURNED, weighted, "lost-motion", "the most by which the angle lags behind the crank", UNSEEN
    )
    drift_mm: float = key(
        0.1 * MM_PER_THOU, _SHORT, anew, "wander", "standard deviation of the dial's drift in a sweep", UNSEEN
    )
    hysteresis_mm: float = key(
        0.1 * MM_PER_THOU, _SHORT, weighted, "hysteresis", "how differently the dial reads in and out", UNSEEN
    )
    hidden_form_mm: float | None = key(None, _SHORT, most_unless_unsaid)
    repeatability_mm: float = key(
        0.0, _SHORT, repeats, "repeatability", "standard deviation of x or y between whole sweeps", UNSEEN
    )
    repeatability_freedom: float | None = key(None, Number(0.0, 1e9, above=True), least)
    study: ShopStudy | None = key(None, OfShop(), agreed)
    rig: str = key("", _NAME, together)
    rig_date: str = key("", _NAME, oldest)
    sag_sd_mm: float | None = key(None, _SHORT, sag_doubt)
    calibration_sd_mm: float = key(0.0, _SHORT, weighted)
    steps_mm: tuple[float, ...] = key(
        (), Lengths(360), agreed, "steps", "gauge steps: 0mm,0.25mm,0.5mm,1mm", ONCE
    )
    steps_mpe_mm: float = key(
        0.0, _SHORT, agreed, "steps-error", "permissible error of a gauge step (0.05thou)", ONCE
    )
    closing: bool = key(False, YesNo(), agreed)
    unit_sure: bool = key(False, YesNo(), all_of, "unit-sure", "the dial's unit was tried with a gauge", READ)
    two_numbers: bool = key(False, YesNo(), any_of)
    sure: tuple[str, ...] = key(
        (), Several(tuple(FORBIDS)), in_each, "sure", "doubts that somebody made sure of: all is well", READ
    )
    unknown: tuple[str, ...] = apart((), compare=False)

    @property
    def scale_turn(self) -> Literal["cw", "ccw"]:
        """Which way a crank goes, seen from behind, that follows its scale: seen from the front it turns the
        other way, so front and ccw cancel."""
        return "cw" if (self.view == "rear") == (self.sense == "cw") else "ccw"

    @property
    def angle_sign(self) -> int:
        """+1 where entered angles run clockwise from the rear, -1 where they run against it.

        Where the part turns and the dial stands, the place under the tip runs against the crank.
        """
        way = 1 if self.scale_turn == "cw" else -1
        return -way if self.part_turns else way

    @property
    def part_turns(self) -> bool:
        """Whether the dial stands on the block and what is swept turns with the crank. Angles are then places
        on the part, clockwise from the mark on it that the scale's zero has under the tip (at `zero_deg`)."""
        return self.feature in ("pilot", "flywheel")

    def crank_deg(self, place_deg: InternalDeg) -> InternalDeg:
        """Where the crank's mark stands when `place_deg` is read: with the dial that it carries, or, where
        the dial stands, as far clockwise from 12 as the part has turned."""
        return InternalDeg(self.zero_deg - place_deg) if self.part_turns else place_deg

    @property
    def sag_uncertainty_mm(self) -> float:
        """Standard uncertainty of the sag."""
        return RIG_SHARE * abs(self.sag_mm) if self.sag_sd_mm is None else self.sag_sd_mm

    def internal_deg(self, entered_deg: EnteredDeg) -> InternalDeg:
        """Internal angle of the contact point for an angle as entered (not wrapped)."""
        return InternalDeg(self.zero_deg + self.angle_sign * entered_deg)

    def entered_deg(self, internal_deg: InternalDeg) -> EnteredDeg:
        """The angle on the operator's scale, 0 <= deg < 360: the way back from `internal_deg`."""
        return EnteredDeg(wrap(self.angle_sign * (internal_deg - self.zero_deg)))

    @classmethod
    def from_header(cls, setup: Mapping[str, Any], feature: str = "bore") -> "Setup":
        """Read the `setup` object of a recording's header.

        Raises SetupError, naming the key, for a value of the wrong kind or out of range.
        """
        values: dict[str, Any] = {"feature": _taken("feature", feature)}
        known = keys_of(cls)
        for name, value in setup.items():
            # Nobody said it: a number of a header may be null.
            if name in known and not (value is None and isinstance(known[name].kind, Number)):
                values[name] = _taken(name, value)
        unknown = tuple(str(name) for name in setup if name not in known)
        if "delay_s" in values:
            values.setdefault("delay_sd_s", max(RIG_SHARE * abs(values["delay_s"]), 0.01))
        if "limit_mm" in values:
            # Given by somebody who did not say where they have it from.
            values.setdefault("limit_source", "")
        else:
            values.pop("limit_source", None)
        return cls(**values, unknown=unknown)

    def to_header(self) -> dict[str, Any]:
        """As the `setup` object of a header: how the indicator sits, and of the rest what is not usual."""
        setup = {name: getattr(self, name) for name in _ALWAYS}
        for name, one in keys_of(type(self)).items():
            if name != "feature" and (value := getattr(self, name)) != one.usual:
                setup[name] = _plain(value)
        if "limit_source" in setup:
            setup["limit_mm"] = self.limit_mm
        return setup


_ALWAYS: Final = ("surface", "polarity", "view", "sense", "crank", "zero_deg", "tip_angle_deg", "closing")


def _plain(value: Any) -> Any:
    if isinstance(value, ShopStudy):
        return value.to_header()
    return [_plain(one) for one in value] if isinstance(value, tuple) else value


def _taken(name: str, value: object) -> Any:
    kind = keys_of(Setup)[name].kind
    try:
        return kind.taken(value)
    except ValueError:
        raise SetupError(name, value, kind.wanted) from None
