"""Where the bores of a family sit on average, with the region that holds this average in 95 of 100 shops."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..geometry import Matrix, Vector, matrix_of, vector_of
from ..numeric.basis import Floats
from ..numeric.quantiles import plane_factor
from .ledger import Family, Found, Ledger


@dataclass(frozen=True, slots=True)
class FamilyMean:
    """vector: mean of the family's jobs as fitted, mm. region: root of its 95 % region, (2, 2), mm: the
    border is vector + region @ (cos t, sin t)."""

    vector: Vector
    region: Matrix

    def border(self, points: int = 72) -> Floats:
        """The border of the region, shape (points, 2), mm."""
        t = np.linspace(0.0, 2.0 * math.pi, points, endpoint=False)
        return np.asarray(
            np.array(self.vector) + np.column_stack([np.cos(t), np.sin(t)]) @ np.array(self.region).T
        )


def family_mean(found: Sequence[Found], ledger: Ledger, family: Family) -> FamilyMean:
    """Of the jobs of one family of `ledger`, which was made of `found`."""
    of_it = np.array([job.family(family.side) == family.name for job in found])
    model = ledger.fitted.model
    at = model.mean(ledger.fitted.sds)
    row = model.design[of_it].mean(axis=0)
    pick = np.kron(row, np.eye(2))
    factor = plane_factor(0.95, family.freedom if family.freedom is not None else math.inf)
    root = factor * np.linalg.cholesky(pick @ at.covariance @ pick.T)
    return FamilyMean(vector_of(row @ at.coefficients), matrix_of(root))
