"""What a shop should do about what its jobs say: findings in the order in which they matter, each with what
was found, why that is believed, and what to do."""

import math
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from coaxly.fitter.geometry import clock, direction
from coaxly.fitter.shop.changes import Change
from coaxly.fitter.shop.ledger import TOGETHER, Family, Found, Ledger, Odd, Piece
from coaxly.fitter.units import MM_PER_THOU

from ...entry.lengths import measured, show_length
from ..smallwords import EACH_WAY, capital

MOST: Final = 6
"""Findings told; more would not be read."""

_WIDE: Final = 78
_AS_GOOD: Final = 0.03
"""A step and a trend of one family that account for shares as near as this cannot be told apart."""

WORTH_MM: Final = MM_PER_THOU
"""An offset below which nobody acts, two thou of run-out (common practice, no source)."""

_NAMED: Final = 4
_OTHER: Final = {"housing": "block", "block": "housing"}
"""What stands on the other side of the joint."""

_SMALL_PART: Final = 0.5
"""Measuring that scatters less than this share of what it measures is no worry."""


@dataclass(frozen=True, slots=True)
class Finding:
    """what: one sentence. why: what it rests on. do: what follows from it."""

    what: str
    why: str
    do: str


def findings(found: Ledger, changes: Sequence[Change], unit: str) -> list[Finding]:
    """What changed, which families differ, which pieces stand out, and whose scatter the rest is."""
    told = [_odd(each, unit) for each in found.odd]
    told += [_family(each, found, unit) for each in _largest(found.families)]
    told += [_piece(each, unit) for each in standing_out(found)]
    nobody = [] if told else [_nobody(unit)]
    return [*[*_changed(changes, unit), *told][: MOST - 1], *nobody, _scatter(found, unit)]


def finding_lines(told: Sequence[Finding]) -> list[str]:
    """Numbered, each sentence wrapped."""
    lines: list[str] = []
    for k, each in enumerate(told, 1):
        first = textwrap.wrap(each.what, _WIDE, initial_indent=f"{k}. ", subsequent_indent="   ")
        rest = [textwrap.wrap(part, _WIDE, initial_indent="   ", subsequent_indent="   ")
                for part in (each.why, f"DO: {each.do}") if part]  # fmt: skip
        lines += [*first, *(line for part in rest for line in part), ""]
    return lines


def named(side: str, family: str) -> str:
    """ "housings of family north", or what stands for them where nobody said of which."""
    return f"{side}s of family {family}" if family else f"{side}s of no stated family"


def standing_out(found: Ledger) -> list[Piece]:
    """Single pieces beyond doubt off their family, the farthest first: those that will be met again. Not
    those that belong to no family at all, which are told by themselves."""
    odd = {(each.side, each.family, each.name) for each in found.odd}
    again = [piece for piece in found.pieces if piece.met > 1 and piece.u95 is not None]
    return [
        piece
        for piece in again
        if _beyond(piece.vector, piece.u95 or 0.0, len(again))
        and (piece.side, piece.family, piece.name) not in odd
    ]


def _beyond(vector: tuple[float, float], u95: float, among: int) -> bool:
    """Whether a vector matters, and is beyond doubt although it was looked for among so many: outside of the
    region that chance leaves once in 20 times as many (Bonferroni; a plane normal vector is farther than r
    with chance exp(-r^2/2))."""
    size = math.hypot(*vector)
    return size >= WORTH_MM and size > u95 * math.sqrt(math.log(20.0 * max(among, 1)) / math.log(20.0))


def one_of_each(changes: Sequence[Change]) -> list[tuple[Change, Change | None]]:
    """Each change, and what else the same cause may be where that explains it as well."""
    return [
        (c, c.other if c.other is not None and c.explains - c.other.explains < _AS_GOOD else None)
        for c in changes
    ]


def _changed(changes: Sequence[Change], unit: str) -> list[Finding]:
    told = []
    for change, other in one_of_each(changes):
        who = named(change.side, change.family)
        towards = clock(direction(*change.shift))
        size = f"{show_length(math.hypot(*change.shift), unit)} farther towards {towards}"
        chance = f"Chance alone would look like this in {_percent(change.chance)} of shops"
        if change.kind == "step":
            since = day_words(change.day or 0.0)
            what = f"{capital(who)} are not what they were: since about {since} their bores sit {size}."
            before, after = change.jobs
            why = f"{before} jobs before, {after} since. {chance}."
            do = f"find out what changed in the weeks before {since}: supplier, batch, jig, or who measured."
            if other is not None:
                why += " It may as well have come little by little."
        else:
            what = f"{capital(who)} are drifting: over the time of these jobs their bores went {size}."
            why = f"{change.jobs[1]} jobs. {chance}."
            do = "have the tool or jig that bores them looked at for wear; sweep each of them meanwhile."
            if other is not None and other.day is not None:
                why += f" It may as well have come at once, about {day_words(other.day)}."
        if change.also:
            side = _OTHER[change.side]
            why += f" It may be the {side}s ({', '.join(change.also)}): both were met in the same jobs."
            others = " and ".join(named(side, name) for name in change.also)
            why += f" {capital(others)} were in the very same jobs, and may be to blame as well."
        told.append(Finding(what, why, do))
    return told


def _largest(families: Sequence[Family]) -> list[Family]:
    told = []
    for each in families:
        if each.told and each.effect is not None and each.u95 is not None:
            among = sum(other.side == each.side for other in families)
            told += [each] * _beyond(each.effect, each.u95, among)
    return sorted(told, key=lambda each: -math.hypot(*(each.effect or (0.0, 0.0))))


