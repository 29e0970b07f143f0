"""Hostile input: every file, name, line and byte ends in one clear error or a right result; never a
traceback, a hang or unbounded memory.

    python tests/bench/fuzz.py [--inputs 100000] [--seed 1]

Recordings (some whole, with result, end and seals made to fit what was broken), profiles, kits, settings,
job names, operator lines and serial bytes are made from good ones by breaking them at random, and from
nothing. What is counted: inputs of each kind, errors in words, results, the slowest input of each kind (time
of the processor), and the memory at the end. A seed gives the same inputs again: long runs are made in slices.
"""

import argparse
import asyncio
import contextlib
import functools
import hashlib
import io
import json
import random
import resource
import tempfile
import time
from collections import Counter
from pathlib import Path

from coaxly.entry.kits import load_kits
from coaxly.entry.lengths import LengthError
from coaxly.entry.preferences import load_preferences
from coaxly.errors import CommandError
from coaxly.fitter.errors import FitterError
from coaxly.job.recorded.pipeline import Pipeline, replay
from coaxly.job.steps.audit import BAD, OPEN, audit
from coaxly.job.sweep.begin import free_path, new_header
from coaxly.job.sweep.run import SweepRun
from coaxly.job.sweep.schedule import Plan
from coaxly.logger.errors import LoggerError
from coaxly.logger.line.decoder import LONGEST_LINE, Decoder
from coaxly.logger.profile import BUILT_IN, built_in, load
from coaxly.logger.recording.reader import RecordingReader
from coaxly.logger.recording.writer import RecordingWriter
from coaxly.output import UNSAFE, clean
from coaxly.plain.plainlines import obey
from coaxly.plain.typedlines import TypedLines
from coaxly.say.sweep.sweepwords import told

WORDS = (LoggerError, FitterError, LengthError, CommandError)

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
    b"pattern = '(a+)+$'\n", b"x = " + b"[" * 800 + b"\n", b'theme = "dark"\n', b'take_keys = ["space"]\n',
    b'kit = "5thou"\n', b'tolerance = "' + b"9" * 300 + b'thou"\n', b"baud = 0x" + b"f" * 5000 + b"\n",
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


@functools.cache
def result_line(folder):
    """What the whole recording comes to, to be stored in it."""
    path = folder / "whole.jsonl"
    path.write_bytes(b"\n".join([HEADER, *LINES[:6]]) + b"\n")
    result = json.loads(json.dumps(replay(path).result().to_dict()))
    return json.dumps({"t": 3.2, "kind": "result", "result": result}).encode()


def whole(dice, folder):
    """A finished recording with its result, broken, and mostly sealed anew so that what is broken is read."""
    lines = [HEADER, *LINES[:6], result_line(folder)]
    k = dice.randrange(len(lines))
    lines[k] = broken(dice, lines[k])
    data = b"\n".join(lines) + b"\n"
    for kind in ("end", "seal"):
        digest = hashlib.sha256(data).hexdigest()
        count = {"end": "records", "seal": "lines"}[kind]
        data += (
            json.dumps({"kind": kind, "t": 3.2, count: data.count(b"\n"), "sha256": digest}).encode() + b"\n"
        )
    return data if dice.random() < 0.8 else broken(dice, data)


def toml(dice):
    """A profile or kit, mostly broken."""
    data = b"".join(dice.choice(TOML) for _ in range(dice.randrange(1, 6)))
    return data if dice.random() < 0.3 else broken(dice, data)


def serial_bytes(dice):
    """What may come down a line."""
    pieces = [b"+00.123\r\n", b"45,0.1\n", b"A 1\r", b"1,5 mm\n", b"9" * 400, *NASTY]
    return b"".join(dice.choice(pieces) if dice.random() < 0.8 else dice.randbytes(12) for _ in range(8))


def words(dice):
    """What may be typed, or stand in a name."""
    pieces = ["station 45", "station", "note ", "undo", "", "done?", "1,5", "+0.1", "\udcff", "\x1b[2J", "\u202e", "../",
              "-blue", "9" * 5000, "9" * 60_000 + "x", "nan", "inf", "station 1e308", "station nan", "\x00", "CON", " ", "\u00e4"]  # fmt: skip
    text = "".join(dice.choice(pieces) for _ in range(dice.randrange(1, 4)))
    return text if dice.random() < 0.7 else text + dice.randbytes(6).decode("utf-8", "surrogateescape")


def a_recording(dice, folder):
    path = folder / "r.jsonl"
    path.write_bytes(recording(dice) if dice.random() < 0.5 else whole(dice, folder))
    found = audit(path)
    assert found.state in ("ok", *OPEN, *BAD) and found.state != "failed", found
    json.dumps(found.to_dict(), allow_nan=False)
    json.dumps(replay(path).result().to_dict(), allow_nan=False)


