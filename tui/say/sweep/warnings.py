"""What is remarked about a sweep, in sentences: what was seen, and what to do about it.

Results and recordings hold the facts (`fitter.result.Remark`); a sentence here can be put better at
any time, and no recording differs from what it was.
"""

from typing import Final

from coaxly.fitter import Result, withheld
from coaxly.fitter.result import FORBIDS, Kind, Looks, Remark
from coaxly.fitter.units import MM_PER_THOU

from ...entry.lengths import plus_minus, show_length, written
from ..filling import Facts, Sentence, fill
from ..smallwords import likely
from . import doubtful, markwords
from .features import PARTS

LOOKS: Final[dict[Looks, str]] = {
    "high": "look for a burr or dirt",
    "low": "the tip may be in a hole or notch",
    "sign": "the sign is wrong",
    "unit": "it was read in the wrong unit",
    "point": "the decimal point slipped",
    "unmoved": "it reads as at the station before, as if the crank had not been turned",
}
"""What a bad station looks like."""

_OF_ONE_READING: Final[tuple[Kind, ...]] = ("bad_station", "step")


def sentences(result: Result, unit: str) -> list[str]:
    """Every remark in full, warnings first."""
    return [sentence(remark, unit) for remark in result.remarks]


def lines(result: Result, unit: str, *, room: bool = True) -> list[str]:
    """Warnings with a "!", first those that forbid a verdict; then what no such sweep would show, short and
    quiet. Where there is room and the sweep must be made again, that says also which sweep would show it."""
    full = room and result.decision.state == "unsure"
    # Where the unit is in doubt, so is all that was said to be off by so much of it.
    in_doubt = not set(withheld.OF_THE_UNIT).isdisjoint(result.decision.withheld)
    remarks = [each for each in result.remarks if not (in_doubt and each.kind in _OF_ONE_READING)]
    remarks.sort(key=lambda each: each.kind not in FORBIDS)
    loud = [f"! {sentence(remark, unit)}" for remark in remarks if remark.level == "warning"]
    return loud + [
        f"note: {sentence(remark, unit) if full else short(remark, unit)}"
        for remark in remarks
        if remark.level == "note" and (result.decision.state == "unsure" or not _perhaps(remark))
    ]


def _perhaps(remark: Remark) -> bool:
    """Whether it is a doubt that is none yet: beside a verdict, which stands in spite of its chance, nobody
    needs it."""
    return "chance" in remark.facts and not remark.facts.get("sure")


def sentence(remark: Remark, unit: str) -> str:
    """One remark in full, lengths in `unit`."""
    facts = remark.facts
    said = fill(_SENTENCES[remark.kind], facts, unit)
    if facts.get("sure"):
        said = f"somebody made sure that all is well, although {said}"
    elif remark.level == "warning":
        said += doubtful.lifted(remark.kind)
    elif "chance" in facts:
        said = f"perhaps, {written(100.0 * facts['chance'], '.0f')} %: {said}"
    return f"recording {facts['recording']} of {facts['of']}: {said}" if "recording" in facts else said


def short(remark: Remark, unit: str) -> str:
    """One remark as it stands on a screen."""
    if remark.facts.get("sure") or "chance" in remark.facts:
        return sentence(remark, unit)
    return fill(_SHORT.get(remark.kind, _SENTENCES[remark.kind]), remark.facts, unit)


def _by_feature(bore: str, face: str, part: str) -> Sentence:
    """What is said of each; a part turns with the crank."""

    def sentence(facts: Facts, unit: str) -> str:
        said = part if facts["feature"] in PARTS else face if facts["feature"] == "face" else bore
        return fill(said, facts, unit)

    return sentence


def _not_detected(facts: Facts, unit: str) -> str:
    said = _by_feature(
        "no direction was found (off-centre by no more than {detectable_mm}): fit no dowels by this sweep",
        "no direction was found (out of square by no more than {detectable_mm}): fit no shims by this sweep",
        "no high point was found: it runs out by no more than {run_out_mm}",
    )
    return fill(said, facts, unit, run_out_mm=2.0 * facts["detectable_mm"])


