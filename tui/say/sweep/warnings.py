"""What is remarked about a sweep, in sentences: what was seen, and what to do about it.

Results and recordings hold the facts (`fitter.result.Remark`); a sentence here can be put better at
any time, and no recording differs from what it was.
"""

from collections.abc import Callable, Mapping
from typing import Any, Final

from coaxly.fitter import Result
from coaxly.fitter.geometry import clock
from coaxly.fitter.result import Kind, Looks, Remark
from coaxly.fitter.units import MM_PER_THOU

from ...entry.lengths import show_length, written
from ..smallwords import counted, likely
from . import doubtful, marked, twonumbers
from .features import PARTS

_Facts = Mapping[str, Any]

LOOKS: Final[dict[Looks, str]] = {
    "high": "look for a burr or dirt",
    "low": "the tip may be in a hole or notch",
    "sign": "the sign is wrong",
    "unit": "it was read in the wrong unit",
    "point": "the decimal point slipped",
    "unmoved": "it reads as at the station before, as if the crank had not been turned",
}
"""What a bad station looks like."""


def sentences(result: Result, unit: str) -> list[str]:
    """Every remark in full, warnings first."""
    return [sentence(remark, unit) for remark in result.remarks]


def lines(result: Result, unit: str, *, room: bool = True) -> list[str]:
    """Warnings with a "!" first; then what no such sweep would show, short and quiet. Where there is room and
    the sweep must be made again, that says also which sweep would show it."""
    full = room and result.decision.state == "unsure"
    loud = [f"! {sentence(remark, unit)}" for remark in result.remarks if remark.level == "warning"]
    return loud + [
        f"note: {sentence(remark, unit) if full else short(remark, unit)}"
        for remark in result.remarks
        if remark.level == "note"
    ]


def sentence(remark: Remark, unit: str) -> str:
    """One remark in full, lengths in `unit`."""
    facts = remark.facts
    said = _SENTENCES[remark.kind](facts, unit)
    if facts.get("sure"):
        said = f"somebody made sure that all is well, although {said}"
    elif remark.level == "warning":
        said += doubtful.lifted(remark.kind)
    elif "chance" in facts:
        said = f"perhaps, {written(100.0 * facts['chance'], '.0f')} %: {said}"
    return f"recording {facts['recording']} of {facts['of']}: {said}" if "recording" in facts else said


def short(remark: Remark, unit: str) -> str:
    """One remark as it stands on a screen."""
    if remark.facts.get("sure"):
        return sentence(remark, unit)
    return _SHORT.get(remark.kind, _SENTENCES[remark.kind])(remark.facts, unit)


def _not_detected(facts: _Facts, unit: str) -> str:
    most = show_length(facts["detectable_mm"], unit)
    if facts["feature"] == "face":
        return f"no direction was found (out of square by no more than {most}): fit no shims by this sweep"
    if facts["feature"] in PARTS:
        run_out = show_length(2.0 * facts["detectable_mm"], unit)
        return f"no high point was found: it runs out by no more than {run_out}"
    return f"no direction was found (off-centre by no more than {most}): fit no dowels by this sweep"


def _not_detected_short(facts: _Facts, unit: str) -> str:
    if facts["feature"] in PARTS:
        return "no high point was found"
    what = "shims" if facts["feature"] == "face" else "dowels"
    return f"no direction was found: fit no {what} by this sweep"


def _gap(facts: _Facts, unit: str) -> str:
    return (
        f"nothing was read over {facts['gap_deg']:.0f} degrees: "
        f"read a station near {clock(facts['next_deg'])} seen from behind, if you can reach it"
    )


def _few_stations(facts: _Facts, unit: str) -> str:
    return f"{facts['stations']} stations are too few to judge the scatter by: sweep 8 or more"


def _bad_station(facts: _Facts, unit: str) -> str:
    residual, like = facts["residual_mm"], facts["like"]
    off = f"{show_length(abs(residual), unit)} too {'high' if residual > 0.0 else 'low'}"
    again = "Clean it and read it again" if like in ("high", "low") else "Read it again"
    return (
        f"at {clock(facts['deg'])} seen from behind the dial reads {off} and was left out{_surely(facts)}: "
        f"{LOOKS[like]}. {again}"
    )


def _step(facts: _Facts, unit: str) -> str:
    jump, before = show_length(facts["size_mm"], unit), clock(facts["before_deg"])
    return (
        f"the dial jumped by {jump} between {clock(facts['after_deg'])} and {before}, seen from behind"
        f"{_surely(facts)}: the rig was knocked or slipped. Tighten it and sweep again"
    )


