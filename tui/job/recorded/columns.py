"""A recording as columns: its stations as the fit sees them, and its single readings.

Units stand in the names: `_mm`, `_s`, `_deg`; angles are seen from behind the engine, clockwise from 12,
unless they are `entered`. What is not known is nan, or "" among texts.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from coaxly.fitter import FitterError
from coaxly.fitter.analysis import Explained, explained
from coaxly.fitter.geometry import EnteredDeg, InternalDeg, clock, wrap
from coaxly.fitter.numeric.basis import Floats
from coaxly.fitter.reading import corrections
from coaxly.fitter.reading.setup import Setup
from coaxly.fitter.reading.stations import Stations
from coaxly.logger.recording.records import OPPOSITE

from .allreadings import AllReadings, PortReadings
from .pipeline import Pipeline, replay

Columns = dict[str, NDArray[Any]]

_DIGITS = 9
"""Of an angle that goes to the scale and back: rounding leaves a trace of less than that."""


def station_columns(pipelines: Sequence[Pipeline]) -> list[Columns]:
    """The stations of each recording in the order in which they were read, shape (n,) each.

    entered_deg, deg, clock: where, on the operator's scale, and on the engine.
    value_mm: mean reading, polarity, tip angle and calibration taken in, sag and drift not.
    corrected_mm, residual_mm: what the fit makes of it (`coaxly.fitter.analysis.Explained`); of several
        recordings that of all together, and nan where there is no fit.
    used: whether it counts in the fit.
    readings, scatter_mm: how many are in the mean, and their standard deviation.
    t_s: their mean time, since the recording began.
    turn, sense: 0, 1, ...; 1 clockwise, -1 against, 0 not known.
    Gauge steps have `step_mm` in place of angles, turns and what a fit makes.
    """
    sweeps = [(pipeline.setup, pipeline.fitter.stations()) for pipeline in pipelines]
    if any(setup.feature == "steps" for setup, _ in sweeps):
        return [_steps(*sweep) for sweep in sweeps]
    try:
        made = explained(sweeps)
    except FitterError:  # too few to fit: they were read all the same
        made = [Explained(*[np.full(len(each), math.nan)] * 2) for _, each in sweeps]
    return [
        {
            **_places(setup, stations.deg),
            "value_mm": stations.value,
            "corrected_mm": fitted.corrected,
            "residual_mm": fitted.residual,
            "used": ~np.isnan(fitted.corrected),
            **_readings(stations),
            "turn": stations.turn,
            "sense": stations.sense,
        }
        for (setup, stations), fitted in zip(sweeps, made, strict=True)
    ]


def station_rows(pipelines: Sequence[Pipeline]) -> list[dict[str, Any]]:
    """The same as rows, JSON-ready; of several recordings each row says of which, `recording` from 1."""
    tables = [list(rows(columns)) for columns in station_columns(pipelines)]
    if len(tables) == 1:
        return tables[0]
    return [{"recording": k, **row} for k, table in enumerate(tables, 1) for row in table]


def reading_columns(path: Path) -> tuple[Columns, Pipeline]:
    """Every reading of a recording, port after port, each in the order in which its readings came; and the
    pipeline that they went through. Raises LoggerError or FitterError.

    t_s: time of arrival, since the recording began.
    port: `indicator`, or `opposite` for a second one, half a turn from the first.
    shown_mm: the number on the dial.
    value_mm: the same with polarity, tip angle and calibration taken in, as in a station's.
    entered_deg, deg: where the tip stood, nan where no angle is known: between stations, at one that was
        taken back, and where an encoder was silent. Of gauge steps neither is there.
    """
    heard = AllReadings()
    pipeline = replay(path, listen=heard.listen)
    parts = [_of_port(pipeline.setup, each) for each in heard.ports()]
    return joined(parts), pipeline


def joined(parts: Sequence[Columns]) -> Columns:
    """Tables of the same columns as one."""
    return {name: np.concatenate([part[name] for part in parts]) for name in parts[0]}


def rows(columns: Columns) -> Iterator[dict[str, Any]]:
    """The rows of a table, JSON-ready: None for what is not known."""
    lists = [[None if x != x else x for x in column.tolist()] for column in columns.values()]
    for row in zip(*lists, strict=True):
        yield dict(zip(columns, row, strict=True))


def named(columns: Columns, words: Mapping[str, str]) -> Columns:
    """The table with columns before the others that hold the same text in every row."""
    length = len(next(iter(columns.values())))
    return {name: np.full(length, word) for name, word in words.items()} | columns


def _of_port(setup: Setup, heard: PortReadings) -> Columns:
    columns: Columns = {
        "t_s": heard.t,
        "port": np.full(len(heard.t), heard.port),
        "shown_mm": heard.shown_mm,
        "value_mm": corrections.readings(setup, heard.shown_mm),
    }
    if setup.feature == "steps":
        return columns
    half = 180.0 if heard.port == OPPOSITE else 0.0
    internal = [setup.internal_deg(EnteredDeg(deg)) + half for deg in heard.entered_deg.tolist()]
    places = _places(setup, np.array([deg if deg != deg else wrap(deg) for deg in internal]))
    del places["clock"]
    return columns | places


def _places(setup: Setup, deg: Floats) -> Columns:
    """Internal angles, also on the operator's scale and on the clock."""
    listed = deg.tolist()
    entered = [
        math.nan if x != x else round(setup.entered_deg(InternalDeg(x)), _DIGITS) % 360.0 for x in listed
    ]
    return {
        "entered_deg": np.array(entered, dtype=np.float64),
        "deg": deg,
        "clock": np.array(["" if x != x else clock(x) for x in listed], dtype=np.str_),
    }


def _steps(setup: Setup, stations: Stations) -> Columns:
    """Which gauge step was under the tip, nan for a place beyond the last, and what the dial made of it."""
    sizes = np.array([*setup.steps_mm, math.nan])
    at = np.minimum(np.rint(stations.deg).astype(np.int64), len(setup.steps_mm))
    return {"step_mm": sizes[at], "value_mm": stations.value, **_readings(stations)}


def _readings(stations: Stations) -> Columns:
    """What each mean was made of."""
    return {"readings": stations.count, "scatter_mm": stations.scatter, "t_s": stations.t}
