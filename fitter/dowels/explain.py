"""What may have happened to a pair of dowels, weighed against the shift that was measured.

Each explanation predicts a shift with a spread of its own; its probability is its share of the
likelihood of the measured shift, weighted by how often such a thing happens.
"""

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from ..geometry import clock
from ..numeric.basis import Floats
from ..words import thou
from .kit import OFFSET_SD_MM, Kit
from .setting import DowelSetting, contributions, setting_covariance

AS_PLANNED = "as planned"
ONE_ONLY = "one dowel only"
WRONG_SIZE = "wrong size"

LOOK = (
    "look at the stamps on both dowels, read both marks seen from behind, see that the housing sits home, "
    "then sweep again"
)
"""What tells apart what a shift cannot."""

_USUAL_RATIOS = ((0.5, 0.4), (2.0, 0.15), (1.5, 0.1), (2.0 / 3.0, 0.1), (1.0 / 3.0, 0.05), (3.0, 0.05))
"""Sizes that are taken for another where the kit is not known, as ratios with their shares: the half and
the double first, since kits come in such steps (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Explanation:
    """What may have happened, its probability among the explanations weighed, what was seen of it, and what
    to do ("": nothing)."""

    cause: str
    probability: float
    words: str
    remedy: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class Measurement:
    """The measured shift (x, y), mm, with its covariance, mm^2, and degrees of freedom."""

    shift: Floats
    covariance: Floats
    freedom: float

    def likelihood(self, predicted: Floats, spread: Floats) -> float:
        """Of a predicted shift with a spread (covariance) of its own: a density, mm^-2."""
        return _density(self.shift - predicted, self.covariance + spread, self.freedom)


@dataclass(frozen=True, slots=True, eq=False)
class Done:
    """What was to be done: the dowels as they were to be set, what each contributes, the kit if known."""

    setting: DowelSetting
    influence: tuple[Floats, Floats]
    kit: Kit | None = None

    def spread(self, setting: DowelSetting) -> Floats:
        """Covariance of the shift that a setting gives, mm^2."""
        offset_sd = self.kit.offset_sd if self.kit is not None else OFFSET_SD_MM
        return setting_covariance(setting, self.influence, offset_sd)

    def likelihood(self, measured: Measurement, setting: DowelSetting) -> float:
        """Of the measured shift if the dowels had been set so."""
        return measured.likelihood(np.add(*contributions(setting, self.influence)), self.spread(setting))


def explain(measured: Measurement, done: Done) -> tuple[Explanation, ...]:
    """All explanations, likeliest first."""
    # Weights: how often each happens (common practice, no source). Only their order of size matters.
    weighed = [*_angles(measured, done), *_engagement(measured, done), *_sizes(measured, done)]
    total = sum(score for score, _, _, _ in weighed)
    found = [
        Explanation(cause, score / total if total > 0.0 else 0.0, words, remedy)
        for score, cause, words, remedy in weighed
    ]
    return tuple(sorted(found, key=lambda each: -each.probability))


_Weighed = tuple[float, str, str, str]


def _angles(measured: Measurement, done: Done) -> Iterator[_Weighed]:
    setting = done.setting
    marks = " and ".join(dict.fromkeys(clock(deg) for deg in setting.degrees))
    remedy = f"set the high sides to {marks} seen from behind the engine, and sweep again"
    mirrored = DowelSetting(setting.offsets, (-setting.degrees[0], -setting.degrees[1]))
    yield (
        0.60 * done.likelihood(measured, setting),
        AS_PLANNED,
        "the dowels did what was planned",
        "",
    )
    yield (
        0.10 * done.likelihood(measured, _turned(setting, 180.0)),
        "180 degrees out",
        "both dowels are set half a turn out",
        remedy,
    )
    yield (
        0.08 * done.likelihood(measured, mirrored),
        "mirrored",
        "the angle was read from the front",
        remedy,
    )
    yield (
        0.05 * _mean(done.likelihood(measured, _turned(setting, by)) for by in range(20, 360, 8)),
        "not turned to the mark",
        "the size is right but the angle is not",
        remedy,
    )


def _engagement(measured: Measurement, done: Done) -> Iterator[_Weighed]:
    first, second = contributions(done.setting, done.influence)
    spread = done.spread(done.setting)
    yield (
        0.06 * measured.likelihood(np.zeros(2), np.zeros((2, 2))),
        "not seated",
        "the housing did not move: the dowels were not changed or the housing is not seated on them",
        "see that the dowels are in and the housing sits home on them, and sweep again",
    )
    yield (
        0.06 * _mean(measured.likelihood(part, spread / 2.0) for part in (first, second)),
        ONE_ONLY,
        "only about half of the shift arrived: one dowel is not set or not engaged",
        LOOK,
    )


def _sizes(measured: Measurement, done: Done) -> Iterator[_Weighed]:
    """The wrong size: any, but first of all one of the kit; or two unlike dowels exchanged."""
    setting = done.setting
    known = [(share * done.likelihood(measured, other), other) for share, other in _mistaken(done)]
    ratios = [k / 8.0 for k in range(3, 25) if abs(k - 8) > 1]
    any_size = 0.15 * _mean(done.likelihood(measured, _sized(setting, ratio)) for ratio in ratios)
    words = "the direction is right but the size is not"
    if known and max(score for score, _ in known) > any_size:
        _, likely = max(known, key=lambda each: each[0])
        sizes = " and ".join(dict.fromkeys(thou(offset) for offset in likely.offsets))
        words += f": the shift is that of {sizes}"
    yield 0.05 * (any_size + sum(score for score, _ in known)), WRONG_SIZE, words, LOOK
    if setting.offsets[0] != setting.offsets[1]:
        exchanged = DowelSetting(setting.offsets[::-1], setting.degrees)
        yield (
            0.04 * done.likelihood(measured, exchanged),
            "dowels exchanged",
            "each of the two unlike dowels is in the other one's hole",
            "exchange them, each to the mark of its own hole, and sweep again",
        )


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


def _density(vector: Floats, covariance: Floats, freedom: float) -> float:
    """Bivariate Student (or normal) density, mm^-2."""
    variances, axes = np.linalg.eigh(covariance)
    variances = np.maximum(variances, 1e-12)
    square = float(((axes.T @ vector) ** 2 / variances).sum())
    scale = 2.0 * math.pi * math.sqrt(float(variances.prod()))
    if math.isinf(freedom):
        return math.exp(-square / 2.0) / scale
    return math.exp(-(freedom / 2.0 + 1.0) * math.log1p(square / freedom)) / scale
