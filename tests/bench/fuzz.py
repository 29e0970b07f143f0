"""Hostile input: every file and byte ends in one clear error or a right result; never a traceback, a
hang or unbounded memory.

    python tests/bench/fuzz.py [--inputs 100000]

Recordings, profiles, kits and serial bytes are made from good ones by breaking them at random, and from
nothing. What is counted: inputs, errors in words, results, the slowest input, and the memory at the end.
"""

import argparse
import random
import resource
import tempfile
import time
from pathlib import Path

from fitter.errors import FitterError
from logger.decoder import LONGEST_LINE, Decoder
from logger.errors import LoggerError
from logger.profile import BUILT_IN, built_in, load
from tui.audit import BAD, OPEN, audit
from tui.kits import load_kits
from tui.lengths import LengthError
from tui.pipeline import replay

WORDS = (LoggerError, FitterError, LengthError)

HEADER = b'{"kind":"header","format":"coaxly-recording","version":1,"setup":{"closing":true},"angle":{"mode":"entered"}}'
LINES = [
    b'{"t":1.0,"kind":"raw","port":"indicator","data":"+0.1\\r\\n"}',
    b'{"t":1.1,"kind":"station","deg":0}',
    b'{"t":2.0,"kind":"raw","port":"indicator","data":"+0.0\\r\\n"}',
    b'{"t":2.1,"kind":"station","deg":120}',
    b'{"t":3.0,"kind":"raw","port":"indicator","data":"-0.1\\r\\n"}',
    b'{"t":3.1,"kind":"station","deg":240}',
    b'{"t":4.0,"kind":"undo"}',
    b'{"t":4.5,"kind":"link","port":"indicator","state":"up"}',
    b'{"t":5.0,"kind":"raw","port":"encoder","data":"A 10\\n"}',
    b'{"t":5.1,"kind":"result","result":{"tir":{}}}',
    b'{"t":5.1,"kind":"seal","lines":3,"sha256":"00"}',
]
NASTY = [
    b"1e999", b"NaN", b"-Infinity", b"1e308", b"-1e308", b"null", b"[]", b"{}", b'"\\u0000"', b'"\\ud800"', b"[" * 3000,
    b"9" * 5000, b'"\x1b[2J"', b"\xff\xfe", b"true", b"1e-320", b'"../../etc"',
]  # fmt: skip
TOML = [
    b"baud = 9600\n", b'unit = "mm"\n', b"pattern = '''(?P<value>\\d+)'''\n", b"scale = 1e400\n", b"[[size]]\n",
    b'offset = "5thou"\n', b"count = 2\n", b'labelled = "tir"\n', b"mark_deg = nan\n", b'name = "\\u001b[31m"\n',
    b"pattern = '(a+)+$'\n", b"x = " + b"[" * 800 + b"\n",
]  # fmt: skip


def broken(dice, data):
    """Some bytes flipped, cut, doubled or replaced by something nasty."""
    data = bytearray(data)
    for _ in range(dice.randrange(1, 4)):
        at = dice.randrange(len(data) + 1)
        kind = dice.randrange(5)
        if kind == 0 and data:
            data[at % len(data)] = dice.randrange(256)
        elif kind == 1:
            del data[at : at + dice.randrange(20)]
        elif kind == 2:
            data[at:at] = data[at : at + 30]
        elif kind == 3:
            data[at:at] = dice.choice(NASTY)
        else:
            digits = [k for k, byte in enumerate(data) if 48 <= byte <= 57]
            if digits:
                k = dice.choice(digits)
                data[k : k + 1] = dice.choice(NASTY)
    return bytes(data)


def recording(dice):
    """A recording, mostly broken."""
    lines = [HEADER, *(dice.choice(LINES) for _ in range(dice.randrange(12)))]
    if dice.random() < 0.5:
        lines = [HEADER, *LINES[:6], *lines[1:]]
    data = b"\n".join(lines) + (b"\n" if dice.random() < 0.8 else b"")
    return data if dice.random() < 0.1 else broken(dice, data)


def toml(dice):
    """A profile or kit, mostly broken."""
    data = b"".join(dice.choice(TOML) for _ in range(dice.randrange(1, 6)))
    return data if dice.random() < 0.3 else broken(dice, data)


def serial_bytes(dice):
    """What may come down a line."""
    pieces = [b"+00.123\r\n", b"45,0.1\n", b"A 1\r", b"1,5 mm\n", b"9" * 400, *NASTY]
    return b"".join(dice.choice(pieces) if dice.random() < 0.8 else dice.randbytes(12) for _ in range(8))


def try_one(dice, folder):
    """One input; returns "words" or "result". Anything else that is raised is a bug."""
    kind = dice.randrange(4)
    if kind == 3:
        decoder = Decoder(built_in(dice.choice(BUILT_IN)))
        decoder.feed(serial_bytes(dice), 0.0)
        list(decoder.events())
        assert len(decoder._rest) <= LONGEST_LINE
        return "result"
    path = folder / ("r.jsonl" if kind == 0 else "p.toml")
    path.write_bytes(recording(dice) if kind == 0 else toml(dice))
    try:
        if kind == 0:
            state = audit(path).state
            assert state in ("ok", *OPEN, *BAD) and state != "failed", audit(path)
            replay(path).result().to_dict()
        elif kind == 1:
            load(str(path))
        else:
            load_kits(str(path))
    except WORDS as error:
        assert str(error)
        return "words"
    return "result"


def run(inputs, seed=1):
    """Counts of outcomes and the slowest input in seconds."""
    dice = random.Random(seed)
    counts, slowest = {"words": 0, "result": 0}, 0.0
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for _ in range(inputs):
            start = time.perf_counter()
            counts[try_one(dice, folder)] += 1
            slowest = max(slowest, time.perf_counter() - start)
    return counts, slowest


def main() -> None:
    """Print the counts."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--inputs", type=int, default=100_000)
    inputs = parser.parse_args().inputs
    counts, slowest = run(inputs)
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{inputs} inputs: {counts['words']} errors in words, {counts['result']} results, 0 tracebacks; "
          f"slowest {1e3 * slowest:.0f} ms; memory {memory:.0f} MiB")  # fmt: skip


if __name__ == "__main__":
    main()
