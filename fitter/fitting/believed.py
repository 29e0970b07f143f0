"""Sweeps as the one model sees them: its answer, and what it names."""

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from ..mixture.answer import Mixture, glance, mixture
from ..mixture.bounds import Bound
from ..mixture.priors import USUAL, Priors
from ..mixture.views import Known
from ..numeric.basis import Floats, in_blocks
from ..reading.setup import Setup
from ..reading.stations import Stations
from ..units import MM_PER_THOU
from .faults import Faults, named
from .model import supported_harmonics
from .prepare import Levelled


def believed(sweeps: Sequence[tuple[Setup, Levelled]], bounds: Sequence[Bound] = ()) -> Mixture:
    """The model of sweeps. bounds: what may be bounds of a single one.

    Raises TooFewStations, also where a single sweep of several could not stand alone.
    """
    tables = [sweep.stations for _, sweep in sweeps]
    for table in tables:
        supported_harmonics(table)
    lengths = [len(table) for table in tables]
    by_steps, angle = (
        np.repeat(sizes, lengths)
        for sizes in zip(
            *((sweep.step_mm**2 / 12.0, math.radians(setup.angle_sd_deg)) for setup, sweep in sweeps),
            strict=True,
        )
    )
    known = Known(
        resolution=by_steps,
        by_angle=np.zeros(len(angle)),
        drift_mm=_stated([setup.drift_mm for setup, _ in sweeps], Setup().drift_mm),
        fine_form_mm=_stated([setup.hidden_form_mm for setup, _ in sweeps], None),
        told=in_blocks(lengths, (sweep.drifts.values() for _, sweep in sweeps)),
        late=_late(sweeps),
        # The shop's own repeatability was found from whole sweeps: what comes and goes is in it.
        wander_mm=tuple(0.0 if setup.repeatability_mm else setup.drift_mm for setup, _ in sweeps),
        priors=_priors([setup for setup, _ in sweeps]),
    )
    if angle.any():
        # By how much a wrong angle is off hangs on how far off the centre is.
        a, b = glance(tables, known)
        basis = np.concatenate([table.basis for table in tables])
        known = replace(known, by_angle=((b * basis[:, 1] - a * basis[:, 2]) * angle) ** 2)
    return mixture(tables, known, bounds)


def _priors(setups: Sequence[Setup]) -> Priors:
    """How large scatter and form may be: as a shop's own study has them, where all sweeps say the same; else
    as is usual."""
    studies = {setup.study for setup in setups}
    study = studies.pop() if len(studies) == 1 else None
    if study is None:
        return USUAL
    noise, oval, rest = (
        tuple((size / MM_PER_THOU, share) for size, share in shares)
        for shares in (study.noise, study.oval, study.lobes)
    )
    return Priors(noise or USUAL.noise, oval or USUAL.oval, rest or USUAL.rest)


def _stated(sizes: Sequence[float | None], usual: float | None) -> float | None:
    """The largest that was said; None where one is the usual."""
    said = [size for size in sizes if size is not None and size != usual]
    return max(said) if len(said) == len(sizes) else None


def _late(sweeps: Sequence[tuple[Setup, Levelled]]) -> Floats:
    """What one standard deviation of each dial's delay adds, where a sweep tells it, (n, any)."""
    return in_blocks(
        [len(sweep.stations) for _, sweep in sweeps],
        (
            (setup.delay_sd_s * column for column in sweep.lateness.columns.values())
            for setup, sweep in sweeps
        ),
    )


def of_sweep(model: Mixture, which: int, stations: Stations) -> Faults:
    """What is named of one of the sweeps."""
    mine = [(one, likely) for one, likely in model.named if one.sweep == which]
    steps = [(one.rows[0], likely) for one, likely in mine if one.knock]
    bad = {row: likely for one, likely in mine if not one.knock for row in one.rows}
    return named(stations, bad, min(steps, default=None))
