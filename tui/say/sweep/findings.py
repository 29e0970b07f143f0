"""Findings as plain lines: what the screen, the terminal without a screen, and the report say."""

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING, Final

from coaxly.fitter import Result
from coaxly.fitter.face import MOST_SHIMS, Squareness
from coaxly.fitter.result import Decision
from coaxly.fitter.units import MM_PER_INCH
from coaxly.fitter.withheld import doubted, holding_back

from ...entry.lengths import degrees, measured, number, show_length, written
from ..dowels import explanations
from ..dowels.holes import by_the_line
from ..dowels.options import note
from ..smallwords import capital, counted, likely
from . import warnings
from .features import PARTS, SWEPT, on_the_part
from .noverdict import STATES, first, withheld_words
from .pilotwords import pilot_lines

if TYPE_CHECKING:  # words need no arithmetic
    from coaxly.fitter.dowels.compare import Comparison
    from coaxly.fitter.dowels.pins import Pins
    from coaxly.fitter.dowels.plan import Option
    from coaxly.fitter.pilot import AtPilot


NO_DIRECTION: Final = "none found: it may be any"
"""Of an offset that was found, but not which way."""

_LABELS: Final = {
    "calibration_mm": "dial calibrated, up to",
    "tip_factor": "tip at an angle, factor",
    "sag_mm": "sag of the arm",
    "bearing_shift_mm": "crank resting in its bearings",
    "drift_mm": "drift by the closing reading",
    "delay_s": "delay of the dial",
    "engine_tilt_deg": "tilt of the engine",
}


def must_move(result: Result) -> bool:
    """Whether the housing has to move: not where it is inside, too close to call, or in doubt."""
    return result.decision.state == "outside" and not doubted(result)


def of_two_numbers(result: Result) -> bool:
    """Whether nobody read the stations, and nothing is known of the form."""
    return any(remark.kind == "two_numbers" for remark in result.remarks)


def stations_words(result: Result) -> str:
    """How much was read."""
    if of_two_numbers(result):
        return "two numbers of a plain dial"
    turns = f", {result.turns} turns" if result.turns > 1 else ""
    return f"{counted(result.stations, 'station')}{turns}"


def verdict(result: Result, unit: str) -> str:
    """The decision in words: "OUTSIDE the limit of 5.0 thou run-out (almost certainly)"."""
    decision = result.decision
    whose = f"; the limit: {decision.source}" if decision.source else ""
    limit = f"limit of {show_length(decision.limit, unit)} run-out"
    if decision.withheld:
        return f"{state_words(decision)}: no verdict by the {limit}{whose}"
    if decision.state == "unsure":
        kind = holding_back(result)
        why = f"perhaps {withheld_words([kind])}, make sure and " if kind else ""
        return f"{STATES['unsure']} by the {limit}: {why}sweep again ({sureness(decision)}{whose})"
    return f"{STATES[decision.state]} the {limit} ({sureness(decision)}{whose})"


def state_words(decision: Decision) -> str:
    """The state in words: "INSIDE the limit"; why it is withheld, where it is."""
    the_limit = "" if decision.state == "unsure" else " the limit"
    return withheld_words(decision.withheld) or STATES[decision.state] + the_limit


def sureness(decision: Decision) -> str:
    """How sure a decision is, in words fit for a bench."""
    if decision.withheld:
        return f"no verdict {first(decision.withheld)}"
    if decision.state == "unsure":
        return f"{100.0 * decision.probability:.0f} % that it is inside"
    sure = decision.probability if decision.state == "inside" else 1.0 - decision.probability
    return "almost certainly" if sure > 0.999 else f"{written(100.0 * sure, '.1f')} % sure"


