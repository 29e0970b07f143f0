"""What the screen costs: a redraw, the answer to a key, samples dropped at 1,000 a second, idle load.

    python tests/bench/screen.py

A pseudo-terminal sends 1,000 lines a second to a live sweep shown at 120x40 without a terminal.
"""

import asyncio
import contextlib
import math
import os
import pty
import statistics
import tempfile
import threading
import time
import tty
from pathlib import Path

from logger.clock import SessionClock
from logger.profile import built_in
from logger.records import INDICATOR
from logger.writer import RecordingWriter
from tui.app import SweepApp
from tui.headers import new_header
from tui.pipeline import Pipeline
from tui.shows import LiveShow
from tui.stationplan import Plan
from tui.sweeprun import SweepRun

SECONDS = 8.0
RATE = 1000


async def measure(path, speaking):
    """Redraw times (ms), key delays (ms), process time a second, samples sent and received."""
    ours, theirs = pty.openpty()
    for end in (ours, theirs):
        tty.setraw(end)
    os.set_blocking(ours, False)
    profile = built_in("angle-and-value")
    header = new_header(instrument=profile.to_header(), angle={"mode": "combined"})
    run = SweepRun("x", Pipeline(header), RecordingWriter(path, header), SessionClock(), Plan())
    app = SweepApp(LiveShow(run, {INDICATOR: (os.ttyname(theirs), profile)}), "thou")
    sent, stop = [0], threading.Event()

    def speak():
        start = time.perf_counter()
        while not stop.is_set():
            due = int((time.perf_counter() - start) * RATE)
            lines = "".join(
                f"{(k * 0.1) % 360:.1f},{0.1 * math.cos(math.radians(k * 0.1)):.4f}\r\n"
                for k in range(sent[0], due)
            )
            with contextlib.suppress(BlockingIOError):
                os.write(ours, lines.encode())
                sent[0] = max(due, sent[0])
            time.sleep(0.002)

    redraws, delays = [], []
    async with app.run_test(size=(120, 40)):
        while run.view().link != "up":
            await asyncio.sleep(0.01)
        await asyncio.sleep(0.2)
        screen = app.screen
        plain = screen.redraw

        def timed():
            start = time.perf_counter()
            plain()
            redraws.append(1e3 * (time.perf_counter() - start))

        screen.redraw = timed
        speaker = threading.Thread(target=speak)
        if speaking:
            speaker.start()
        cpu, wall = time.process_time(), time.perf_counter()
        while time.perf_counter() - wall < SECONDS:
            await asyncio.sleep(0.5)
            if not speaking:
                continue
            unit, start = app.unit, time.perf_counter()
            app.simulate_key("m")
            while app.unit == unit:
                await asyncio.sleep(0)
            delays.append(1e3 * (time.perf_counter() - start))
            if speaking:
                timed()
        load = (time.process_time() - cpu) / (time.perf_counter() - wall)
        stop.set()
        if speaking:
            speaker.join()
        await asyncio.sleep(0.3)
        received = run.view().samples
        run.finish()
        app.exit()
    os.close(ours)
    os.close(theirs)
    return redraws, delays, load, sent[0], received


def main() -> None:
    """Print both."""
    with tempfile.TemporaryDirectory() as folder:
        redraws, delays, load, sent, received = asyncio.run(measure(Path(folder) / "a.jsonl", True))
        print(f"at {RATE}/s: redraw {statistics.median(redraws):.1f} ms (most {max(redraws):.1f}), "
              f"key {statistics.median(delays):.1f} ms (most {max(delays):.1f}), {100 * load:.0f} % of a core, "
              f"{sent} readings sent, {sent - received} not received")  # fmt: skip
        _, _, load, _, _ = asyncio.run(measure(Path(folder) / "b.jsonl", False))
        print(f"idle: {100 * load:.1f} % of a core")


if __name__ == "__main__":
    main()
