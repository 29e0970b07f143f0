"""Lines of the measuring screens, made from a view of the sweep or from its result."""

from dataclasses import dataclass
from typing import Final

from coaxly.fitter import Result
from coaxly.fitter.analysis import Outlook
from coaxly.fitter.certainty.further import Way
from coaxly.fitter.geometry import clock
from coaxly.fitter.remarks import GAP_DEG

from ...entry.lengths import measured, number, plus_minus, says, show_length
from ...job.sweep.linestate import LinkState
from ...job.sweep.view import View
from ..smallwords import capital, counted, uncapital
from . import warnings
from .features import on_the_part
from .findings import NO_DIRECTION, state_words, sureness
from .finished import way
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


_NO_WAY: Final = f"Direction {NO_DIRECTION}"


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


def typed_in(bare: str) -> str:
    """How readings are typed. bare: unit of a number that carries none, "" where each needs its own."""
    return f"in {'inches' if bare == 'in' else bare}" if bare else "with its unit"


def typed_like(bare: str) -> str:
    """The same, and how a reading carries its unit."""
    return f"{typed_in(bare)}, {'or ' if bare else ''}such as 14.9thou"


def stations_read(view: View) -> str:
    """How far round the sweep has come."""
    read = len(view.stations)
    if view.planned:
        return f"{min(read, view.planned)} of {view.planned} stations"
    return f"{counted(read, 'station')} read"


def so_far(view: View, unit: str) -> str:
    """What would be reported if the sweep were finished now; the estimate, where no model says how sure it
    is."""
    lines = _figures(view, unit)
    if not lines:
        return "No result yet: it needs stations all round."
    return "\n".join(["SO FAR", *lines, f"Limit      {show_length(view.limit, unit)}"])


def so_far_line(view: View, unit: str) -> str:
    """The same in one line, for plain lines; "" where there is none yet."""
    said = [uncapital(" ".join(line.split())) for line in _figures(view, unit)]
    return f"so far: {', '.join(said)}" if said else ""


def _figures(view: View, unit: str) -> list[str]:
    """Run-out; how far a bore is off; the direction, once there is one. None before the first estimate."""
    estimate = view.estimate
    if estimate is None:
        return []
    if estimate.feature == "sag":
        return [f"The dial hangs {show_length(estimate.y, unit)} low"]
    off, runout = (show_length(times * estimate.amount, unit) for times in (1.0, 2.0))
    if view.outlook is not None:
        now = view.outlook.eccentricity
        off, runout = (measured(times * now.amount, times * now.u95_amount, unit) for times in (1.0, 2.0))
    figures = [f"Run-out    {runout}"]
    if estimate.feature == "bore":
        figures.append(f"Off-centre {off}")
    if view.finished:
        return figures  # left off: how sure a direction would be is not worked out any more
    deg = heading(view)
    return [*figures, "No direction yet" if deg is None else _points(estimate.feature, clock(deg))]


def _points(feature: str, to: str) -> str:
    goes = "Housing moves to" if feature == "bore" else "High at"
    return f"{goes} {to}{on_the_part(feature)} seen from behind"


def heading(view: View) -> float | None:
    """The way that a sweep in progress points (as `Estimate.move_deg`); None where it was left off, and while
    it tells none: nothing is found yet, or, where angles come by themselves, too much of the circle was not
    passed."""
    if view.estimate is None or view.finished:
        return None
    if view.stations.continuous:
        return view.estimate.move_deg if view.stations.largest_gap() <= GAP_DEG else None
    found = view.outlook.eccentricity if view.outlook is not None else None
    return found.move_deg if found is not None and found.has_direction else None


def sure_line(view: View, unit: str) -> str:
    """What the next station would make of how sure that is; "" where nothing is due or known."""
    if view.outlook is None or not view.due:
        return ""
    then = plus_minus(2.0 * view.outlook.after[0], unit)
    return f"with the station at {clock(view.due[0])} the run-out would be known to about {then}"


def finding(result: Result, unit: str) -> str:
    """The result of a finished sweep, short enough to be read from afar."""
    ecc, to = result.eccentricity, way(result, unit)
    lines = [state_words(result.decision), f"limit {show_length(result.decision.limit, unit)} run-out"]
    if result.decision.source:
        lines.append(f"({result.decision.source})")
    lines += [sureness(result.decision), "", f"Run-out    {show_length(result.tir.fitted, unit)}"]
    if ecc.detected:
        if result.feature == "bore":
            lines.append(f"Off-centre {measured(ecc.amount, ecc.u95_amount, unit)}")
        if not ecc.has_direction:
            lines.append(_NO_WAY)
        elif to.clock:
            lines.append(_points(result.feature, to.clock))
        else:
            lines.append(capital(to.tail or "; ".join(to.head)))
    else:
        lines.append(f"{_WHAT[result.feature]} {show_length(ecc.detectable, unit)}")
    lines += [f"Dial TIR   {show_length(result.tir.swept, unit)}", *warnings.lines(result, unit, room=False)]
    return "\n".join(lines)


_KEYS: Final[dict[Way, str]] = {"turn": "T one more turn", "turn_back": "O the other way"}
"""What the measuring screen has a key for."""


@dataclass(frozen=True)
class Bar:
    """What a bar shows. runout, spread (of 95 %), limit: TIR in mm. then: the spread once more was read, None
    where nothing is due. now, next: both in words, lengths in `unit`."""

    runout: float
    spread: float
    limit: float
    then: float | None
    now: str
    next: str
    unit: str

    @property
    def beside(self) -> tuple[str, str]:
        """What `now` is of, in full and in short."""
        return f"run-out {self.now} {self.unit} now", f"{self.now} {self.unit}"

    @property
    def beneath(self) -> tuple[str, str]:
        """The same where `now` stands above in large letters."""
        return f"{self.unit} run-out now", self.unit


def bar(view: View, unit: str) -> Bar | None:
    """The bar of a sweep in progress; None where nothing can be said of it yet."""
    outlook = view.outlook
    if outlook is None:
        return None
    half, words = _next(view, outlook)
    then = None if half is None else 2.0 * half
    return Bar(
        runout=2.0 * outlook.eccentricity.amount,
        spread=2.0 * outlook.eccentricity.u95_amount,
        limit=view.limit,
        then=then,
        now=_spread(2.0 * outlook.eccentricity.u95_amount, unit),
        next="" if then is None else f"{words}: {_spread(then, unit)}",
        unit=unit,
    )


def _spread(mm: float, unit: str) -> str:
    """A half-width in digits alone, which are drawn large; never "+-0.0", which nothing measured is."""
    text = number(mm, unit)
    return f"+-{text if says(text) else number(mm, unit, finer=1)}"


def _next(view: View, outlook: Outlook) -> tuple[float | None, str]:
    """What comes next, and the half-width of the amount that it leaves, mm."""
    if view.due:
        return outlook.after[0], f"after {clock(view.due[0])}"
    keyed = [one for one in outlook.further if one.way in _KEYS]
    if not keyed or not view.planned:
        return None, ""
    best = min(keyed, key=lambda one: one.u95_amount)
    return best.u95_amount, _KEYS[best.way]