def result_lines(result: Result, unit: str) -> list[str]:
    """The finding of a sweep."""
    ecc, tir = result.eccentricity, result.tir
    readings = "" if of_two_numbers(result) else f", {counted(result.samples, 'reading')}"
    lines = [
        f"{capital(SWEPT[result.feature])}: {stations_words(result)}{readings}",
        f"  Run-out                {show_length(tir.fitted, unit)} (dial TIR, largest less smallest: "
        f"{show_length(tir.swept, unit)})",
    ]
    detectable = show_length(ecc.detectable, unit)
    if result.feature != "bore" and ecc.detected and not ecc.has_direction:
        lines.append(f"  High point             {NO_DIRECTION}")
    elif result.feature != "bore" and ecc.detected:
        high = f"{ecc.high_clock} ({degrees(ecc.high_deg)}){on_the_part(result.feature)}"
        lines.append(f"  High point             {high}, seen from behind")
    elif result.feature == "face":
        lines.append(f"  High point             none: not out of square by more than {detectable}")
    elif result.feature in PARTS:
        lines.append("  High point             none found")
    elif ecc.detected:
        moves = "Housing must move" if must_move(result) else "A move to centre it"
        towards = f"towards {ecc.move_clock} ({degrees(ecc.move_deg)})"
        where = f"{towards} +- {ecc.u95_deg:.0f} deg, seen from behind"
        lines += [
            f"  Off-centre by          {measured(ecc.amount, ecc.u95_amount, unit)} (half of the run-out)",
            f"  {moves:<23}{where}" if ecc.has_direction else f"  Direction              {NO_DIRECTION}",
        ]
    else:
        lines.append(f"  Off-centre by          no more than {detectable}, as far as can be told")
    true = "Out of round by" if result.feature in ("bore", "pilot") else "Out of flat by"
    form = f"  {true:<23}{show_length(result.form.peak_to_valley, unit)}"
    if result.form.ovality is not None:
        form += f" (oval by {show_length(result.form.ovality, unit)})"
    if taken_out := corrected_by(result.corrections, unit):
        lines.append(f"  Taken out              {taken_out}")
    if of_two_numbers(result):
        form = f"  {true:<23}not known"
    lines += [form, f"  {verdict(result, unit)}"]
    return lines + [f"  {line}" for line in warnings.lines(result, unit)]


_NAMED: Final = 22
"""Letters of a pair of dowels that stand in one line with its figures."""


def option_lines(
    options: "list[Option]", unit: str, pins: "Pins | None" = None, *, doubtful: bool = False
) -> list[str]:
    """The dowels to choose from, best first. pins: the holes, if they are known; directions are given from
    the line through them too. doubtful: the sweep hardly measured what it seems to."""
    # Where the holes stand is known of all options or of none.
    seen = any(option.goes_on is not None for option in options)
    chances = "goes on   and ends inside" if seen else "ends inside"
    lines = [f"     dowels, from behind    run-out     dial TIR    {chances}"]
    for rank, option in enumerate(options, 1):
        fitted = dowels(option, unit)
        if len(fitted) > _NAMED:
            # Two unlike dowels take a line of their own, and the columns stay under their heads.
            lines.append(f"  {rank}. {fitted}")
        named = f"  {rank}. {fitted}" if len(fitted) <= _NAMED else ""
        lines.append(
            f"{named:<{5 + _NAMED}} {show_length(option.predicted.tir_fitted, unit):>9}"
            f"   {show_length(option.predicted.tir_swept, unit):>9}   {_goes_on(option, seen)}"
            f"{'not known' if doubtful else likely(option.probability):>8}"
        )
        lines.append(f"     {note(option, unit, best=rank == 1, doubtful=doubtful)}")
        fits = option.judged not in ("wrong_size", "no_direction")
        if fits and (said := by_the_line([dowel.deg for dowel in option.dowels], pins)):
            lines.append(f"     high sides {said}")
    return lines


def _goes_on(option: "Option", seen: bool) -> str:
    if not seen:
        return ""
    return f"{likely(option.goes_on) if option.goes_on is not None else 'is on':>8}  "


def dowels(option: "Option", unit: str) -> str:
    """The dowels of an option: "2 x 5.0 thou to 1:27"."""
    if not option.dowels:
        return "none"
    first, second = option.dowels
    if first == second:
        return f"2 x {show_length(first.offset, unit)} to {first.clock}"
    return ", ".join(f"{show_length(d.offset, unit)} to {d.clock}" for d in option.dowels)


def comparison_lines(comparison: "Comparison", unit: str, left: Result | None = None) -> list[str]:
    """Planned against measured. left: the sweep afterwards; where it is inside, nothing is to be turned."""
    lines = shift_lines(comparison, unit)
    lines.append(f"  Finding: {explanations.words(comparison.finding, unit)}")
    inside = left is not None and left.decision.state == "inside"
    if remedy := explanations.remedy(comparison.finding, inside=inside):
        lines.append(f"  What to do: {remedy}")
    lines += [
        f"    {written(100.0 * explanation.probability, '5.1f')} %  {explanation.cause}"
        for explanation in comparison.explanations
        if explanation.probability >= 0.02 and len(comparison.explanations) > 1
    ]
    return lines


