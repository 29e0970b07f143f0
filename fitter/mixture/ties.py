"""How the sectors of a sweep that did not stop err together: neighbours share the state of the oil film,
the hand and what is finer than form.

Their readings are tied by a first-order autoregression, and a sector is the mean of some of them, which ties
neighbours a little more: with phi the correlation over a sector and e errors that stand each for itself,

    error_i = phi error_(i-1) + e_i + theta e_(i-1)

(the mean of a first-order autoregression is one with one moving term; from memory). What is left of rows
once those before have told their part stands for itself, so that all that was said of stations holds of it,
and the logarithm of the determinant makes the evidence of one tie comparable with that of another.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..numeric.basis import Floats
from ..reading.stations import Stations
from . import priors

_TAPS = 12
"""Rows before that tell their part; theta is at most .27, and its twelfth power nothing."""


@dataclass(frozen=True, slots=True)
class Tie:
    """One way in which they may err. rows: of each sweep, and whether it did not stop.

    phi, theta: of neighbouring sectors. ratio: their standard deviation beside that of a station.
    share: beforehand.
    """

    rows: tuple[tuple[slice, bool], ...]
    phi: float = 0.0
    theta: float = 0.0
    ratio: float = 1.0
    share: float = 1.0

    def loosened(self, table: Floats) -> Floats:
        """Rows of a table, (n, p), as those of errors that stand each for itself, all of one size."""
        if self.phi == 0.0 and self.ratio == 1.0:
            return table
        whole = table.copy()
        for rows, continuous in self.rows:
            if continuous:
                whole[rows][1:] = self._fresh(table[rows]) * math.sqrt(self._excess)
                whole[rows] /= self.ratio
        return whole

    def _fresh(self, own: Floats) -> Floats:
        """What is new in each row but the first, in units of e."""
        told = own[1:] - self.phi * own[:-1]
        if self.theta == 0.0:
            return told
        fresh = told.copy()
        for k in range(1, min(_TAPS, len(told))):
            fresh[k:] += (-self.theta) ** k * told[:-k]
        # Before the first row nothing is known: what is new in those after it is a little more than e.
        before, last = self._excess, own[0]
        for k, size in enumerate(self._begins(len(own))):
            last = told[k] - self.theta / before * last
            fresh[k], before = last / math.sqrt(size), size
        return fresh

    def _begins(self, n: int) -> list[float]:
        """Variance of what is new in the second row and some after it, beside that of e (P. J. Brockwell,
        R. A. Davis, Time Series: Theory and Methods, 5.3; from memory)."""
        sizes, before = [], self._excess
        for _ in range(min(_TAPS, n - 1) if self.theta else 0):
            before = 1.0 + self.theta**2 - self.theta**2 / before
            sizes.append(before)
        return sizes

    def shrunk(self, variance: Floats) -> Floats:
        """Variances that each row has for itself, mm^2, (n,), beside rows that are `loosened`."""
        whole = variance.copy()
        for rows, continuous in self.rows:
            if continuous:
                whole[rows] /= self.ratio**2
        return whole

    @property
    def log(self) -> float:
        """Logarithm of its share times the determinant of `loosened`."""
        sectors: list[int] = [rows.stop - rows.start for rows, continuous in self.rows if continuous]
        tied = (sum(sectors) - len(sectors)) * math.log(self._excess)
        begins = math.fsum(math.log(size) for n in sectors for size in self._begins(n))
        return math.log(self.share) + 0.5 * (tied - begins) - sum(sectors) * math.log(self.ratio)

    @property
    def _excess(self) -> float:
        """Variance of an error over that of what is new in it."""
        return (1.0 + 2.0 * self.phi * self.theta + self.theta**2) / (1.0 - self.phi**2)


def ties(sweeps: Sequence[Stations]) -> tuple[tuple[Tie, ...], ...]:
    """The ways that are summed over: one, where all stopped at their stations. Those of one phi stand
    together, the usual ratio in their middle."""
    ends = np.cumsum([0, *map(len, sweeps)]).tolist()
    rows = tuple((slice(ends[k], ends[k + 1]), sweep.continuous) for k, sweep in enumerate(sweeps))
    counts = [sweep.count for sweep in sweeps if sweep.continuous]
    if not counts:
        return ((Tie(rows),),)
    readings = round(float(np.median(np.concatenate(counts))))
    beside = ((1.0, 1.0),) if len(counts) == len(rows) else priors.SECTOR_BESIDE
    return tuple(
        tuple(Tie(rows, phi, averaged(phi, readings), ratio, share * part) for ratio, part in beside)
        for phi, share in priors.TIES
    )


def averaged(phi: float, readings: int) -> float:
    """theta of means of so many readings, of which those of neighbouring sectors correlate by phi."""
    if phi == 0.0:
        return 0.0
    one = phi ** (1.0 / readings)
    apart = np.arange(readings)
    variance = float(2.0 * ((readings - apart) * one**apart).sum() - readings)
    beside = one * float((one**apart).sum()) ** 2
    # Of error_i - phi error_(i-1): covariance of neighbours over variance, theta / (1 + theta^2).
    tied = (beside - phi * variance) / ((1.0 + phi**2) * variance - 2.0 * phi * beside)
    return (1.0 - math.sqrt(1.0 - 4.0 * tied**2)) / (2.0 * tied) if tied > 1e-9 else 0.0
