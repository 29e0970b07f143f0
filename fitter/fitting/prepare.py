"""Stations made ready for the fit: sag and drift taken out, bad ones set aside, knocks marked."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ..numeric.basis import Floats
from ..reading import checks, corrections
from ..reading.displaystep import reckoned
from ..reading.setup import Setup
from ..reading.stations import Ints, Stations
from ..result import Outlier
from . import drift, faults, late
from .model import is_separable

_LEAST_FILLED = 0.1
"""Share of the usual number of readings below which a sector does not count."""


@dataclass(frozen=True, slots=True)
class Prepared:
    """One recording ready to be fitted.

    stations: those that count.
    rows: which of the stations as they were read those are, shape (n,).
    extras: more columns, by name.
    share: of the closing reading taken from each station, where it was.
    closure: as read, mm.
    drift_mm: what was taken out.
    outliers: stations set aside.
    step_at: first station after a knock; step_likely: how likely there was one, None where nothing says.
    turned: by how much more clockwise the last reading was taken than the first, in the units of the column
        "sense".
    late_s: how late the dial was, as stated and as found.
    """

    stations: Stations
    rows: Ints
    extras: dict[str, Floats]
    share: Floats | None
    closure: float | None
    drift_mm: float | None
    outliers: tuple[Outlier, ...]
    step_at: int | None
    step_likely: float | None
    turned: float
    late_s: float


@dataclass(frozen=True)
class Levelled:
    """A sweep with what is known taken out of it.

    stations: those that count. rows: which of those that were read they are, (n,). lateness: of the dial.
    step_mm: of its display, 0 where it does not matter.
    """

    stations: Stations
    rows: Ints
    lateness: late.Lateness
    step_mm: float

    @cached_property
    def drifts(self) -> dict[str, Floats]:
        """What may have moved the dial, as far as the stations tell it (`fitter.fitting.drift`)."""
        return drift.columns(self.stations)


def level(setup: Setup, raw: Stations) -> Levelled:
    """Take out the droop of the arm and the delay of the dial, and what was read too badly to count."""
    stations, step = without_sag(setup, raw), reckoned(setup, raw)
    rows = np.arange(len(raw))
    if not raw.continuous:
        return Levelled(stations, rows, late.Lateness(), step)
    # Sectors that were hardly touched, at the ends of a sweep, scatter far more.
    rows = rows[raw.count >= _LEAST_FILLED * np.median(raw.count)]
    if setup.delay_sd_s > 0.0:
        rows = rows[late.steady(stations.take(rows), abs(setup.delay_s) + 2.0 * setup.delay_sd_s)]
    stations, lateness = late.taken_out(setup, stations.take(rows))
    # Beside readings at rest those in passing would look like a burr, or the other way about.
    kept = ~(late.at_rest(stations) & lateness.unsure)
    return Levelled(stations.take(kept), rows[kept], lateness, step)


def prepare(setup: Setup, sweep: Levelled, found: faults.Faults) -> Prepared:
    """Set aside what does not belong. found: the faults of the sweep, by the one model (`fitter.mixture`)."""
    levelled, lateness = sweep.stations, sweep.lateness
    closure = checks.closure(levelled)
    columns = {**sweep.drifts, **lateness.columns}
    # Where more than the closing reading tells of drift, or it holds a lag between senses as well, the
    # fit finds the drift from all readings.
    turned = float(levelled.sense[-1] - levelled.sense[0]) / 2.0 if "sense" in columns else 0.0
    fitted = "bend" in columns or (turned != 0.0 and "drift" in columns)
    bad = {index for index, _ in found.outliers}
    stations = levelled.take(kept := np.setdiff1d(np.arange(len(levelled)), sorted(bad)))
    step_at = None if found.step_at is None else int(np.searchsorted(kept, found.step_at))
    # Without both of its ends the closing check is no measure of drift.
    whole = not fitted and not bad & {0, len(levelled) - 1}
    closing = closure is not None and whole and bool(levelled.t[-1] > levelled.t[0])
    extras = {name: column[kept] for name, column in columns.items()}
    share = drift_mm = None
    if step_at is not None:
        extras["step"] = (np.arange(len(stations)) >= step_at).astype(np.float64)
    if closure is not None and not (fitted or closing):
        extras.pop("drift", None)
    elif closing and step_at is None:
        # The closing reading then equals the first by construction: it has no news of its own.
        drift_mm = float(stations.value[-1] - stations.value[0])
        share = (stations.t - stations.t[0]) / (stations.t[-1] - stations.t[0])
        stations = stations.with_values(stations.value - drift_mm * share).take(slice(0, -1))
        share = share[:-1]
        extras = {name: column[:-1] for name, column in extras.items() if name != "drift"}
    extras = _separable(stations, extras)
    return Prepared(
        stations=stations,
        rows=sweep.rows[kept][: len(stations)],  # the closing reading, which was the last, may have gone
        extras=extras,
        share=share,
        closure=closure,
        drift_mm=drift_mm,
        outliers=tuple(outlier for _, outlier in found.outliers),
        step_at=step_at if "step" in extras else None,
        step_likely=found.step_likely,
        turned=turned,
        late_s=lateness.delay_s,
    )


def without_sag(setup: Setup, stations: Stations) -> Stations:
    """The stations with the droop of the arm taken out: it is a pure cosine, so exactly known."""
    cos, sin = corrections.droop(setup)
    if not (cos or sin):
        return stations
    return stations.with_values(stations.value - cos * stations.basis[:, 1] - sin * stations.basis[:, 2])


def _separable(stations: Stations, extras: dict[str, Floats]) -> dict[str, Floats]:
    """Drop columns for which there are no stations to spare, or which these stations cannot tell from the
    others and the offset, the least needed first."""
    for name in ("bend", "late", "sense", "drift", "step"):
        if name not in extras:
            continue
        spare = name == "step" or len(stations) - 3 - len(extras) >= 2
        if not spare or not is_separable(stations, 1, list(extras.values())):
            extras = {key: column for key, column in extras.items() if key != name}
    return extras