def shift_lines(comparison: "Comparison", unit: str) -> list[str]:
    """The same without what it comes from."""
    lines = []
    if comparison.planned is not None:
        lines.append(
            f"  Planned shift   {show_length(comparison.planned.amount, unit)} "
            f"towards {comparison.planned.clock} seen from behind"
        )
    measured = comparison.measured
    lines.append(
        f"  Measured shift  {show_length(measured.amount, unit)} towards {measured.clock} seen from behind"
    )
    if apart := explanations.difference_words(comparison, unit):
        lines.append(f"  Difference      {apart}")
    return lines


def face_lines(found: Squareness, unit: str, at: "AtPilot | None" = None) -> list[str]:
    """Tilt of a face, and the shims that it wants. at: what bore and face do at the pilot bearing, where the
    bore was swept too."""
    lines = []
    if found.tilt is not None:
        lines.append(
            f"  Tilt            {slope(found.tilt, unit)}, high at {found.high_clock} seen from behind"
        )
    if at is not None:
        lines += [f"  {line}" for line in pilot_lines(at, unit)]
    elif found.at_pilot is not None and found.shaft_deg is not None:
        lines.append(
            f"  At the pilot    the gearbox's axis misses it by {show_length(found.at_pilot, unit)} "
            f"({written(found.shaft_deg, '.3f')} deg)"
        )
    if found.shift is not None:
        moved = show_length(math.hypot(*found.shift), unit)
        lines.append(
            f"  Shimming moves the bore {moved} towards {found.high_clock} seen from behind: "
            "sweep the bore after it"
        )
    lines.append("  Shims, under each place seen from behind (largest reading less its own):")
    stocked = is_stocked(found)
    for shim in found.shims:
        stack = " + ".join(number(part, unit) for part in shim.stack)
        fit = f"   fit {stack} {unit}" if shim.stack else "   fit none" if stocked else ""
        lines.append(f"    {shim.clock:>5}  reads {number(shim.reading, unit, signed=True):>7}   "
                     f"wants {show_length(shim.wanted, unit)}{fit}")  # fmt: skip
    lines += [f"  {line}" for line in stack_lines(found, unit)]
    if not stocked:
        lines.append("  For the stacks that come nearest, say what is in stock: --shims 2thou,5thou")
    if found.left is not None:
        lines.append(f"  Run-out that remains after them: {show_length(found.left, unit)}")
    return lines


def is_stocked(found: Squareness) -> bool:
    """Whether it is known which shims there are."""
    return found.thinnest is not None or any(shim.stack for shim in found.shims)


def stack_lines(found: Squareness, unit: str) -> list[str]:
    """That no more than so many shims are offered for a place, and where that falls short."""
    if found.thinnest is not None and not any(shim.stack for shim in found.shims):
        thinnest = show_length(found.thinnest, unit)
        return [f"every place wants less than your thinnest shim ({thinnest}): none goes in"]
    full = [shim for shim in found.shims if len(shim.stack) == MOST_SHIMS]
    if not full:
        return []
    why = f"more than {_FEW[MOST_SHIMS]} shims under one place are a spring and are never offered"
    short = [shim for shim in full if shim.wanted - shim.thickness > min(shim.stack) / 2.0]
    lines = [
        f"! {shim.clock} still lacks {show_length(shim.wanted - shim.thickness, unit)}" for shim in short
    ]
    if short:
        why += ": get thicker ones"
    return [*lines, f"{why} (common practice, no source)"]


_FEW: Final = {2: "two", 3: "three", 4: "four"}


def slope(tilt: float, unit: str) -> str:
    """A tilt (radians) as a rise over a length of the same system of units."""
    if unit in ("thou", "in"):
        return f"{show_length(4.0 * MM_PER_INCH * tilt, unit)} over 4 in"
    return f"{show_length(100.0 * tilt, unit)} over 100 mm"


def corrections(sizes: Mapping[str, float], unit: str) -> list[tuple[str, str]]:
    """Each one's name and size."""
    return [
        (_LABELS.get(key, key.replace("_", " ")), _size(key, value, unit)) for key, value in sizes.items()
    ]


def _size(key: str, value: float, unit: str) -> str:
    if key.endswith("_mm"):
        return show_length(value, unit)
    if key.endswith("_s"):
        return f"{written(value, '.2f')} s"
    return f"{written(value, '.4g')}{' deg' if key.endswith('_deg') else ''}"


def corrected_by(sizes: Mapping[str, float], unit: str) -> str:
    """In one line, but for drift, which every closing reading takes out; "" where nothing else was."""
    told = {key: value for key, value in sizes.items() if key != "drift_mm"}
    return ", ".join(f"{name} {size}" for name, size in corrections(told, unit))
