"""What a finished sweep says: the decision with the run-out, which way to go, and what spoils the reading."""

from dataclasses import dataclass

from coaxly.fitter import Result
from coaxly.fitter.geometry import clock
from coaxly.fitter.withheld import doubted

from ...entry.lengths import half_width, measured, number, show_length, whole_degrees
from ..smallwords import shortened
from . import warnings
from .features import SWEPT, on_the_part
from .findings import must_move, of_two_numbers, stations_words
from .noverdict import large_word, state_of


@dataclass(frozen=True)
class Answer:
    """state: "inside", "outside", "unsure", or "withheld"; word: why it is withheld, in large letters, else
    "".
    number: the run-out in digits; lines: what stands beneath it. runout, spread (95 %), limit: TIR in mm,
        for the bar."""

    state: str
    number: str
    lines: tuple[str, ...]
    runout: float
    spread: float
    limit: float
    word: str = ""


def answer(result: Result, unit: str, *more: str) -> Answer:
    """The answer of a result; `more`: lines to stand last."""
    runout, spread = result.tir.fitted, 2.0 * result.eccentricity.u95_amount
    return Answer(
        state=state_of(result.decision),
        number=number(runout, unit),
        lines=(
            f"+- {half_width(spread, unit)} run-out",
            f"limit {show_length(result.decision.limit, unit)}",
            *more,
        ),
        runout=runout,
        spread=spread,
        limit=result.decision.limit,
        word=large_word(result.decision.withheld),
    )


@dataclass(frozen=True)
class Way:
    """Where to, or where high. head: what the clock position is of; clock: "4:10", to be drawn large, ""
    where no direction was found; tail: the angle, and whence it is seen; deg: as clock, None for none.
    size: of the offset in units of the largest that the limit permits."""

    head: tuple[str, ...]
    clock: str
    tail: str
    deg: float | None
    size: float


def way(result: Result, unit: str) -> Way:
    """Which way the housing of a bore moves; where anything else stands high."""
    ecc, feature = result.eccentricity, result.feature
    size = result.tir.fitted / result.decision.limit
    off = "out of square" if feature in ("face", "flywheel") else "off-centre"
    moved = measured(ecc.amount, ecc.u95_amount, unit)
    if not ecc.detected:
        most = show_length(ecc.detectable, unit)
        return Way(("NO DIRECTION FOUND",), "", f"{off} by no more than {most}", None, size)
    if feature == "bore" and doubted(result):
        return Way(("NOTHING TO GO BY", "sweep again"), "", "", None, size)
    if not ecc.has_direction:
        return Way(("NO DIRECTION FOUND",), "", f"{off} by {moved}, whichever way", None, size)
    if feature != "bore":
        whence = on_the_part(feature) or ", seen from behind"
        tail = f"{whole_degrees(ecc.high_deg)} +- {ecc.u95_deg:.0f} deg{whence}"
        stands = "FACE STANDS" if feature == "face" else f"{SWEPT[feature].upper()} READS"
        return Way((f"{stands} HIGH AT",), ecc.high_clock, tail, ecc.high_deg, size)
    tail = f"{whole_degrees(ecc.move_deg)} +- {ecc.u95_deg:.0f} deg, seen from behind"
    if result.decision.state == "inside":
        # Within the limit nothing has to move: where the bore's centre stands is told, and no more.
        opposite = clock((ecc.move_deg + 180.0) % 360.0)
        stands = f"the bore stands towards {opposite}, seen from behind"
        return Way(("LEAVE IT", f"{off} by {moved}"), "", stands, None, size)
    head = "HOUSING MUST MOVE" if must_move(result) else "A MOVE TO CENTRE IT"
    return Way((head, f"{moved}, towards"), ecc.move_clock, tail, ecc.move_deg, size)


def figures(result: Result, unit: str) -> list[str]:
    """Beside what spoils the reading: the dial's own swing, and the form."""
    form = "not known" if of_two_numbers(result) else show_length(result.form.peak_to_valley, unit)
    true = "out of flat" if result.feature in ("face", "flywheel") else "out of round"
    return [f"dial TIR {show_length(result.tir.swept, unit)}, {true} {form}"]


def whose_limit(result: Result) -> list[str]:
    """Whose limit it is that decides."""
    source = result.decision.source
    return [f"limit: {source}"] if source else []


def spoils(result: Result, unit: str) -> list[str]:
    """What spoils the reading: warnings in full, then what such a sweep never shows, in short."""
    return warnings.lines(result, unit, room=False)


def head_line(title: str, stage: str, result: Result, sealed: bool) -> str:
    """What was swept, and that it is kept."""
    kept = "# recorded and sealed" if sealed else "! NOT SEALED"
    swept = SWEPT[result.feature]
    what = f"as {stage}, {swept}" if stage else swept
    return f"{shortened(title)}, {what}: {stations_words(result)}   {kept}"
