"""From bytes to readings, from file to result, and from a byte on the line to an estimate that includes it.

    python tests/bench/pipeline.py [--readings 100000]

CPU time, medians of 9 turns taken in alternation. Peers, each in the same run: `re` and float line by
line (decoding); json line by line, float and padasip's recursive least squares, or one numpy lstsq at the
end (a recording whose lines carry the angle); the same with numpy.interp between the encoder's values.
Live lines go one by one through pipeline, line watch and steady watch. Byte to estimate: a
pseudo-terminal at 1,000 readings a second through pyserial-asyncio, the recording and the fitter, with an
estimate after every one.
"""

import argparse
import asyncio
import json
import math
import os
import pty
import re
import tempfile
import time
import tty
from pathlib import Path

import numpy as np
from peers import peer, rounds

from coaxly.fitter.numeric.basis import harmonic_rows
from coaxly.job.recorded.header import new_header
from coaxly.job.recorded.pipeline import Pipeline, replay
from coaxly.logger.clock import SessionClock
from coaxly.logger.line.decoder import Decoder
from coaxly.logger.port.serialport import SerialSource
from coaxly.logger.profile import DECIMAL, PAIR, built_in
from coaxly.logger.recording.records import ENCODER, INDICATOR, Raw
from coaxly.logger.recording.session import Session
from coaxly.logger.recording.writer import RecordingWriter
from coaxly.logger.watch.linewatch import LineWatch
from coaxly.logger.watch.steady import SteadyWatch

BLOCK = 1 << 16
LIVE = 2_000


def value_at(deg):
    """What the dial shows in a bore that is 0.1 mm off."""
    return 0.1 * math.cos(math.radians(deg - 40.0))


def lines(n, mode):
    """(t, port, text) of a crank turned at 10 degrees a second, 1,000 readings a second."""
    noise = np.random.default_rng(1).normal(0, 0.002, n).tolist()
    for k in range(n):
        deg, t = 0.01 * k, k / 1000
        value = value_at(deg) + noise[k]
        yield (
            t,
            INDICATOR,
            f"{deg % 360:.2f},{value:.4f}\r\n" if mode == "combined" else f"{value:+09.4f}\r\n",
        )
        if mode == "encoder":
            yield t + 0.0005, ENCODER, f"A {(deg + 0.005) % 360:.3f}\r\n"


def header(mode):
    """Of a recording in one of the modes."""
    profile = "angle-and-value" if mode == "combined" else "stream-decimal"
    return new_header(instrument={"profile": profile, "unit": "mm"}, angle={"mode": mode})


def write(path, n, mode):
    """A long continuous sweep."""
    with path.open("w") as file:
        head = header(mode)
        first = {"kind": "header", "format": head.format, "version": 1}
        file.write(json.dumps({**first, "instrument": head.instrument, "angle": head.angle}) + "\n")
        for t, port, text in lines(n, mode):
            file.write(json.dumps({"t": round(t, 6), "kind": "raw", "port": port, "data": text}) + "\n")


def plainly_read(path):
    """Degrees and readings as one would read them without this project."""
    deg, value, dial_t, t = [], [], [], []
    with path.open() as file:
        for line in file:
            record = json.loads(line)
            if record["kind"] != "raw":
                continue
            text = record["data"]
            if record["port"] == "encoder":
                t.append(record["t"])
                deg.append(float(text[2:]))
            elif "," in text:
                angle, reading = text.split(",")
                deg.append(float(angle))
                value.append(float(reading))
            else:
                dial_t.append(record["t"])
                value.append(float(text))
    degrees = np.unwrap(deg, period=360.0)
    return np.interp(dial_t, t, degrees) if t else degrees, np.array(value)


def batch(path):
    """One least squares at the end."""
    deg, value = plainly_read(path)
    return np.linalg.lstsq(harmonic_rows(deg, 2), value, rcond=None)[0]


