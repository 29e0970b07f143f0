"""What a shop learns from its jobs, in sentences."""

import math
from collections.abc import Sequence
from datetime import date

from fitter.geometry import clock, direction
from fitter.shop.changes import Change
from fitter.shop.ledger import TOGETHER, Family, Ledger, Piece
from fitter.shop.reml import Component
from fitter.shop.stock import Choice, Kept

from ..entry.lengths import number, plus_minus, show_length

_MOST_NAMED = 5


def ledger_lines(found: Ledger, changes: Sequence[Change], unit: str) -> list[str]:
    """Families, scatter, single pieces beyond doubt, changes over time, and what cannot be told."""
    lines = [f"LEDGER of {found.jobs} jobs; directions of the bore's centre, seen from behind", ""]
    lines += [f"  {_family(family, unit)}" for family in found.families]
    lines += ["", *(f"  {_scatter(one, unit)}" for one in found.components)]
    lines.append(f"  Measuring itself scatters {show_length(found.measuring, unit)}")
    # A piece that will not be met again is nobody's concern.
    far = [
        piece
        for piece in found.pieces
        if piece.met > 1 and piece.u95 is not None and math.hypot(*piece.vector) > piece.u95
    ]
    lines += [f"  {_piece(piece, unit)}" for piece in far[:_MOST_NAMED]]
    lines += ["", *(f"  ! {_change(change, unit)}" for change in changes)] if changes else []
    lines += [f"  ! {said}" for said in _untold(found)]
    return lines


def _towards(vector: tuple[float, float], unit: str, u95: float) -> str:
    size = f"{number(math.hypot(*vector), unit)} {plus_minus(u95, unit)}"
    return f"{size} towards {clock(direction(*vector))}"


def _family(family: Family, unit: str) -> str:
    name = f"{family.side.capitalize()}s of family {family.name} ({family.jobs} jobs)"
    if family.effect is None or family.u95 is None:
        return f"{name}: no other family to compare with"
    other = "blocks" if family.side == "housing" else "housings"
    if not family.told:
        return f"{name}: no different from the average, as far as {show_length(family.u95, unit)} can be told"
    return (
        f"{name} sit {_towards(family.effect, unit, family.u95)} of the average, whatever {other} they meet"
    )


def _scatter(one: Component, unit: str) -> str:
    name = "Blocks and housings together" if one.name == TOGETHER else f"Single {one.name}"
    between = f"{number(one.low, unit)} to {show_length(one.high, unit)}"
    return f"{name} scatter {show_length(one.sd, unit)} in x and in y ({between}, 95 %)"


def _piece(piece: Piece, unit: str) -> str:
    assert piece.u95 is not None
    away = _towards(piece.vector, unit, piece.u95)
    name = f"{piece.side.capitalize()} {piece.name} of {piece.family} ({piece.met} jobs)"
    return f"{name} sits {away} of its family"


def _change(change: Change, unit: str) -> str:
    size = f"{show_length(math.hypot(*change.shift), unit)} towards {clock(direction(*change.shift))}"
    name = f"{change.side.capitalize()}s of family {change.family}"
    chance = f"{max(100.0 * change.chance, 0.1):.1f} %"
    if change.kind == "trend":
        return f"{name} have crept {size} over the time (chance alone: {chance}): a tool may wear"
    since = "" if change.day is None else f" since {_date(change.day)}"
    return f"{name} sit {size} differently{since} (chance alone: {chance}): look at that batch"


def _date(day: float) -> str:
    return date.fromordinal(round(day)).isoformat()


def _untold(found: Ledger) -> list[str]:
    said = ["an offset that all jobs share may be the blocks', the housings' or the way of measuring"]
    if found.together:
        said.append(
            "single blocks and housings cannot be told apart: none was met twice in other company. "
            "Note serials, and sweep one housing on several blocks"
        )
    if len(found.groups) > 1:
        said.append(f"no job connects the {len(found.groups)} groups of families: each is compared by itself")
    return said


def stock_lines(
    curve: Sequence[Choice], keep: Sequence[Kept], asked: tuple[float, float], unit: str
) -> list[str]:
    """The curve, and what to keep. asked: engines a month, percent of risk."""
    lines = ["STOCK: engines inside after one round, parallel pairs", ""]
    for choice in curve:
        sizes = ", ".join(number(size, unit) for size in choice.sizes)
        count = len(choice.sizes)
        lines.append(f"  {count} size{'s' * (count > 1)}: {100.0 * choice.inside:5.1f} %  {sizes} {unit}")
    lines += ["", f"  For {asked[0]:g} engines a month, {asked[1]:g} % risk of running out of any:"]
    lines += [
        f"    {one.dowels} of {show_length(one.size, unit)} ({one.monthly:.1f} used a month)" for one in keep
    ]
    return lines
