"""What may have happened to a pair of dowels and to its two sweeps, weighed against the measured shift.

Each explanation predicts a shift with a spread of its own; its probability is its share of the
likelihood of the measured shift, weighted by how often such a thing happens.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from ..numeric.basis import Floats
from .bothways import Sweeps
from .causes import OFTEN, TURNED, Cause
from .kit import OFFSET_SD_MM, Kit
from .measurement import Measurement, unlike
from .setting import DowelSetting, carried, contributions
from .settled import Home

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
class Done:
    """What was to be done: the dowels as they were to be set, what each contributes, the kit if known, and
    where they may have gone if they were turned until the housing slid home."""

    setting: DowelSetting
    influence: tuple[Floats, Floats]
    kit: Kit | None = None
    home: Home | None = None

    def goes(self, *settings: DowelSetting) -> tuple[Floats, Floats]:
        """The shifts that settings give, mm, (n, 2), and their covariances, mm^2, (n, 2, 2)."""
        offset_sd = self.kit.offset_sd if self.kit is not None else OFFSET_SD_MM
        return carried(settings, self.influence, offset_sd)

    def likelihood(self, measured: Measurement, settings: Iterable[DowelSetting]) -> float:
        """Of the measured shift if the dowels had been set so: the mean over settings that are as likely as
        each other, each for as much of it as it would be noticed. A mistake that carries the bore where the
        plan does is no mistake, such as reading a mark at 12 o'clock from the front."""
        shifts, spreads = self.goes(*settings)
        goal, _ = self.goes(self.setting)
        noticed = unlike(shifts - goal, measured.covariance + spreads)
        return float((measured.likelihoods(shifts, spreads) * noticed).mean())


def explain(sweeps: Sweeps, done: Done) -> tuple[Explanation, ...]:
    """All explanations, likeliest first."""
    measured = sweeps.shift
    weighed = [
        *((OFTEN["as planned"] * score, Explanation(cause, 0.0)) for score, cause in _right(measured, done)),
        *_angles(measured, done),
        *_engagement(measured, done),
        *_sizes(measured, done),
        *_turned(sweeps, done),
    ]
    total = sum(score for score, _ in weighed)
    found = [
        replace(explanation, probability=score / total if total > 0.0 else 0.0)
        for score, explanation in weighed
    ]
    return tuple(sorted(found, key=lambda each: -each.probability))


_Weighed = tuple[float, Explanation]


def _right(measured: Measurement, done: Done) -> Iterator[tuple[float, Cause]]:
    """Likelihoods of as planned; or of settled, where the way of setting lets dowels turn."""
    if (home := done.home) is None or not len(home.settled):
        yield measured.likelihood(*(each[0] for each in done.goes(done.setting))), "as planned"
        return
    yield (1.0 - home.share_settled) * _among(measured, home.as_marked), "as planned"
    yield home.share_settled * _among(measured, home.settled), "settled"


def _among(measured: Measurement, ends: Floats) -> float:
    """Likelihood of the measured shift if it is one of many ends, (n, 2), each smeared a little, by the rule
    of D. W. Scott, Multivariate Density Estimation (1992), 6.3, for two dimensions."""
    if len(ends) < 2:
        return measured.likelihood(ends[0], np.zeros((2, 2))) if len(ends) else 0.0
    smear = np.cov(ends.T) * len(ends) ** (-1.0 / 3.0)
    return float(measured.likelihoods(ends, np.broadcast_to(smear, (len(ends), 2, 2))).mean())


def _angles(measured: Measurement, done: Done) -> Iterator[_Weighed]:
    """Both dowels at a wrong angle, or one of the two, whichever: the housing then takes the mean of what
    they carry it by along the line of the holes, and turns a little by what they differ across it."""
    (d1, d2), (first, second) = done.setting.offsets, done.setting.degrees
    wrong: dict[Cause, list[tuple[float, float]]] = {
        "180 degrees out": [(first + 180.0, second + 180.0)],
        "mirrored": [(-first, -second)],
        "not turned to the mark": [(first + by, second + by) for by in range(20, 360, 8)],
        "one half a turn out": [(first + 180.0, second), (first, second + 180.0)],
        "one mirrored": [(-first, second), (first, -second)],
    }
    for cause, angles in wrong.items():
        settings = [DowelSetting((d1, d2), degrees) for degrees in angles]
        score = OFTEN[cause] * done.likelihood(measured, settings)
        yield score, Explanation(cause, 0.0, marks_deg=tuple(dict.fromkeys(done.setting.degrees)))


def _engagement(measured: Measurement, done: Done) -> Iterator[_Weighed]:
    still = measured.likelihood(np.zeros(2), np.zeros((2, 2)))
    yield OFTEN["not seated"] * still, Explanation("not seated", 0.0)
    _, spread = done.goes(done.setting)
    alone = [
        measured.likelihood(part, spread[0] / 2.0) for part in contributions(done.setting, done.influence)
    ]
    yield OFTEN["one dowel only"] * sum(alone) / 2.0, Explanation("one dowel only", 0.0)


def _turned(sweeps: Sweeps, done: Done) -> Iterator[_Weighed]:
    """The dowels right, but one sweep or both the mirror image of what it should be."""
    read = sweeps.shift
    _, spread = done.goes(done.setting)
    for cause in TURNED:
        measured = sweeps.turned(cause)
        (noticed,) = unlike((measured.vector - read.vector)[None, :], measured.covariance + spread)
        right = sum(score for score, _ in _right(measured, done))
        yield sweeps.often(cause) * float(noticed) * right, Explanation(cause, 0.0)


def _sizes(measured: Measurement, done: Done) -> Iterator[_Weighed]:
    """The wrong size: any, but first of all one of the kit; or two unlike dowels exchanged."""
    setting = done.setting
    known = [(share * done.likelihood(measured, [other]), other) for share, other in _mistaken(done)]
    ratios = [k / 8.0 for k in range(3, 25) if abs(k - 8) > 1]
    any_size = 0.15 * done.likelihood(measured, (_sized(setting, ratio) for ratio in ratios))
    sizes: tuple[float, ...] = ()
    if known and max(score for score, _ in known) > any_size:
        _, likely = max(known, key=lambda each: each[0])
        sizes = tuple(dict.fromkeys(likely.offsets))
    score = OFTEN["wrong size"] * (any_size + sum(score for score, _ in known))
    yield score, Explanation("wrong size", 0.0, sizes_mm=sizes)
    if setting.offsets[0] != setting.offsets[1]:
        exchanged = DowelSetting(setting.offsets[::-1], setting.degrees)
        score = OFTEN["dowels exchanged"] * done.likelihood(measured, [exchanged])
        yield score, Explanation("dowels exchanged", 0.0)


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
