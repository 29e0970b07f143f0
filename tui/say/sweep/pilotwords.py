"""Where bore, face and register lead the gearbox's shaft, in words."""

from typing import TYPE_CHECKING

from coaxly.fitter.geometry import clock

from ...entry.lengths import degrees, measured, number, show_length, written

if TYPE_CHECKING:
    from coaxly.fitter.pilot import AtPilot


def pilot_lines(at: "AtPilot", unit: str) -> list[str]:
    """What bore and face do together at the pilot bearing."""
    off = measured(at.amount, at.u95, unit)
    lines = [
        f"At the pilot    the gearbox's axis is {off} off the crank's,",
        f"                {_towards(at)}",
        f"                and leads an input shaft askew by {written(at.shaft_deg, '.3f')} degrees",
    ]
    if at.play:
        lines.append(f"  the register's play is in that: up to {show_length(at.play, unit)} to any side")
    if at.carried is not None:
        lines.append(
            f"  the pilot bore carries the shaft's end round by {show_length(at.carried, unit)} besides"
        )
    parts = ", ".join(
        f"{line.source} {number(line.value, unit, finer=1)}" for line in at.budget if line.value
    )
    return [*lines, f"  what makes it unsure, as standard uncertainties: {parts} {unit}"]


def _towards(at: "AtPilot") -> str:
    """Its direction, where there is one to tell."""
    if at.u95 >= at.amount:
        return "too little to tell which way"
    return f"towards {clock(at.deg)} ({degrees(at.deg)}) seen from behind"
