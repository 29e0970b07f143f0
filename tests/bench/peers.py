"""Timing ours and a general-purpose peer in one run, and peers that may not be installed."""

import gc
import importlib
import os
import platform
import statistics
import time
from types import ModuleType


def machine() -> str:
    """What a number was measured on, in one line: no time means anything without it."""
    load = f", load {os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else ""
    return f"[{platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}{load}]"


def rounds(actions, repeat=9):
    """Median CPU time of each of some actions, s. They take turns, so that a busy machine hits all alike."""
    spent = {name: [] for name in actions}
    for _ in range(repeat):
        for name, action in actions.items():
            gc.collect()
            start = time.process_time()
            action()
            spent[name].append(time.process_time() - start)
    return {name: statistics.median(times) for name, times in spent.items()}


def peer(name: str) -> ModuleType:
    """A peer by its import name; ends the benchmark in words where it is not installed."""
    try:
        return importlib.import_module(name)
    except ImportError:
        raise SystemExit(f"this benchmark compares with {name}: pip install --editable '.[test]'") from None
