"""Which indicator, where it is and in which unit it speaks: from words to a `Source`."""

from dataclasses import replace

from coaxly.logger.angle.source import Source
from coaxly.logger.port.ports import ports
from coaxly.logger.profile import Profile, load

from ..errors import UsageError


def dial_at(port: str, profile: str, unit: str) -> Source:
    """The indicator as it was named: a port, a profile by name or file, and a unit. Raises ProfileError or
    UsageError."""
    known = load(profile)
    return Source(need_port(port, known), with_unit(known, unit))


def need_port(port: str, profile: Profile) -> str:
    """The port, "" where readings are typed by hand. Raises UsageError where it is missing."""
    if profile.typed:
        return ""
    if not port:
        known = ", ".join(port.name for port in ports()) or "none found"
        raise UsageError(
            f"--port is missing. Ports here: {known}. Readings by hand: --profile typed. "
            "No hardware: coaxly demo"
        )
    return port


def with_unit(profile: Profile, unit: str) -> Profile:
    """The profile with the unit of its dial; "": as the profile or its lines say. Numbers that are typed may
    be in thou or um, too, which then stands behind each. Raises UsageError for a dial: it sends mm or in; and
    where the profile says another unit."""
    if unit in ("thou", "um"):
        if not profile.typed:
            whole = "in" if unit == "thou" else "mm"
            raise UsageError(
                f"--unit {unit} is for numbers that are typed; for a dial that sends them write a profile "
                f'with unit = "{whole}" and scale = 0.001'
            )
        return replace(profile, unit="")
    if unit and profile.unit not in ("", unit):
        raise UsageError(
            f"unit {unit} (--unit, or the job's rig) contradicts profile {profile.name}, by which the dial "
            f"shows {profile.unit}: leave one of them out"
        )
    return replace(profile, unit=unit or profile.unit)
