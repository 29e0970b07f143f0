"""What a factor of least squares says beside its solution."""

import numpy as np


def unscaled(factor):
    """(X'X)^-1, by the inverse of the factor's triangle."""
    inverse = np.linalg.inv(factor.triangle())
    return inverse @ inverse.T