def _surely(facts: _Facts) -> str:
    """How likely a fault is; nothing of one that an older version found."""
    probability = facts.get("probability")
    return f" ({likely(probability)} sure)" if probability is not None else ""


def _closure(facts: _Facts, unit: str) -> str:
    off = show_length(facts["closure_mm"], unit, signed=True)
    return f"back at the first station the dial is {off} off: tighten base and arm, and sweep again"


def _hysteresis(facts: _Facts, unit: str) -> str:
    apart = show_length(abs(facts["hysteresis_mm"]), unit)
    return f"turning back, the dial reads {apart} differently: the arm or the tip drags. Turn one way only"


def _form(facts: _Facts, unit: str) -> str:
    form, burrs = show_length(facts["form_mm"], unit), "Look for burrs, paint or a warped housing"
    if facts["feature"] in PARTS:
        out_of = "flat" if facts["feature"] == "flywheel" else "round"
        return f"out of {out_of} by {form} beside its run-out. Clean it, look for burrs and wear"
    if facts["feature"] == "face":
        return f"out of flat by {form}, which squaring it up does not cure. {burrs}"
    return f"out of round by {form}, which dowels cannot cure. {burrs}"


def _rest(facts: _Facts, unit: str) -> str:
    swept, fitted = show_length(facts["swept_mm"], unit), show_length(facts["fitted_mm"], unit)
    if facts["feature"] in PARTS:
        return (
            f"the dial TIR of {swept} is over the limit, but only {fitted} of it is run-out: the rest is form"
        )
    if facts["feature"] == "face":
        return (
            f"the dial TIR of {swept} is over the limit, but only {fitted} of it is tilt: "
            "squaring the housing up cannot cure the rest"
        )
    return (
        f"the dial TIR of {swept} is over the limit, but only {fitted} of it is off-centre: "
        "moving the housing cannot cure the rest"
    )


def _drag(facts: _Facts, unit: str) -> str:
    return (
        f"turned one way and the other, the dial reads {show_length(facts['apart_mm'], unit)} apart: "
        "the tip, the arm or the angle drags. Both ways together cancel it, one way alone would not"
    )


def _unknown_keys(facts: _Facts, unit: str) -> str:
    return "setup keys not understood and not used: " + ", ".join(facts["keys"])


def _unseen(facts: _Facts, unit: str) -> str:
    lobes, drift = bool(facts["lobes"]), bool(facts["drift"])
    ways = []
    if lobes or drift:
        turn = "another turn the same way"
        if facts["on_deg"] is not None:
            turn += f", its stations {written(round(facts['on_deg'], 1), 'g')} degrees further on,"
        shown = [name for name, hidden in (("the lobes", lobes), ("the drift", drift)) if hidden]
        more = " (12 stations the lobes, too)" if lobes and facts["stations"] < 12 else ""
        ways.append(f"{turn} shows {' and '.join(shown)}{more}")
    if facts["lag"]:
        # A turn back is as blind to a drift that comes back as one the same way is to a drag.
        ways.append("one turn the other way shows the drag")
    words = "; ".join(ways)
    returning = "drift that comes back" if facts["closed"] else "drift"
    hidden = _hidden(facts, returning, "a dial that drags")
    small = f": {_allowed(facts, unit)} is allowed for" if _allowed(facts, unit) else ""
    return f"this sweep would not show {hidden}{small}. {words[0].upper()}{words[1:]}"


def _unseen_short(facts: _Facts, unit: str) -> str:
    allowed = _allowed(facts, unit)
    hidden = _hidden(facts, "drift", "drag")
    return f"would not show {hidden}" + (f" ({allowed} allowed)" if allowed else "")


def _hidden(facts: _Facts, drift: str, drag: str) -> str:
    hidden = [_listed([str(k) for k in facts["lobes"]]) + " lobes"] if facts["lobes"] else []
    return _listed(hidden + [drift] * facts["drift"] + [drag] * facts["lag"])


def _allowed(facts: _Facts, unit: str) -> str:
    return f"+- {show_length(facts['allowed_mm'], unit)}" if facts["allowed_mm"] > 0.05 * MM_PER_THOU else ""


def _sag_unstated(facts: _Facts, unit: str) -> str:
    sag, run_out = (show_length(facts[key], unit) for key in ("sag_mm", "run_out_mm"))
    return (
        f"the droop of the indicator's arm was not said: {sag} of it, as a long arm may have, would make "
        f"the run-out {run_out} and turn the verdict. Sweep a bar with this arm (--feature sag), "
        "and say --rig or --sag"
    )


