"""The one instruction of a sweep: what to do now."""

from fitter import Setup
from fitter.geometry import clock

from ..job.line import named
from ..job.schedule import Due


def trouble(lost: tuple[str, ...], paused: bool) -> str | None:
    """What must be put right before anything else; None if nothing."""
    if paused:
        return "paused: P goes on"
    if lost:
        return f"cable of the {named(*lost)} lost: plug it in again, the sweep goes on"
    return None


def held(steady: bool) -> str:
    """A station was asked for, and the dial has not answered yet."""
    return "hold still" if steady else "hold still. Asked again: taken as the dial stands"


def station(due: Due | None, setup: Setup, on_demand: bool) -> str:
    """Where to turn the crank, and which way: never back, unless a turn the other way was asked for."""
    if due is None:
        return "all stations read: finish, or undo one"
    place = clock(setup.internal_deg(due.deg))
    stop = ", stop, press the dial's button" if on_demand else " and stop"
    if due.closing:
        return f"turn on, the same way, to {place} for the closing reading{stop}"
    return f"turn the other way to {place}{stop}" if due.back else f"turn to {place}{stop}"
