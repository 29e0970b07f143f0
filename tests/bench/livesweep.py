"""What a live sweep costs with its screen on, at the first turn as at the thirtieth, and how late it is.

    python tests/bench/livesweep.py [--rate 1000] [--turns 30] [--seconds 8] [--combined] [--busy 2] [--headless]

The installed command runs in a pseudo-terminal of 120 x 40 cells. A dial sends `rate` lines a second on a
pseudo-terminal, an encoder as many on another (--combined: the dial's lines carry the angle), each line
written by itself and in real time. A turn of the crank takes half a minute while it is measured, in the
first turn and in the last; those between take a second each, for what is kept of a turn is the same.
Printed for both: share of a core, bytes to the terminal, lines that the recording or the fit does not have,
milliseconds from the writing of a reading to the fit having it, memory; last over first; the longest that
the disk took for what was forced to it, which nothing can be quicker than; the share of a core while nothing
is sent; and what more it is for a line. --headless: the same in plain lines, so that the last is what a line
costs on its way through thread, file, hash and fit. --busy: so many processes that do nothing but work run beside it. --profile FILE: where the
time goes, by cProfile (which doubles it). TMPDIR says where the recording is.

The moments at which the fit has a reading are kept by the command itself, three numbers for each time that
anything is handed to the fit, and written when it has ended. Lines wait up to BATCH_S of
coaxly.logger.port.arrivals for more, and an encoder's reading for the angle after it: both are in it.
"""

import argparse
import array
import atexit
import contextlib
import fcntl
import importlib
import json
import math
import os
import pty
import random
import select
import struct
import subprocess
import sys
import tempfile
import termios
import threading
import time
import tty
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from peers import begin

COLUMNS, ROWS = 120, 40
SLOW_S, QUICK_S = 30.0, 1.0
PATIENCE_S = 30.0


# The command, and what it is asked to remember ------------------------------------------------


def as_command(log: str, profile: str, words: list[str]) -> int:
    """Run the command as its own script does, and keep when the fit had how many readings."""
    import coaxly.main

    log_ = {name: array.array("d") for name in ("when", "until", "samples", "forced")}
    load = importlib.import_module

    def loaded(name, package=None):
        module = load(name, package)
        if name.startswith(".commands."):
            _remembering(**log_)
        return module

    importlib.import_module = loaded
    atexit.register(lambda: np.savez(log, **{name: np.array(column) for name, column in log_.items()}))
    if not profile:
        return coaxly.main.main(words)
    import cProfile

    return cProfile.runctx("coaxly.main.main(words)", {"coaxly": coaxly, "words": words}, {}, profile) or 0


def _remembering(when, until, samples, forced) -> None:
    """Not before the command has loaded numpy in its own way. until: when the newest of the readings had come,
    by the command's clock."""
    from coaxly.fitter.stream import Fitter
    from coaxly.logger.recording import writer

    add, force = Fitter.add_track, writer.force

    def added(fitter, deg, shown, t):
        add(fitter, deg, shown, t)
        when.append(time.monotonic())
        until.append(t[-1])
        samples.append(fitter.samples)

    def timed(file):
        begin = time.monotonic()
        force(file)
        forced.append(time.monotonic() - begin)

    Fitter.add_track, writer.force = added, timed


