"""From bytes to readings, and from a file to a result, beside the same work written as well by hand.

    python tests/bench/pipeline.py [--readings 100000]

CPU time, medians of turns taken in alternation, one thread each. Peers: a loop over the lines of a chunk that
trusts each of them, and one that looks at each first, as ours does (decoding); json line by line and padasip's recursive least squares;
and msgspec's Structs, all numbers of the file by one float each, and one numpy lstsq at the end (a
recording whose lines carry the angle; the same with numpy.interp between the encoder's values). What a
line costs live, through thread, file and hash, and how late it is, is in livesweep.py.
"""

import argparse
import json
import math
import re
import tempfile
from pathlib import Path

import msgspec
import numpy as np
from peers import begin, peer, rounds

from coaxly.fitter.numeric.basis import harmonic_rows
from coaxly.job.recorded.pipeline import replay
from coaxly.job.sweep.begin import new_header
from coaxly.logger.line.decoder import Decoder
from coaxly.logger.profile import DECIMAL, PAIR, built_in
from coaxly.logger.recording.records import ENCODER, INDICATOR

BLOCK = 1 << 16
TIMES = 20


class Line(msgspec.Struct):
    """What the peer needs of a record."""

    kind: str
    t: float = 0.0
    port: str = ""
    data: str = ""


_LINES = msgspec.json.Decoder(Line)


def lines(n, mode):
    """(t, port, text) of a crank turned at 10 degrees a second, 1,000 readings a second, as instruments
    write them: with signs and leading zeros."""
    noise = np.random.default_rng(1).normal(0, 0.002, n).tolist()
    for k in range(n):
        deg, t = 0.01 * k, k / 1000
        value = 0.1 * math.cos(math.radians(deg - 40.0)) + noise[k]
        text = f"{value:+09.4f}\r\n"
        yield t, INDICATOR, f"{deg % 360:+08.2f},{text}" if mode == "combined" else text
        if mode == "encoder":
            yield t + 0.0005, ENCODER, f"A {(deg + 0.005) % 360:07.3f}\r\n"


def write(path, n, mode):
    """A long continuous sweep."""
    profile = "angle-and-value" if mode == "combined" else "stream-decimal"
    head = new_header(instrument={"profile": profile, "unit": "mm"}, angle={"mode": mode})
    first = {"kind": "header", "format": head.format, "version": 1}
    with path.open("w") as file:
        file.write(json.dumps({**first, "instrument": head.instrument, "angle": head.angle}) + "\n")
        for t, port, text in lines(n, mode):
            file.write(json.dumps({"t": round(t, 6), "kind": "raw", "port": port, "data": text}) + "\n")


def read_line_by_line(path):
    """Degrees and readings as one writes it at first."""
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
    return between(np.array(dial_t), np.array(t), np.array(deg)), np.array(value)


def read_at_once(path):
    """The same as one writes it for speed."""
    records = [each for each in _LINES.decode_lines(path.read_bytes()) if each.port]
    dial = [each for each in records if each.port == INDICATOR]
    text = "".join([each.data for each in dial])
    found = np.array(list(map(float, text.replace(",", " ").split())))
    if "," in text:
        return np.unwrap(found[0::2], period=360.0), found[1::2]
    encoder = [each for each in records if each.port == ENCODER]
    deg = np.array(list(map(float, "".join([each.data for each in encoder]).replace("A", "").split())))
    times = (np.array([each.t for each in port]) for port in (dial, encoder))
    return between(*times, deg), found


def between(dial_t, t, deg):
    """Angles at the times of readings."""
    degrees = np.unwrap(deg, period=360.0)
    return np.interp(dial_t, t, degrees) if len(t) else degrees


def batch(path):
    """One least squares at the end."""
    deg, value = read_at_once(path)
    return np.linalg.lstsq(harmonic_rows(deg, 2), value, rcond=None)[0]


def recursive(path, padasip):
    """Recursive least squares over all readings."""
    deg, value = read_line_by_line(path)
    return padasip.filters.FilterRLS(5, mu=0.9999).run(value, harmonic_rows(deg, 2))


def decode(profile, data):
    """Bytes to readings by this project."""
    decoder = Decoder(profile)
    decoder.feed(data, 0.0)
    return list(decoder.events())


def trusting(data, pair):
    """Bytes to an array by somebody who believes every line."""
    if pair:
        return np.array([[float(number) for number in line.split(b",")] for line in data.split()])
    return np.array([float(line) for line in data.split()])


def looking(data, pattern):
    """The same by somebody who has seen half a line."""
    matches = map(pattern.fullmatch, data.split(b"\r\n"))
    return np.array([[float(number) for number in match.groups()] for match in matches if match])


def print_decoding() -> None:
    """Blocks against the loops."""
    for mode, profile, pattern in (
        ("entered", "stream-decimal", DECIMAL),
        ("combined", "angle-and-value", PAIR),
    ):
        data = "".join(line for _, _, line in lines(8000, mode)).encode()[:BLOCK]
        data = data[: data.rindex(b"\n") + 1]
        ours, pair, each = built_in(profile), mode == "combined", re.compile(pattern.encode())
        (block,) = decode(ours, data)
        assert np.array_equal(trusting(data, pair).reshape(len(block), -1)[:, -1], block.value)
        assert np.array_equal(looking(data, each)[:, -1], block.value)
        actions = {
            "ours": lambda ours=ours, data=data: decode(ours, data),
            "trusting": lambda data=data, pair=pair: trusting(data, pair),
            "looking": lambda data=data, each=each: looking(data, each),
        }
        spent = rounds({name: lambda action=action: [action() for _ in range(TIMES)]
                        for name, action in actions.items()})  # fmt: skip
        print(f"decode 64 KiB, {profile}: a loop that looks at each line takes "
              f"{spent['looking'] / spent['ours']:.1f} times as long, one that trusts it "
              f"{spent['trusting'] / spent['ours']:.1f} ({1e9 * spent['ours'] / TIMES / len(block):.0f} ns a line)")  # fmt: skip


def print_replays(n) -> None:
    """File to result: corrections, error bars, doubts and all; the peers stop at the vector."""
    padasip = peer("padasip")
    with tempfile.TemporaryDirectory() as folder:
        for mode in ("combined", "encoder"):
            path = Path(folder) / f"{mode}.jsonl"
            write(path, n, mode)
            x, y = replay(path).result().eccentricity.vector
            assert np.allclose(batch(path)[1:3], (-y, -x), atol=1e-4)
            spent = rounds(
                {
                    "ours": lambda path=path: replay(path).result(),
                    "padasip": lambda path=path: recursive(path, padasip),
                    "lstsq": lambda path=path: batch(path),
                }
            )
            print(f"file to result, {mode}, {n} readings: json + padasip takes "
                  f"{spent['padasip'] / spent['ours']:.1f} times as long, msgspec + lstsq "
                  f"{spent['lstsq'] / spent['ours']:.2f} ({1e6 * spent['ours'] / n:.2f} us a reading)")  # fmt: skip


def main() -> None:
    """Print all of it."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--readings", type=int, default=100_000)
    readings = parser.parse_args().readings
    begin()
    print_decoding()
    print_replays(readings)


if __name__ == "__main__":
    main()