def _bad_station(facts: Facts, unit: str) -> str:
    said = (
        "at {deg} seen from behind the dial reads {residual_mm:abs} too {way} and was left out{surely}: "
        "{looks}. {again}"
    )
    way = "high" if facts["residual_mm"] > 0.0 else "low"
    again = "Clean it and read it again" if facts["like"] in ("high", "low") else "Read it again"
    return fill(said, facts, unit, way=way, looks=LOOKS[facts["like"]], again=again, surely=_surely(facts))


def _step(facts: Facts, unit: str) -> str:
    said = (
        "the dial jumped by {size_mm} between {after_deg} and {before_deg}, seen from behind{surely}: the "
        "rig was knocked or slipped. Tighten it and sweep again"
    )
    return fill(said, facts, unit, surely=_surely(facts))


def _surely(facts: Facts) -> str:
    """How likely a fault is; nothing of one that an older version found."""
    probability = facts.get("probability")
    return f" ({likely(probability)} sure)" if probability is not None else ""


def _form(facts: Facts, unit: str) -> str:
    said = _by_feature(
        "out of {of} by {form_mm}, which dowels cannot cure. Look for burrs, paint or a warped housing",
        "out of {of} by {form_mm}, which squaring it up does not cure. Look for burrs, paint or a warped "
        "housing",
        "out of {of} by {form_mm} beside its run-out. Clean it, look for burrs and wear",
    )
    return fill(said, facts, unit, of="flat" if facts["feature"] in ("face", "flywheel") else "round")


def _unseen(facts: Facts, unit: str) -> str:
    returning = "drift that comes back" if facts["closed"] else "drift"
    hidden = _hidden(facts, returning, "a dial that drags")
    small = f": {_allowed(facts, unit)} is allowed for" if _allowed(facts, unit) else ""
    return f"this sweep would not show {hidden}{small}"


_WAYS: Final[dict[str, tuple[str, str]]] = {
    "turn": ("another turn the same way", "one more turn"),
    "turn_between": (
        "another turn the same way, half way between these places, from {at_deg} seen from behind on",
        "a turn half way between, from {at_deg} on",
    ),
    "turn_back": (
        "a turn the other way, from {at_deg} seen from behind",
        "a turn the other way, from {at_deg}",
    ),
    "closing": ("the first place, {at_deg} seen from behind, read once more", "{at_deg} read once more"),
    "station": ("one more station, at {at_deg} seen from behind", "one more station, at {at_deg}"),
}
"""What would tell most, in full and as it stands on a screen."""


def _further(facts: Facts, unit: str) -> str:
    left = plus_minus(2.0 * facts["u95_mm"], unit)
    return fill(f"most would be told by {_WAYS[facts['way']][0]}: run-out to about {left}", facts, unit)


def _further_short(facts: Facts, unit: str) -> str:
    left = plus_minus(2.0 * facts["u95_mm"], unit)
    return fill(f"tells most: {_WAYS[facts['way']][1]}, to {left}", facts, unit)


def _unseen_short(facts: Facts, unit: str) -> str:
    allowed = _allowed(facts, unit)
    hidden = _hidden(facts, "drift", "drag")
    return f"would not show {hidden}" + (f" ({allowed} allowed)" if allowed else "")


def _hidden(facts: Facts, drift: str, drag: str) -> str:
    hidden = [_listed([str(k) for k in facts["lobes"]]) + " lobes"] if facts["lobes"] else []
    return _listed(hidden + [drift] * facts["drift"] + [drag] * facts["lag"])


def _allowed(facts: Facts, unit: str) -> str:
    return f"+- {show_length(facts['allowed_mm'], unit)}" if facts["allowed_mm"] > 0.05 * MM_PER_THOU else ""


def _listed(names: list[str]) -> str:
    """a, b or c."""
    return " or ".join(filter(None, [", ".join(names[:-1]), names[-1]]))


def _no_angle(facts: Facts, unit: str) -> str:
    said = "{count:reading had no angle and was|readings had no angle and were} not used"
    if facts["silent_s"] >= 0.1:
        said += ": the encoder was silent for up to {silent_s:.1f} s"
    return fill(said, facts, unit)


