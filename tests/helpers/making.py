"""Recordings for the tests: written by hand as a person would, or swept on the simulated rig.

Run as a script it writes the samples in recordings/ anew, in simulated time and from fixed seeds.
"""

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from coaxly import __version__
from coaxly.fitter import MODEL
from coaxly.fitter.units import MM_PER_INCH as INCH
from coaxly.fitter.units import MM_PER_THOU as THOU
from coaxly.job.recorded.pipeline import Pipeline
from coaxly.logger.profile import built_in
from coaxly.logger.recording.records import FORMAT, VERSION, Header
from coaxly.logger.recording.session import Session
from coaxly.logger.recording.writer import RecordingWriter
from coaxly.logger.rig.engine import DIAL_RATE_HZ, Engine, Rig

RECORDINGS = Path(__file__).parents[2] / "recordings"


def header_line(**fields: Any) -> str:
    return json.dumps({"kind": "header", "format": FORMAT, "version": VERSION, **fields})


def by_hand(
    path: Path,
    readings: Sequence[float],
    angles: Sequence[float] | None = None,
    *,
    unit: str = "in",
    feature: str = "bore",
    setup: dict[str, Any] | None = None,
) -> Path:
    """A recording as one would type it: header, raw lines, station lines, no seal."""
    if angles is None:
        angles = [360.0 / len(readings) * k for k in range(len(readings))]
    lines = [
        header_line(feature=feature, setup=setup or {}, instrument={"unit": unit}, angle={"mode": "entered"})
    ]
    for k, (value, deg) in enumerate(zip(readings, angles, strict=True)):
        lines.append(
            json.dumps({"t": k + 0.1, "kind": "raw", "port": "indicator", "data": f"{value:+.6f}\r\n"})
        )
        lines.append(json.dumps({"t": k + 0.2, "kind": "station", "deg": deg}))
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


class HandClock:
    """Session time that goes where it is told."""

    def __init__(self) -> None:
        self.t = 0.0

    def __call__(self) -> float:
        return round(self.t, 6)


def swept(
    path: Path,
    engine: Engine,
    *,
    seed: int = 1,
    stations: int = 8,
    setup: dict[str, Any] | None = None,
    **header: Any,
) -> Path:
    """A sealed recording of the rig in simulated time: turn, rest, confirm, and a closing reading."""
    setup = {"closing": True, "limit_mm": 5 * THOU, "resolution_mm": 0.05 * THOU, **(setup or {})}
    head = Header(
        format=FORMAT,
        version=VERSION,
        software=__version__,
        setup=setup,
        instrument={**built_in("stream-decimal").to_header(), "unit": "in"},
        angle={"mode": "entered", "stations": stations},
        **{"created": "2026-03-02T09:14:05Z", **header},
    )
    path.unlink(missing_ok=True)
    clock, rig, pipeline = HandClock(), Rig(engine, seed), Pipeline(head)
    with RecordingWriter(path, head) as writer:
        session = Session(writer, clock, lambda record: pipeline.feed((record,)))
        session.link("indicator", "up")

        def listen_until(t: float) -> None:
            while clock.t < t:
                clock.t += 1.0 / DIAL_RATE_HZ
                session.raw("indicator", f"{rig.reading(clock.t) / INCH:+09.5f}\r\n".encode())

        for k in range(stations + 1):
            arrival = rig.turn_to(360.0 / stations * k, clock.t)
            listen_until(arrival + 0.7)
            session.station(360.0 / stations * (k % stations))
        session.finish(pipeline.result().to_dict(), MODEL)
    return path


_FACE = {"face_radius_mm": 6.0 * 25.4}


def samples(folder: Path) -> list[Path]:
    """The invented job that ships in recordings/: a harbour launch, before, after, and a bad try."""
    found = Engine(
        centre=(-4.6 * THOU, 2.9 * THOU),
        form=((2, 0.4 * THOU, 70.0), (3, 0.2 * THOU, 10.0)),
        noise=0.12 * THOU,
        tremble=1.0 * THOU,
        resolution=0.05 * THOU,
        drift=0.01 * THOU,
    )
    job = {"job": "launch-marigold", "operator": "D"}
    left = found.moved((4.2 * THOU, -2.65 * THOU))
    # A face reads high towards its tilt, as the outside of a boss does towards its centre: 6 thou at 6 in.
    face = Engine(
        **{**found.__dict__, "centre": (-2.4 * THOU, -1.8 * THOU), "surface": "outside", "form": ()}
    )
    return [
        swept(folder / "launch-face.jsonl", face, seed=14, stage="found", feature="face", setup=_FACE, **job),
        swept(folder / "launch-found.jsonl", found, seed=11, stage="found", **job),
        swept(folder / "launch-left.jsonl", left, seed=12, stage="left", **job),
        swept(
            folder / "launch-knocked.jsonl",
            Engine(**{**found.__dict__, "knocks": ((7.6, 6.0 * THOU),)}),
            seed=13,
            stage="found",
            **job,
        ),
    ]


if __name__ == "__main__":
    for sample in samples(RECORDINGS):
        print(sample)
