"""Kill a running sweep at random moments: is everything older than a second in the file?

    python tests/bench/durability.py [--kills 200]

A child process runs a real sweep of a pseudo-terminal on which this process writes numbered readings
and notes when. It is killed with SIGKILL; then the file is read back, and the readings that were sent
more than a second before but are not there are counted.
"""

import argparse
import asyncio
import os
import pty
import random
import signal
import tempfile
import time
import tty
from collections import Counter
from pathlib import Path

from coaxly.job.recorded.pipeline import Pipeline
from coaxly.job.sweep.begin import new_header
from coaxly.job.sweep.run import SweepRun
from coaxly.job.sweep.schedule import Plan
from coaxly.logger.clock import SessionClock
from coaxly.logger.errors import RecordingError
from coaxly.logger.profile import built_in
from coaxly.logger.recording.reader import RecordingReader
from coaxly.logger.recording.records import INDICATOR, Raw
from coaxly.logger.recording.seals import check_seals
from coaxly.logger.recording.writer import RecordingWriter

RATE = 200.0


def killed(path: Path, moment: float):
    """(readings sent, readings lost that were sent over a second before the kill, what its seals say, or
    "unreadable")."""
    ours, theirs = pty.openpty()
    for end in (ours, theirs):
        tty.setraw(end)
    name = os.ttyname(theirs)
    ready, tell = os.pipe()
    child = os.fork()
    if child == 0:
        _child(path, name, tell)
    os.close(tell)
    os.read(ready, 1)
    os.close(ready)
    time.sleep(0.06)
    sent = []
    start = time.monotonic()
    while (now := time.monotonic() - start) < 1.0 + moment:
        os.write(ours, f"+{len(sent):06d}\r\n".encode())
        sent.append(now)
        time.sleep(1.0 / RATE)
    os.kill(child, signal.SIGKILL)
    end = time.monotonic() - start
    os.waitpid(child, 0)
    os.close(ours)
    os.close(theirs)
    text = ""
    try:
        state = check_seals(path).state
        for block in RecordingReader(path).blocks():
            text += "".join(record.data for record in block if isinstance(record, Raw))
    except RecordingError:
        state = "unreadable"
    have = {int(line) for line in text.split("\r\n")[:-1] if line.strip("+").isdigit()}
    lost = [k for k, t in enumerate(sent) if t < end - 1.0 and k not in have]
    # The first line after opening may be dropped by the decoder, but it is in the file all the same.
    return len(sent), len(lost), state


def _child(path: Path, name: str, tell: int) -> None:
    header = new_header(angle={"mode": "entered", "stations": 8})
    run = SweepRun("x", Pipeline(header), RecordingWriter(path, header), SessionClock(), Plan())

    async def main() -> None:
        run.sources = {INDICATOR: (name, built_in("stream-decimal"))}
        task = asyncio.create_task(run.play())
        while run.view().link != "up":
            await asyncio.sleep(0.002)
        os.write(tell, b"x")
        await task

    try:
        asyncio.run(main())
    finally:
        os._exit(1)


def main() -> None:
    """Print how many were lost."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kills", type=int, default=200)
    kills = parser.parse_args().kills
    dice, total, lost, states = random.Random(1), 0, 0, Counter()
    with tempfile.TemporaryDirectory() as folder:
        for k in range(kills):
            sent, missing, state = killed(Path(folder) / f"{k}.jsonl", dice.uniform(0.0, 1.5))
            total, lost = total + sent, lost + missing
            states[state] += 1
    print(
        f"{kills} kills, {total} readings sent, {lost} older than a second lost; files: "
        + ", ".join(f"{count} {state}" for state, count in states.items())
    )


if __name__ == "__main__":
    main()
