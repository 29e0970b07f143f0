"""Dowels to choose from as a table to be read from afar, what there is to say of one of them, and how it is
set, in few words for who stands at the engine with a dowel in the hand.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from coaxly.fitter.dowels.kit import OFFSET_SD_MM, Kit
from coaxly.fitter.dowels.pins import Pins
from coaxly.fitter.dowels.plan import SPLITS_SHOWN, Option
from coaxly.fitter.dowels.setting import SETTING_SD_DEG, DowelSetting

from ...entry.lengths import degrees, number, show_length
from ..cautions import SHORT
from ..smallwords import capital, likely
from .guide import places
from .holes import from_the_line, the_line
from .options import note

_LABEL: Final = 28


@dataclass(frozen=True)
class Offer:
    """What the options are offered against. title: of the job; tir, limit: as found and permitted, mm, None
    where nobody said; kit: what there is of each size, None if not known; inside: the dowels that are in."""

    title: str = ""
    tir: float | None = None
    limit: float | None = None
    kit: Kit | None = None
    inside: DowelSetting | None = None


def is_in(option: Option, inside: DowelSetting | None) -> bool:
    """Whether a pair is the one that is in, as well as anybody sets them."""
    if not option.dowels or inside is None:
        return False
    pair = DowelSetting.of([(dowel.offset, dowel.deg) for dowel in option.dowels])
    return inside.is_like(pair, OFFSET_SD_MM, SETTING_SD_DEG)


def large(option: Option, pins: Pins | None, unit: str) -> str:
    """An option in the few characters that are drawn large."""
    if not option.dowels:
        return "LEAVE IT"
    first, second = (spot.dowel for spot in places(option, pins))
    if first == second:
        return f"2 X {number(first.offset, unit)} TO {first.clock}"
    return f"{number(first.offset, unit)} {first.clock} + {number(second.offset, unit)} {second.clock}"


def label_width(options: Sequence[Option], unit: str) -> int:
    """Columns of the first column of the table."""
    return max(_LABEL, *(len(_short(option, unit)) for option in options))


def head(unit: str, width: int) -> list[str]:
    """Two lines above the table."""
    first, second = "dowels, best first:", f"high sides from behind, {unit}"
    return [
        f"   {first:<{width}} run-out    goes  and ends  mark may  in",
        f"   {second:<{width}}   after      on    inside    be off  kit",
    ]


def row(number_: int, option: Option, unit: str, kit: Kit | None, width: int) -> str:
    """One option, narrow enough for eighty columns. width: see `label_width`."""
    goes = "" if option.goes_on is None else _whole_percent(option.goes_on)
    off = (
        ""
        if option.sure_window_deg is None
        else "any"
        if option.sure_window_deg >= 180.0
        else f"{math.floor(option.sure_window_deg)} deg"
    )
    if option.dowels and option.sure_window_deg is None:
        off = "never" if option.window_deg is None else "unsure"
    return (
        f"{number_}  {_short(option, unit):<{width}}{number(option.predicted.tir_fitted, unit):>8}"
        f"{goes:>8}{likely(option.probability):>9}{off:>10}  {_in_kit(option, kit)}"
    )


def _short(option: Option, unit: str) -> str:
    if not option.dowels:
        return "none: leave it"
    first, second = option.dowels
    if first == second:
        return f"2 x {number(first.offset, unit)} to {first.clock}"
    return f"{number(first.offset, unit)} to {first.clock} + {number(second.offset, unit)} to {second.clock}"


def _whole_percent(share: float) -> str:
    """Never "100 %": nothing is that sure."""
    return "> 99 %" if share > 0.995 else f"{100.0 * share:.0f} %"


def _in_kit(option: Option, kit: Kit | None) -> str:
    """How many of each size there are; nothing where that is not counted."""
    counts = [count(kit, offset) for offset in dict.fromkeys(dowel.offset for dowel in option.dowels)]
    return "+".join("-" if each is None else str(each) for each in counts) if any(counts) else ""


def count(kit: Kit | None, offset: float) -> int | None:
    """How many of a size there are; None where that is not counted."""
    known = [size.count for size in kit.sizes if abs(size.offset - offset) < 1e-9] if kit else []
    return sum(each for each in known if each is not None) if known and None not in known else None


def said(option: Option, offer: Offer, pins: Pins | None, unit: str) -> list[str]:
    """One option in sentences, the most wanted first."""
    then = show_length(option.predicted.tir_fitted, unit)
    swept = show_length(option.predicted.tir_swept, unit)
    limit = f" of {show_length(offer.limit, unit)}" if offer.limit is not None else ""
    lines = ["These are in now."] if is_in(option, offer.inside) else []
    lines.append(f"Run-out after {then}, dial TIR {swept}.")
    if not option.dowels:
        return [
            *lines,
            f"Inside the limit{limit}: {likely(option.probability)}. {capital(note(option, unit))}.",
        ]
    lines += chances(option, offer.limit, unit)
    if option.pair == "split" or option.judged not in ("fits",):
        lines.append(f"{capital(note(option, unit))}.")
    for offset in dict.fromkeys(dowel.offset for dowel in option.dowels):
        if (there := count(offer.kit, offset)) is not None:
            lines.append(f"In the kit: {there} of {show_length(offset, unit)}.")
    if pins is None:
        lines.append(
            "Where the holes are is not known (dowels in job.toml): that it goes on is taken for granted."
        )
    return lines


def chances(option: Option, limit: float | None, unit: str) -> list[str]:
    """How probably a pair goes on and ends inside the limit, mm, and how far off the marks may be."""
    what = "the limit" if limit is None else f"the limit of {show_length(limit, unit)}"
    lines = [f"Ends inside {what}: {likely(option.probability)}."]
    if option.goes_on is not None:
        lines = [f"Goes on: {likely(option.goes_on)}. And ends inside {what}: {likely(option.probability)}."]
    sure = option.sure_window_deg
    if sure is not None:
        enough = f"Up to {math.floor(sure)} deg off the marks is 95 % sure to end inside."
        lines.append(enough if sure < 180.0 else "Any angle ends inside.")
    elif option.window_deg is not None:
        lines.append("No angle is 95 % sure to end inside, not even on the marks.")
    return lines


def rule(options: Sequence[Option]) -> list[str]:
    """That not every split pair is shown, where that holds."""
    splits = sum(option.pair == "split" for option in options)
    return [f"Of split pairs the best {SPLITS_SHOWN} are shown."] if splits >= SPLITS_SHOWN else []


def large_lines(option: Option, pins: Pins | None, unit: str) -> str:
    """What is drawn largest: one line for a pair set alike, else one for each dowel."""
    spots = places(option, pins)
    if spots[0].dowel == spots[1].dowel:
        return f"BOTH TO {spots[0].dowel.mark_clock}"
    return "\n".join(f"{s.name} {number(s.dowel.offset, unit)} {s.dowel.mark_clock}".upper() for s in spots)


def sizes(option: Option, unit: str) -> str:
    """ "2 x 5.0 thou", "7.0 and 5.0 thou"."""
    offsets = [number(dowel.offset, unit) for dowel in option.dowels]
    return f"2 x {offsets[0]} {unit}" if len(set(offsets)) == 1 else f"{' and '.join(offsets)} {unit}"


def under_line(option: Option, pins: Pins | None) -> str:
    """Beneath the large line: what points there, in degrees and from the line through the holes."""
    spots = places(option, pins)
    marked = any(spot.dowel.mark_deg != spot.dowel.deg for spot in spots)
    what = "the marks or slots" if marked else "the high sides"
    alike = spots[0].dowel == spots[1].dowel
    named = [("", spots[0].dowel)] if alike else [(f"{spot.name} ", spot.dowel) for spot in spots]
    parts = [", ".join(f"{name}{degrees(dowel.mark_deg)}" for name, dowel in named)]
    if pins is not None:
        turns = ", ".join(f"{name}{from_the_line(dowel.mark_deg, pins)}" for name, dowel in named)
        parts.append(f"{the_line(pins)}: {turns}")
    if marked and alike:
        parts.append(f"the high sides are at {spots[0].dowel.clock}")
    return f"is where {what} go, seen from BEHIND: {'; '.join(parts)}"


def after_lines(option: Option) -> list[str]:
    """What to expect, and what can hurt."""
    return [
        f"! {SHORT['dowels']}: C",
        " ".join(chances(option, None, "")),
        "From the FRONT the clock runs the other way.",
        "This page stays until L is pressed.",
    ]
