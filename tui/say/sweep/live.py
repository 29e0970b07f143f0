"""Lines of the measuring screens, made from a view of the sweep or from its result."""

from coaxly.fitter import Estimate, Result
from coaxly.fitter.geometry import clock

from ...entry.lengths import measured, show_length
from ...job.sweep.linestate import LinkState
from ...job.sweep.view import View
from ..smallwords import counted
from . import warnings
from .features import SWEPT, on_the_part
from .findings import state_words, sureness
from .markwords import named

LINK = {
    LinkState.UP: "* connected",
    LinkState.LOST: "X LOST: replug",
    LinkState.WAITING: "... waiting for the dial",
    LinkState.SILENT: "! connected, but silent",
    LinkState.MUTE: "! nothing comes",
    LinkState.GARBLED: "! no reading in it",
    LinkState.COMPLAINS: "! sends no reading",
    LinkState.NO_ANGLE: "! encoder is silent",
    LinkState.REPLAY: "> replay",
}
_SPEAKING = (LinkState.UP, LinkState.NO_ANGLE, LinkState.REPLAY)


_WHAT = {
    "bore": "Not off-centre by more than",
    "face": "Not out of square by more than",
    "pilot": "Not off the crank's axis by more than",
    "flywheel": "Not out of square by more than",
}


def status(view: View) -> str:
    """Link, dial, progress and recording, a line each."""
    if view.finished:
        kept = "# recorded and sealed" if view.sealed else "! NOT SEALED"
        return f"{kept}\n{stations_read(view)}\n{counted(view.samples, 'reading')}"
    lines = [
        f"X LOST: {named(*view.lost)}, replug" if view.lost else LINK[view.link],
        dial_words(view),
        stations_read(view),
        f"{counted(view.samples, 'reading')}",
    ]
    if view.faults:
        lines.append(f"! {counted(view.faults, 'bad line')}")
    return "\n".join(lines)


def typed_status(view: View) -> str:
    """Progress, where readings are typed."""
    return f"typed by hand\n{stations_read(view)}"


def speaking(view: View) -> bool:
    """Whether the reading is one of now."""
    return view.finished or view.link in _SPEAKING


def dial_words(view: View) -> str:
    """What the dial does, if it can be heard."""
    if view.reading is None:
        return "no reading yet"
    if view.link not in _SPEAKING:
        return "dial: no news"
    return "dial steady" if view.steady else "dial moving"


def stations_read(view: View) -> str:
    """How far round the sweep has come."""
    read = len(view.stations)
    return (
        f"{min(read, view.planned)} of {view.planned} stations" if view.planned else f"{read} stations read"
    )


def so_far(view: View, unit: str) -> str:
    """The estimate while the sweep goes on."""
    estimate = view.estimate
    if estimate is None:
        return "No result yet: it needs stations all round."
    return "\n".join(
        [
            "SO FAR",
            f"Run-out    {show_length(2.0 * estimate.amount, unit)}",
            *_direction(estimate, unit),
            f"Limit      {show_length(view.limit, unit)}",
        ]
    )


def _direction(estimate: Estimate, unit: str) -> list[str]:
    """Where a face stands high; how far a bore is off and which way the housing goes."""
    if estimate.feature != "bore":
        return [f"High at {clock(estimate.high_deg)} seen from behind"]
    return [
        f"Off-centre {show_length(estimate.amount, unit)}",
        f"Housing moves to {clock(estimate.move_deg)} seen from behind",
    ]


def so_far_line(estimate: Estimate, unit: str) -> str:
    """The estimate in one line, for plain lines."""
    if estimate.feature == "sag":
        return f"so far: the dial hangs {show_length(estimate.y, unit)} low"
    if estimate.feature != "bore":
        run_out = f"{SWEPT[estimate.feature]} run-out {show_length(2.0 * estimate.amount, unit)}"
        on = on_the_part(estimate.feature)
        return f"so far: {run_out}, high at {clock(estimate.high_deg)}{on} seen from behind"
    return (
        f"so far: off-centre by {show_length(estimate.amount, unit)}, "
        f"housing moves towards {clock(estimate.move_deg)} seen from behind"
    )


def finding(result: Result, unit: str) -> str:
    """The result of a finished sweep, short enough to be read from afar."""
    ecc = result.eccentricity
    lines = [state_words(result.decision), f"limit {show_length(result.decision.limit, unit)} run-out"]
    if result.decision.source:
        lines.append(f"({result.decision.source})")
    lines += [sureness(result.decision), "", f"Run-out    {show_length(result.tir.fitted, unit)}"]
    if ecc.detected:
        lines += (
            [f"High at {ecc.high_clock} seen from behind"]
            if result.feature != "bore"
            else [
                f"Off-centre {measured(ecc.amount, ecc.u95_amount, unit)}",
                f"Housing moves to {ecc.move_clock} seen from behind",
            ]
        )
    else:
        lines.append(f"{_WHAT[result.feature]} {show_length(ecc.detectable, unit)}")
    lines += [f"Dial TIR   {show_length(result.tir.swept, unit)}", *warnings.lines(result, unit, room=False)]
    return "\n".join(lines)
