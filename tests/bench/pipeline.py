"""From file to result, and from a byte on the line to an estimate that includes it.

    python tests/bench/pipeline.py

File to result: a recording of 500,000 readings, one a line, against the general-purpose way (json
line by line, float, one numpy lstsq at the end). Byte to estimate: a pseudo-terminal at 1,000 readings
a second through pyserial-asyncio, the recording and the fitter, with an estimate after every one.
"""

import asyncio
import json
import math
import os
import pty
import tempfile
import time
import tty
from pathlib import Path

import numpy as np

from fitter.basis import harmonic_rows
from logger.clock import SessionClock
from logger.profile import built_in
from logger.records import INDICATOR
from logger.serialport import SerialSource
from logger.session import Session
from logger.writer import RecordingWriter
from tui.headers import new_header
from tui.pipeline import Pipeline, replay

N = 500_000


def write(path):
    """A long continuous sweep."""
    rng = np.random.default_rng(1)
    with path.open("w") as file:
        head = {"kind": "header", "format": "coaxly-recording", "version": 1, "angle": {"mode": "combined"}}
        file.write(json.dumps({**head, "instrument": {"profile": "angle-and-value"}}) + "\n")
        noise = rng.normal(0, 0.002, N)
        for k in range(N):
            deg = k * 0.01
            value = 0.1 * math.cos(math.radians(deg - 40)) + noise[k]
            data = f"{deg % 360:.2f},{value:.4f}\\r\\n"
            file.write(f'{{"t":{k / 1000:.6f},"kind":"raw","port":"indicator","data":"{data}"}}\n')


def plain_way(path):
    """What one would write without this project."""
    deg, value = [], []
    with path.open() as file:
        for line in file:
            record = json.loads(line)
            if record["kind"] == "raw":
                a, v = record["data"].split(",")
                deg.append(float(a))
                value.append(float(v))
    return np.linalg.lstsq(harmonic_rows(np.array(deg), 2), np.array(value), rcond=None)[0]


async def latency(seconds=5.0, rate=1000.0):
    """Milliseconds from writing a line to an estimate that includes it."""
    ours, theirs = pty.openpty()
    for end in (ours, theirs):
        tty.setraw(end)
    header = new_header(instrument={"profile": "angle-and-value"}, angle={"mode": "combined"})
    pipeline = Pipeline(header)
    sent, delays = {}, []
    with tempfile.TemporaryDirectory() as folder, RecordingWriter(Path(folder) / "r.jsonl", header) as writer:
        session = Session(writer, SessionClock(), lambda record: pipeline.feed((record,)))

        def arrived(data):
            session.raw(INDICATOR, data)
            pipeline.fitter.estimate()
            now = time.perf_counter()
            done = [count for count in sent if count <= pipeline.fitter.samples]
            delays.extend(1e3 * (now - sent.pop(count)) for count in done)

        source = SerialSource(os.ttyname(theirs), built_in("angle-and-value"), arrived, lambda state: None)
        await source.open()
        start = time.perf_counter()
        for k in range(int(seconds * rate)):
            deg = 72.0 * k / rate
            sent[k + 1] = time.perf_counter()
            os.write(ours, f"{deg % 360:.2f},{0.1 * math.cos(math.radians(deg)):.4f}\r\n".encode())
            await asyncio.sleep(max(start + (k + 1) / rate - time.perf_counter(), 0.0))
        await asyncio.sleep(0.1)
        source.close()
    os.close(ours)
    os.close(theirs)
    return np.array(delays)


def main() -> None:
    """Print both."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "long.jsonl"
        write(path)
        replay(path).result()
        start = time.perf_counter()
        replay(path).result()
        ours = time.perf_counter() - start
        start = time.perf_counter()
        plain_way(path)
        plain = time.perf_counter() - start
    print(f"file to result: {N / ours / 1e3:.0f} k readings/s; json + float + lstsq {N / plain / 1e3:.0f} k/s; "
          f"{plain / ours:.1f}x")  # fmt: skip
    delays = asyncio.run(latency())
    p50, p99, most = np.percentile(delays, [50, 99, 100])
    print(
        f"byte to estimate at 1,000/s over {len(delays)} readings: p50 {p50:.2f} ms, p99 {p99:.2f}, most {most:.2f}"
    )


if __name__ == "__main__":
    main()