def recursive(path, padasip):
    """Recursive least squares over all readings."""
    deg, value = plainly_read(path)
    return padasip.filters.FilterRLS(5, mu=0.9999).run(value, harmonic_rows(deg, 2))


def decode(profile, data):
    """Bytes to readings by this project."""
    decoder = Decoder(profile)
    decoder.feed(data, 0.0)
    return list(decoder.events())


def decode_plainly(pattern, data):
    """Bytes to an array by a regular expression and float, line by line."""
    found = (pattern.fullmatch(line) for line in data.split(b"\r\n"))
    return np.array([tuple(map(float, match.groups())) for match in found if match])


def live(mode, records):
    """Every record by itself through what a live sweep sends it through."""
    pipeline, line, steady = Pipeline(header(mode)), LineWatch(), SteadyWatch(0.5, 0.01)
    pipeline.heard = lambda block: (steady.readings(block), line.readings(block))
    for record in records:
        pipeline.feed((record,))


def print_decoding() -> None:
    """Blocks against the peer, and a line by itself."""
    for mode, profile, text in (
        ("entered", "stream-decimal", DECIMAL),
        ("combined", "angle-and-value", PAIR),
    ):
        data = "".join(line for _, _, line in lines(8000, mode)).encode()[:BLOCK]
        ours, pattern, count = built_in(profile), re.compile(text.encode()), data.count(b"\n")
        spent = rounds(
            {
                "ours": lambda ours=ours, data=data: [decode(ours, data) for _ in range(10)],
                "re": lambda pattern=pattern, data=data: [decode_plainly(pattern, data) for _ in range(10)],
            }
        )
        rate = {name: 10 * count / t / 1e6 for name, t in spent.items()}
        print(f"decode 64 KiB, {profile}: {rate['ours']:.1f} M lines/s, re + float {rate['re']:.2f}: "
              f"{rate['ours'] / rate['re']:.1f}x")  # fmt: skip
    decoder = Decoder(built_in("stream-decimal"))
    single = [line.encode() for _, _, line in lines(LIVE, "entered")]

    def one_by_one():
        for line in single:
            decoder.feed(line, 0.0)
            list(decoder.events())

    print(f"decode one line a block: {1e6 * rounds({'ours': one_by_one})['ours'] / LIVE:.1f} us")


def print_live() -> None:
    """A line as it comes live."""
    for mode in ("entered", "combined", "encoder"):
        records = [Raw(*line) for line in lines(LIVE, mode)]
        spent = rounds({"ours": lambda mode=mode, records=records: live(mode, records)})["ours"]
        print(f"live line, {mode}: {1e6 * spent / len(records):.1f} us")


def print_replays(n) -> None:
    """File to result."""
    padasip = peer("padasip")
    with tempfile.TemporaryDirectory() as folder:
        for mode in ("combined", "encoder"):
            path = Path(folder) / f"{mode}.jsonl"
            write(path, n, mode)
            spent = rounds(
                {
                    "ours": lambda path=path: replay(path).result(),
                    "padasip": lambda path=path: recursive(path, padasip),
                    "lstsq": lambda path=path: batch(path),
                }
            )
            print(f"replay to result, {mode}, {n} readings: {spent['ours']:.2f} s; json + padasip "
                  f"{spent['padasip']:.2f} s: {spent['padasip'] / spent['ours']:.1f}x; json + lstsq "
                  f"{spent['lstsq'] / spent['ours']:.1f}x")  # fmt: skip


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
    """Print all of it."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--readings", type=int, default=100_000)
    readings = parser.parse_args().readings
    print_decoding()
    print_live()
    print_replays(readings)
    delays = asyncio.run(latency())
    p50, p99, most = np.percentile(delays, [50, 99, 100])
    print(
        f"byte to estimate at 1,000/s over {len(delays)} readings: p50 {p50:.2f} ms, p99 {p99:.2f}, most {most:.2f}"
    )


if __name__ == "__main__":
    main()
