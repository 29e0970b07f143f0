"""How the indicator was set up: everything that turns what it showed into what it means.

A `Setup` is built from the `setup` object of a recording's header. Unknown keys are kept out of
it (the caller decides whether to mention them); wrong values raise `SetupError` in words.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from itertools import pairwise
from typing import Any, Literal, get_args

from ..errors import SetupError
from ..geometry import EnteredDeg, InternalDeg
from ..units import MM_PER_THOU

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


@dataclass(frozen=True, slots=True)
class Setup:
    """Geometry, corrections and limits of one sweep. Lengths in mm, angles in degrees.

    surface: "inside" for a bore, "outside" for a spigot or boss.
    polarity: 1 if the reading rises when the plunger is pushed in.
    view, sense, zero_deg: how entered angles were counted (`angle_sign`).
    sag_mm: droop of the indicator's arm.
    bearing_clearance_mm: vertical clearance of the main bearings, measured by lifting the crank.
    engine_tilt_deg: how far the engine's own 12 o'clock leans from plumb, clockwise seen from behind.
    radius_mm, tip_radius_mm: of the surface and of the indicator's ball tip, for the exact geometry.
    limit_mm: permitted TIR.
    limit_source: whose it is.
    unit_sure: somebody made sure of the dial's unit: a swing that another unit would explain better is none
        to be doubted.
    closing: the last station repeats the first and its difference is spread over the sweep as drift.

    What a sweep may be blind to (`fitter.certainty.unseen`), the defaults being common practice without a
    source:

    zero_sd_deg: standard uncertainty of 12 o'clock, 1 for a mark set by eye with some care, 0 where it was
        measured.
    delay_s, delay_sd_s: how late the dial is, and its standard uncertainty, in a sweep that does not stop
        (not stated: USUAL_DELAY_SD_S; stated: RIG_SHARE of it, a hundredth of a second at least).
    lost_motion_deg: the most by which the angle scale lags behind the crank.
    drift_mm: by how much the dial of a good rig wanders in a sweep (standard deviation), a tenth of a thou.
    hysteresis_mm: the most by which the dial reads differently moving in and out, a tenth of a thou.
    hidden_form_mm: standard deviation of each coefficient of a form that hides (None: the usual one of that
        order).
    rig, rig_date: name of the rig that sag and calibration were taken from, and when the older was found.
    sag_sd_mm: standard uncertainty of the sag (None: RIG_SHARE of it).
    calibration_sd_mm: what the calibration leaves in doubt of an amplitude.
    steps_mm: gauge steps in the order in which they are read; a station's angle is its place there.
    steps_mpe_mm: permissible error of each.
    repeatability_mm: standard deviation of a component of the vector between whole sweeps of the shop, from
        repeatability_freedom degrees (None: known for good).
    """

    feature: Feature = "bore"
    surface: Literal["inside", "outside"] = "inside"
    polarity: Literal[1, -1] = 1
    view: Literal["rear", "front"] = "rear"
    sense: Literal["cw", "ccw"] = "cw"
    crank: Literal["level", "upright"] = "level"
    zero_deg: float = 0.0
    tip_angle_deg: float = 0.0
    sag_mm: float = 0.0
    bearing_clearance_mm: float = 0.0
    engine_tilt_deg: float = 0.0
    radius_mm: float | None = None
    tip_radius_mm: float = 0.0
    face_radius_mm: float | None = None
    calibration: tuple[tuple[float, float], ...] = ()
    limit_mm: float = COMMON_LIMIT_MM
    limit_source: str = COMMON_SOURCE
    dwell_s: float = 0.5
    steady_mm: float = 0.01
    resolution_mm: float = 0.0
    mpe_mm: float = 0.0
    angle_sd_deg: float = 0.0
    zero_sd_deg: float = 1.0
    delay_s: float = 0.0
    delay_sd_s: float = USUAL_DELAY_SD_S
    lost_motion_deg: float = 0.0
    drift_mm: float = 0.1 * MM_PER_THOU
    hysteresis_mm: float = 0.1 * MM_PER_THOU
    hidden_form_mm: float | None = None
    repeatability_mm: float = 0.0
    repeatability_freedom: float | None = None
    rig: str = ""
    rig_date: str = ""
    sag_sd_mm: float | None = None
    calibration_sd_mm: float = 0.0
    steps_mm: tuple[float, ...] = ()
    steps_mpe_mm: float = 0.0
    closing: bool = False
    unit_sure: bool = False
    unknown: tuple[str, ...] = field(default=(), compare=False)

    @property
    def angle_sign(self) -> int:
        """+1 where entered angles run clockwise from the rear, -1 where they run against it.

        Seen from the front the crank turns the other way, so front and ccw cancel. Where the part turns and
        the dial stands, the place under the tip runs against the crank.
        """
        way = 1 if (self.view == "rear") == (self.sense == "cw") else -1
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

    @classmethod
    def from_header(cls, setup: Mapping[str, Any], feature: str = "bore") -> "Setup":
        """Read the `setup` object of a recording's header.

        Raises SetupError, naming the key, for a value of the wrong kind or out of range.
        """
        values: dict[str, Any] = {"feature": _choice("feature", feature)}
        unknown = []
        for key, value in setup.items():
            if key in _CHOICES:
                values[key] = _choice(key, value)
            elif key in ("closing", "unit_sure"):
                if not isinstance(value, bool):
                    raise SetupError(key, value, "true or false")
                values[key] = value
            elif key in _WORDS:
                values[key] = str(value)[:_LONGEST_SOURCE]
            elif key == "calibration":
                values[key] = _calibration(value)
            elif key == "steps_mm":
                values[key] = _steps(value)
            elif key in _RANGES:
                if value is not None:
                    values[key] = _number(key, value)
            else:
                unknown.append(str(key))
        if "delay_s" in values:
            values.setdefault("delay_sd_s", max(RIG_SHARE * abs(values["delay_s"]), 0.01))
        if "limit_mm" in values:
            # Given by somebody who did not say where they have it from.
            values.setdefault("limit_source", "")
        else:
            values.pop("limit_source", None)
        return cls(**values, unknown=tuple(unknown))

    def to_header(self) -> dict[str, Any]:
        """As the `setup` object of a header: how the indicator sits, and of the rest what is not usual."""
        setup = {key: getattr(self, key) for key in _ALWAYS}
        for one in fields(self):
            value = getattr(self, one.name)
            if one.name not in _NOT_IN_SETUP and value != one.default:
                listed = one.name in ("calibration", "steps_mm")
                setup[one.name] = [list(v) if isinstance(v, tuple) else v for v in value] if listed else value
        if "limit_source" in setup:
            setup["limit_mm"] = self.limit_mm
        return setup


_LONGEST_SOURCE = 120
_MOST_STEPS = 360
_WORDS = ("limit_source", "rig", "rig_date")
_NOT_IN_SETUP = {"feature", "unknown"}
_ALWAYS = ("surface", "polarity", "view", "sense", "crank", "zero_deg", "tip_angle_deg", "closing")

_CHOICES: dict[str, tuple[object, ...]] = {
    "feature": get_args(Feature),
    "surface": ("inside", "outside"),
    "polarity": (1, -1),
    "view": ("rear", "front"),
    "sense": ("cw", "ccw"),
    "crank": ("level", "upright"),
}

# Key: least, greatest, and whether the least itself is allowed. Generous: they catch a wrong unit
# or a slipped decimal point, not an unusual engine.
_RANGES: dict[str, tuple[float, float, bool]] = {
    "zero_deg": (-3600.0, 3600.0, True),
    "tip_angle_deg": (-80.0, 80.0, True),
    "sag_mm": (-5.0, 5.0, True),
    "bearing_clearance_mm": (0.0, 5.0, True),
    "engine_tilt_deg": (-180.0, 180.0, True),
    "radius_mm": (0.0, 5000.0, False),
    "face_radius_mm": (0.0, 5000.0, False),
    "tip_radius_mm": (0.0, 100.0, True),
    "limit_mm": (0.0, 25.0, False),
    "dwell_s": (0.0, 60.0, False),
    "steady_mm": (0.0, 5.0, False),
    "resolution_mm": (0.0, 5.0, True),
    "mpe_mm": (0.0, 5.0, True),
    "angle_sd_deg": (0.0, 90.0, True),
    "zero_sd_deg": (0.0, 90.0, True),
    "delay_s": (-5.0, 5.0, True),
    "delay_sd_s": (0.0, 5.0, True),
    "lost_motion_deg": (0.0, 90.0, True),
    "drift_mm": (0.0, 5.0, True),
    "hysteresis_mm": (0.0, 5.0, True),
    "hidden_form_mm": (0.0, 5.0, True),
    "sag_sd_mm": (0.0, 5.0, True),
    "calibration_sd_mm": (0.0, 5.0, True),
    "steps_mpe_mm": (0.0, 5.0, True),
    "repeatability_mm": (0.0, 5.0, True),
    "repeatability_freedom": (0.0, 1e9, False),
}
_OTHERS = {*_WORDS, "calibration", "steps_mm", "closing", "unit_sure", "unknown"}
assert {f.name for f in fields(Setup)} == {*_CHOICES, *_RANGES, *_OTHERS}


def _choice(key: str, value: object) -> object:
    allowed = _CHOICES[key]
    for option in allowed:
        if value == option and not isinstance(value, bool):
            return option
    raise SetupError(key, value, " or ".join(str(option) for option in allowed))


def _number(key: str, value: object) -> float:
    least, greatest, closed = _RANGES[key]
    wanted = f"a number from {least:g} to {greatest:g}"
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise SetupError(key, value, wanted)
    try:
        number = float(value)
    except OverflowError:
        raise SetupError(key, value, wanted) from None
    if not least <= number <= greatest or (number == least and not closed):
        raise SetupError(key, value, wanted)
    return number


def _steps(value: object) -> tuple[float, ...]:
    wanted = f"a list of up to {_MOST_STEPS} lengths in mm"
    if not isinstance(value, list | tuple) or len(value) > _MOST_STEPS:
        raise SetupError("steps_mm", value, wanted)
    if not all(isinstance(v, int | float) and not isinstance(v, bool) and abs(v) <= 1e3 for v in value):
        raise SetupError("steps_mm", value, wanted)
    return tuple(float(v) for v in value)


def _calibration(value: object) -> tuple[tuple[float, float], ...]:
    wanted = "a list of [reading_mm, correction_mm] pairs with rising readings"
    if not isinstance(value, list | tuple):
        raise SetupError("calibration", value, wanted)
    pairs = []
    for pair in value:
        if not isinstance(pair, list | tuple) or len(pair) != 2:
            raise SetupError("calibration", value, wanted)
        if not all(isinstance(v, int | float) and not isinstance(v, bool) and math.isfinite(v) for v in pair):
            raise SetupError("calibration", value, wanted)
        pairs.append((float(pair[0]), float(pair[1])))
    if any(b[0] <= a[0] for a, b in pairwise(pairs)):
        raise SetupError("calibration", value, wanted)
    return tuple(pairs)
