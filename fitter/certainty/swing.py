"""The dial's swing, largest less smallest reading: what noise adds to it, and how sure it is.

Noise can only push the largest up and the smallest down, so the swing of a noisy sweep is too
large. The distribution of the largest of independent readings about the fitted curve gives the
excess by integration.
"""

import math

import numpy as np

from ..numeric.basis import Floats


def expected_swing(curve: Floats, sd: float) -> tuple[float, float]:
    """Mean excess of the swing over that of the noiseless curve, and its standard deviation, mm.

    curve: fitted readings at the stations, shape (n,); sd: of one reading about it. The largest and
    the smallest are taken for independent, as they are for all but the flattest curves.
    """
    if not sd > 0.0 or len(curve) == 0:
        return 0.0, 0.0
    above, above_sd = _largest(curve, sd)
    below, below_sd = _largest(-curve, sd)
    return above - float(curve.max()) + below + float(curve.min()), math.hypot(above_sd, below_sd)


def _largest(curve: Floats, sd: float) -> tuple[float, float]:
    """Mean and standard deviation of the largest of curve + noise."""
    from scipy.special import log_ndtr

    top = float(curve.max())
    near = curve[curve > top - 10.0 * sd]
    x = top + sd * np.linspace(-8.0, 8.0, 321)
    below = np.exp(log_ndtr((x[:, None] - near[None, :]) / sd).sum(axis=1))
    step = x[1] - x[0]
    chance = np.diff(below)
    middle = x[:-1] + step / 2.0
    mean = float((chance * middle).sum())
    return mean, math.sqrt(max(float((chance * (middle - mean) ** 2).sum()), 0.0))