_TWO_NUMBERS: Final = "of two numbers, good to +- {within_mm} and {within_deg:g} degrees"

_SENTENCES: Final[dict[Kind, Sentence]] = {
    "not_detected": _not_detected,
    "gap": (
        "nothing was read over {gap_deg:.0f} degrees: read a station near {next_deg} seen from behind, if "
        "you can reach it"
    ),
    "few_stations": "{stations} stations are too few to judge the scatter by: sweep 8 or more",
    "bad_station": _bad_station,
    "step": _step,
    "closure": (
        "back at the first station the dial is {closure_mm:+} off: tighten base and arm, and sweep again"
    ),
    "hysteresis": (
        "turning back, the dial reads {hysteresis_mm:abs} differently: the arm or the tip drags. Turn one "
        "way only"
    ),
    "form": _form,
    "rest": _by_feature(
        "the dial TIR of {swept_mm} is over the limit, but only {fitted_mm} of it is off-centre: moving the "
        "housing cannot cure the rest",
        "the dial TIR of {swept_mm} is over the limit, but only {fitted_mm} of it is tilt: squaring the "
        "housing up cannot cure the rest",
        "the dial TIR of {swept_mm} is over the limit, but only {fitted_mm} of it is run-out: the rest is "
        "form",
    ),
    "drag": (
        "turned one way and the other, the dial reads {apart_mm} apart: the tip, the arm or the angle drags. "
        "Both ways together cancel it, one way alone would not"
    ),
    "mirrored": doubtful.MIRRORED,
    "unknown_keys": "setup keys not understood and not used: {keys}",
    "unseen": _unseen,
    "further": _further,
    "sag_unstated": (
        "the droop of the indicator's arm was not said: {sag_mm} of it, as a long arm may have, would make "
        "the run-out {run_out_mm} and turn the verdict. Sweep a bar with this arm (--feature sag), and say "
        "--rig or --sag"
    ),
    "zero": (
        "the direction is no better than your 12 o'clock mark, which is taken as good to +- {within_deg:g} "
        "degrees"
    ),
    "delay": (
        "the crank did not stop, one way only: if the dial is late, the direction is off, by up to "
        "{within_deg:.0f} degrees as is usual. A turn back shows by how much"
    ),
    "damaged": "{what}",
    "torn": "{what}",
    "bad_lines": "{count:line was|lines were} not usable, for instance at {at_s:.1f} s: {what}",
    **markwords.SENTENCES,
    **doubtful.SENTENCES,
    "no_angle": _no_angle,
    "limits_differ": "these recordings state different limits, {limits_mm}: judged by the strictest",
    "rig_old": (
        "rig {rig} was measured on {date}, {days} days before: sweep its sag and check its dial again"
    ),
    "two_numbers": (
        f"{_TWO_NUMBERS}. Out of round, a drift and a slip would not show: a sweep of eight places would "
        "show them"
    ),
    "form_beyond_dowels": (
        "out of round by {form_mm}, more than the limit: dowels cannot cure that. Look for burrs, paint and "
        "a warped housing; if it stays, replace or re-bore the housing"
    ),
    "beyond_kit": (
        "beyond this kit (largest {largest_mm}): get larger offsets, or replace or re-bore the housing"
    ),
    "no_size_in_kit": "no pair in this kit is likely to end within the limit: a size in between may",
}
_SHORT: Final[dict[Kind, Sentence]] = {
    "not_detected": _by_feature(
        "no direction was found: fit no dowels by this sweep",
        "no direction was found: fit no shims by this sweep",
        "no high point was found",
    ),
    "unseen": _unseen_short,
    "further": _further_short,
    "sag_unstated": "an arm that droops by {sag_mm} would make it {run_out_mm}",
    "zero": "12 o'clock mark taken as good to +- {within_deg:g} degrees",
    "delay": "a late dial may turn it by {within_deg:.0f} degrees",
    "two_numbers": _TWO_NUMBERS,
}