def a_table(loader):
    def attempt(dice, folder):
        path = folder / "p.toml"
        path.write_bytes(toml(dice))
        loader(path)

    return attempt


def serial(dice, folder):
    decoder = Decoder(built_in(dice.choice(BUILT_IN)))
    decoder.feed(serial_bytes(dice), 0.0)
    list(decoder.events())
    assert len(decoder._rest) <= LONGEST_LINE


def a_name(dice, folder):
    name, stage = words(dice), words(dice)
    path = free_path(name, stage)
    assert path.parent == Path() and not UNSAFE.search(path.name)
    writer = RecordingWriter(folder / path.name, new_header(job=name, stage=stage))
    writer.finish()
    with RecordingReader(folder / path.name) as reader:
        assert (reader.header.job, reader.header.stage) == (name, stage)
    (folder / path.name).unlink()


def operator_lines(dice, folder):
    path = folder / "s.jsonl"
    path.unlink(missing_ok=True)
    profile = dice.choice(["typed", "stream-decimal"])
    header = new_header(
        instrument={"profile": profile, "unit": "mm"}, angle={"mode": "entered", "stations": 4}
    )
    ticks = iter(range(1_000_000))
    run = SweepRun("x", Pipeline(header), RecordingWriter(path, header), lambda: 0.1 * next(ticks), Plan(4))

    async def session():
        said = []
        run.listen(lambda news: said.append(told(news)))
        for _ in range(6):
            if dice.random() < 0.5:
                run.session.raw("indicator", serial_bytes(dice)[:600])
            line = words(dice).strip()
            if profile == "typed":
                TypedLines(run, dice.choice(["", "thou", "um"])).take(line)
                continue
            task = asyncio.ensure_future(obey(run, line))
            for _ in range(3):
                await asyncio.sleep(0)
            task.cancel()
            await asyncio.gather(task, return_exceptions=True)
            if not task.cancelled():
                task.result()
        run.finish()
        return said

    for line in asyncio.run(session()):
        assert not UNSAFE.search(clean(line))
    assert audit(path).state in ("ok", "unfinished"), audit(path)


KINDS = {
    "recordings": a_recording,
    "profiles": a_table(lambda path: load(str(path))),
    "kits": a_table(lambda path: load_kits(str(path))),
    "settings": a_table(load_preferences),
    "serial bytes": serial,
    "names": a_name,
    "operator lines": operator_lines,
}
WEIGHTS = (8, 2, 2, 2, 4, 1, 1)


def try_one(dice, folder, attempt):
    """One input; returns "words" or "result". Anything else that is raised is a bug."""
    try:
        attempt(dice, folder)
    except WORDS as error:
        assert str(error)
        return "words"
    return "result"


def run(inputs, seed=1, attempts=KINDS, weights=WEIGHTS):
    """Counts of outcomes, of kinds, and the slowest input of each kind in seconds of the processor. attempts: at an
    input of each kind, by its name; weights: how often."""
    dice = random.Random(seed)
    counts, kinds, slowest = {"words": 0, "result": 0}, Counter(), dict.fromkeys(attempts, 0.0)
    unread = io.StringIO()
    with tempfile.TemporaryDirectory() as name, contextlib.redirect_stderr(unread):
        folder = Path(name)
        for k in range(inputs):
            unread.truncate(0)
            kind = dice.choices(list(attempts), weights)[0]
            state = dice.getstate()
            start = time.process_time()
            try:
                counts[try_one(dice, folder, attempts[kind])] += 1
            except Exception as error:
                raise AssertionError(f"input {k} of seed {seed} ({kind}): {state[1][:2]}") from error
            kinds[kind] += 1
            slowest[kind] = max(slowest[kind], time.process_time() - start)
    return counts, kinds, slowest


def main(attempts=KINDS, weights=WEIGHTS) -> None:
    """Print the counts."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--inputs", type=int, default=100_000)
    parser.add_argument("--seed", type=int, default=1)
    arguments = parser.parse_args()
    counts, kinds, slowest = run(arguments.inputs, arguments.seed, attempts, weights)
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(
        f"seed {arguments.seed}: {arguments.inputs} inputs, {counts['words']} errors in words, "
        f"{counts['result']} results, 0 tracebacks; memory {memory:.0f} MiB"
    )
    for kind, count in kinds.items():
        print(f"  {count:7d} {kind}, slowest {1e3 * slowest[kind]:.0f} ms")


if __name__ == "__main__":
    main()
