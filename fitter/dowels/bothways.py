"""Two sweeps to be compared, and what the same readings say if the crank went round the other way."""

import math
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from ..certainty.freedom import welch_satterthwaite
from ..geometry import matrix_of, unit, vector_of
from ..meaning import Meaning
from ..numeric.basis import Floats
from ..reading import corrections
from ..reading.setup import Setup
from ..result import Eccentricity
from .causes import OFTEN, SAID, TURNED, Cause
from .measurement import Measurement


def mirrored(ecc: Eccentricity, setup: Setup) -> Eccentricity:
    """As if the scale had been counted the other way than the setup says: places lie as far on the other side
    of its zero, and so does E, but for what weight adds to it, which hangs down whichever way the crank goes.
    Only vector and covariance are turned over; amounts and directions beside them stay those of the sweep.
    """
    zero = np.array(unit(setup.zero_deg))
    over: Floats = 2.0 * np.outer(zero, zero) - np.eye(2)
    a, b = corrections.droop(setup)
    weight = np.array(Meaning.of(setup).vector(-a, -b)) + np.array(corrections.resting(setup))
    return replace(
        ecc,
        vector=vector_of(over @ (np.array(ecc.vector) - weight) + weight),
        covariance=matrix_of(over @ np.array(ecc.covariance) @ over.T),
    )


@dataclass(frozen=True, slots=True)
class Sweeps:
    """Found and left as they were read, and both as they would be had the crank gone round the other way
    (`mirrored`). said: of which it was said which way the crank is turned."""

    found: Eccentricity
    left: Eccentricity
    found_mirrored: Eccentricity
    left_mirrored: Eccentricity
    said: frozenset[Literal["found", "left"]] = frozenset()

    @classmethod
    def of(
        cls, found: Eccentricity, left: Eccentricity, setups: tuple[Setup, Setup] | None = None
    ) -> "Sweeps":
        """setups: how the two were read; None: clockwise from 12 o'clock, with nothing corrected."""
        before, after = setups or (Setup(), Setup())
        return cls(found, left, mirrored(found, before), mirrored(left, after))

    @property
    def shift(self) -> Measurement:
        """Left less found, as read."""
        return _shift(self.found, self.left)

    def turned(self, cause: Cause) -> Measurement:
        """The same if the sweeps that this cause names were swept the other way."""
        which = TURNED[cause]
        return _shift(
            self.found_mirrored if "found" in which else self.found,
            self.left_mirrored if "left" in which else self.left,
        )

    def often(self, cause: Cause) -> float:
        """How often the sweeps that this cause names are swept the other way, as shares (`OFTEN`)."""
        return OFTEN[cause] * (SAID if self.said & set(TURNED[cause]) else 1.0)


def _shift(found: Eccentricity, left: Eccentricity) -> Measurement:
    before, after = np.array(found.covariance), np.array(left.covariance)
    freedom = welch_satterthwaite(
        [float(np.trace(before)), float(np.trace(after))],
        [math.inf if ecc.freedom is None else ecc.freedom for ecc in (found, left)],
    )
    return Measurement(np.array(left.vector) - np.array(found.vector), before + after, freedom)
