"""The streaming fitter: samples in, estimate now, result when asked."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from .analysis import Outlook, analyse, centre, outlook
from .clues.before import Before
from .errors import NoCircle, NotNumbers, TooFewStations
from .fitting.model import supported_harmonics
from .fitting.prepare import without_sag
from .geometry import EnteredDeg, InternalDeg, vector_of
from .meaning import Meaning
from .numeric.basis import Floats
from .numeric.leastsquares import LeastSquares
from .reading import corrections
from .reading.sectors import Sectors
from .reading.setup import Feature, Setup
from .reading.stations import MOST_HARMONICS, EnteredStations, Stations
from .result import Result

_OPEN = 3
"""Rows at the end of a continuous sweep that go on growing: a hand that trembles goes back no further."""


@dataclass(frozen=True, slots=True)
class Estimate:
    """Where the sweep stands.

    feature: of a face, (x, y) is tilt times radius, and shims, not dowels, put it right.
    x, y: E in mm.
    amount: its length, mm.
    high_deg: where the first harmonic reads highest.
    move_deg: the way the housing goes when it is put right (`fitter.meaning`).
    mean: reading, mm.
    harmonics: how many are fitted.
    scatter: about them, mm (0 with no station to spare).
    """

    feature: Feature
    x: float
    y: float
    amount: float
    high_deg: float
    move_deg: float
    mean: float
    harmonics: int
    scatter: float


class Fitter:
    """One sweep being fitted: blocks of one or more samples, the same code for both.

    A sweep is either entered (`add_station`) or continuous (`add_track`); whichever is used first
    stands. Angles are as entered on the scale, readings are the indicator's numbers in mm.

    earlier: another sweep of the same surface, by whose form it is known again.
    """

    def __init__(self, setup: Setup, earlier: Before | None = None) -> None:
        self.setup, self.earlier = setup, earlier
        self.samples = 0
        self._entered = EnteredStations()
        self._sectors = Sectors()
        self._factor = LeastSquares(1 + 2 * MOST_HARMONICS)
        self._supported: tuple[int, int] | None = None
        self._table: Stations | None = None
        self._estimate: Estimate | None = None
        self._estimated = False
        self._outlook: tuple[tuple[InternalDeg, ...], Outlook | None] | None = None
        self._valid = 0  # rows of the table that the factor holds unchanged

    def add_station(
        self, entered_deg: EnteredDeg, shown_mm: Floats, t: Floats, moved_mm: float = math.nan
    ) -> None:
        """A station: the readings of its dwell (at least one) and their times in s. moved_mm: by how much the
        dial moved since the station before, where somebody saw.

        Raises NotNumbers and leaves the sweep as it was.
        """
        _checked(np.array([float(entered_deg)]))
        _checked(shown_mm, t)
        self._news()
        deg = self.setup.internal_deg(entered_deg)
        self._entered.add(deg, corrections.readings(self.setup, shown_mm), t, moved_mm)
        self.samples += len(shown_mm)

    def _news(self) -> None:
        """What was computed before is out of date."""
        self._table, self._estimated, self._outlook = None, False, None

    def undo(self) -> bool:
        """Take the last station back; False if there is none. Samples of it stay counted."""
        self._news()
        undone = self._entered.undo()
        self._supported = None
        self._valid = min(self._valid, len(self._entered))
        if undone and self._factor.rows > len(self._entered):
            self._valid = 0
        return undone

    def add_track(self, entered_deg: Floats, shown_mm: Floats, t: Floats) -> None:
        """Samples of a continuous sweep, in order of time: shape (n,) each.

        Raises NotNumbers and leaves the sweep as it was.
        """
        _checked(entered_deg, shown_mm, t)
        self._news()
        deg = self.setup.zero_deg + self.setup.angle_sign * entered_deg
        touched = self._sectors.add(deg, corrections.readings(self.setup, shown_mm), t)
        if touched < self._valid:
            self._valid = 0
        self.samples += len(shown_mm)

    def stations(self) -> Stations:
        """Every station so far, as read: without corrections for sag and drift."""
        if self._table is None:
            self._table = self._sectors.table() if len(self._sectors) else self._entered.table()
        return self._table

    def estimate(self) -> Estimate | None:
        """The vector now, from all samples so far; None while they cannot carry it.

        Rows that cannot change any more are kept in a streaming factor, so the work is that of the
        newest station only; a station taken back or met again rebuilds it. Asked again without news it
        answers from memory.
        """
        if not self._estimated:
            self._estimate, self._estimated = self._compute(), True
        return self._estimate

    def _compute(self) -> Estimate | None:
        if self.setup.feature == "steps":
            return None
        stations = self.stations()
        whole = self._stream(stations)
        # What the stations support changes only when there are more or fewer of them.
        if self._supported is None or self._supported[0] != len(stations):
            try:
                harmonics = supported_harmonics(stations, triangle=whole.triangle())
            except TooFewStations:
                self._supported = None
                return None
            self._supported = len(stations), harmonics
        harmonics = self._supported[1]
        factor = whole.leading(1 + 2 * harmonics)
        mean, a1, b1 = factor.solution()[:3]
        vector = centre(self.setup, a1, b1)
        x, y = vector_of(vector)
        meaning = Meaning.of(self.setup)
        return Estimate(
            feature=meaning.feature,
            x=x,
            y=y,
            amount=math.hypot(x, y),
            high_deg=meaning.high_deg(vector),
            move_deg=meaning.move_deg(vector),
            mean=mean,
            harmonics=harmonics,
            scatter=math.sqrt(factor.residual_sum / factor.freedom) if factor.freedom > 0 else 0.0,
        )

    def outlook(self, due: Sequence[InternalDeg]) -> Outlook | None:
        """How sure the sweep is by now, and what each station that is due would make of that; None while the
        stations carry no vector, and where they are not stopped at. As costly as a result, so that it is
        worked out once for the same stations."""
        if self._outlook is None or self._outlook[0] != tuple(due):
            self._outlook = tuple(due), self._look_ahead(due)
        return self._outlook[1]

    def _look_ahead(self, due: Sequence[InternalDeg]) -> Outlook | None:
        stations = self.stations()
        if stations.continuous or self.setup.feature == "steps":
            return None
        try:
            return outlook(self.setup, stations, np.array(due, dtype=np.float64) % 360.0)
        except TooFewStations:
            return None

    def _stream(self, stations: Stations) -> LeastSquares:
        """The factor of all harmonics; those that are supported are its first columns."""
        if self._valid == 0:
            self._factor = LeastSquares(1 + 2 * MOST_HARMONICS)
        settled = len(stations) - 1
        if stations.continuous:
            settled = max(min(len(stations) - _OPEN, self._sectors.apart), self._valid)
        if settled > self._valid:
            self._factor.add_rows(self._rows(stations.take(slice(self._valid, settled))))
            self._valid = settled
        whole = self._factor.leading(self._factor.parameters)
        whole.add_rows(self._rows(stations.take(slice(self._valid, None))))
        return whole

    def _rows(self, stations: Stations) -> list[list[float]]:
        value = without_sag(self.setup, stations).value
        table: list[list[float]] = np.column_stack([stations.basis, value]).tolist()
        return table

    def result(self) -> Result:
        """The full finding. Raises TooFewStations while the stations cannot carry one, and NoCircle of gauge
        steps."""
        if self.setup.feature == "steps":
            raise NoCircle
        return analyse(self.setup, self.stations(), self.samples, self.earlier)


def _checked(*columns: Floats) -> None:
    """Raises NotNumbers for no readings, columns of unlike lengths, or a number that is not finite."""
    if not len(columns[0]) or any(len(column) != len(columns[0]) for column in columns):
        raise NotNumbers("there must be at least one, and an angle and a time for each")
    if not all(np.isfinite(column).all() for column in columns):
        raise NotNumbers("each of them, its angle and its time must be a finite number")
