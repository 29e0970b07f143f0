"""What may have happened to a pair of dowels, weighed against the shift that was measured.

Each explanation predicts a shift with a spread of its own; its probability is its share of the
likelihood of the measured shift, weighted by how often such a thing happens.
"""

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from ..numeric.basis import Floats
from .kit import OFFSET_SD_MM, Kit
from .setting import DowelSetting, carried, contributions, setting_covariance
from .settled import Home

Cause = Literal[
    "as planned", "settled", "180 degrees out", "mirrored", "not turned to the mark", "not seated",
    "one dowel only", "wrong size", "dowels exchanged",
    # where no plan was given
    "no shift", "shifted",
]  # fmt: skip

_USUAL_RATIOS = ((0.5, 0.4), (2.0, 0.15), (1.5, 0.1), (2.0 / 3.0, 0.1), (1.0 / 3.0, 0.05), (3.0, 0.05))
"""Sizes that are taken for another where the kit is not known, as ratios with their shares: the half and
the double first, since kits come in such steps (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Explanation:
    """What may have happened.

    cause: by its name.
    probability: among the explanations weighed.
    marks_deg: where the high sides belong, if turning them there is the cure.
    sizes_mm: of a wrong size, the offsets that the shift looks like.
    """

    cause: Cause
    probability: float
    marks_deg: tuple[float, ...] = ()
    sizes_mm: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Measurement:
    """The measured shift (x, y), mm, with its covariance, mm^2, and degrees of freedom."""

    shift: Floats
    covariance: Floats
    freedom: float

    def likelihood(self, predicted: Floats, spread: Floats) -> float:
        """Of a predicted shift with a spread (covariance) of its own: a density, mm^-2."""
        return float(self.likelihoods(predicted[None, :], spread[None, :, :])[0])

    def likelihoods(self, predicted: Floats, spread: Floats) -> Floats:
        """Of many: (n, 2) and (n, 2, 2) give (n,)."""
        return _densities(self.shift - predicted, self.covariance + spread, self.freedom)


@dataclass(frozen=True, slots=True, eq=False)
class Done:
    """What was to be done: the dowels as they were to be set, what each contributes, the kit if known, and
    where they may have gone if they were turned until the housing slid home."""

    setting: DowelSetting
    influence: tuple[Floats, Floats]
    kit: Kit | None = None
    home: Home | None = None

    def spread(self, setting: DowelSetting) -> Floats:
        """Covariance of the shift that a setting gives, mm^2."""
        offset_sd = self.kit.offset_sd if self.kit is not None else OFFSET_SD_MM
        return setting_covariance(setting, self.influence, offset_sd)

    def likelihood(self, measured: Measurement, setting: DowelSetting) -> float:
        """Of the measured shift if the dowels had been set so."""
        return self.mean_likelihood(measured, [setting])

    def mean_likelihood(self, measured: Measurement, settings: Iterable[DowelSetting]) -> float:
        """The mean of it over settings that are as likely as each other."""
        offset_sd = self.kit.offset_sd if self.kit is not None else OFFSET_SD_MM
        return float(measured.likelihoods(*carried(list(settings), self.influence, offset_sd)).mean())


def explain(measured: Measurement, done: Done) -> tuple[Explanation, ...]:
    """All explanations, likeliest first."""
    # Weights: how often each happens (common practice, no source). Only their order of size matters.
    weighed = [*_angles(measured, done), *_engagement(measured, done), *_sizes(measured, done)]
    total = sum(score for score, _ in weighed)
    found = [
        replace(explanation, probability=score / total if total > 0.0 else 0.0)
        for score, explanation in weighed
    ]
    return tuple(sorted(found, key=lambda each: -each.probability))


_Weighed = tuple[float, Explanation]


def _weighed(score: float, cause: Cause, **facts: tuple[float, ...]) -> _Weighed:
    return score, Explanation(cause, 0.0, **facts)


def _angles(measured: Measurement, done: Done) -> Iterator[_Weighed]:
    setting = done.setting
    marks = tuple(dict.fromkeys(setting.degrees))
    mirrored = DowelSetting(setting.offsets, (-setting.degrees[0], -setting.degrees[1]))
    turned = done.mean_likelihood(measured, (_turned(setting, by) for by in range(20, 360, 8)))
    yield from _right(measured, done)
    wrong: tuple[tuple[float, Cause], ...] = (
        (0.10 * done.likelihood(measured, _turned(setting, 180.0)), "180 degrees out"),
        (0.08 * done.likelihood(measured, mirrored), "mirrored"),
        (0.05 * turned, "not turned to the mark"),
    )
    for score, cause in wrong:
        yield _weighed(score, cause, marks_deg=marks)


def _right(measured: Measurement, done: Done) -> Iterator[_Weighed]:
    """As planned; or settled, where the way of setting lets dowels turn."""
    often = 0.60
    if (home := done.home) is None or not len(home.settled):
        yield _weighed(often * done.likelihood(measured, done.setting), "as planned")
        return
    for share, ends, cause in (
        (1.0 - home.share_settled, home.as_marked, "as planned"),
        (home.share_settled, home.settled, "settled"),
    ):
        yield _weighed(often * share * _among(measured, ends), cause)  # type: ignore[arg-type]


def _among(measured: Measurement, ends: Floats) -> float:
    """Likelihood of the measured shift if it is one of many ends, (n, 2), each smeared a little, by the rule
    of D. W. Scott, Multivariate Density Estimation (1992), 6.3, for two dimensions."""
    if len(ends) < 2:
        return measured.likelihood(ends[0], np.zeros((2, 2))) if len(ends) else 0.0
    smear = np.cov(ends.T) * len(ends) ** (-1.0 / 3.0)
    return float(measured.likelihoods(ends, np.broadcast_to(smear, (len(ends), 2, 2))).mean())


def _engagement(measured: Measurement, done: Done) -> Iterator[_Weighed]:
    first, second = contributions(done.setting, done.influence)
    spread = done.spread(done.setting)
    yield _weighed(0.06 * measured.likelihood(np.zeros(2), np.zeros((2, 2))), "not seated")
    alone = _mean(measured.likelihood(part, spread / 2.0) for part in (first, second))
    yield _weighed(0.06 * alone, "one dowel only")


def _sizes(measured: Measurement, done: Done) -> Iterator[_Weighed]:
    """The wrong size: any, but first of all one of the kit; or two unlike dowels exchanged."""
    setting = done.setting
    known = [(share * done.likelihood(measured, other), other) for share, other in _mistaken(done)]
    ratios = [k / 8.0 for k in range(3, 25) if abs(k - 8) > 1]
    any_size = 0.15 * done.mean_likelihood(measured, (_sized(setting, ratio) for ratio in ratios))
    sizes: tuple[float, ...] = ()
    if known and max(score for score, _ in known) > any_size:
        _, likely = max(known, key=lambda each: each[0])
        sizes = tuple(dict.fromkeys(likely.offsets))
    score = 0.05 * (any_size + sum(score for score, _ in known))
    yield _weighed(score, "wrong size", sizes_mm=sizes)
    if setting.offsets[0] != setting.offsets[1]:
        exchanged = DowelSetting(setting.offsets[::-1], setting.degrees)
        yield _weighed(0.04 * done.likelihood(measured, exchanged), "dowels exchanged")


def _mistaken(done: Done) -> Iterator[tuple[float, DowelSetting]]:
    """Settings with sizes that may have been taken instead, with their shares."""
    setting = done.setting
    if done.kit is None:
        for ratio, share in _USUAL_RATIOS:
            yield share, _sized(setting, ratio)
        return
    others = [
        DowelSetting((size, size), setting.degrees)
        for size in done.kit.singles()
        if max(abs(size - offset) for offset in setting.offsets) > 3.0 * done.kit.offset_sd
    ]
    for other in others:
        yield 0.85 / len(others), other


def _sized(setting: DowelSetting, ratio: float) -> DowelSetting:
    return DowelSetting((ratio * setting.offsets[0], ratio * setting.offsets[1]), setting.degrees)


def _turned(setting: DowelSetting, by: float) -> DowelSetting:
    return DowelSetting(setting.offsets, (setting.degrees[0] + by, setting.degrees[1] + by))


def _mean(values: Iterable[float]) -> float:
    listed = list(values)
    return sum(listed) / len(listed)


def _densities(vectors: Floats, covariances: Floats, freedom: float) -> Floats:
    """Bivariate Student (or normal) densities, mm^-2, (n,); vectors (n, 2), covariances (n, 2, 2)."""
    variances, axes = np.linalg.eigh(covariances)
    variances = np.maximum(variances, 1e-12)
    square = (np.einsum("nji,nj->ni", axes, vectors) ** 2 / variances).sum(axis=1)
    scale = 2.0 * math.pi * np.sqrt(variances.prod(axis=1))
    if math.isinf(freedom):
        return np.asarray(np.exp(-square / 2.0) / scale)
    return np.asarray(np.exp(-(freedom / 2.0 + 1.0) * np.log1p(square / freedom)) / scale)
