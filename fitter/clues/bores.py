"""How well bores of every usual kind explain some readings, so that another explanation can be weighed
against.

A reading is c + E.u(th) + out of round + drift + noise, each part normal about nothing with a size of its
own. Where a size is not known beforehand it is one of a few, and all combinations (worlds) are kept beside
each other
with their weights: for each the readings are one draw from a normal distribution (C. E. Rasmussen and C. K.
I. Williams, Gaussian Processes for Machine Learning, 2006, equation 2.30). Sizes in thou, TIR aside, are
common practice, no source.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import product
from typing import Final

import numpy as np

from ..mixture.priors import BAD, KNOCK, OFFSET, Fault
from ..numeric.basis import Floats
from ..numeric.logs import LOG_TWO_PI, log_below, log_sum
from ..reading.stations import Ints
from ..units import MM_PER_THOU

_Sizes = Sequence[tuple[float, float]]

_MEAN: Final = 20.0
_OVALS: Final = ((0.05, 0.2), (0.2, 0.25), (0.7, 0.35), (2.2, 0.2))
_LOBES: Final = ((0.05, 0.35), (0.2, 0.35), (0.8, 0.3))
_DRIFTS: Final = ((0.15, 0.65), (1.2, 0.35))
_NOISES: Final = ((0.02, 0.15), (0.1, 0.35), (0.35, 0.35), (1.2, 0.15))
"""Standard deviations in thou and how often they are met: of the dial's zero, of each coefficient of the
oval, of three lobes (falling with their number), of drift over the sweep, of noise."""

_SIZES: Final = (OFFSET, _OVALS, _LOBES, _DRIFTS)

_FALLS: Final = {3: 1.0, 4: 0.6} | {k: 0.6 * (4.0 / k) ** 2 for k in range(5, 11)}
"""Size of a lobe's coefficients by their number, that of three lobes being one."""


_SAME_FORM: Final = 0.9
"""How often a bore that is swept again is as out of round, in the same places (common practice, no
source)."""


@dataclass(frozen=True, slots=True)
class Earlier:
    """Another sweep of the same bore.

    deg: its angles, internal.
    value: what was read there, about one of its own, mm.
    count: step of the display, mm.
    """

    deg: Floats
    value: Floats
    count: float


