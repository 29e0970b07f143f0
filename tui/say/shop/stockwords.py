"""Which dowels to keep, in words and as a picture in text."""

from collections.abc import Sequence
from dataclasses import dataclass

from coaxly.fitter.shop.parallelstock import Choice, Kept, Work
from coaxly.fitter.shop.splitstock import ENGINES, MixedChoice

from ...entry.lengths import number, show_length
from ..smallwords import counted

_BAR = 30


@dataclass(frozen=True, slots=True)
class Asked:
    """engines: a month. risk: of running out, 0 to 1. work: how dowels are set. jobs: by which engines to
    come are judged, 0 where a scatter was stated. sizes: how many to keep."""

    engines: float
    risk: float
    work: Work
    jobs: int
    sizes: int


def stock_lines(
    curve: Sequence[Choice], mixed: Sequence[MixedChoice], keep: Sequence[Kept], asked: Asked, unit: str
) -> list[str]:
    """The curves as bars, what to keep, and what is not counted."""
    work = asked.work
    whence = f"engines like those of the {asked.jobs} jobs" if asked.jobs else "engines as stated"
    ways = {
        "tight": "each dowel stays where its mark was put",
        "free": "dowels are turned until it slides home",
    }
    lines = [
        f"STOCK: how many of 100 {whence} end inside {show_length(work.limit, unit)} TIR after one round",
        f"Dowels set by eye and mark, to 5 degrees; {ways[work.way]}.",
        "",
        "Both dowels alike:",
        *map(_bar, [(c.sizes, c.inside) for c in curve], [unit] * len(curve)),
    ]
    if mixed:
        lines += [
            "",
            f"Dowels may be unlike ({ENGINES} simulated engines: a point more or less means nothing):",
        ]
        lines += map(_bar, [(c.sizes, c.inside) for c in mixed], [unit] * len(mixed))
    lines += ["", *_advice([c.inside for c in mixed or curve], asked.sizes)]
    months = f"{100.0 * (1.0 - asked.risk):g} of 100 months"
    lines += [f"KEEP, filled up each month, for {asked.engines:.3g} engines a month and so that in {months}",
              "nothing runs out:"]  # fmt: skip
    wide = max(len(str(one.dowels)) for one in keep)
    lines += [
        f"  {one.dowels:>{wide}} of {show_length(one.size, unit)} (about {one.monthly:.1f} used a month)"
        for one in keep
    ]
    return lines + [f"! {said}" for said in _untold(asked)]


def _bar(choice: tuple[Sequence[float], float], unit: str) -> str:
    sizes, inside = choice
    filled = round(_BAR * inside)
    count = counted(len(sizes), "size")
    listed = ", ".join(number(size, unit) for size in sizes)
    return f"  {count:<8} [{'#' * filled}{'.' * (_BAR - filled)}] {100.0 * inside:3.0f}  {listed} {unit}"


def _advice(shares: Sequence[float], sizes: int) -> list[str]:
    """What the last size that is kept still gains, and what one more would."""
    kept = counted(sizes, "size")
    if sizes < len(shares):
        gain = 100.0 * (shares[sizes] - shares[sizes - 1])
        return [f"DO: keep {kept}; one more would help {max(gain, 0.0):.1f} engines in 100.", ""]
    if sizes > 1:
        gain = 100.0 * (shares[-1] - shares[-2])
        return [f"DO: keep {kept}; the last of them helps {max(gain, 0.0):.1f} engines in 100.", ""]
    return []


def _untold(asked: Asked) -> list[str]:
    said = []
    if asked.work.pins is None:
        said.append('whether the housing goes on is not counted: --dowels "X,Y X,Y" says where the holes are')
    if not asked.jobs:
        said.append("what measuring is unsure of is not counted: a ledger's jobs would say it")
    return said
