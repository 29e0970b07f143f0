"""How the indicator sits, as a job's `rig` table says it: options of a sweep by name, in words of people."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from coaxly.fitter import Setup
from coaxly.fitter.errors import FitterError
from coaxly.logger.angle import FEWEST_STATIONS, MOST_STATIONS

from ..errors import UsageError
from .lengths import parse_length
from .places import parse_angle

USUAL_STATIONS: Final = 8

_LENGTHS: Final = {
    "sag": "sag_mm",
    "bearing-clearance": "bearing_clearance_mm",
    "radius": "radius_mm",
    "tip-radius": "tip_radius_mm",
    "face-radius": "face_radius_mm",
    "resolution": "resolution_mm",
    "mpe": "mpe_mm",
    "steady": "steady_mm",
    "hysteresis": "hysteresis_mm",
    "wander": "drift_mm",
    "repeatability": "repeatability_mm",
}
_ANGLES: Final = {
    "zero": "zero_deg",
    "tip-angle": "tip_angle_deg",
    "engine-tilt": "engine_tilt_deg",
    "zero-sd": "zero_sd_deg",
    "lost-motion": "lost_motion_deg",
}
_PLAIN: Final = {
    "surface": str,
    "polarity": int,
    "view": str,
    "sense": str,
    "crank": str,
    "dwell": float,
    "delay": float,
    "delay-sd": float,
    "unit-sure": bool,
}
_RENAMED: Final = {"dwell": "dwell_s", "delay": "delay_s", "delay-sd": "delay_sd_s", "unit-sure": "unit_sure"}
_OF_THE_SWEEP: Final = ("stations", "no-closing", "auto", "port", "profile", "unit")


@dataclass(frozen=True, slots=True)
class Rigging:
    """What a rig table comes to: the setup without its limit, and how many stations are read."""

    setup: dict[str, Any]
    """As the `setup` object of a recording's header."""
    stations: int = USUAL_STATIONS
    closing: bool = True
    auto: bool = False
    port: str = ""
    profile: str = ""
    unit: str = ""


def rigging(rig: Mapping[str, Any]) -> Rigging:
    """A rig table read. Raises UsageError, naming the option."""
    given = {str(key).replace("_", "-"): value for key, value in rig.items()}
    setup: dict[str, Any] = {}
    for key, value in given.items():
        if key in _OF_THE_SWEEP:
            continue
        name, parse = _meant(key)
        try:
            setup[name] = parse(value if isinstance(value, bool) else str(value))
        except ValueError as error:
            raise UsageError(f"{key}: {error}") from error
    try:
        Setup.from_header(setup)
    except FitterError as error:
        raise UsageError(str(error)) from error
    return Rigging(
        setup,
        _stations(given.get("stations", USUAL_STATIONS)),
        closing=given.get("no-closing") is not True,
        auto=given.get("auto") is True,
        **{key: str(given.get(key, "")) for key in ("port", "profile", "unit")},
    )


def _meant(key: str) -> tuple[str, Callable[[Any], Any]]:
    """The key of the setup, and what reads its value. Raises UsageError."""
    if key in _LENGTHS:
        return _LENGTHS[key], parse_length
    if key in _ANGLES:
        return _ANGLES[key], parse_angle
    if key in _PLAIN:
        return _RENAMED.get(key, key), _PLAIN[key]
    raise UsageError(f"{key[:40]!r} is not known on the screen: 'coaxly sweep --job JOB' takes all options")


def _stations(value: Any) -> int:
    try:
        count = int(str(value))
    except ValueError:
        count = 0
    if not FEWEST_STATIONS <= count <= MOST_STATIONS:
        raise UsageError(f"stations is {str(value)[:20]}: choose 3 to 360, 8 is usual")
    return count