def _family(family: Family, found: Ledger, unit: str) -> Finding:
    assert family.effect is not None and family.u95 is not None
    away = measured(math.hypot(*family.effect), family.u95, unit)
    group = next(k for k, sides in enumerate(found.groups) if family.name in sides[family.side == "housing"])
    x, y = (a + b for a, b in zip(found.mean[group], family.effect, strict=True))
    others = [name or "no stated family" for name in family.compared if name != family.name]
    more = f" and {len(others) - _NAMED} more" if len(others) > _NAMED else ""
    have = (
        f"have dowels of about {show_length(math.hypot(x, y), unit)} at hand for them, high sides near "
        f"{clock(direction(-x, -y))} (sweep each all the same): theirs and "
        f"{_average(found.mean[group], unit)} "
        "come together"
        if math.hypot(x, y) >= WORTH_MM
        else "they end near the crank on average, so keep nothing for them alone (sweep each all the same)"
    )
    return Finding(
        f"{capital(named(family.side, family.name))} are off by themselves: their bores sit {away} farther "
        f"towards {clock(direction(*family.effect))} than those of the average {family.side}, whatever "
        f"{_OTHER[family.side]}s they meet.",
        f"{family.jobs} jobs; compared with {', '.join(others[:_NAMED])}{more}.",
        f"{have}; show the maker these figures.",
    )


def _average(mean: tuple[float, float], unit: str) -> str:
    """What the average engine is off by, which is there before any family adds its own."""
    size = show_length(math.hypot(*mean), unit)
    return f"the {size} towards {clock(direction(*mean))} that the average engine here is off by"


def _piece(piece: Piece, unit: str) -> Finding:
    assert piece.u95 is not None
    away = measured(math.hypot(*piece.vector), piece.u95, unit)
    return Finding(
        f"{piece.side.capitalize()} {piece.name} (family {piece.family or 'not stated'}) stands out: it sits "
        f"{away} towards {clock(direction(*piece.vector))} of its own family.",
        f"Met in {piece.met} jobs; what its {_OTHER[piece.side]}s did is taken out.",
        "mark it, and have it measured on a table: it takes its error along to every engine.",
    )


def _odd(odd: Odd, unit: str) -> Finding:
    away = measured(math.hypot(*odd.vector), odd.u95, unit)
    chance = f"Chance alone would look like this in {_percent(odd.chance)} of shops."
    who = f"{odd.side.capitalize()} {odd.name or '(no serial)'}, family {odd.family or 'not stated'}"
    if odd.met > 1:
        return Finding(
            f"{who}, does not belong with the others: it sits {away} towards "
            f"{clock(direction(*odd.vector))} of them, in each of its {odd.met} jobs.",
            chance,
            "lay it aside, and have it measured on a table: it may be bent, or not what it is said to be.",
        )
    job = f" (job {odd.job})" if odd.job else ""
    return Finding(
        f"{who}, does not belong with the others{job}: {away} towards "
        f"{clock(direction(*odd.vector))} of them.",
        f"{chance} Met once: it, the {_OTHER[odd.side]} it was swept with, or the sweep may be to blame.",
        "sweep that engine again before you blame a part.",
    )


def _nobody(unit: str) -> Finding:
    least = show_length(WORTH_MM, unit)
    return Finding(
        f"No family and no single piece is off by {least} or more beyond doubt.",
        "",
        "blame nobody yet; note families and serials of every job, and ask again.",
    )


def _scatter(found: Ledger, unit: str) -> Finding:
    by_name = {each.name: each for each in found.components}
    sizes = {name: each.sd for name, each in by_name.items()}
    whole = math.hypot(*sizes.values())
    measured = f"measuring itself adds {show_length(found.measuring, unit)}"
    if found.measuring > _SMALL_PART * whole:
        pieces = show_length(whole, unit)
        what = f"Much of what differs from job to job is the measuring: {measured}, all pieces {pieces}."
        return Finding(
            what, "", "sweep one housing several times and let 'coaxly study' say what to mend first."
        )
    small = f"{capital(measured)}, which is little beside it."
    if TOGETHER in sizes:
        what = f"Each engine is off by {show_length(whole, unit)} {EACH_WAY} of its own, whatever its family."
        why = f"{small} Whether the block or the housing does it cannot be told: none was met twice."
        return Finding(
            what, why, "note serials, and try one housing on several blocks; until then sweep every engine."
        )
    blocks, housings = sizes.get("blocks", 0.0), sizes.get("housings", 0.0)
    share = blocks**2 / max(blocks**2 + housings**2, 1e-300)
    more, less = ("blocks", "housings") if share >= 0.5 else ("housings", "blocks")
    sizes_said = [show_length(sizes[name], unit) for name in (more, less)]
    what = (
        f"Of what else differs between engines, {100.0 * max(share, 1.0 - share):.0f} % comes with single "
        f"{more}: they scatter {sizes_said[0]} {EACH_WAY}, single {less} {sizes_said[1]}."
    )
    if by_name[more].low > by_name[less].high:
        do = f"do not look for the cure in other {less}; sweep every engine, and let dowels do the rest."
        return Finding(what, small, do)
    known = f"Ranges of the two overlap: which of them is the worse is not certain. {small}"
    return Finding(what, known, "blame neither alone: sweep every engine, and let dowels do the rest.")


def _percent(chance: float) -> str:
    return "less than 0.1 %" if chance < 0.001 else f"{100.0 * chance:.1f} %"


def day_words(day: float) -> str:
    """A date by its number: 2026-11-25."""
    return date.fromordinal(round(day)).isoformat()


def days_words(jobs: Sequence[Found]) -> str:
    """From which day to which: "2026-01-08 to 2026-11-25"; "" where no job says its day."""
    days = sorted(job.day for job in jobs if job.day is not None)
    return " to ".join(dict.fromkeys(day_words(days[k]) for k in (0, -1))) if days else ""
