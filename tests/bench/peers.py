"""Timing ours and a general-purpose peer in one run: what makes the two alike, and peers that may not be installed.

A time means nothing beside the machine that it was measured on, and little beside what else that machine
did: what a bench prints are ratios of CPU times that took turns.
"""

import compileall
import gc
import importlib
import os
import platform
import statistics
import sys
import time
from collections.abc import Callable, Mapping
from pathlib import Path
from types import ModuleType

ONE_THREAD = dict.fromkeys(("OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "OMP_NUM_THREADS"), "1")
"""Threads of the libraries below numpy would be counted for one side and help the other."""


def begin() -> None:
    """Start anew with one thread for numpy, unless that is so; say what the machine is."""
    if any(os.environ.get(name) != "1" for name in ONE_THREAD):
        os.execve(sys.executable, [sys.executable, *sys.argv], {**os.environ, **ONE_THREAD})
    load = f", load {os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else ""
    print(
        f"[{platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}{load}]",
        flush=True,
    )


def compiled(root: Path) -> None:
    """Byte code of a tree, so that no command is timed that writes it on its way."""
    for folder in ("fitter", "logger", "tui"):
        compileall.compile_dir(root / folder, quiet=2)


def taking_turns(measured: Mapping[str, Callable[[], float]], repeat: int) -> dict[str, float]:
    """The median of what each of some measurements gives. They take turns, so that a busy machine hits all
    alike."""
    found: dict[str, list[float]] = {name: [] for name in measured}
    for _ in range(repeat):
        for name, measure in measured.items():
            found[name].append(measure())
    return {name: statistics.median(each) for name, each in found.items()}


def rounds(actions: Mapping[str, Callable[[], object]], repeat: int = 9) -> dict[str, float]:
    """Median CPU time of each of some actions, s."""
    return taking_turns(
        {name: lambda action=action: _spent(action) for name, action in actions.items()}, repeat
    )


def _spent(action: Callable[[], object]) -> float:
    gc.collect()
    start = time.process_time()
    action()
    return time.process_time() - start


def peer(name: str) -> ModuleType:
    """A peer by its import name; ends the benchmark in words where it is not installed."""
    try:
        return importlib.import_module(name)
    except ImportError:
        raise SystemExit(f"this benchmark compares with {name}: pip install --editable '.[test]'") from None
