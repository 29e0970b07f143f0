"""A balanced study by the classical analysis of variance: sums of squares, mean squares, F, and what each
stands for.

Every person has swept every housing, put the dial on as often, and swept as often each time. Housings are
what was measured; the differences of persons from housing to housing count as those of mountings. Both
components of a vector are pooled and double the degrees. Where an estimate comes out below nothing, its row
and the one below it are pooled, so that all agree with restricted likelihood (S. R. Searle, G. Casella,
C. E. McCulloch, Variance Components (1992), 4.8).
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from ..numeric.basis import Floats

Source = Literal["housings", "people", "mountings", "repeats"]


@dataclass(frozen=True, slots=True)
class Row:
    """squares: sum of squares, mm^2, with its degrees of freedom. f: of its mean square to that of the next
    row (housings: of mountings or repeats); None for the last. sd: standard deviation that it stands for,
    mm; None for housings, which were chosen."""

    source: Source
    squares: float
    freedom: int
    f: float | None
    sd: float | None


def classical(table: Floats) -> tuple[Row, ...]:
    """Rows of those causes that varied, repeats last. table: (people, housings, mountings, repeats,
    components). Raises ValueError where nothing was repeated."""
    p, h, m, r, d = table.shape
    # Less the first reading, which costs nothing and keeps the digits of readings that differ little.
    y = table - table[:1, :1, :1, :1]
    grand, person, housing = y.mean(axis=(0, 1, 2, 3)), y.mean(axis=(1, 2, 3)), y.mean(axis=(0, 2, 3))
    mounting = y.mean(axis=3)
    squares: dict[Source, tuple[float, int]] = {
        "housings": (p * m * r * float(((housing - grand) ** 2).sum()), d * (h - 1)),
        "people": (h * m * r * float(((person - grand) ** 2).sum()), d * (p - 1)),
        "mountings": (
            r * float(((mounting - person[:, None, None] - housing[None, :, None] + grand) ** 2).sum()),
            d * (p * h * m - p - h + 1),
        ),
        "repeats": (float(((y - mounting[:, :, :, None]) ** 2).sum()), d * p * h * m * (r - 1)),
    }
    if p == 1:
        squares["mountings"] = (squares["mountings"][0], d * h * (m - 1))
    there = {name: value for name, value in squares.items() if value[1] > 0}
    if not {"mountings", "repeats"} & set(there):
        raise ValueError("nothing was repeated")
    if "repeats" not in there:
        # A mounting for each sweep cannot be told from the repeats.
        there["repeats"] = there.pop("mountings")
    sds = _sds(there, {"people": h * m * r, "mountings": r, "repeats": 1})
    rows = []
    names = list(there)
    for place, (name, (total, freedom)) in enumerate(there.items()):
        under = there.get("mountings", there["repeats"])
        if name != "housings" and place + 1 < len(names):
            under = there[names[place + 1]]
        tested = name != "repeats" and under[0] > 0.0
        rows.append(
            Row(name, total, freedom, (total / freedom) / _mean(under) if tested else None, sds.get(name))
        )
    return tuple(rows)


def _mean(row: tuple[float, int]) -> float:
    return row[0] / row[1]


def _sds(squares: dict[Source, tuple[float, int]], times: dict[Source, int]) -> dict[Source, float]:
    """Of each cause, from the bottom up: neighbours out of order are pooled, the higher one being nothing."""
    pools: list[tuple[list[Source], float, int]] = []
    for name in reversed([name for name in squares if name != "housings"]):
        total, freedom = squares[name]
        names: list[Source] = [name]
        while pools and total / freedom <= pools[-1][1] / pools[-1][2]:
            lower, more, degrees = pools.pop()
            names, total, freedom = [*lower, *names], total + more, freedom + degrees
        pools.append((names, total, freedom))
    sds: dict[Source, float] = {}
    before = 0.0
    for names, total, freedom in pools:
        mean = total / freedom
        sds |= dict.fromkeys(names, 0.0)
        sds[names[0]] = float(np.sqrt((mean - before) / times[names[0]]))
        before = mean
    return sds
