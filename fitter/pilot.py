"""What bore, face and register do together at the pilot bearing: where the input shaft is led.

The gearbox's axis stands square on the face and passes through the middle of its own register, which sits
in the bore with some play. Seen from behind, with the crank's axis at the origin, E the bore's centre, t the
face's tilt (radians, towards the side that stands rearward; `fitter.face`), l the way from the face forward
to the pilot bearing, the axis stands there at

    P = E + p + l t,   |p| <= c / 2

c: clearance of the register in the bore, in diameter; p: where in it the gearbox comes to lie. Weight and the
bolts draw it to some side of the bore and nobody knows which: p is taken on the rim, all directions alike, so
that each of its components has the variance (c / 2)^2 / 2. E and t are measured apart and their covariances
add, that of t times l^2.

The pilot bore, if it runs out, carries the shaft's end round with the crank: that turns, and is no part of P.
"""

import math
from dataclasses import dataclass

import numpy as np

from .certainty.amount import expanded_amount
from .certainty.freedom import welch_satterthwaite
from .geometry import Vector, direction, vector_of
from .numeric.basis import Floats
from .result import BudgetLine, Eccentricity, Facts


@dataclass(frozen=True, slots=True)
class AtPilot(Facts):
    """Where the gearbox's axis passes the pilot bearing; lengths in mm.

    vector: P, without the play; amount: |P|, with the half-width of its 95 % interval, play and all.
    deg: its direction.
    shaft_deg: the angle that an input shaft takes which runs in the pilot bearing all the same.
    play: what the register's play may add, to any side: half of its clearance.
    carried: how far the pilot bore carries the shaft's end round, None if it was not swept.
    budget: standard uncertainties of a component of P.
    """

    vector: Vector
    amount: float
    u95: float
    deg: float
    shaft_deg: float
    play: float
    carried: float | None
    budget: tuple[BudgetLine, ...]


def at_pilot(
    bore: Eccentricity,
    face: Eccentricity,
    radius: float,
    pilot: float,
    *,
    play: float = 0.0,
    carried: float | None = None,
) -> AtPilot:
    """What a sweep of the bore and one of the face come to at the pilot bearing; lengths in mm. radius: at
    which the dial ran on the face. pilot: from the face forward to the pilot bearing. play: clearance of the
    gearbox's register in the bore, in diameter. carried: as in `AtPilot`."""
    lever = pilot / radius
    vector = np.array(bore.vector) + lever * np.array(face.vector)
    parts: list[tuple[str, Floats]] = [
        ("bore", np.array(bore.covariance)),
        ("face", lever**2 * np.array(face.covariance)),
        ("play of the register", (play / 2.0) ** 2 / 2.0 * np.eye(2)),
    ]
    covariance: Floats = np.sum([part for _, part in parts], axis=0)
    amount = float(np.hypot(*vector))
    freedom = welch_satterthwaite(
        [float(np.trace(part)) for _, part in parts],
        [bore.freedom or math.inf, face.freedom or math.inf, math.inf],
    )
    return AtPilot(
        vector=vector_of(vector),
        amount=amount,
        u95=expanded_amount(vector, covariance, freedom),
        deg=direction(*vector),
        shaft_deg=math.degrees(math.atan2(amount, pilot)),
        play=play / 2.0,
        carried=carried,
        budget=tuple(
            BudgetLine(name, "A" if name in ("bore", "face") else "B", math.sqrt(float(np.trace(part)) / 2.0))
            for name, part in parts
        ),
    )
