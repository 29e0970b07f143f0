"""What the screen costs, and that it never starves the line, at the first turn as at the thirtieth.

    python tests/bench/screen.py [--turns 30] [--seconds 8] [--real]

A sweep of `turns` turns at 1,000 lines a second, half a minute a turn, is shown at 120x40 without a
terminal. The turns are fed compressed, as fast as they can be decoded; after the first and after the
last a pseudo-terminal sends 1,000 lines a second in real time while the screen redraws. Printed:
CPU of a redraw (view, fit, drawing and strips), lines dropped, latency from the writing of a line to
the fit having it, the answer to a key, share of a core, memory; and last turn over first as ratios. With --real nothing is compressed: every
turn is sent in real time, a quarter of an hour for thirty, and each has its row.
"""

import argparse
import asyncio
import contextlib
import math
import os
import pty
import resource
import statistics
import sys
import tempfile
import threading
import time
import tty
from dataclasses import dataclass, field
from pathlib import Path

from coaxly.job.recorded.header import new_header
from coaxly.job.recorded.pipeline import Pipeline
from coaxly.job.shows import LiveShow
from coaxly.job.sweep.run import SweepRun
from coaxly.job.sweep.schedule import Plan
from coaxly.logger.clock import SessionClock
from coaxly.logger.profile import built_in
from coaxly.logger.recording.records import INDICATOR
from coaxly.logger.recording.writer import RecordingWriter
from coaxly.screens.app import SweepApp

RATE = 1000
TURN_S = 30.0
CHUNK = 50
REDRAWS = 40


@dataclass
class Found:
    """One span in real time: CPU ms of each redraw, seconds of latency, ms of each key, and the rest."""

    redraws: list[float] = field(default_factory=list)
    latencies: list[float] = field(default_factory=list)
    keys: list[float] = field(default_factory=list)
    load: float = 0.0
    sent: int = 0
    received: int = 0
    rss_mib: float = 0.0


def line(k: int) -> str:
    """The k-th line: an oval bore, a crank that takes TURN_S for a turn."""
    deg = k / RATE / TURN_S * 360.0
    rad = math.radians(deg)
    return f"{deg % 360.0:.2f},{0.1 * math.cos(rad) + 0.02 * math.cos(2.0 * rad):.4f}\r\n"


class Speaker:
    """Sends lines on a pseudo-terminal in real time and remembers when each was written."""

    def __init__(self, fd: int, first: int):
        self.fd, self.first = fd, first
        self.sent = self.unheard = 0
        self.written: list[float] = []
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._speak)
        self._thread.start()

    def _speak(self):
        start = time.perf_counter()
        while not self._stop.is_set():
            due = int((time.perf_counter() - start) * RATE)
            data = "".join(line(self.first + k) for k in range(self.sent, due)).encode()
            try:
                if data and os.write(self.fd, data) < len(data):
                    self.unheard += 1
            except BlockingIOError:
                self.unheard += due - self.sent
            self.written += [time.perf_counter()] * (due - self.sent)
            self.sent = max(due, self.sent)
            time.sleep(0.002)

    def stop(self):
        self._stop.set()
        self._thread.join()


def redraw_cpu(screen) -> float:
    """CPU ms of one redraw, strips of the drawn widgets included."""
    drawn = [screen.query_one(name) for name in ("#reading", "#plot", "#trace")]
    start = time.thread_time()
    screen.redraw()
    for widget in drawn:
        widget.stale()
        for y in range(widget.size.height):
            widget.render_line(y)
    return 1e3 * (time.thread_time() - start)


async def span(app, run, ours: int, first: int, seconds: float) -> Found:
    """Real time at 1,000 lines a second."""
    found = Found()
    screen, base = app.screen, run.pipeline.fitter.samples
    plain = run.pipeline.heard

    def heard(block):
        plain(block)
        seen[0] += len(block.value)
        if seen[0] <= len(speaker.written):
            found.latencies.append(time.perf_counter() - speaker.written[seen[0] - 1])

    seen = [0]
    speaker = Speaker(ours, first)
    run.pipeline.heard = heard
    cpu, wall = time.process_time(), time.perf_counter()
    while time.perf_counter() - wall < seconds:
        await asyncio.sleep(0.5)
        unit, start = app.unit, time.perf_counter()
        app.simulate_key("m")
        while app.unit == unit:
            await asyncio.sleep(0)
        found.keys.append(1e3 * (time.perf_counter() - start))
    found.load = (time.process_time() - cpu) / (time.perf_counter() - wall)
    speaker.stop()
    await asyncio.sleep(1.0)
    run.pipeline.heard = plain
    found.sent, found.received = speaker.sent, run.pipeline.fitter.samples - base
    for k in range(REDRAWS):
        run.session.raw(INDICATOR, line(first + speaker.sent + k).encode())
        found.redraws.append(redraw_cpu(screen))
    found.rss_mib = resident_mib()
    return found


