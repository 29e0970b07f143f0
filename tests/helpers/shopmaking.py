"""Made shops: folders of jobs with journals and recordings, as the program leaves them."""

import math
from collections.abc import Sequence
from pathlib import Path

import msgspec
import tomli_w
from making import HandClock

from coaxly import __version__
from coaxly.fitter import MODEL
from coaxly.job.folder.journal import Opened, Record, Sweep
from coaxly.job.recorded.pipeline import Pipeline
from coaxly.logger.profile import built_in
from coaxly.logger.recording.records import FORMAT, VERSION, Header
from coaxly.logger.recording.session import Session
from coaxly.logger.recording.writer import RecordingWriter

WOBBLE = (0.3, 0.1, -0.4, 0.05, 0.3, -0.1, -0.2, -0.05)
"""Thou, at eight stations: out of round as usual. A bore that is rounder than its readings scatter could not be told
from a crank that stands still."""


def typed(path: Path, vector: Sequence[float], *, unit: str = "in", **header: str) -> Path:
    """A small sealed and finished recording of eight typed readings, of a bore off by `vector` thou."""
    head = Header(
        format=FORMAT,
        version=VERSION,
        created="2026-03-02T09:14:05Z",
        software=__version__,
        setup={"limit_mm": 0.127},
        instrument={**built_in("typed").to_header(), "unit": unit},
        angle={"mode": "entered", "stations": 8},
        **header,
    )
    clock, pipeline = HandClock(), Pipeline(head)
    with RecordingWriter(path, head) as writer:
        session = Session(writer, clock, lambda record: pipeline.feed((record,)))
        for k, wobble in enumerate(WOBBLE):
            clock.t += 1.0
            th = math.radians(45.0 * k)
            thou = wobble - vector[0] * math.sin(th) - vector[1] * math.cos(th)
            session.raw("indicator", f"{thou / 1000.0:.5f}\n".encode())
            session.station(45.0 * k)
        session.finish(pipeline.result().to_dict(), MODEL)
    return path


def job(
    shop: Path,
    name: str,
    *records: Record,
    found: Sequence[float] | None = None,
    **details: object,
) -> Path:
    """A job folder. found: the bore as it was swept, thou; records come before that sweep."""
    folder = shop / f"2026-11-25-{name}"
    folder.mkdir(parents=True)
    (folder / "job.toml").write_text(tomli_w.dumps({"title": name, **details}))
    journal: list[Record] = [Opened(time="2026-11-25T10:00:00Z", title=name), *records]
    if found is not None:
        typed(folder / "found-1.jsonl", found, job=name, stage="found")
        journal.append(Sweep(time="2026-11-25T10:10:00Z", file="found-1.jsonl", stage="found"))
    (folder / "journal.jsonl").write_bytes(b"".join(msgspec.json.encode(each) + b"\n" for each in journal))
    return folder
