"""The budget of a sweep: what the model of it says, and what no sweep sees.

The parts of the model and what is known beforehand are one mixture of normal errors. Amount, direction and
verdict are read off it; plans, proofs and ledgers reckon with the Student error that has its half and its
95 %.
"""

import math

import numpy as np

from ..fitting.model import Fit
from ..meaning import Meaning
from ..mixture.answer import Mixture
from ..numeric.basis import Floats
from ..reading.setup import Setup
from ..reading.sources import Source
from ..reading.stations import Stations
from .budget import Budget, Part, beyond_scatter, lines
from .freedom import effective_freedom, freedom_beside, summed_up
from .normals import Normals
from .unseen import ARC_GAP_DEG, Unseen

MODELLED = (Source.FORM_HIDDEN, Source.DRIFT_HIDDEN)

SEEN = "as the readings show it"
"""Whose the resolution is where nobody stated it."""

_EVEN_DEG = 3.0
"""Places lie evenly while their distances differ by less: nobody stops more exactly by hand."""


def answered(model: Mixture, stations: Stations, fitted: Fit) -> Floats:
    """The first harmonic that is reported, (a, b), mm. Where places that were stopped at lie evenly, form
    leaves the least-squares vector alone, and that is the number that anybody can check; elsewhere what is
    usual of form tells where the centre is, and of sectors how they are tied."""
    gaps = stations.gaps()
    even = float(gaps.max() - gaps.min()) < _EVEN_DEG
    plain = even and not any(stations.speed)
    return np.array(fitted.harmonic(1)) if plain else model.centre


def modelled(setup: Setup, model: Mixture, first: Floats, stations: Stations, unseen: Unseen) -> Budget:
    """The budget of what is `answered` by a model, the first harmonic, mm."""
    parts = [(name, part) for name, part in unseen.parts if name not in MODELLED]
    beyond: list[Part] = [
        *beyond_scatter(setup, float(np.hypot(*first))),
        *((name, "B", part) for name, part in parts),
    ]
    known = np.sum([part for _, _, part in beyond], axis=0)
    whole = Normals(
        model.weight,
        (Meaning.of(setup).sign * (model.parts.vector - first))[:, ::-1],
        _across(model.parts.covariance),
    )
    own = whole.binned()
    error, length_error = own.beside(known), own.beside(known - unseen.turning)
    scale, _ = summed_up(own.weight, own.spreads)
    shop = setup.repeatability_mm**2 * np.eye(2)
    of_shop = bool(setup.repeatability_mm) and bool(np.trace(scale) <= np.trace(shop))
    if of_shop:
        # The larger of the two counts: a shop's repeatability holds all that comes and goes.
        random: list[Part] = [(Source.REPEATABILITY, "A", shop)]
        covariance = shop + known
        freedom, length_freedom = (
            _of_shop(setup, beside, shop + beside) for beside in (known, known - unseen.turning)
        )
    else:
        covariance = scale + known
        freedom, length_freedom = (
            freedom_beside(each.weight, each.spreads, claimed)
            for each, claimed in ((error, covariance), (length_error, covariance - unseen.turning))
        )
        arc = stations.largest_gap() > ARC_GAP_DEG
        random = _shares(setup, model, scale, arc, _stopped(model, whole, scale))
    return Budget(
        covariance=covariance,
        freedom=freedom,
        length=covariance - unseen.turning,
        length_freedom=length_freedom,
        lines=lines([*random, *beyond]),
        error=None if of_shop else error,
        length_error=None if of_shop else length_error,
    )


def _of_shop(setup: Setup, known: Floats, covariance: Floats) -> float:
    """Degrees of freedom where the shop's own repeatability counts."""
    judged = setup.repeatability_freedom
    if judged is None:
        return math.inf
    return effective_freedom(setup.repeatability_mm**2, judged, known, covariance)


def _whose(setup: Setup) -> tuple[str, str]:
    """Who says how large scatter and form may be, "" for as is usual."""
    study = setup.study
    if study is None:
        return "", ""
    whose = f"this shop's study of {study.sweeps} sweeps"
    return whose if study.noise else "", whose if study.oval or study.lobes else ""


def _across(covariance: Floats) -> Floats:
    """Of the vector (x, y), from that of the first harmonic (cos, sin), (..., 2, 2): no sign changes it."""
    return covariance[..., ::-1, ::-1]


def _stopped(model: Mixture, whole: Normals, scale: Floats) -> Floats:
    """What of the scale matrix, mm^2, would not be there, were no readings bounds."""
    free = model.stop < 0
    if free.all():
        return np.zeros((2, 2))
    own = Normals(*(part[free] for part in (whole.weight, whole.mean, whole.covariance))).binned()
    without, _ = summed_up(own.weight, own.spreads)
    return max(float(np.trace(scale - without)), 0.0) / 2.0 * np.eye(2)


def _shares(setup: Setup, model: Mixture, scale: Floats, arc: bool, stopped: Floats) -> list[Part]:
    """What each source has of the scale matrix, mm^2; where the shop's repeatability is known, that and what
    is beyond it. stopped: what bounds have."""
    effects, form = model.effects, Source.FORM_OF_ARC if arc else Source.FORM_HIDDEN
    scatters, formed = _whose(setup)
    if setup.repeatability_mm:
        shop = setup.repeatability_mm**2 * np.eye(2)
        beyond = scale * (1.0 - float(np.trace(shop) / np.trace(scale)))
        return [(Source.REPEATABILITY, "A", shop), (Source.BEYOND.of(scatters), "A", beyond)]
    parts: list[Part] = [
        (Source.SCATTER.of(scatters), "A", effects.scatter),
        (Source.RESOLUTION.of("" if setup.resolution_mm else SEEN), "B", effects.resolution),
        (Source.ANGLE, "B", effects.angle),
        (form.of(formed), "B", effects.form),
        (Source.DRIFT_HIDDEN, "B", effects.drift),
    ]
    total, found = float(np.trace(scale - stopped)), float(sum(np.trace(part) for _, _, part in parts))
    least = min(total / found, 1.0) if found > 0.0 else 1.0
    moved = max(total - found, 0.0) / 2.0 * np.eye(2)
    return [
        *((source, kind, _across(part) * least) for source, kind, part in parts),
        (Source.KNOCK, "B", moved),
        (Source.STOP, "B", stopped),
    ]