@dataclass(frozen=True, slots=True)
class Worlds:
    """What may be read at n stations in each of g worlds, about a zero near the readings.

    mean: of the readings, mm (g, n).
    covariance: without noise, mm^2 (g, n, n).
    noise: its variance, mm^2 (g,).
    weight: logarithm of how often the world is met (g,).
    offset: variance of each coordinate of the offset, mm^2 (g,).
    towards: how the readings go with the two of them (2, n).
    """

    mean: Floats
    covariance: Floats
    noise: Floats
    weight: Floats
    offset: Floats
    towards: Floats

    @classmethod
    def at(cls, deg: Floats, t: Floats) -> "Worlds":
        """Of stations at these angles, degrees, and times, s."""
        rad = np.deg2rad(deg)
        parts = (_towards(rad), *_form(rad), _drifting(t))
        return cls._of(parts, _SIZES, _NOISES, np.array([np.cos(rad), np.sin(rad)]))

    @classmethod
    def again(cls, deg: Floats, t: Floats, earlier: Earlier) -> "Worlds":
        """The same of a bore of which another sweep is known: what was out of round then is so now, wherever
        the bore has gone and whatever the dial shows. Or all is as new: the zero may have been elsewhere."""
        n = len(earlier.deg)
        rad = np.deg2rad(np.concatenate([earlier.deg, deg]))
        now = np.arange(len(rad)) >= n
        here, there = np.outer(now, now).astype(float), np.outer(~now, ~now).astype(float)
        off = _towards(rad)
        gone = np.zeros_like(off)
        gone[n:, n:], gone[:n, :n] = _drifting(t), _drifting(np.arange(n, dtype=float))
        known = _MEAN**2 * there + OFFSET[-1][0] ** 2 * off * there + _MEAN**2 * here
        parts = (off * here, *_form(rad), gone)
        towards = np.array([np.cos(rad), np.sin(rad)]) * now
        given = cls._of(parts, _SIZES, _NOISES, towards, known)._given(earlier)
        return given._beside(cls.at(deg, t), _SAME_FORM)

    def of_any_form(self, deg: Floats, t: Floats) -> "Worlds":
        """What `again` gave, of a bore as much out of round, in whatever places."""
        plain = Worlds.at(deg, t)
        known = replace(plain, weight=self.weight[: len(plain.weight)] - math.log(_SAME_FORM))
        return known._beside(plain, _SAME_FORM)

    @classmethod
    def resting(cls, t: Floats, noises: Sequence[tuple[float, float]]) -> "Worlds":
        """Of one place that is read again and again, at these times, s. noises: standard deviations, thou,
        and how often they are met."""
        return cls._of((_drifting(t),), (_DRIFTS,), noises, np.zeros((2, len(t))))

    @classmethod
    def _of(
        cls,
        parts: Sequence[Floats],
        sizes: Sequence[_Sizes],
        noises: _Sizes,
        towards: Floats,
        known: Floats | None = None,
    ) -> "Worlds":
        """Of parts (n, n) of unit size with the sizes that each may have, thou. known: what is there beside
        them, thou^2; of itself the dial's zero."""
        chosen, (noise, often) = np.array(list(product(*sizes))), np.array(noises).T
        covariance = np.full_like(parts[0], _MEAN**2) if known is None else known
        for part, size in zip(parts, chosen[:, :, 0].T, strict=True):
            covariance = covariance + size[:, None, None] ** 2 * part
        shares = np.outer(chosen[:, :, 1].prod(axis=1), often).ravel()
        scale, (n, g) = MM_PER_THOU**2, (len(parts[0]), len(shares))
        return cls(
            mean=np.zeros((g, n)),
            covariance=np.repeat(scale * covariance, len(noise), axis=0),
            noise=np.tile(scale * noise**2, len(chosen)),
            weight=np.log(shares),
            offset=np.repeat(scale * chosen[:, 0, 0] ** 2, len(noise)),
            towards=towards,
        )

    def _given(self, earlier: Earlier) -> "Worlds":
        """Of the stations behind the first n, when those have been read: equations 2.23 and 2.24 of the same
        book."""
        n = len(earlier.deg)
        first = self.some(np.arange(n))
        blur = np.full(n, earlier.count**2 / 12.0)
        weight = first.so_far(earlier.value, blur)[:, -1]
        whole = first._noisy(blur)
        across = self.covariance[:, n:, :n]
        gain = np.swapaxes(np.linalg.solve(whole, np.swapaxes(across, 1, 2)), 1, 2)
        mean = gain @ earlier.value
        covariance = self.covariance[:, n:, n:] - gain @ np.swapaxes(across, 1, 2)
        towards = self.towards[:, n:]
        return replace(
            self, mean=mean, covariance=covariance, weight=weight - log_sum(weight), towards=towards
        )

    def _beside(self, others: "Worlds", often: float) -> "Worlds":
        """These, as often as that, or else the others."""
        kept = {name: (getattr(self, name), getattr(others, name)) for name in _OF_EACH}
        kept["weight"] = self.weight + math.log(often), others.weight + math.log(1.0 - often)
        return Worlds(**{name: np.concatenate(both) for name, both in kept.items()}, towards=self.towards)

    def so_far(self, value: Floats, blur: Floats) -> Floats:
        """Logarithm of the density of the first k readings of `value` (n,), mm, for every k, with the weight
        of each world: (g, n). blur: variance of each reading beside noise, mm^2 (n,)."""
        factor = np.asarray(np.linalg.cholesky(self._noisy(blur)), dtype=np.float64)
        scaled = _forwards(factor, value - self.mean)
        spread = 2.0 * np.log(np.diagonal(factor, axis1=1, axis2=2))
        each = (scaled * scaled + spread + LOG_TWO_PI) / 2.0
        density: Floats = self.weight[:, None] - np.cumsum(each, axis=1)
        return density

    def _noisy(self, blur: Floats) -> Floats:
        """Covariance of readings, mm^2 (g, n, n)."""
        whole = self.covariance.copy()
        np.einsum("gii->gi", whole)[...] += self.noise[:, None] + blur
        return whole

    def explains(self, value: Floats, blur: Floats) -> float:
        """The same of all readings, summed over all worlds."""
        return log_sum(self.so_far(value, blur)[:, -1])

    def with_a_fault(self, value: Floats, blur: Floats, sound: Floats) -> tuple[float, float]:
        """The same if the zero moved on the way to one of them, and if one is wild, each as often as it is. A
        fault is a column of a size that nobody knows, which adds a matrix of rank one to the covariance
        (Rasmussen and Williams, A.9 and A.10). sound: by each world without one, (g,)."""
        n = len(value)
        whole = self._noisy(blur)
        faults = np.broadcast_to(np.column_stack([np.tri(n)[:, 1:], np.eye(n)]), (len(whole), n, 2 * n - 1))
        read = (value - self.mean)[:, :, None]
        scaled = np.linalg.solve(np.linalg.cholesky(whole), np.concatenate([read, faults], axis=2))
        own, faults = scaled[:, :, 0], scaled[:, :, 1:]
        seen, along = (faults**2).sum(axis=1), np.einsum("gn,gnk->gk", own, faults)

        def explains(fault: Fault, at: slice) -> float:
            found = []
            for thou, share in fault.sizes:
                variance = (thou * MM_PER_THOU) ** 2
                more = 1.0 + variance * seen[:, at]
                log = sound[:, None] + (variance * along[:, at] ** 2 / more - np.log(more)) / 2.0
                found.append(log_sum(log) + math.log(fault.chance * share / more.shape[1]))
            return log_sum(np.array(found))

        return explains(KNOCK, slice(n - 1)), explains(BAD, slice(n - 1, None))

    def some(self, which: Ints) -> "Worlds":
        """At some of the stations: their indices (m,)."""
        covariance, towards = self.covariance[:, which[:, None], which[None, :]], self.towards[:, which]
        return replace(self, mean=self.mean[:, which], covariance=covariance, towards=towards)

    def beyond(
        self, value: Floats, blur: Floats, known: Ints, level: Floats, most: float
    ) -> tuple[float, float]:
        """Logarithm of: the density of the readings `known` (their indices), times the chance that at the
        others, in order, the bore reads no more than `level`, mm, as far as there are levels. And the chance
        that a bore of which that is true is off by more than `most`, mm. Worlds that explain next to nothing
        are left out."""
        some = self.some(known)
        here = some.so_far(value[known], blur[known])[:, -1]
        best = np.flatnonzero(here >= here.max() - _NEXT_TO_NOTHING)
        others = np.delete(np.arange(len(value)), known)[: len(level)]
        whole = some._noisy(blur[known])[best]
        bounded = self.covariance[best[:, None, None], others[:, None], known]
        asked = np.concatenate([bounded, self.offset[best][:, None, None] * some.towards], axis=1)
        across = np.swapaxes(asked, 1, 2)
        gain = np.swapaxes(np.linalg.solve(whole, across), 1, 2)
        spread = self._of_asked(best, others) - gain @ across
        mean = (gain @ (value[known] - some.mean[best])[:, :, None])[:, :, 0]
        mean[:, : len(others)] += self.mean[best[:, None], others]
        chance, mean, spread = log_below(mean, spread, level)
        off = mean[:, :, None] + np.linalg.cholesky(spread) @ _NODES.T
        amount = np.hypot(off[:, 0], off[:, 1])
        weight = here[best] + chance
        total = log_sum(weight)
        return total, float(np.exp(weight - total) @ ((amount > most) @ _SHARES))

    def _of_asked(self, best: Ints, others: Ints) -> Floats:
        """Prior covariance of what is asked for: bore and noise at the `others`, and the offset."""
        n = len(others)
        covariance = np.zeros((len(best), n + 2, n + 2))
        covariance[:, :n, :n] = self.covariance[best][:, others[:, None], others[None, :]]
        covariance[:, :n, :n] += self.noise[best][:, None, None] * np.eye(n)
        across = self.offset[best][:, None, None] * self.towards[:, others]
        covariance[:, n:, :n], covariance[:, :n, n:] = across, np.swapaxes(across, 1, 2)
        covariance[:, n:, n:] = self.offset[best][:, None, None] * np.eye(2)
        return covariance


