"""A recording for whoever works in Python: `coaxly.read(path)`.

Everything goes through the pipeline that the commands use, so numbers are theirs to the last bit. Lengths
are millimetres and angles degrees clockwise from 12 o'clock, seen from behind the engine.
"""

import os
from pathlib import Path

from coaxly.fitter import Result
from coaxly.logger.recording.records import Header

from .draw.sweepsvg import sweep_svg
from .errors import UsageError
from .job.recorded.columns import Columns, reading_columns, station_columns
from .job.recorded.consistency import tampered
from .job.recorded.pipeline import replay
from .say.sweep.doubts import doubt_sentence


class Plot:
    """A drawing: a notebook shows it, and `svg` is its text."""

    def __init__(self, svg: str) -> None:
        """svg: one SVG element."""
        self.svg = svg

    def _repr_svg_(self) -> str:
        """What a notebook asks for."""
        return self.svg


class Recording:
    """One recording, read and fitted."""

    def __init__(self, path: Path) -> None:
        """Put it through the pipeline. Raises one of `coaxly.ERRORS`."""
        self._path = path
        self._pipeline = replay(path)

    @property
    def header(self) -> Header:
        """Line 1 of the file: feature, setup, instrument, angle, job, stage, operator."""
        return self._pipeline.header

    def result(self) -> Result:
        """The finding, as `replay --json` prints it (`to_dict()`), with what is to be said against the sweep
        in `remarks`. Raises FitterError where the stations carry none, such as gauge steps."""
        return self._pipeline.result()

    def stations(self) -> Columns:
        """The stations as columns, numpy arrays of shape (n,).

        What each holds is said by `coaxly.job.recorded.columns.station_columns`. E is the centre of the
        housing's bore from the crank's axis, x to the right, y up; inside a bore
        corrected_mm = c - E.(sin deg, cos deg) + form + residual_mm. There where there is no result, too:
        then nothing is corrected and nothing used.
        """
        return station_columns([self._pipeline])[0]

    def readings(self) -> Columns:
        """Every single reading as columns, numpy arrays of shape (n,).

        What each holds is said by `coaxly.job.recorded.columns.reading_columns`. The file is read once more.
        Raises one of `coaxly.ERRORS`.
        """
        return reading_columns(self._path)[0]

    def plot(self, unit: str = "thou") -> Plot:
        """Stations on the clock, the fitted circle, and an arrow the way the housing must go (of all but a
        bore: to the high point). unit: of its words: thou, in, mm or um. Raises FitterError where there is no
        result."""
        return Plot(sweep_svg(self._pipeline.setup, self.result(), self.stations(), unit))

    def __repr__(self) -> str:
        """Which file, and what of."""
        header = self.header
        words = [header.feature, *([f"job {header.job!r}"] if header.job else []), header.stage]
        return f"<coaxly recording {str(self._path)!r}: {', '.join(filter(None, words))}>"


def read(path: str | os.PathLike[str], *, anyway: bool = False) -> Recording:
    """Read a recording (`*.jsonl`) and fit it.

    anyway: read one whose bytes are not those that its seals were made for.

    Raises UsageError where it was changed, LoggerError where it is no recording, and FitterError where its
    header makes no sense: all of them in words, and all of them in `coaxly.ERRORS`.
    """
    found = Path(path)
    for doubt in [] if anyway else tampered(str(found)):
        raise UsageError(f"{doubt_sentence(doubt, 'mm')}: read(..., anyway=True) uses it all the same")
    return Recording(found)
