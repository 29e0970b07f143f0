"""What it takes to begin: commands and the first screen, in multiples of Python that does nothing.

    PYTHONPATH=tests/helpers python tests/bench/start.py [--turns 7] [--old TREE]

CPU time of whole processes, medians of turns taken in alternation, byte code compiled, one thread for numpy.
The screen is that of the job list, in a pseudo-terminal, until its line of keys stands there. --old: another
tree of this project, in the same turns.
"""

import argparse
import contextlib
import os
import pty
import select
import signal
import subprocess
import sys
import tempfile
import time
from functools import partial
from pathlib import Path

from peers import begin, compiled, taking_turns
from source import ROOT, linked

RECORDING = str(ROOT / "recordings" / "launch-found.jsonl")
KIT = "3thou,5thou,7thou,10thou,13thou,15thou"
PINS = "-5.5in,-1in 5.5in,-1in"
PATIENCE_S = 60.0


def commands(shop: str) -> dict[str, list[str]]:
    """What is begun, by name."""
    return {
        "help": ["--help"],
        "list of 20 jobs": ["job", "list", "--shop", shop],
        "small replay": ["replay", RECORDING, "--json"],
        "plan, 6 sizes, split": ["plan", RECORDING, "--kit", KIT, "--dowels", PINS],
    }


def spent(words: list[str], env: dict[str, str]) -> float:
    """CPU time of a process, s."""
    process = subprocess.Popen(words, env=env, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    _, status, used = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode not in (0, 1):
        raise SystemExit(f"{' '.join(words)}: exit code {process.returncode}")
    return used.ru_utime + used.ru_stime


def to_the_screen(words: list[str], env: dict[str, str], sign: bytes) -> float:
    """CPU time of a process until a sign stands on its screen, s."""
    pid, fd = pty.fork()
    if pid == 0:
        os.execve(words[0], words, {**env, "TERM": "xterm-256color", "COLUMNS": "80", "LINES": "24"})
    seen, end = b"", time.monotonic() + PATIENCE_S
    while sign not in seen and time.monotonic() < end:
        if select.select([fd], [], [], 0.1)[0]:
            with contextlib.suppress(OSError):
                seen += os.read(fd, 1 << 16)
    os.kill(pid, signal.SIGKILL)
    _, _, used = os.wait4(pid, 0)
    os.close(fd)
    if sign not in seen:
        raise SystemExit(f"{' '.join(words)}: its screen never came")
    return used.ru_utime + used.ru_stime


def main() -> None:
    """Print the table."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--turns", type=int, default=7)
    options.add_argument("--old", type=Path)
    given = options.parse_args()
    begin()
    trees = {"": ROOT, **({"old": given.old.resolve()} if given.old else {})}
    with tempfile.TemporaryDirectory() as folder:
        shop = str(Path(folder) / "shop")
        measured = {"bare": partial(spent, [sys.executable, "-c", "pass"], dict(os.environ))}
        for name, tree in trees.items():
            compiled(tree)
            path = f"{linked(Path(folder) / f'links {name}', tree)}{os.pathsep}{tree}"
            env = {**os.environ, "PYTHONPATH": path, "XDG_STATE_HOME": folder, "XDG_CONFIG_HOME": folder}
            program = [sys.executable, "-P", "-m", "coaxly"]
            if not Path(shop).exists():
                for k in range(20):
                    spent([*program, "job", "open", f"van {k}", "--shop", shop], env)
            for what, words in commands(shop).items():
                measured[f"{what} {name}"] = partial(spent, [*program, *words], env)
            screen = [*program, "--shop", shop]
            measured[f"first screen {name}"] = partial(to_the_screen, screen, env, b"engine")
        found = taking_turns(measured, given.turns)
    bare = found.pop("bare")
    print(f"bare Python: {1e3 * bare:.1f} ms; multiples of it:")
    for name, one in found.items():
        print(f"{name:<28} {one / bare:6.1f}")


if __name__ == "__main__":
    main()
