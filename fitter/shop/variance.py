"""Analysis of variance: what comes from where.

One way (sweeps within jobs, laboratories), crossed (people, parts, repeats) and two-way additive
(blocks and housings). Every table is first reduced by its first reading, which costs nothing and
keeps the digits of readings that differ little (B. P. Rogers et al., NIST Statistical Reference
Datasets, analysis of variance, "higher level of difficulty").
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..numeric.basis import Floats

REPEATABILITY = 1.96 * math.sqrt(2.0)
"""Two results may differ by this many repeatability standard deviations, 95 % (ISO 5725-6, 4.1)."""


@dataclass(frozen=True, slots=True)
class OneWay:
    """between, within: sums of squares with their degrees of freedom; f: ratio of mean squares.
    repeatability_sd: s_r within groups; reproducibility_sd: s_R of a single reading of any group
    (ISO 5725-2, 7.4). mean: of all readings."""

    mean: float
    between: float
    between_freedom: int
    within: float
    within_freedom: int
    f: float
    repeatability_sd: float
    reproducibility_sd: float


def one_way(groups: Sequence[Floats]) -> OneWay:
    """Groups of readings, possibly of unlike sizes, at least two, one with two readings or more.

    Raises ValueError otherwise.
    """
    sizes = np.array([len(group) for group in groups], dtype=np.float64)
    if len(groups) < 2 or sizes.min() < 1 or sizes.max() < 2:
        raise ValueError("two groups are needed, and two readings in one of them")
    origin = float(groups[0][0])
    shifted = [np.asarray(group, dtype=np.float64) - origin for group in groups]
    means = np.array([math.fsum(group) / len(group) for group in shifted])
    total = float(sizes.sum())
    grand = math.fsum(sizes * means) / total
    between = math.fsum(sizes * (means - grand) ** 2)
    within = math.fsum(math.fsum((group - mean) ** 2) for group, mean in zip(shifted, means, strict=True))
    k, spare = len(groups) - 1, int(total) - len(groups)
    between_ms, within_ms = between / k, within / spare
    usual = (total - float((sizes**2).sum()) / total) / k
    apart = max((between_ms - within_ms) / usual, 0.0)
    return OneWay(
        mean=origin + grand,
        between=between,
        between_freedom=k,
        within=within,
        within_freedom=spare,
        f=between_ms / within_ms if within_ms > 0.0 else math.inf,
        repeatability_sd=math.sqrt(within_ms),
        reproducibility_sd=math.sqrt(within_ms + apart),
    )


@dataclass(frozen=True, slots=True)
class Crossed:
    """Sums of squares of people, parts, their interaction and repeats, and the standard deviations that
    they stand for, with the interaction counted to the repeats."""

    people: float
    parts: float
    interaction: float
    repeats: float
    repeat_sd: float
    people_sd: float
    both_sd: float
    part_sd: float


def crossed(table: Floats) -> Crossed:
    """A full study, shape (people, repeats, parts), at least two of each.

    Raises ValueError for another shape.
    """
    if table.ndim != 3 or min(table.shape) < 2:
        raise ValueError("a crossed study needs two people, two repeats and two parts at least")
    y = table - table[0, 0, 0]
    o, r, p = y.shape
    grand = y.mean()
    by_person, by_part, by_cell = y.mean(axis=(1, 2)), y.mean(axis=(0, 1)), y.mean(axis=1)
    people = r * p * float(((by_person - grand) ** 2).sum())
    parts = o * r * float(((by_part - grand) ** 2).sum())
    fit = by_person[:, None] + by_part[None, :] - grand
    interaction = r * float(((by_cell - fit) ** 2).sum())
    repeats = float(((y - by_cell[:, None, :]) ** 2).sum())
    spare = o * r * p - o - p + 1
    repeat_ms = (repeats + interaction) / spare
    people_var = max((people / (o - 1) - repeat_ms) / (r * p), 0.0)
    part_var = max((parts / (p - 1) - repeat_ms) / (o * r), 0.0)
    return Crossed(
        people=people,
        parts=parts,
        interaction=interaction,
        repeats=repeats,
        repeat_sd=math.sqrt(repeat_ms),
        people_sd=math.sqrt(people_var),
        both_sd=math.sqrt(repeat_ms + people_var),
        part_sd=math.sqrt(part_var),
    )


@dataclass(frozen=True, slots=True)
class Additive:
    """mean + row effect + column effect, effects adding up to nothing; sums of squares."""

    mean: float
    rows: Floats
    columns: Floats
    rows_ss: float
    columns_ss: float
    residual_ss: float


def additive(table: Floats) -> Additive:
    """Two-way table without repeats, shape (rows, columns)."""
    y = table - table[0, 0]
    mean = float(y.mean())
    rows, columns = y.mean(axis=1) - mean, y.mean(axis=0) - mean
    rest = y - mean - rows[:, None] - columns[None, :]
    return Additive(
        mean=float(table[0, 0]) + mean,
        rows=rows,
        columns=columns,
        rows_ss=y.shape[1] * float((rows**2).sum()),
        columns_ss=y.shape[0] * float((columns**2).sum()),
        residual_ss=float((rest**2).sum()),
    )