class Command:
    """The command in its terminal. received: bytes that it wrote there."""

    def __init__(self, words: list[str], folder: Path, profile: str):
        self.received, self.log = 0, folder / "log.npz"
        self._command = [sys.executable, __file__, "--as-command", str(self.log), profile, *words]
        self._env = {**os.environ, "TERM": "xterm-256color", "COLORTERM": "truecolor",
                     "XDG_STATE_HOME": str(folder), "XDG_CONFIG_HOME": str(folder)}  # fmt: skip
        self.pid, self._fd = pty.fork()
        if self.pid == 0:
            fcntl.ioctl(0, termios.TIOCSWINSZ, struct.pack("HHHH", ROWS, COLUMNS, 0, 0))
            os.execve(self._command[0], self._command, self._env)

    def look(self, seconds: float) -> bool:
        """Take what it draws for so long; False once it has ended."""
        end = time.monotonic() + seconds
        while (left := end - time.monotonic()) > 0.0:
            if select.select([self._fd], [], [], left)[0]:
                try:
                    data = os.read(self._fd, 1 << 16)
                except OSError:
                    return False
                self.received += len(data)
        return True

    def press(self, key: str) -> None:
        """A key."""
        with contextlib.suppress(OSError):
            os.write(self._fd, key.encode())

    def spent(self) -> float:
        """CPU time so far, s."""
        words = Path(f"/proc/{self.pid}/stat").read_text().rpartition(")")[2].split()
        return (int(words[11]) + int(words[12])) / os.sysconf("SC_CLK_TCK")

    def memory(self) -> float:
        """Resident, MiB."""
        return (
            int(Path(f"/proc/{self.pid}/statm").read_text().split()[1]) * os.sysconf("SC_PAGE_SIZE") / 2**20
        )

    def end(self, keys: str) -> None:
        """Finish the sweep and leave."""
        self.press(keys)
        self.look(3.0)
        end = time.monotonic() + PATIENCE_S
        while self.look(0.5):
            self.press("q")
            if time.monotonic() > end:
                os.kill(self.pid, 9)
        os.waitpid(self.pid, 0)
        os.close(self._fd)


# The dial, the encoder and the crank -----------------------------------------------------------


class Speakers:
    """Dial and encoder, in real time. sent: readings; unheard: lines that the line did not take.
    turn_s: how long the crank takes for a turn."""

    def __init__(self, rate: float, combined: bool):
        self.sent = self.unheard = 0
        self.turn_s = SLOW_S
        self.written = array.array("d")
        self._rate, self.combined = rate, combined
        self._deg, self._random = 0.0, random.Random(1)
        self._ends = [pty.openpty() for _ in range(1 if combined else 2)]
        for ours, theirs in self._ends:
            tty.setraw(ours)
            tty.setraw(theirs)
            os.set_blocking(ours, False)
        self.names = [os.ttyname(theirs) for _, theirs in self._ends]
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._speak)

    def start(self) -> None:
        self._thread.start()

    def stop(self) -> None:
        """The dial's last readings have an angle after them, as every other."""
        self._stop.set()
        self._thread.join()
        time.sleep(0.2)
        if not self.combined:
            os.write(self._ends[1][0], f"A {self._deg % 360.0:.3f}\r\n".encode())

    def _speak(self) -> None:
        start = time.monotonic()
        while not self._stop.is_set():
            while self.sent < (time.monotonic() - start) * self._rate:
                self._say()
            time.sleep(max(start + (self.sent + 1) / self._rate - time.monotonic(), 0.0))

    def _say(self) -> None:
        deg = self._deg = self._deg + 360.0 / self.turn_s / self._rate
        rad = math.radians(deg)
        value = 0.1 * math.cos(rad) + 0.02 * math.cos(2.0 * rad) + self._random.gauss(0.0, 0.001)
        lines = [f"{value:+.4f}\r\n", f"A {deg % 360.0:.3f}\r\n"]
        if self.combined:
            lines = [f"{deg % 360.0:.2f},{value:.4f}\r\n"]
        for (ours, _), line in zip(self._ends, lines, strict=True):
            try:
                os.write(ours, line.encode())
            except BlockingIOError:
                self.unheard += 1
        self.written.append(time.monotonic())
        self.sent += 1


# What comes of it ------------------------------------------------------------------------------


@dataclass
class Span:
    """A part of the sweep in real time. first, last: readings sent before it and by its end."""

    load: float
    line_us: float
    bytes_s: float
    memory: float
    first: int
    last: int
    late: "np.ndarray | None" = None

    def told(self, name: str) -> str:
        """In one line."""
        p50, p99, most = np.percentile(1e3 * self.late, [50, 99, 100])
        return (f"{name:>9}: {100 * self.load:5.1f} % of a core, {self.line_us:.0f} us a line, "
                f"{self.bytes_s / 1e3:5.1f} kB/s to the terminal, "
                f"byte to fit p50 {p50:.1f} p99 {p99:.1f} most {most:.1f} ms, {self.memory:.0f} MiB")  # fmt: skip


def measured(command: Command, speakers: Speakers, seconds: float, idle: float = 0.0) -> Span:
    """A span from now on. idle: share of a core while nothing is sent."""
    start, spent, received, first = time.monotonic(), command.spent(), command.received, speakers.sent
    command.look(seconds)
    took = time.monotonic() - start
    load = (command.spent() - spent) / took
    lines = max(speakers.sent - first, 1) * len(speakers.names)
    return Span(
        load,
        1e6 * (load - idle) * took / lines,
        (command.received - received) / took,
        command.memory(),
        first,
        speakers.sent,
    )