def _sag_unstated_short(facts: _Facts, unit: str) -> str:
    sag, run_out = (show_length(facts[key], unit) for key in ("sag_mm", "run_out_mm"))
    return f"an arm that droops by {sag} would make it {run_out}"


def _zero(facts: _Facts, unit: str) -> str:
    return (
        "the direction is no better than your 12 o'clock mark, "
        f"which is taken as good to +- {written(facts['within_deg'], 'g')} degrees"
    )


def _zero_short(facts: _Facts, unit: str) -> str:
    return f"12 o'clock mark taken as good to +- {written(facts['within_deg'], 'g')} degrees"


def _delay(facts: _Facts, unit: str) -> str:
    return (
        "the crank did not stop, one way only: if the dial is late, the direction is off, by up to "
        f"{written(facts['within_deg'], '.0f')} degrees as is usual. A turn back shows by how much"
    )


def _delay_short(facts: _Facts, unit: str) -> str:
    return f"a late dial may turn it by {written(facts['within_deg'], '.0f')} degrees"


def _what(facts: _Facts, unit: str) -> str:
    return str(facts["what"])


def _bad_lines(facts: _Facts, unit: str) -> str:
    were = "was" if facts["count"] == 1 else "were"
    lines_were = f"{counted(facts['count'], 'line')} {were}"
    return f"{lines_were} not usable, for instance at {written(facts['at_s'], '.1f')} s: {facts['what']}"


def _no_angle(facts: _Facts, unit: str) -> str:
    silent = facts["silent_s"]
    why = f": the encoder was silent for up to {written(silent, '.1f')} s" if silent >= 0.1 else ""
    were = "was" if facts["count"] == 1 else "were"
    return f"{counted(facts['count'], 'reading')} had no angle and {were} not used{why}"


def _limits_differ(facts: _Facts, unit: str) -> str:
    stated = " and ".join(show_length(limit, unit) for limit in facts["limits_mm"])
    return f"these recordings state different limits, {stated}: judged by the strictest"


def _rig_old(facts: _Facts, unit: str) -> str:
    return (
        f"rig {facts['rig']} was measured on {facts['date']}, {facts['days']} days before: "
        "sweep its sag and check its dial again"
    )


def _form_beyond_dowels(facts: _Facts, unit: str) -> str:
    form = show_length(facts["form_mm"], unit)
    return (
        f"out of round by {form}, more than the limit: dowels cannot cure that. "
        "Look for burrs, paint and a warped housing; if it stays, replace or re-bore the housing"
    )


def _beyond_kit(facts: _Facts, unit: str) -> str:
    largest = show_length(facts["largest_mm"], unit)
    return f"beyond this kit (largest {largest}): get larger offsets, or replace or re-bore the housing"


def _no_size_in_kit(facts: _Facts, unit: str) -> str:
    return "no pair in this kit is likely to end within the limit: a size in between may"


def _listed(names: list[str]) -> str:
    """a, b or c."""
    return " or ".join(filter(None, [", ".join(names[:-1]), names[-1]]))


_SENTENCES: Final[dict[Kind, Callable[[_Facts, str], str]]] = {
    "not_detected": _not_detected,
    "gap": _gap,
    "few_stations": _few_stations,
    "bad_station": _bad_station,
    "step": _step,
    "closure": _closure,
    "hysteresis": _hysteresis,
    "form": _form,
    "rest": _rest,
    "drag": _drag,
    "mirrored": doubtful.mirrored,
    "unknown_keys": _unknown_keys,
    "unseen": _unseen,
    "sag_unstated": _sag_unstated,
    "zero": _zero,
    "delay": _delay,
    "damaged": _what,
    "torn": _what,
    "bad_lines": _bad_lines,
    **marked.SENTENCES,
    **doubtful.SENTENCES,
    "no_angle": _no_angle,
    "limits_differ": _limits_differ,
    "rig_old": _rig_old,
    "two_numbers": twonumbers.in_full,
    "form_beyond_dowels": _form_beyond_dowels,
    "beyond_kit": _beyond_kit,
    "no_size_in_kit": _no_size_in_kit,
}
_SHORT: Final[dict[Kind, Callable[[_Facts, str], str]]] = {
    "not_detected": _not_detected_short,
    "unseen": _unseen_short,
    "sag_unstated": _sag_unstated_short,
    "zero": _zero_short,
    "delay": _delay_short,
    "two_numbers": twonumbers.short,
}