_OF_EACH: Final = ("mean", "covariance", "noise", "weight", "offset")
"""What of `Worlds` each world has."""


def _towards(rad: Floats) -> Floats:
    """Covariance of an offset of unit size between these angles, radians."""
    covariance: Floats = np.cos(rad[:, None] - rad[None, :])
    return covariance


def _form(rad: Floats) -> tuple[Floats, Floats]:
    """Covariances of an oval and of lobes of unit size between these angles, radians."""
    apart = rad[:, None] - rad[None, :]
    lobes = sum((size**2 * np.cos(k * apart) for k, size in _FALLS.items()), np.zeros_like(apart))
    return np.cos(2.0 * apart), lobes


def _drifting(t: Floats) -> Floats:
    """Covariance of drift of unit size between these times, s: at a steady pace, and dying away."""
    gone = (t - t.min()) / max(float(np.ptp(t)), 1e-9)
    settled = 1.0 - np.exp(-4.0 * gone)
    covariance: Floats = (np.outer(gone, gone) + np.outer(settled, settled)) / 2.0
    return covariance


def _forwards(factor: Floats, right: Floats) -> Floats:
    """x of L x = y for lower triangles (g, n, n) and y, x (g, n): all of them a row at a time, where a solver
    takes each apart again."""
    rows = factor.transpose(1, 2, 0)
    x = right.T.copy()
    for k, row in enumerate(rows):
        x[k] = (x[k] - (row[:k] * x[:k]).sum(axis=0)) / row[k]
    return x.T


def odds(for_it: float, against: float, prior: float) -> float:
    """Logarithm of the odds of one of two explanations, by the logarithms of how well each explains, and
    how often it is met."""
    return for_it - against + math.log(prior / (1.0 - prior))


_NEXT_TO_NOTHING: Final = 5.0
"""Logarithm of odds against the best of the worlds from which one does not count."""

_POINTS, _WEIGHTS = np.polynomial.hermite_e.hermegauss(9)
_NODES: Final = np.array(list(product(_POINTS, _POINTS)))
_SHARES: Final = np.outer(_WEIGHTS, _WEIGHTS).ravel() / _WEIGHTS.sum() ** 2
"""Points of a plane, and how much each weighs, that stand for a normal distribution on it (Gauss and
Hermite)."""