def swept(given, folder: Path) -> tuple[list[Span], str]:
    """The spans of the first and the last turn, and what was lost and waited for."""
    speakers, out = Speakers(given.rate, given.combined), folder / "sweep.jsonl"
    words = ["sweep", "--port", speakers.names[0], "--unit", "mm", "--out", str(out), "--angle"]
    words += ["combined"] if given.combined else ["encoder", "--encoder", speakers.names[1]]
    if given.combined:
        words += ["--profile", "angle-and-value"]
    words += ["--headless"] if given.headless else []
    command = Command(words, folder, given.profile)
    end = time.monotonic() + PATIENCE_S
    while not (out.exists() and out.read_bytes().count(b'"up"') == len(speakers.names)):
        if not command.look(0.1) or time.monotonic() > end:
            raise SystemExit("the sweep did not begin")
    command.look(1.0)
    idle = measured(command, speakers, 3.0).load
    speakers.start()
    command.look(2.0)
    spans = [measured(command, speakers, given.seconds, idle)]
    speakers.turn_s = QUICK_S
    command.look((given.turns - 2) * QUICK_S)
    speakers.turn_s = SLOW_S
    command.look(1.0)
    spans.append(measured(command, speakers, given.seconds, idle))
    speakers.stop()
    command.look(0.5)
    command.end("done\n" if given.headless else "f")
    return spans, f"{counted(spans, speakers, command, out)}; nothing sent: {100 * idle:.1f} % of a core"


def counted(spans: list[Span], speakers: Speakers, command: Command, out: Path) -> str:
    """How many lines got lost on the way; and how late the readings of each span were."""
    records = [json.loads(line) for line in out.read_text().splitlines()]
    raw = [record for record in records if record["kind"] == "raw"]
    lines = {port: [] for port in ("indicator", "encoder")}
    for record in raw:  # the time of arrival of each line
        lines[record["port"]] += [record["t"]] * record["data"].count("\n")
    log, written = np.load(command.log), np.array(speakers.written)
    had = np.searchsorted(lines["indicator"], log["until"], side="right")
    for span in spans:
        numbers = np.arange(span.first, min(span.last, had[-1]))
        span.late = log["when"][np.searchsorted(had, numbers + 1)] - written[numbers]
    kept = speakers.sent - len(lines["indicator"]), speakers.sent - len(lines["encoder"])
    return (f"{speakers.sent} readings sent, {speakers.unheard} lines not taken by the system; not in the recording: "
            f"{kept[0]} of the dial{'' if speakers.combined else f', {max(kept[1], 0)} of the encoder'}; "
            f"not in the fit, for want of an angle: {speakers.sent - int(log['samples'][-1])}\n"
            f"the disk took {1e3 * log['forced'].max():.1f} ms at the most")  # fmt: skip


def main() -> None:
    """Print both spans and what was lost."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--rate", type=float, default=1000.0)
    options.add_argument("--turns", type=int, default=30)
    options.add_argument("--seconds", type=float, default=8.0)
    options.add_argument("--combined", action="store_true")
    options.add_argument("--headless", action="store_true")
    options.add_argument("--busy", type=int, default=0)
    options.add_argument("--profile", default="")
    given = options.parse_args()
    begin()
    busy = [subprocess.Popen([sys.executable, "-c", "while True: pass"]) for _ in range(given.busy)]
    try:
        with tempfile.TemporaryDirectory() as folder:
            spans, lost = swept(given, Path(folder))
    finally:
        for process in busy:
            process.kill()
    print(lost)
    for name, span in zip(("turn 1", f"turn {given.turns}"), spans, strict=True):
        print(span.told(name))
    print(f"last turn over first: share of a core {spans[1].load / spans[0].load:.2f}, "
          f"memory {spans[1].memory / spans[0].memory:.2f}")  # fmt: skip


if __name__ == "__main__":
    if sys.argv[1:2] == ["--as-command"]:
        sys.exit(as_command(sys.argv[2], sys.argv[3], sys.argv[4:]))
    main()