def resident_mib() -> float:
    """Resident memory now; where the system does not say, the most so far."""
    with contextlib.suppress(OSError):
        return int(Path("/proc/self/statm").read_text().split()[1]) * os.sysconf("SC_PAGE_SIZE") / 2**20
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


async def feed(run, first: int, last: int):
    """Lines in chunks, as fast as they go, with the screen's turn in between."""
    for start in range(first, last, CHUNK):
        run.session.raw(INDICATOR, "".join(map(line, range(start, min(start + CHUNK, last)))).encode())
        if start % (100 * CHUNK) == 0:
            await asyncio.sleep(0)


async def turns_of(app, run, ours: int, turns: int, seconds: float) -> list[Found]:
    """A span of the first and of the last turn, what lies between fed compressed."""
    per_turn, done, found = int(RATE * TURN_S), 0, []
    for turn in (1, turns):
        until = turn * per_turn - int(seconds * RATE)
        await feed(run, done, until)
        found.append(await span(app, run, ours, until, seconds))
        done = turn * per_turn
    return found


async def real_turns(app, run, ours: int, turns: int) -> list[Found]:
    """Every turn in real time. Said as they pass, for who waits a quarter of an hour."""
    found: list[Found] = []
    sent = 0
    for turn in range(turns):
        found.append(await span(app, run, ours, sent, TURN_S))
        sent += found[-1].sent + REDRAWS
        print(row(f"turn {turn + 1}", found[-1]), file=sys.__stderr__, flush=True)
    return found


async def measure(path: Path, turns: int, seconds: float, real: bool) -> tuple[list[Found], float]:
    """The spans, and the share of a core of an idle screen."""
    ours, theirs = pty.openpty()
    for end in (ours, theirs):
        tty.setraw(end)
    os.set_blocking(ours, False)
    profile = built_in("angle-and-value")
    header = new_header(instrument={**profile.to_header(), "unit": "mm"}, angle={"mode": "combined"})
    run = SweepRun("x", Pipeline(header), RecordingWriter(path, header), SessionClock(), Plan())
    app = SweepApp(LiveShow(run, {INDICATOR: (os.ttyname(theirs), profile)}), "thou")
    async with app.run_test(size=(120, 40)):
        while run.view().link != "up":
            await asyncio.sleep(0.01)
        await asyncio.sleep(0.5)
        cpu, wall = time.process_time(), time.perf_counter()
        await asyncio.sleep(3.0)
        idle = (time.process_time() - cpu) / (time.perf_counter() - wall)
        if real:
            found = await real_turns(app, run, ours, turns)
        else:
            found = await turns_of(app, run, ours, turns, seconds)
        run.finish()
        app.exit()
    os.close(ours)
    os.close(theirs)
    return found, idle


def row(name: str, found: Found) -> str:
    """A span in one line."""
    latency = sorted(found.latencies) or [math.nan]
    return (
        f"{name}: redraw {statistics.median(found.redraws):.1f} ms CPU (most {max(found.redraws):.1f}), "
        f"{found.sent} lines sent, {found.sent - found.received} dropped, "
        f"latency p50 {1e3 * latency[len(latency) // 2]:.1f} p99 {1e3 * latency[int(0.99 * len(latency))]:.1f} ms, "
        f"key {statistics.median(found.keys):.1f} ms (most {max(found.keys):.1f}), "
        f"{100 * found.load:.0f} % of a core, {found.rss_mib:.0f} MiB"
    )


def main() -> None:
    """Print both spans and their ratios."""
    options = argparse.ArgumentParser()
    options.add_argument("--turns", type=int, default=30)
    options.add_argument("--seconds", type=float, default=8.0)
    options.add_argument("--real", action="store_true")
    given = options.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "a.jsonl"
        found, idle = asyncio.run(measure(path, given.turns, given.seconds, given.real))
    first, last = found[0], found[-1]
    if given.real:
        dropped = sum(each.sent - each.received for each in found)
        print(f"all {given.turns} turns: {sum(each.sent for each in found)} lines sent, {dropped} dropped")
    print(row("turn 1", first))
    print(row(f"turn {given.turns}", last))
    ratio = statistics.median(last.redraws) / statistics.median(first.redraws)
    print(f"last over first: redraw {ratio:.2f}, memory {last.rss_mib / first.rss_mib:.2f}; "
          f"idle {100 * idle:.1f} % of a core")  # fmt: skip


if __name__ == "__main__":
    main()
