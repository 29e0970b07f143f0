"""The farthest of many values that should all be alike: how likely it is that chance alone puts one so far
out.
"""

import math

import numpy as np

from ..numeric.quantiles import t_below


def chance_of_farthest(share: float, freedom: float, components: int, tried: int) -> float:
    """Chance that the farthest of `tried` observations, of one or two components, takes as large a share of
    the sum of squares, which has `freedom` degrees, as they all would have without it.

    For one component this is Grubbs' test, both sides together (F. E. Grubbs, Technometrics 11 (1969) 1);
    for two the tail has a closed form (D. M. Hawkins, Identification of Outliers (1980), 10). By
    Bonferroni's bound, which is exact for the farthest of few.
    """
    share = min(max(share, 0.0), 1.0 - 1e-12)
    rest = freedom - components
    if components == 2:
        alone = float((1.0 - share) ** (rest / 2.0))
    else:
        t = math.sqrt(share * rest / (1.0 - share))
        alone = 2.0 * float(t_below(np.array([-t]), rest)[0])
    return min(1.0, tried * alone)
